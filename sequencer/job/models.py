"""The job file as pydantic models: one class a table, names as in the file.

Nothing here knows about the grid or the planner. Times are as the owner wrote them: a ``date``, a
``datetime`` without an offset (the yard's own time) or one with an offset. Units as in the file.
Rules within one table stand with the table; rules between tables are in :mod:`sequencer.job.crosscheck`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Literal, Self
from zoneinfo import ZoneInfo

from pydantic import BeforeValidator, PrivateAttr

from sequencer.job.materials import Apply, IfMissed, Material, Stage
from sequencer.job.people import Crew, Hours
from sequencer.job.skies import Day, Normal, Weather
from sequencer.job.tables import Celsius, Moment, Money, Named, Ref, Table, Text, Whole
from sequencer.job.tasks import GearUse, Needs, Task, Work
from sequencer.job.values import parse_range, parse_zone

__all__ = [
    "Apply",
    "Crew",
    "Day",
    "Delivery",
    "Gear",
    "GearUse",
    "Head",
    "Hours",
    "IfMissed",
    "Job",
    "Material",
    "Moment",
    "Needs",
    "Normal",
    "Shelter",
    "Stage",
    "Task",
    "Weather",
    "Work",
    "Yard",
    "Zone",
]

Shelter = Literal["open", "covered", "inside"]
"""``open``: rain and dew reach it; ``covered``: neither; ``inside``: neither, and no wind."""


class Head(Table):
    """``[job]``. finish: the task whose start ends the stay."""

    title: Text = "Haul-out"
    boat: Text = ""
    note: Text = ""
    timezone: Annotated[ZoneInfo, BeforeValidator(parse_zone)]
    hauled: Moment
    finish: Ref
    now: Moment | None = None


class Yard(Table):
    """``[yard]``: what the stay costs, in `currency`."""

    title: Text = ""
    note: Text = ""
    currency: Text = ""
    night: Money = 0.0
    free_nights: Whole = 0
    fixed: Money = 0.0


class Zone(Named):
    """``[[zone]]``: a place on the boat, its air and its shelter. heat_to: °C."""

    air: Text = ""
    shelter: Shelter = "open"
    heat_to: Celsius | None = None

    @property
    def air_id(self) -> str:
        """The air this zone shares: ``air``, or else its own id."""
        return self.air or self.id


class Gear(Named):
    """``[[gear]]``: something there are only so many of."""

    count: Whole = 1


class Delivery(Named):
    """``[[delivery]]``: something that must come first. range: the earliest and the latest it may come."""

    due: Moment
    range: Annotated[tuple[Moment, Moment], BeforeValidator(parse_range)] | None = None


class Job(Table):
    """A whole job file: one stay on the stands."""

    job: Head
    yard: Yard | None = None
    weather: Weather = Weather()
    crew: tuple[Crew, ...] = ()
    zone: tuple[Zone, ...] = ()
    gear: tuple[Gear, ...] = ()
    delivery: tuple[Delivery, ...] = ()
    material: tuple[Material, ...] = ()
    task: tuple[Task, ...] = ()

    _path: Path | None = PrivateAttr(None)

    @property
    def path(self) -> Path | None:
        """The file this job was read from; None for a job made in memory."""
        return self._path

    @property
    def folder(self) -> Path:
        """Where files named in the job are looked for."""
        return self._path.parent if self._path is not None else Path()

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """A copy with other tables; what was looked up by id in this one is forgotten in it."""
        copy = super().model_copy(update=update, deep=deep)
        for name in ("tasks", "zones", "materials", "gears", "deliveries", "people"):
            copy.__dict__.pop(name, None)
        return copy

    @cached_property
    def tasks(self) -> dict[str, Task]:
        """Tasks by id, in the file's order."""
        return {t.id: t for t in self.task}

    @cached_property
    def zones(self) -> dict[str, Zone]:
        """Zones by id."""
        return {z.id: z for z in self.zone}

    @cached_property
    def materials(self) -> dict[str, Material]:
        """Materials by id."""
        return {m.id: m for m in self.material}

    @cached_property
    def gears(self) -> dict[str, Gear]:
        """Gear by id."""
        return {g.id: g for g in self.gear}

    @cached_property
    def deliveries(self) -> dict[str, Delivery]:
        """Deliveries by id."""
        return {d.id: d for d in self.delivery}

    @cached_property
    def people(self) -> dict[str, Crew]:
        """Crew by id."""
        return {c.id: c for c in self.crew}
