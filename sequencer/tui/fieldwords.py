"""What is said of a table's fields: their values and units on its card, what they mean, what the table goes by."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sequencer.job.layout import key_of
from sequencer.tui.fields import KINDS, Field
from sequencer.tui.fieldtext import write_value


def told_fields(kind: str, fields: Iterable[Field]) -> str:
    """What the fields of a card mean, one a line."""
    about = next(about for name, _, about in KINDS if name == kind)
    lines = [f"{about[:1].upper()}{about[1:]}.", ""]
    for field in fields:
        said = [field.about] if field.about else []
        said += [f"left out: {field.unset}"] if field.unset else []
        lines.append(f"{field.words.strip()}: {'; '.join(said)}.")
    return "\n".join(lines)


def value_at(table: Mapping[str, Any], path: str) -> Any:
    """The value of a field of a table, None where it is left out."""
    found: Any = table
    for part in path.split("."):
        found = found.get(part) if isinstance(found, dict) else None
    return found


def text_at(table: Mapping[str, Any], field: Field) -> str:
    """What a card shows of a field; empty where it is left out."""
    return field.path if field.shape == "stage-name" else write_value(value_at(table, field.path), field.shape)


UNITS = (("°C", "°C"), ("%", "%"), ("knots", "kn"), ("hours", "h"))
"""How what a field says of itself begins, and the unit of its numbers."""


def unit_of(field: Field) -> str:
    """The unit of a field's numbers; empty for none."""
    if field.shape != "value":
        return ""
    return next((unit for begin, unit in UNITS if field.about.startswith(begin)), "")


def called(kind: str, table: Mapping[str, Any]) -> str:
    """What a table goes by on a list: its name and its title."""
    name = str(table.get(key_of(kind), ""))
    title = str(table.get("title", ""))
    return f"{name}  {title}" if title and title != name else name
