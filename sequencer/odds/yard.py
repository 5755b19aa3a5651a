"""A yard for courses that are worked out only as far as they are asked for."""

from __future__ import annotations

from bisect import bisect_left
from typing import cast

from sequencer.odds.courses import LazyCourse
from sequencer.planning.problem import Item, Keying
from sequencer.planning.yard import Yard

MORE = 8 * 96
"""Slots by which the search for a start goes on where the known ones do not do."""


class FutureYard(Yard):
    """As :class:`Yard`, and the same answers; candidates are weighed on the few slots they touch."""

    __slots__ = ()

    @classmethod
    def over(cls, yard: Yard) -> FutureYard:
        """A copy of a yard."""
        other = cls.__new__(cls)
        other.problem = yard.problem
        other.short, other.busy = yard.short[:], yard.busy[:]
        other.wet, other.dust = yard.wet[:], yard.dust[:]
        other.gear_short = [levels[:] for levels in yard.gear_short]
        return other

    def copy(self) -> FutureYard:
        """An independent copy."""
        return FutureYard.over(self)

    def earliest(self, item: Item, ready: int, latest: int) -> tuple[int, int]:
        """See :meth:`Yard.earliest`."""
        if item.hands >= len(self.short):
            return -1, -1
        course = cast(LazyCourse, item.course)
        course.cover(ready)
        while True:
            found = self._first(item, course, ready, latest)
            if found[0] >= 0 or course.upto > latest or not course.extend(course.upto + MORE):
                return found

    def _first(self, item: Item, course: LazyCourse, ready: int, latest: int) -> tuple[int, int]:
        """The first of the known starts that fits."""
        starts, ends, base = course.starts, course.ends, self.problem.base
        blocked = self._blocked(item)
        workable = course.workable
        i, count = bisect_left(starts, ready), len(starts)
        while i < count:
            start, end = starts[i], ends[i]
            if start > latest:
                break
            at = start - base
            clash = 0
            if blocked:
                clash = blocked >> at
                if clash & 1:
                    # Nobody free at the start itself: go on at the next slot with somebody, however far.
                    i = bisect_left(starts, start + (~clash & (clash + 1)).bit_length() - 1, i + 1)
                    continue
                clash &= (workable >> start) & ((1 << (end - start)) - 1)
            if not clash:
                clash = self._clash(item, start, end)
                if not clash:
                    return start, end
            # Every start up to the last clash covers it too: courses never shorten by starting later.
            i = bisect_left(starts, start + clash.bit_length(), i + 1)
        return -1, -1

    def _blocked(self, item: Item) -> int:
        """Bits, from the base, of the slots in which the item can't be worked for what lies in the yard."""
        blocked = self.short[item.hands] if item.hands else 0
        for person in item.who:
            blocked |= self.busy[person]
        if item.dusty:
            blocked |= self.wet[item.air]
        return blocked

    def _clash(self, item: Item, start: int, end: int) -> int:
        """Bits, from the start, of the first thing in the way of its wet time or its gear; 0 where nothing is."""
        at, length = start - self.problem.base, self.problem.length
        if item.air >= 0 and item.set_curve is not None and (dust := self.dust[item.air] >> at):
            clash = dust & ((1 << (min(item.set_curve[end], length) - start)) - 1)
            if clash:
                return clash
        for hold in item.holds:
            taken = self.gear_short[hold.gear][hold.units] >> at
            if taken:
                until = end if hold.until is None else min(hold.until[end], length)
                clash = taken & ((1 << (until - start)) - 1)
                if clash:
                    return clash
        return 0

    def put(self, item: Item, start: int, end: int) -> None:
        """See :meth:`Yard.put`."""
        at, length = start - self.problem.base, self.problem.length
        if item.hands or item.dusty:
            worked = ((item.course.workable >> start) & ((1 << (end - start)) - 1)) << at
            if item.hands:
                self.take_hands(worked, item.hands)
                for person in item.who:
                    self.busy[person] |= worked
            if item.dusty:
                self.dust[item.air] |= worked
        if item.air >= 0 and item.set_curve is not None:
            self.wet[item.air] |= ((1 << (min(item.set_curve[end], length) - start)) - 1) << at
        for hold in item.holds:
            until = end if hold.until is None else min(hold.until[end], length)
            self.take_gear(hold.gear, hold.units, ((1 << (until - start)) - 1) << at)

    def key(self, keying: Keying, ready: int) -> tuple[int, int]:
        """See :meth:`Yard.key`."""
        course = cast(LazyCourse, keying.course)
        course.cover(max(ready, self.problem.base))
        while True:
            found = super().key(keying, ready)
            if found[0] >= 0 or not course.extend(course.upto + MORE):
                return found
