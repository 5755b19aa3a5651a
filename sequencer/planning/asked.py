"""Starts that tasks could have had, and which of them were stopped by what comes first: a date, the shift, the people.

Worked out for many rows of a plan laid end to end, in one go: row by row it takes several times as long.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.placing import Schedule
from sequencer.planning.problem import Item
from sequencer.planning.tables import Mask
from sequencer.planning.usage import Usage

FIRST = ("delivery", "date", "off-shift", "people")
"""What is told here, in the contract's order (§7)."""

Slots = NDArray[np.int64]


@dataclass(frozen=True)
class Gap:
    """The slots from `begin` to before `end` in which `item` could have started and did not."""

    item: Item
    begin: int
    end: int


@dataclass(frozen=True)
class Asked:
    """The starts in one gap, from slot `begin` on.

    ends: by start, the end of the work over the slots it could be worked, weather ahead left aside for work in one go.
    code: by start, the number in FIRST of what stops it, -1 for none of these.
    """

    item: Item
    begin: int
    ends: NDArray[np.int32]
    code: NDArray[np.int8]

    @property
    def slots(self) -> Slots:
        """The starts, rising by one."""
        return np.arange(self.begin, self.begin + len(self.code))

    @property
    def run(self) -> Slots:
        """The ends, to be reckoned with."""
        return self.ends.astype(np.int64)


class Suiting:
    """By item, the slots in which its people are there and its air suits the work."""

    def __init__(self, usage: Usage) -> None:
        self.problem = usage.problem
        self.tables = usage.problem.tables
        self._fits: dict[int, Mask] = {}

    def staffed(self, item: Item) -> Mask:
        """The slots in which the hands `item` wants are on shift."""
        return self.tables.staffed(item.hands, item.task.who)

    def fit(self, item: Item) -> Mask:
        """The slots whose air suits the work of `item`."""
        if item.index not in self._fits:
            self._fits[item.index] = self._fit_of(item)
        return self._fits[item.index]

    def _fit_of(self, item: Item) -> Mask:
        task, job = item.task, self.problem.job
        zone = job.zones[task.zone] if task.zone and not item.is_wait else None
        material = job.materials[task.material] if task.material else None
        return self.tables.fit(zone, task.needs, task.dry, material.apply if material else None)


class _Rows:
    """Gaps of several items and their work after it, to the end of the start taken, laid end to end.

    A place is a number in that row of slots. No earlier start ends later than the one taken, so all that could have
    been worked from any start in a gap lies in its row.
    """

    def __init__(self, gaps: Sequence[Gap], schedule: Schedule, usage: Usage, suiting: Suiting) -> None:
        items = [gap.item for gap in gaps]
        self.items, self.usage = items, usage
        begins = np.array([gap.begin for gap in gaps])
        self.sizes = np.array([schedule.ends[i.index] for i in items]) - begins
        self.shift = begins - (np.cumsum(self.sizes) - self.sizes)
        """By row, what makes a place of it a slot."""
        self.slots: Slots = np.arange(int(self.sizes.sum())) + self.along(self.shift)
        spans = [(gap.begin, schedule.ends[gap.item.index]) for gap in gaps]
        staffed = [suiting.staffed(i)[begin:end] for i, (begin, end) in zip(items, spans, strict=True)]
        self.staffed = np.concatenate(staffed)
        self.could = np.concatenate(
            [
                there if i.task.one_go else there & suiting.fit(i)[begin:end]
                for i, there, (begin, end) in zip(items, staffed, spans, strict=True)
            ]
        )
        self.asks = [gap.end - gap.begin for gap in gaps]
        self.hands = self.along([i.hands for i in items])
        self.own = self.could & (self.slots >= self.along([schedule.starts[i.index] for i in items]))
        self.asked = np.flatnonzero(self.slots < self.along([gap.end for gap in gaps]))
        """The places asked about."""

    def along(self, values: Sequence[int] | Slots) -> NDArray[Any]:
        """A value a row, by place."""
        return _spread(values, self.sizes)

    def asking(self, values: Sequence[int] | Slots) -> NDArray[Any]:
        """A value a row, by place asked about."""
        return _spread(values, self.asks)

    def ends(self) -> Slots:
        """By place asked about, the place of the end of the work."""
        before = np.cumsum(self.could) - self.could
        last = before[self.asked] + self.asking([i.work - 1 for i in self.items])
        found: Slots = np.flatnonzero(self.could)[last] + 1
        return found

    def taken(self) -> Mask:
        """By place, whether others have the people there."""
        usage = self.usage
        at = np.maximum(self.slots - usage.base, 0)
        taken = usage.left[at] + self.own * self.hands < self.hands
        for person, busy in enumerate(usage.people):
            wanted = [person in i.who for i in self.items]
            if any(wanted):
                taken |= self.along(wanted) & (busy[at] > self.own)
        found: Mask = taken & self.could & (self.slots >= usage.base)
        return found

    def too_short(self, slots: Slots, run: Slots) -> Mask:
        """By place asked about, whether work in one go would not end on the day it starts."""
        day = self.usage.problem.tables.grid.day_index
        there = self.could[self.asked] & self.asking([i.task.one_go for i in self.items])
        short: Mask = there & (day[slots] != day[np.minimum(run, len(day) - 1)])
        return short

    def due(self) -> list[int]:
        """By row, the slot before which the delivery does not let it start."""
        grid, deliveries = self.usage.problem.tables.grid, self.usage.problem.job.deliveries
        return [grid.slot(deliveries[i.task.delivery].due) if i.task.delivery else 0 for i in self.items]

    def dated(self) -> list[int]:
        """By row, the slot before which its date does not let it start."""
        grid = self.usage.problem.tables.grid
        return [grid.slot(i.task.not_before) if i.task.not_before is not None else 0 for i in self.items]


def _spread(values: Sequence[int] | Slots, counts: Sequence[int] | Slots) -> NDArray[Any]:
    """Each value so many times; a single one stands for as many as are asked of it."""
    return np.asarray(values) if len(values) == 1 else np.repeat(np.asarray(values), counts)


def ask(gaps: Sequence[Gap], schedule: Schedule, usage: Usage, suiting: Suiting) -> list[Asked]:
    """What stops the starts in each of these gaps, of what comes first; none of the gaps is empty."""
    rows = _Rows(gaps, schedule, usage, suiting)
    slots, ends = rows.slots[rows.asked], rows.ends()
    run = ends + rows.asking(rows.shift)
    before = np.concatenate(([0], np.cumsum(rows.taken())))
    manned = rows.asking([i.hands > 0 for i in rows.items])
    code = np.full(len(slots), -1, dtype=np.int8)
    code[manned & (~rows.staffed[rows.asked] | (before[ends] > before[rows.asked]))] = FIRST.index("people")
    code[manned & (usage.problem.tables.hands[slots] == 0)] = FIRST.index("off-shift")
    if any(i.task.one_go and i.hands for i in rows.items):
        code[manned & rows.too_short(slots, run)] = FIRST.index("off-shift")
    for name, until in (("date", rows.dated()), ("delivery", rows.due())):
        if any(until):
            code[slots < rows.asking(until)] = FIRST.index(name)
    cuts = pairwise(np.cumsum([0, *rows.asks]).tolist())
    # Most are asked for later, of a large job: kept small till then.
    small = run.astype(np.int32)
    return [Asked(gap.item, gap.begin, small[a:b], code[a:b]) for gap, (a, b) in zip(gaps, cuts, strict=True)]
