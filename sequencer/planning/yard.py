"""What lies in the yard while tasks are placed, and where the next one fits."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.bits import low_ones, unbits
from sequencer.planning.problem import Item, Keying, Problem


def units_free(levels: Sequence[int], size: int) -> NDArray[np.int64]:
    """How many hands, or units of a gear, are free in each of the first `size` slots from the problem's base.

    levels: bit sets as in `short` and `gear_short` of a yard, by units: the slots in which fewer are free.
    """
    free = np.zeros(size, dtype=np.int64)
    for level in levels[1:]:
        free += unbits(~level, size)
    return free


class Yard:
    """What lies in the yard while placing: people, gear, wet coats and dust, as bit sets from the problem's base."""

    __slots__ = ("busy", "dust", "gear_short", "problem", "short", "wet")

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.short = list(problem.short)
        self.busy = [0] * len(problem.people)
        self.wet = [0] * len(problem.airs)
        self.dust = [0] * len(problem.airs)
        # gear_short[g][u]: slots in which fewer than u units of gear g are free.
        self.gear_short = [[0] * (count + 1) for count in problem.gear_counts]

    def copy(self) -> Yard:
        """An independent copy."""
        other = Yard.__new__(Yard)
        other.problem = self.problem
        other.short, other.busy = self.short[:], self.busy[:]
        other.wet, other.dust = self.wet[:], self.dust[:]
        other.gear_short = [levels[:] for levels in self.gear_short]
        return other

    def earliest(self, item: Item, ready: int, latest: int) -> tuple[int, int]:
        """The first start at or after `ready` and at most `latest` that fits, and its end; (-1, -1) where none does."""
        course = item.course
        starts, ends, memo = course.starts, course.ends, item.memo
        count = len(starts)
        i = bisect_left(starts, ready)
        hands, who, holds, air = item.hands, item.who, item.holds, item.air
        short, base = self.short, self.problem.base
        if hands >= len(short):
            return -1, -1
        dust = self.dust[air] if air >= 0 and item.set_curve is not None else 0
        wet = self.wet[air] if item.dusty else 0
        scarce = short[hands] if hands else 0
        while i < count:
            start = starts[i]
            if scarce & 1 << start - base:
                # Nobody free at the start itself: go on at the next slot with somebody, however far.
                i = bisect_left(starts, start + low_ones(scarce >> (start - base)), i + 1)
                continue
            if start > latest:
                break
            entry = memo.get(start)
            if entry is None:
                entry = self.problem.entry(item, start, ends[i])
            end, worked, wet_bits, held = entry
            clash = worked & scarce
            if not clash and who:
                for person in who:
                    clash = worked & self.busy[person]
                    if clash:
                        break
            if not clash and wet:
                clash = worked & wet
            if not clash and dust:
                clash = wet_bits & dust
            if not clash and holds:
                for hold, span in zip(holds, held, strict=True):
                    levels = self.gear_short[hold.gear]
                    clash = span & levels[hold.units]
                    if clash:
                        break
            if not clash:
                return start, end
            # Every start up to the last clash covers it too: courses never shorten by starting later.
            i = bisect_left(starts, base + clash.bit_length(), i + 1)
        return -1, -1

    def put(self, item: Item, start: int, end: int) -> None:
        """Lay an item down."""
        _, worked, wet_bits, held = item.memo.get(start) or self.problem.entry(item, start, end)
        if item.hands:
            self.take_hands(worked, item.hands)
            for person in item.who:
                self.busy[person] |= worked
        if item.air >= 0:
            self.wet[item.air] |= wet_bits
            if item.dusty:
                self.dust[item.air] |= worked
        for hold, span in zip(item.holds, held, strict=True):
            self.take_gear(hold.gear, hold.units, span)

    def take_gear(self, gear: int, units: int, span: int) -> None:
        """Take units of gear over a span; what is taken beyond the count just leaves none free."""
        levels = self.gear_short[gear]
        top = len(levels) - 1
        for level in range(1, top + 1):
            levels[level] |= span & levels[level + units] if level + units <= top else span

    def take_hands(self, worked: int, hands: int) -> None:
        """Take hands over the slots worked."""
        short = self.short
        top = len(short) - 1
        for level in range(1, top + 1):
            short[level] |= worked & short[level + hands] if level + hands <= top else worked

    def key(self, keying: Keying, ready: int) -> tuple[int, int]:
        """Lay a keying down at its earliest from `ready`; (-1, -1) where there is no room for it."""
        course, problem = keying.course, self.problem
        if len(self.short) < 2:
            return -1, -1
        i = bisect_left(course.starts, max(ready, problem.base))
        wet = self.wet[keying.air] if keying.dusty else 0
        blocked = self.short[1] | wet
        while i < len(course.starts):
            start, end = course.starts[i], course.ends[i]
            worked = (problem.span_bits(start, end) << problem.base & course.workable) >> problem.base
            clash = worked & blocked
            if not clash:
                self.take_hands(worked, 1)
                if keying.dusty:
                    self.dust[keying.air] |= worked
                return start, end
            i = bisect_left(course.starts, problem.base + clash.bit_length(), i + 1)
        return -1, -1
