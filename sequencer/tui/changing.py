"""The change that comes of an edited field, with what must go along: one of two, the columns of a material, hands.

No Textual here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from sequencer.job.pen import Value
from sequencer.job.writing import Change, RenameStage, SetField, Several
from sequencer.tui.fields import FIXED, stages_of
from sequencer.tui.fieldtext import NotReadError, read_value
from sequencer.tui.fieldwords import value_at

EITHER = {
    ("task", "work"): "wait",
    ("task", "wait"): "work",
    ("weather.day", "dew"): "humidity",
    ("weather.day", "humidity"): "dew",
    ("weather.normal", "dew"): "humidity",
    ("weather.normal", "humidity"): "dew",
}
"""Fields of which a table has one or the other: setting one takes the other out."""
HUNDREDTHS = 100


def field_change(kind: str, name: str, table: Mapping[str, Any], path: str, value: Value | None) -> Change:
    """A field set to `value`, or taken out (None), and what has to follow it so that the job stays sound."""
    change = SetField(kind, name, path, value)
    other = EITHER.get((kind, path))
    if other is not None and value is not None and other in table:
        return Several((SetField(kind, name, other, None), change))
    if (kind, path) == ("task", "who") and isinstance(value, list) and len(value) > table.get("hands", 1):
        return Several((SetField(kind, name, "hands", len(value)), change))
    if (kind, path) == ("material", "temps"):
        return Several((change, *_hours_anew(name, table, value)))
    return change


def stage_name_change(material: str, old: str, new: str) -> Change:
    """A stage called otherwise, or taken out where `new` is empty. Raises NotReadError for a field's name."""
    if new in FIXED:
        raise NotReadError(f"{new} is a field of every material. Take another name.")
    return RenameStage(material, old, new) if new else SetField("material", material, old, None)


def new_stage_change(material: str, table: Mapping[str, Any], text: str) -> Change:
    """``demould 12, 6, 3`` as a new stage. Raises NotReadError."""
    name, _, hours = text.strip().partition(" ")
    value = read_value("value", hours)
    if not name or value is None:
        raise NotReadError("Write its name, then hours for each column: demould 12, 6, 3.")
    if name in table or name in FIXED:
        raise NotReadError("There is a field of that name already. Take another.")
    if "." in name:
        raise NotReadError("A stage's name has letters, digits and hyphens.")
    return SetField("material", material, name, value)


def _hours_anew(name: str, table: Mapping[str, Any], temps: Value | None) -> list[SetField]:
    """Where there are more or fewer columns, the hours of every stage at the new ones, by the rule of cure.

    Rounded to hundredths, openings up and closings down. Nothing where the columns can't be reckoned with.
    """
    old, new = _numbers(table.get("temps")), _numbers(temps)
    if len(old) == len(new) or not new or sorted(set(new)) != new:
        return []
    changes = []
    for stage in stages_of(table):
        window = isinstance(table[stage], dict)
        opens_path = f"{stage}.opens" if window else stage
        opens = _at_temps(old, _numbers(value_at(table, opens_path)), new)
        changes.append(SetField("material", name, opens_path, _rounded(opens, up=True)))
        closes = _numbers(value_at(table, f"{stage}.closes"))
        if closes:
            later = _rounded(_at_temps(old, closes, new), up=False)
            both = [max(pair) for pair in zip(_rounded(opens, up=True), later, strict=True)]
            changes.append(SetField("material", name, f"{stage}.closes", list(both)))
    return changes


def _numbers(value: Any) -> list[float]:
    """A number or a list of them as a list; empty where it is anything else."""
    listed = value if isinstance(value, list) else [value]
    right = all(isinstance(n, int | float) and not isinstance(n, bool) and math.isfinite(n) for n in listed)
    return [float(n) for n in listed] if right else []


def _at_temps(old: list[float], hours: list[float], new: list[float]) -> list[float]:
    # Imported here so that the screen is up before numpy is.
    import numpy as np

    from sequencer.cure import hours_to_stage

    return [float(h) for h in hours_to_stage(tuple(old), tuple(hours), np.array(new))]


def _rounded(hours: list[float], up: bool) -> list[float]:
    """To hundredths; a hair over a hundredth, from reckoning, is none."""
    found = []
    for hour in hours:
        parts = hour * HUNDREDTHS
        found.append(max(1, math.ceil(parts - 1e-6) if up else math.floor(parts + 1e-6)) / HUNDREDTHS)
    return found
