"""The compiled problem: what the placing, the bounds and the proof work on. Whole numbers only.

Items are the job's tasks in the file's order. Slots are quarter hours on the job's grid; bit sets count from
`base`, the slot the plan starts from, since nothing is placed before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from sequencer.grid import hours_to_slots
from sequencer.job import Job, Task
from sequencer.job.links import DONE
from sequencer.planning.tables import Course, Tables

Entry = tuple[int, int, int, tuple[int, ...]]
"""What a start means: end, bits worked, bits wet (0 unless a coat), bits each gear is held."""


@dataclass(frozen=True)
class Keying:
    """What it takes to key an earlier coat whose window was missed."""

    work: int
    dusty: bool
    air: int
    course: Course


@dataclass(frozen=True)
class Edge:
    """One link of a task to a task before it.

    before: index of the earlier item. stage: its name. opens: by end of the earlier work the moment the stage is
    reached (None: the end itself). closes: by start of the earlier work the moment the window closes (None: never).
    """

    before: int
    stage: str
    opens: Sequence[int] | None
    closes: Sequence[int] | None
    keying: Keying | None


@dataclass(frozen=True)
class Hold:
    """Gear an item holds: index of the gear, units, and by end of work until when (None: the end itself)."""

    gear: int
    units: int
    until: Sequence[int] | None


@dataclass
class Fixed:
    """What has happened: start, end and the moments of the stages that were seen; slots.

    past: spans worked up to now. pieces: what the plan tells of it: all of finished work, what is left of begun work.
    """

    start: int
    end: int
    past: list[tuple[int, int]]
    pieces: list[tuple[int, int]]
    reached: dict[str, int]


@dataclass
class Item:
    """One task, compiled."""

    index: int
    id: str
    task: Task
    work: int
    hands: int
    who: tuple[int, ...]
    course: Course
    air: int
    dusty: bool
    set_curve: Sequence[int] | None
    holds: tuple[Hold, ...]
    edges: tuple[Edge, ...]
    release: int
    """The first slot it may start: `now`, deliveries, dates, and what the log has fixed before it."""
    fixed: Fixed | None = None
    memo: dict[int, Entry] = field(default_factory=dict)

    @property
    def is_wait(self) -> bool:
        """Whether hours just pass."""
        return self.task.wait is not None


@dataclass
class Problem:
    """A job compiled for planning from slot `base` on."""

    job: Job
    tables: Tables
    base: int
    items: list[Item]
    finish: int
    order: list[int]
    """A topological order of the items."""
    followers: list[list[tuple[int, Edge]]]
    """For each item, the items that come after it and by which edge."""
    airs: list[str]
    people: list[str]
    gears: list[str]
    gear_counts: list[int]
    short: list[int]
    """short[h]: bits of the slots in which fewer than h people are on shift (h from 0)."""
    now_given: bool = False

    @property
    def length(self) -> int:
        """The last grid line."""
        return self.tables.grid.length

    def key_id(self, after: int, before: int) -> str:
        """The row id of the keying of a coat for a later item (contract §3.2)."""
        return f"{self.items[after].id}/key/{self.items[before].id}"

    def span_bits(self, begin: int, end: int) -> int:
        """Bits of the slots in [begin, end), counted from base."""
        begin, end = max(begin, self.base), max(end, self.base)
        return ((1 << (end - begin)) - 1) << (begin - self.base) if end > begin else 0

    def stage_moment(self, item: Item, stage: str, end: int) -> int:
        """When `stage` of `item` is reached, its work ending at `end`; Tables.never where past the grid."""
        if stage == DONE:
            return end
        if item.fixed is not None and stage in item.fixed.reached:
            return item.fixed.reached[stage]
        zone, material = self.tables.job.zones[item.task.zone or ""], self.job.materials[item.task.material or ""]
        curve = self.tables.opens(zone, material, stage)
        if curve is None:
            return end
        return curve[end] if 0 <= end < len(curve) else self.tables.never

    def entry(self, item: Item, start: int, end: int) -> Entry:
        """The bits a start takes up; memoised by start."""
        found = item.memo.get(start)
        if found is None:
            span = self.span_bits(start, end)
            worked = span
            if item.hands or item.dusty:
                # Cut first, moved after: the short number costs a fraction of the long one.
                worked = (span << self.base & item.course.workable) >> self.base
            wet = 0
            if item.set_curve is not None:
                wet = self.span_bits(start, min(item.set_curve[end], self.length))
            held = tuple(
                self.span_bits(start, end if h.until is None else min(h.until[end], self.length)) for h in item.holds
            )
            found = item.memo[start] = (end, worked, wet, held)
        return found


def work_slots(task: Task) -> int:
    """Likely work, or wait, in whole quarter hours."""
    return hours_to_slots(task.hours)
