"""Everything that can go wrong, said in plain sentences.

    SequencerError            what the person sees instead of a traceback
    ├── JobError              the job file (or a file it names) has faults: all of them at once
    ├── NoPlanError           the job is sound but no plan exists within the horizon
    ├── UsageError            the command line was used in a way that makes no sense
    └── SaveError             a change could not be saved; the file is as it was
        ├── ChangedOutsideError   another program has changed the file meanwhile: its text is carried along
        ├── GoneError             the file is not there any more, its folder is
        └── InUseError            another window has the same job open

Each carries :class:`Fault` records: where, what, and what to do.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


def one_line(text: str, limit: int = 300) -> str:
    """`text` safe to print in a terminal: one line, control and direction codes escaped, cut at `limit`."""
    shown = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
    return shown if len(shown) <= limit else shown[: limit - 1] + "…"


def short_path(path: str, limit: int, more: str = "…") -> str:
    """A path on one line, harmless; of a long one the end, which holds the name, with `more` before it."""
    shown = one_line(path, len(path) * 10 + 1)
    return shown if len(shown) <= limit else more + shown[len(shown) + len(more) - limit :]


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong.

    where: the place in the file, such as ``task fit-pod, after`` or ``dunlin.csv, line 212`` (may be empty).
    what: one plain sentence, without a full stop.
    hint: what to do about it, without a full stop (may be empty); it may be a question.
    """

    where: str
    what: str
    hint: str = ""

    def sentence(self) -> str:
        """The fault as one sentence: where: what; what to do."""
        said = f"{self.where}: {self.what}" if self.where else self.what
        told = one_line(f"{said}; {self.hint}" if self.hint else said, 600)
        return told if told.endswith("?") else f"{told}."


class SequencerError(Exception):
    """The base of all errors meant for the person at the boat.

    title: a short heading; file: the file in question (may be empty); faults: at least one.
    """

    title = "Something is wrong"

    def __init__(self, faults: Iterable[Fault], file: str = "") -> None:
        self.faults = tuple(faults)
        self.file = file
        super().__init__(self.text())

    def text(self) -> str:
        """All faults, a line each, each naming the file."""
        lead = f"{one_line(self.file)}: " if self.file else ""
        return "\n".join(f"{lead}{fault.sentence()}" for fault in self.faults)


class JobError(SequencerError):
    """The job file, or a file it names, cannot be taken as it is."""

    title = "The job file has faults"


class NoPlanError(SequencerError):
    """The job is sound, but no plan exists under its rules within a year."""

    title = "No launch"


class UsageError(SequencerError):
    """The command line asked for something that makes no sense."""

    title = "Not understood"


class SaveError(SequencerError):
    """A change could not be saved; the file is as it was."""

    title = "Not saved"


class ChangedOutsideError(SaveError):
    """Another program has changed the file since it was last read or written here.

    other: its text as it is now.
    """

    title = "Changed by another program"

    def __init__(self, faults: Iterable[Fault], file: str, other: str) -> None:
        self.other = other
        super().__init__(faults, file)


class GoneError(SaveError):
    """The file is not there any more, its folder is: it can be put back."""

    title = "Gone"


class InUseError(SaveError):
    """The same job is open in another window, and only one may write."""

    title = "Open in another window"
