"""Changes to a job as values, and how a text takes one: applied, read again, and refused where it would be faulty.

    SetField    one field of a table         AddItem, CopyItem, AddText    new tables
    Rename      an id, and all that name it  RenameStage                   a stage of a material, likewise
    Delete      a table, and links to it     Several                       more than one, done and undone as one

What happened on the stands is in :mod:`sequencer.job.jotting`. Names are ids as in the file; of a day of weather its
date as 2027-04-16, of a month's normal its number; empty for ``job``, ``yard`` and ``weather``.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from sequencer.errors import Fault, JobError
from sequencer.job.book import Book
from sequencer.job.layout import LOG, SINGLE, key_of, name_of, place
from sequencer.job.models import Job
from sequencer.job.pen import Value
from sequencer.job.reading import job_from
from sequencer.job.references import FIELDS, Use, renamed, swap_stage, uses, without
from sequencer.job.saying import say_names, say_value
from sequencer.job.wording import shown


class Change(Protocol):
    """Anything that changes a job."""

    def apply(self, book: Book) -> str:
        """Change the book; what was done, in one line without a full stop. Raises JobError where it can't be."""
        ...


@dataclass(frozen=True)
class Written:
    """A change as it would be saved: the text, the job it gives, and what was done."""

    text: str
    job: Job
    words: str


def apply_change(text: str, change: Change, path: str | Path | None = None) -> Written:
    """What `change` makes of a sound job's text; the text itself is left alone.

    path: the file, for sentences and for files the job names. Raises JobError with every fault the job would have,
    a loop spelled out among them.
    """
    try:
        book = Book(text)
        words = change.apply(book)
        new = book.finished()
    except JobError as error:
        raise JobError(error.faults, "" if path is None else str(path)) from None
    return Written(new, job_from(book.data, path), words)


@dataclass(frozen=True)
class SetField:
    """Set one field, or take it out (`value` None). field: as in the file, ``needs.dry`` for one within another."""

    kind: str
    name: str
    field: str
    value: Value | None

    def apply(self, book: Book) -> str:
        """A new id is a rename."""
        if self.kind not in SINGLE and self.field == "id" and isinstance(self.value, str):
            return Rename(self.kind, self.name, self.value).apply(book)
        where = _called(self.kind, self.name)
        old = _value_at(book, self.kind, self.name, self.field)
        book.put(self.kind, self.name, self.field, self.value)
        what = self.field.replace(".", " ")
        if self.value is None:
            return f"{where}: {what} taken out" + (f", was {say_value(old)}" if old is not None else "")
        return f"{where}: {what} {say_value(self.value)}" + (f", was {say_value(old)}" if old is not None else "")


@dataclass(frozen=True)
class AddItem:
    """A new table with these values (its id among them), after `beside`, else after the last of its kind."""

    kind: str
    values: Mapping[str, Value | None] = field(hash=False)
    beside: str = ""

    def apply(self, book: Book) -> str:
        """Refused where the name is taken."""
        name = "" if self.kind in SINGLE else name_of(self.kind, dict(self.values))
        _check_free(book, self.kind, name)
        book.add(self.kind, self.values, self.beside)
        return f"{_called(self.kind, name)} is new"


@dataclass(frozen=True)
class CopyItem:
    """A copy of a table under a new name, right after it; a task's log is not copied."""

    kind: str
    name: str
    new: str

    def apply(self, book: Book) -> str:
        """Refused where the name is taken."""
        _check_free(book, self.kind, self.new)
        if key_of(self.kind) != "id":
            raise JobError([Fault(place(self.kind, self.name), "a day or a month is not copied", "add another")])
        book.copy(self.kind, self.name, self.new, LOG if self.kind == "task" else ())
        return f"{_called(self.kind, self.new)} is new, a copy of {shown(self.name)}"


@dataclass(frozen=True)
class AddText:
    """All tables of a TOML text, such as a building block; comments included. said: what that is."""

    text: str
    said: str

    def apply(self, book: Book) -> str:
        """Each table after the last of its kind."""
        book.add_text(self.text)
        return f"{shown(self.said)} added"


@dataclass(frozen=True)
class Rename:
    """Give a table another id; everything that names it follows."""

    kind: str
    old: str
    new: str

    def apply(self, book: Book) -> str:
        """Refused where the new id is taken."""
        book.find(self.kind, self.old)
        if self.kind not in FIELDS:
            raise JobError([Fault(place(self.kind, self.old), "it goes by no id", "change its date or month")])
        if self.new != self.old:
            _check_free(book, self.kind, self.new)
            _check_air(book, self.kind, self.old, self.new)
            for use in uses(book, self.kind, self.old):
                value = _value_at(book, use.kind, use.name, use.field)
                book.put(use.kind, use.name, use.field, renamed(self.kind, value, self.old, self.new))
            book.put(self.kind, self.old, "id", self.new)
        return f"{_called(self.kind, self.old)} is called {shown(self.new)}"


@dataclass(frozen=True)
class RenameStage:
    """Give a stage of a material another name; links, gear and logs that name it follow."""

    material: str
    old: str
    new: str

    def apply(self, book: Book) -> str:
        """Refused where the material has no such stage."""
        table = book.find("material", self.material)
        if self.old not in table:
            where = place("material", self.material)
            raise JobError([Fault(where, f"there is no stage {shown(self.old)}", "look which it has")])
        swap_stage(book, self.material, self.old, self.new)
        if table.get("dry_until") == self.old:
            book.put("material", self.material, "dry_until", self.new)
        book.rename_field("material", self.material, self.old, self.new)
        return f"{_called('material', self.material)}: stage {shown(self.old)} is called {shown(self.new)}"


@dataclass(frozen=True)
class Delete:
    """Take a table out, and every link to it; the words name the tasks that depended on it."""

    kind: str
    name: str

    def apply(self, book: Book) -> str:
        """Refused for the task that ends the stay."""
        if self.kind in ("job", "weather"):
            raise JobError([Fault(self.kind, "this can't be taken out", "change its fields")])
        book.find(self.kind, self.name)
        touched = uses(book, self.kind, self.name)
        if Use("job", "", "finish") in touched:
            hint = "let another task end the stay first (job, finish)"
            raise JobError([Fault(place(self.kind, self.name), "it ends the stay", hint)])
        told = [use.name for use in touched if use.kind == "task"]
        if self.kind == "material":
            for stage in book.find("material", self.name):
                told += swap_stage(book, self.name, stage, None)
        for use in touched:
            # A place that shares its air with this one goes on sharing it with the others that do.
            if use.field != "air":
                value = _value_at(book, use.kind, use.name, use.field)
                book.put(use.kind, use.name, use.field, without(self.kind, value, self.name))
        book.remove(self.kind, self.name)
        told = list(dict.fromkeys(told))
        depended = f"; {say_names(told)} named it" if told else ""
        if self.kind == "task" and told:
            depended = f"; {say_names(told)} no longer come{'s' if len(told) == 1 else ''} after it"
        return f"{_called(self.kind, self.name)} deleted{depended}"


@dataclass(frozen=True)
class Several:
    """Changes made one after another, saved and undone as one. said: what it all is, else each is told."""

    changes: tuple[Change, ...]
    said: str = ""

    def apply(self, book: Book) -> str:
        """Each in turn."""
        words = [change.apply(book) for change in self.changes]
        return self.said or "; ".join(words)


def dependents(text: str, kind: str, name: str) -> list[Use]:
    """What names a table: the fields a rename would follow and a deletion would touch."""
    return uses(Book(text), kind, name)


def free_name(title: str, taken: Iterable[str]) -> str:
    """An id made of a title, unlike all that are taken: ``Fair, round two`` gives ``fair-round-two``."""
    letters = unicodedata.normalize("NFKD", title.lower()).encode("ascii", "ignore").decode()
    base = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:40].strip("-") or "new"
    known, number = set(taken), 1
    while (name := base if number == 1 else f"{base}-{number}") in known:
        number += 1
    return name


def _called(kind: str, name: str) -> str:
    """How the journal calls a table: a task by its id alone."""
    return shown(name) if kind == "task" else place(kind, name)


def _value_at(book: Book, kind: str, name: str, path: str) -> object:
    found: object = book.find(kind, name) if kind not in SINGLE or book.tables(kind) else {}
    for part in path.split("."):
        found = found.get(part) if isinstance(found, dict) else None
    return found


def _check_free(book: Book, kind: str, name: str) -> None:
    if name in book.names(kind):
        raise JobError([Fault(place(kind, name), "there is one of that name already", "take another name")])


def _check_air(book: Book, kind: str, old: str, new: str) -> None:
    """A place without `air` of its own breathes the air of its id: a new id must not mix two airs."""
    if kind == "zone" and "air" not in book.find("zone", old):
        others = [z["id"] for z in book.tables("zone") if z.get("air") == new]
        if others:
            what = f"{shown(new)} is the air of {say_names(others)}, and would be shared"
            raise JobError([Fault(place("zone", old), what, "take another name, or give it an air of its own")])
