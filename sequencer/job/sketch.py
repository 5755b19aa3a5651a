"""A job file as far as it could be read, for the rules between tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from sequencer.errors import Fault
from sequencer.job.drafts import Entry
from sequencer.job.links import DONE
from sequencer.job.models import Crew, Delivery, Gear, Head, Job, Material, Task, Weather, Yard, Zone
from sequencer.job.tables import Moment, Named
from sequencer.job.wording import listing, nearest, ordinal, shown

NAMED_KINDS = ("crew", "zone", "gear", "delivery", "material", "task")
"""The kinds whose tables have ids."""

N = TypeVar("N", bound=Named)


@dataclass
class Sketch:
    """The tables of a file, each as far as it could be read.

    unread: kinds whose whole section could not be read, so that nothing is known about what they hold.
    """

    head: Entry[Head] | None = None
    yard: Entry[Yard] | None = None
    weather: Entry[Weather] | None = None
    crew: Sequence[Entry[Crew]] = ()
    zone: Sequence[Entry[Zone]] = ()
    gear: Sequence[Entry[Gear]] = ()
    delivery: Sequence[Entry[Delivery]] = ()
    material: Sequence[Entry[Material]] = ()
    task: Sequence[Entry[Task]] = ()
    unread: set[str] = field(default_factory=set)

    def named(self, kind: str) -> Sequence[Entry[Any]]:
        """The tables of a kind that has ids."""
        tables: Sequence[Entry[Any]] = getattr(self, kind)
        return tables

    def names(self, kind: str) -> dict[str, None] | None:
        """The ids of a kind in the file's order, also of tables with faults; None where none was read."""
        return None if kind in self.unread else self._names[kind]

    @cached_property
    def _names(self) -> dict[str, dict[str, None]]:
        return {kind: {e.id: None for e in self.named(kind) if e.id} for kind in NAMED_KINDS}

    @cached_property
    def tasks(self) -> dict[str, Entry[Task]]:
        """Tasks by id; where an id is used twice, the first."""
        return {entry.id: entry for entry in reversed(self.task)}

    @cached_property
    def materials(self) -> dict[str, Entry[Material]]:
        """Materials by id; where an id is used twice, the first."""
        return {entry.id: entry for entry in reversed(self.material)}

    @cached_property
    def counts(self) -> dict[str, int]:
        """How many there are of each gear, where that is known."""
        return {entry.id: entry.table.count for entry in reversed(self.gear) if entry.sure("count")}

    def stage_faults(self, where: str, words: str, stage: str, entry: Entry[Task]) -> Iterator[Fault]:
        """The fault, if any, that the material of `entry` has no such stage; `words` are the owner's."""
        if stage == DONE or not entry.sure("material"):
            return
        if entry.table.material is None:
            hint = f"give {shown(entry.id)} a material, or name no stage"
            yield Fault(where, f"{words} names a stage, and {shown(entry.id)} has no material", hint)
            return
        material = self.materials.get(entry.table.material)
        if material is None or stage in material.table.stages:
            return
        name, stages = shown(material.id), material.table.stages
        near = nearest(stage, stages)
        what = f"{words} names a stage that {name} does not have: it lists {listing(stages)}"
        yield Fault(where, what, f"did you mean {near}?" if near else "name one of these")

    @property
    def now(self) -> Moment | None:
        """The moment the file plans from, where it gives one."""
        return self.head.table.now if self.head is not None else None

    @property
    def timezone(self) -> ZoneInfo | None:
        """The yard's time zone, where it could be read."""
        return self.head.table.timezone if self.head is not None and self.head.sure("timezone") else None

    @property
    def hauled(self) -> Moment | None:
        """The moment she was hauled, where it could be read."""
        return self.head.table.hauled if self.head is not None and self.head.sure("hauled") else None


def place_of(kind: str, name: object, position: int) -> str:
    """How sentences name a table: by its id, or by its position (from 1) where it has none."""
    return f"{kind} {shown(name)}" if isinstance(name, str) and name else f"the {ordinal(position)} {kind}"


def sketch_of(job: Job) -> Sketch:
    """A whole job, every field of it sure."""
    return Sketch(
        head=Entry("job", "", job.job),
        yard=None if job.yard is None else Entry("yard", "", job.yard),
        weather=Entry("weather", "", job.weather),
        crew=_entries("crew", job.crew),
        zone=_entries("zone", job.zone),
        gear=_entries("gear", job.gear),
        delivery=_entries("delivery", job.delivery),
        material=_entries("material", job.material),
        task=_entries("task", job.task),
    )


def _entries(kind: str, tables: Sequence[N]) -> list[Entry[N]]:
    return [Entry(place_of(kind, table.id, i), table.id, table) for i, table in enumerate(tables, 1)]


def job_of(sketch: Sketch) -> Job:
    """The job, once a sketch has no faults."""
    assert sketch.head is not None
    return Job.model_construct(
        job=sketch.head.table,
        yard=sketch.yard.table if sketch.yard is not None else None,
        weather=sketch.weather.table if sketch.weather is not None else Weather(),
        crew=tuple(entry.table for entry in sketch.crew),
        zone=tuple(entry.table for entry in sketch.zone),
        gear=tuple(entry.table for entry in sketch.gear),
        delivery=tuple(entry.table for entry in sketch.delivery),
        material=tuple(entry.table for entry in sketch.material),
        task=tuple(entry.table for entry in sketch.task),
    )
