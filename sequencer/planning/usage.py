"""What a schedule takes up, slot by slot: hands, each person, each piece of gear, wet coats and dust in each air."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.bits import unbits
from sequencer.planning.placing import Placer, Schedule
from sequencer.planning.problem import Problem

Counts = NDArray[np.int32]

NOBODY = np.iinfo(np.int32).max
"""Stands for hands left over where nobody is at work."""


class Usage:
    """Counts over the slots [base, base + size) for one schedule.

    hands: people at work. people[p], gear[g], wet[a], dust[a]: as named. spare arrays may go below zero only by
    what was logged.
    """

    def __init__(self, placer: Placer, schedule: Schedule) -> None:
        problem = placer.problem
        self.problem: Problem = problem
        self.base = problem.base
        ends = [schedule.ends[i] for i in range(len(problem.items))]
        reach = max([*ends, *(k.end for k in schedule.keyed), problem.base + 1])
        self.size = min(problem.length, reach + 96 * 3) - self.base
        shape = (self.size,)
        self.hands = np.zeros(shape, dtype=np.int32)
        self.people = [np.zeros(shape, dtype=np.int32) for _ in problem.people]
        self.gear = [np.zeros(shape, dtype=np.int32) for _ in problem.gears]
        self.wet = [np.zeros(shape, dtype=np.int32) for _ in problem.airs]
        self.dust = [np.zeros(shape, dtype=np.int32) for _ in problem.airs]
        self.on_shift = problem.tables.hands[self.base : self.base + self.size].astype(np.int32)
        for item in problem.items:
            self._add(placer, schedule, item.index)
        for keyed in schedule.keyed:
            worked = self.worked(keyed.keying.course.workable, keyed.start, keyed.end)
            self.hands += worked
            if keyed.keying.dusty:
                self.dust[keyed.keying.air] += worked

    def window(self, begin: int, end: int) -> slice:
        """Slots [begin, end) as a slice of the counts, clipped."""
        return slice(min(self.size, max(0, begin - self.base)), min(self.size, max(0, end - self.base)))

    def worked(self, workable: int, start: int, end: int) -> Counts:
        """Counts of 1 in the workable slots of [start, end)."""
        counts = np.zeros(self.size, dtype=np.int32)
        begin, stop = max(start, self.base), min(end, self.base + self.size)
        if stop > begin:
            counts[begin - self.base : stop - self.base] = unbits(workable >> begin, stop - begin)
        return counts

    def _add(self, placer: Placer, schedule: Schedule, i: int) -> None:
        problem = self.problem
        item = problem.items[i]
        start, end = schedule.starts[i], schedule.ends[i]
        if item.hands or item.dusty:
            workable = item.course.workable if item.task.finished is None else 0
            # Begun work may wait behind other begun work: it is at work from its first piece on.
            begin = item.fixed.pieces[0][0] if item.fixed is not None and item.fixed.pieces else start
            worked = self.worked(workable, max(begin, self.base), end)
            self.hands += worked * item.hands
            for person in item.who:
                self.people[person] += worked
            if item.dusty:
                self.dust[item.air] += worked
        if item.set_curve is not None and item.air >= 0:
            self.wet[item.air][self.window(start, problem.stage_moment(item, "set", end))] += 1
        for use, hold in zip(item.task.gear, item.holds, strict=True):
            until = end if hold.until is None else problem.stage_moment(item, use.until or "done", end)
            self.gear[hold.gear][self.window(start, until)] += hold.units

    @cached_property
    def left(self) -> Counts:
        """Hands left over, slot by slot."""
        return self.on_shift - self.hands

    @cached_property
    def _spare(self) -> Counts:
        """Hands left over where somebody is at work; more than there are where nobody is."""
        return np.where(self.hands > 0, self.left, NOBODY)

    def spare_hands(self, spans: Sequence[tuple[int, int]]) -> list[int]:
        """By span (begin, end), the fewest hands left over in its slots with somebody at work; 0 where nobody is."""
        edges = np.clip(np.array(spans, dtype=np.int64).reshape(-1, 2) - self.base, 0, self.size)
        least = np.minimum.reduceat(np.append(self._spare, NOBODY), edges.ravel())[::2]
        found: list[int] = np.where((edges[:, 0] < edges[:, 1]) & (least < NOBODY), least, 0).tolist()
        return found

    def spare_gear(self, gear: int, start: int, end: int) -> int:
        """The fewest units of a gear left over in [start, end)."""
        part = self.gear[gear][self.window(start, end)]
        return self.problem.gear_counts[gear] - int(part.max()) if len(part) else 0
