"""Changes that levers make beside those of :mod:`sequencer.job.writing`: they add, so that two of them agree."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from sequencer.job.book import Book
from sequencer.job.links import Link, parse_link
from sequencer.job.pen import Value, same


@dataclass(frozen=True)
class MoreHours:
    """Further lines in a person's `hours` (kind ``crew``) or a task's `slots` (kind ``task``). said: what that is."""

    kind: str
    name: str
    lines: tuple[Mapping[str, Value], ...] = field(hash=False)
    said: str = ""

    def apply(self, book: Book) -> str:
        """Lines that are there already are not written twice."""
        where = "slots" if self.kind == "task" else "hours"
        known = list(book.find(self.kind, self.name).get(where, []))
        fresh = [dict(line) for line in self.lines if not any(same(dict(line), one) for one in known)]
        book.put(self.kind, self.name, where, [*known, *fresh])
        return self.said or f"{self.name}: more {where}"


@dataclass(frozen=True)
class Unlinked:
    """A task no longer comes after another; the launch still waits for both."""

    task: str
    before: str
    finish: str
    said: str = ""

    def apply(self, book: Book) -> str:
        """The launch is linked to the other where nothing else leads from there to it."""
        links = book.find("task", self.task).get("after", [])
        kept = [link for link in links if parse_link(link) != Link(self.before)]
        book.put("task", self.task, "after", kept or None)
        if not _leads(book, self.before, self.finish):
            after = list(book.find("task", self.finish).get("after", []))
            book.put("task", self.finish, "after", [*after, self.before])
        return self.said or f"{self.task} need not wait for {self.before}"


def _leads(book: Book, first: str, last: str) -> bool:
    """Whether `last` comes after `first`, by whatever way."""
    after: dict[str, Iterable[str]] = {t["id"]: t.get("after", []) for t in book.tables("task")}
    seen, queue = {last}, [last]
    while queue:
        for link in after.get(queue.pop(), []):
            name = parse_link(link).task
            if name not in seen:
                seen.add(name)
                queue.append(name)
    return first in seen
