"""What was done to a job, change by change, and what it takes to undo it to the byte.

A journal is lines of JSON: ``first`` holds the whole text there was, each later one the span of text it put in the
place of another, with fingerprints of the text before and after. A line such as ``{"done": 3}`` says that the file of
entry 3 was written.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sequencer.errors import SaveError
from sequencer.job.saving import digest
from sequencer.job.sidefiles import MOST_JOURNAL, check_own

FIRST, CHANGE, UNDO, REDO, OUTSIDE = "first", "change", "undo", "redo", "outside"


@dataclass(frozen=True)
class Entry:
    """One line. what: first, change, undo, redo or outside (a change by another program); of: the number undone.

    before, after: fingerprints. At letter `at` the text `out` gave way to `into`.
    """

    number: int
    what: str
    time: dt.datetime
    words: str
    before: str
    after: str
    at: int
    out: str
    into: str

    def forward(self, text: str) -> str:
        """The text after, of the text before."""
        return text[: self.at] + self.into + text[self.at + len(self.out) :]

    def back(self, text: str) -> str:
        """The text before, of the text after."""
        return text[: self.at] + self.out + text[self.at + len(self.into) :]

    def line(self) -> str:
        """As it stands in the file."""
        return json.dumps({**vars(self), "time": self.time.isoformat(timespec="seconds")}) + "\n"


def entry_between(number: int, what: str, time: dt.datetime, words: str, before: str, after: str) -> Entry:
    """The entry that leads from one text to another; the span it holds is the shortest."""
    most = min(len(before), len(after))
    at = _longest(most, lambda size: before[:size] == after[:size])
    tail = _longest(most - at, lambda size: before[len(before) - size :] == after[len(after) - size :])
    out, into = before[at : len(before) - tail], after[at : len(after) - tail]
    return Entry(number, what, time, words, digest(before), digest(after), at, out, into)


def _longest(most: int, alike: Callable[[int], bool]) -> int:
    """The largest size up to `most` at which two texts are alike; smaller ones are then alike too."""
    low, high = 0, most
    while low < high:
        size = (low + high + 1) // 2
        low, high = (size, high) if alike(size) else (low, size - 1)
    return low


def parse_entry(line: bytes) -> Entry | int:
    """A line's entry, or the number it marks as done. Raises ValueError where it is neither."""
    try:
        found = json.loads(line)
    except RecursionError:
        raise ValueError("nested without end") from None
    if isinstance(found, dict) and _is_count(found.get("done")):
        return int(found["done"])
    try:
        entry = Entry(**{**found, "time": dt.datetime.fromisoformat(found["time"])})
    except (TypeError, KeyError) as error:
        raise ValueError(str(error)) from None
    texts = (entry.what, entry.words, entry.before, entry.after, entry.out, entry.into)
    counted = _is_count(entry.number) and _is_count(entry.at) and 1970 <= entry.time.year <= 2200
    if not all(isinstance(t, str) for t in texts) or not counted:
        raise ValueError("not an entry")
    return entry


def _is_count(value: object) -> bool:
    return isinstance(value, int) and 0 <= value < 1 << 53


@dataclass(frozen=True)
class Noted:
    """One line of the journal as told: when (the yard's time), what was done, whether it is undone since."""

    number: int
    time: dt.datetime
    words: str
    undone: bool


class Record:
    """What a journal says: its entries, the text they lead to, what can be undone and redone."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.text: str | None = None
        self.done: list[Entry] = []
        self.undone: list[Entry] = []
        self.marked = 0

    @property
    def next_number(self) -> int:
        """The number of the entry to come."""
        return self.entries[-1].number + 1 if self.entries else 1

    @property
    def pending(self) -> Entry | None:
        """The last entry, where nothing says that the file was written."""
        last = self.entries[-1] if self.entries else None
        return last if last is not None and last.what != FIRST and last.number > self.marked else None

    def noted(self, zone: dt.tzinfo) -> list[Noted]:
        """What was done when, from the first change on, undone ones among it."""
        told = [entry for entry in self.entries if entry.what in (CHANGE, OUTSIDE)]
        standing = {entry.number for entry in self.done}
        return [Noted(e.number, e.time.astimezone(zone), e.words, e.number not in standing) for e in told]

    def take(self, entry: Entry) -> None:
        """Follow one more entry. Raises ValueError where it does not go on from here."""
        was = self.text or ""
        if was[entry.at : entry.at + len(entry.out)] != entry.out:
            raise ValueError("what the entry takes out is not there")
        text = entry.into if entry.what == FIRST else entry.forward(was)
        # The entry before was held against its text: its fingerprint stands for that.
        before = self.entries[-1].after if self.entries else None
        fits = before is None if entry.what == FIRST else before == entry.before
        if not fits or digest(text) != entry.after:
            raise ValueError("the entry does not go on from the one before")
        if entry.what in (UNDO, REDO):
            source, target = (self.done, self.undone) if entry.what == UNDO else (self.undone, self.done)
            if not source:
                raise ValueError("nothing to take back")
            target.append(source.pop())
        elif entry.what != FIRST:
            self.done.append(entry)
            self.undone.clear()
        self.text = text
        self.entries.append(entry)


def read_record(path: Path) -> Record:
    """What a journal says, without opening it for writing; what is torn or damaged is passed over."""
    record = Record()
    try:
        check_own(path, MOST_JOURNAL)
        raw = path.read_bytes()
    except (OSError, SaveError):
        return record
    for line in raw[: raw.rfind(b"\n") + 1].splitlines():
        try:
            found = parse_entry(line)
            if isinstance(found, Entry):
                record.take(found)
        except ValueError:
            break
    return record
