"""A small job file to be changed, and what lies on the disk after."""

from __future__ import annotations

from pathlib import Path

from sequencer.job.writing import SetField

TEXT = """\
# Two lines of comment,
# to be kept.
[job]
timezone = "Europe/London"
hauled = 2027-04-12T10:00:00
finish = "go"

[[crew]]
id = "me"
hours = [ { days = "Mon-Fri", from = "08:00", to = "16:00" } ]   # weekdays

[[task]]
id = "wash"
work = 2          # a guess

[[task]]
id = "go"
after = ["wash"]
work = 1
"""


def note(text: str) -> SetField:
    """A change of the note of the first task."""
    return SetField("task", "wash", "note", text)


def on_disk(path: Path) -> str:
    """A file's text to the byte."""
    return path.read_bytes().decode()


def left_beside(path: Path) -> set[str]:
    """What else lies in a file's folder."""
    return {entry.name for entry in path.parent.iterdir()} - {path.name}
