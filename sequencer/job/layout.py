"""The kinds of tables in a job file: how each is named, and in which order tables and fields stand."""

from __future__ import annotations

import datetime as dt
from functools import cache
from typing import Any

from sequencer.errors import Fault, JobError
from sequencer.job.models import Crew, Day, Delivery, Gear, Head, Material, Normal, Task, Weather, Yard, Zone
from sequencer.job.tables import Table
from sequencer.job.wording import listing, nearest, shown

KINDS: dict[str, type[Table]] = {
    "job": Head,
    "yard": Yard,
    "weather": Weather,
    "weather.day": Day,
    "weather.normal": Normal,
    "crew": Crew,
    "zone": Zone,
    "gear": Gear,
    "delivery": Delivery,
    "material": Material,
    "task": Task,
}
"""Every kind with its model, in the order of a job file."""

SINGLE = ("job", "yard", "weather")
"""Kinds there is one of; their tables go by no name."""

LOG = ("started", "finished", "work_left", "reached")
"""The fields that say what happened to a task."""


def key_of(kind: str) -> str:
    """The field a kind's tables go by."""
    return {"weather.day": "date", "weather.normal": "month"}.get(kind, "id")


def name_of(kind: str, table: dict[str, Any]) -> str:
    """What a table of the file goes by: its id, the date as 2027-04-16, or the month's number."""
    found = table.get(key_of(kind))
    return found.date().isoformat() if isinstance(found, dt.datetime) else str(found)


def place(kind: str, name: str, field: str = "") -> str:
    """How sentences name a table, or a field of it."""
    where = f"{kind.replace('.', ' ')} {shown(name)}" if name else kind
    return f"{where}, {shown(field)}" if field else where


def check_kind(kind: str) -> None:
    """Raise JobError where there is no such kind."""
    if kind not in KINDS:
        near = nearest(kind, KINDS)
        hint = f"did you mean {near}?" if near else f"a job file has {listing(KINDS)}"
        raise JobError([Fault("", f"there is no table {shown(kind)}", hint)])


@cache
def field_order(kind: str) -> tuple[str, ...]:
    """The fields of a kind as the file names them, in their usual order."""
    fields = KINDS[kind].model_fields
    names = [info.alias or name for name, info in fields.items() if name != "stages"]
    return tuple(sorted(names, key=lambda name: name != key_of(kind)))


def rank(kind: str, field: str) -> int:
    """Where a field stands among those of its kind; a material's stages stand last."""
    order = field_order(kind)
    return order.index(field) if field in order else len(order)
