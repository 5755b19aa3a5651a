"""Files of ours beside a job: answers, prices, the journal, pages kept.

A job's folder may come from anyone, and so may whatever lies there under such a name: it is looked at before it is
opened, so that nothing outside of the folder is read or written through a link, and no pipe is waited at.
"""

from __future__ import annotations

import stat
from pathlib import Path

from sequencer.errors import Fault, SaveError
from sequencer.job.saving import failure

MOST_JOURNAL = 200_000_000
"""Bytes of a journal; a change takes some hundred, so that this is a lifetime of them."""

AWAY = "take it away, or put a plain file in its place"


def check_side(path: Path) -> None:
    """Raise SaveError where a file beside a job leads out of its folder, links followed, or is no plain file."""
    try:
        inside = path.resolve().is_relative_to(path.parent.resolve())
        there = path.exists()
        plain = not there or stat.S_ISREG(path.stat().st_mode)
    except (OSError, RuntimeError) as error:
        raise failure(error if isinstance(error, OSError) else OSError(), path, "read") from None
    if not inside:
        raise SaveError([Fault("", "is a link that leads out of the job's own folder", AWAY)], str(path))
    if not plain:
        raise SaveError([Fault("", "is no plain file but a folder, a pipe or a device", AWAY)], str(path))


def check_own(path: Path, most: int) -> None:
    """Raise SaveError where a file that only this program writes is a link, a pipe or a device, or past `most` bytes.

    A folder in its place is told of by whoever opens it.
    """
    try:
        found = path.lstat()
    except OSError:
        return
    if stat.S_ISDIR(found.st_mode):
        return
    if not stat.S_ISREG(found.st_mode):
        what = "is a link" if stat.S_ISLNK(found.st_mode) else "is a pipe or a device"
        raise SaveError([Fault(path.name, f"{what}, and this file is written here alone", "take it away")], str(path))
    if found.st_size > most:
        what = f"has {found.st_size:,} bytes, and {most:,} is the most that is read"
        raise SaveError([Fault(path.name, what, "move it away; the job itself is whole without it")], str(path))
