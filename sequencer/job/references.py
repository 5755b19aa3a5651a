"""Where the tables of a job name each other: what a new name must follow, and what a deletion would touch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sequencer.job.book import Book
from sequencer.job.layout import place
from sequencer.job.links import DONE, Link, parse_link

FIELDS = {
    "task": "after",
    "crew": "who",
    "zone": "zone",
    "gear": "gear",
    "delivery": "delivery",
    "material": "material",
}
"""By kind the field in which tasks name it."""


@dataclass(frozen=True)
class Use:
    """A field that names something: of which table, and which field."""

    kind: str
    name: str
    field: str

    def __str__(self) -> str:
        return place(self.kind, self.name, self.field) if self.kind != "task" else self.name


def uses(book: Book, kind: str, name: str) -> list[Use]:
    """Every field that names this table, tasks in the file's order."""
    found: list[Use] = []
    field = FIELDS.get(kind)
    if kind == "task" and book.find("job").get("finish") == name:
        found.append(Use("job", "", "finish"))
    if kind == "zone":
        found += [Use("zone", z["id"], "air") for z in book.tables("zone") if z.get("air") == name and z["id"] != name]
    for task in book.tables("task"):
        if field is not None and name in _named(kind, task.get(field)):
            found.append(Use("task", task["id"], field))
    return found


def _named(kind: str, value: Any) -> Iterator[str]:
    """The names in a field's value."""
    for item in value if isinstance(value, list) else [value]:
        if kind == "task" and isinstance(item, str):
            yield parse_link(item).task
        elif isinstance(item, dict):
            yield str(item.get("id"))
        elif item is not None:
            yield str(item)


def renamed(kind: str, value: Any, old: str, new: str) -> Any:
    """A field's value with the new name in it."""
    if isinstance(value, list):
        return [renamed(kind, item, old, new) for item in value]
    if isinstance(value, dict):
        return {**value, "id": renamed(kind, value.get("id"), old, new)}
    if kind == "task" and isinstance(value, str):
        link = parse_link(value)
        return str(Link(new, link.stage)) if link.task == old else value
    return new if value == old else value


def without(kind: str, value: Any, name: str) -> Any:
    """A field's value with a name taken out; None where nothing is left."""
    if isinstance(value, list):
        return [item for item in value if name not in _named(kind, item)] or None
    return None if name in _named(kind, value) else value


def swap_stage(book: Book, material: str, old: str, new: str | None) -> list[str]:
    """Put another stage wherever tasks name `old` of a material: in links, gear and the log; the tasks touched.

    new: None takes it out: a link is then to the end of the work, gear is held until then.
    """
    coats = {task["id"] for task in book.tables("task") if task.get("material") == material}
    touched = []
    for task in list(book.tables("task")):
        name, before = task["id"], repr(task)
        links = [_other_stage(text, coats, old, new) for text in task.get("after", [])]
        if links:
            book.put("task", name, "after", list(dict.fromkeys(links)) if links != task["after"] else links)
        if name in coats:
            gear = [_other_until(use, old, new) for use in task.get("gear", [])]
            if gear:
                book.put("task", name, "gear", gear)
            reached = task.get("reached", {})
            if old in reached:
                moment = reached[old]
                if new is not None:
                    book.put("task", name, f"reached.{new}", moment)
                book.put("task", name, f"reached.{old}", None)
        touched += [name] if repr(book.find("task", name)) != before else []
    return touched


def _other_stage(text: str, coats: set[str], old: str, new: str | None) -> str:
    link = parse_link(text)
    return str(Link(link.task, new or DONE)) if link.task in coats and link.stage == old else text


def _other_until(use: Any, old: str, new: str | None) -> Any:
    if not isinstance(use, dict) or use.get("until") != old:
        return use
    rest = {key: value for key, value in use.items() if key != "until"}
    if new is not None:
        return {key: new if key == "until" else value for key, value in use.items()}
    return rest["id"] if list(rest) == ["id"] else rest
