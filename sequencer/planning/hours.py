"""The people-hours argument: a launch is ruled out where work that must fit a span asks for more hours than it offers.

For a wanted launch every task has an earliest start (forward pass) and a latest one (backward pass). Work that
must then lie in a span of the on-shift axis may not exceed what the people there, on fit weather, can give: the
energetic argument of Baptiste, Le Pape and Nuijten (Annals of Operations Research 92, 1999, 305-333), on calendars.
The same holds for each piece of gear, whose count times the elapsed hours must hold what is to be held.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.bits import bits, unbits
from sequencer.planning.bound import latest_starts
from sequencer.planning.placing import Placer
from sequencer.planning.problem import Item
from sequencer.planning.yard import units_free

Ints = NDArray[np.int64]

MOST_FOR_PARTIAL = 160
"""Groups larger than this are tested with whole tasks only: the partial test is cubic."""


@dataclass
class _Group:
    """Items that draw on one supply. supply[k]: what all slots before base + k offer together.

    need, units: by item, what it takes in all and in each slot. own: by item, in how many slots before base + k it
    could take it. until: by item, until when it takes it, by end of work (None: that end).
    """

    items: list[Item]
    supply: Ints
    need: Ints
    units: Ints
    own: list[Ints]
    until: list[Sequence[int] | None]


class HoursBound:
    """Bounds one problem. earliest: earliest starts and ends by item."""

    def __init__(self, placer: Placer, starts: Sequence[int], ends: Sequence[int]) -> None:
        self.placer = placer
        self.problem = placer.problem
        self.starts, self.ends = starts, ends
        self._usable: dict[int, int] = {}
        self._counts: dict[int, Ints] = {}
        self.workers = [
            self.problem.items[i]
            for i in placer.free
            if i in placer.before_launch and self.problem.items[i].hands and i != self.problem.finish
        ]
        self.wanted = [
            self.problem.items[i] for i in placer.free if i in placer.before_launch and i != self.problem.finish
        ]
        self.groups = [*self._groups(), *self._gear_groups(), *self._air_groups()]

    # -- groups -----------------------------------------------------------------------------------------------

    def _groups(self) -> list[_Group]:
        if not self.workers:
            return []
        hands = self._free_hands()
        classes: dict[int, list[Item]] = {}
        for item in self.workers:
            classes.setdefault(self._usable_bits(item), []).append(item)
        groups = [self._group(self.workers, hands)]
        for mask in self._unions(list(classes)):
            # What may be worked only in these slots, whatever the task, shares what they offer.
            joined = [i for other, items in classes.items() if other | mask == mask for i in items]
            if len(joined) > 1:
                groups.append(self._group(joined, hands * self._array(mask)))
        for person in range(len(self.problem.people)):
            named = [i for i in self.workers if person in i.who]
            if len(named) > 1:
                there = self.problem.tables.shifts[self.problem.people[person]][self.problem.base :]
                groups.append(self._group(named, there.astype(np.int64), single=True))
        return groups

    def _gear_groups(self) -> list[_Group]:
        """For each piece of gear, what is to be held against its count over all hours, day and night."""
        size = self.problem.length - self.problem.base
        groups = []
        for gear, count in enumerate(self.problem.gear_counts):
            held = [(i, h) for i in self.wanted for h in i.holds if h.gear == gear]
            if len(held) < 2 or sum(h.units for _, h in held) <= count:
                continue
            free = units_free(self.placer.yard0.gear_short[gear], size)
            every = np.arange(size + 1)
            units = np.array([h.units for _, h in held], dtype=np.int64)
            need = np.array([self._shortest(i, h.until, every) for i, h in held]) * units
            supply = np.concatenate(([0], np.cumsum(free)))
            items = [i for i, _ in held]
            groups.append(_Group(items, supply, need, units, [every] * len(held), [h.until for _, h in held]))
        return groups

    def _air_groups(self) -> list[_Group]:
        """For each coat, it and the dusty work of its air: while it is wet nobody's hours are any good for dust."""
        groups = []
        supply = np.concatenate(([0], np.cumsum(self._free_hands())))
        for coat in self.wanted:
            dusty = [i for i in self.workers if i.dusty and i.air == coat.air and i is not coat]
            if coat.set_curve is None or coat.air < 0 or not dusty:
                continue
            units = np.array([i.hands for i in dusty] + [1], dtype=np.int64)
            need = np.array([i.work * i.hands for i in dusty] + [self._shortest(coat, coat.set_curve, supply)])
            own = [self._counts[id(i.course)] for i in dusty] + [supply]
            groups.append(_Group([*dusty, coat], supply, need, units, own, [None] * len(dusty) + [coat.set_curve]))
        return groups

    def _shortest(self, item: Item, until: Sequence[int] | None, count: Ints) -> int:
        """The least of `count` between start and release over all starts from the earliest."""
        base, last = self.problem.base, len(count) - 1
        course = item.course
        at = bisect_left(course.starts, self.starts[item.index])
        starts = np.array(course.starts[at:]) - base
        ends = course.ends[at:] if until is None else [until[e] for e in course.ends[at:]]
        taken = count[np.minimum(np.array(ends) - base, last)] - count[starts]
        # A release past the grid tells nothing of how long it takes.
        whole = np.array(ends) - base <= last
        return int(taken[whole].min()) if whole.any() else 0

    @staticmethod
    def _unions(masks: list[int]) -> list[int]:
        """Each class's slots, and those of the narrowest few together: the narrow ones starve first."""
        narrow = sorted(masks, key=int.bit_count)
        found = dict.fromkeys(masks)
        union = 0
        for mask in narrow:
            union |= mask
            found[union] = None
        return list(found)

    def _usable_bits(self, item: Item) -> int:
        """Slots in which the item is worked from one feasible start or another."""
        course = item.course
        key = id(course)
        if key not in self._usable:
            size = self.problem.length + 1
            step = np.zeros(size + 1, dtype=np.int64)
            np.add.at(step, np.array(course.starts, dtype=np.int64), 1)
            np.add.at(step, np.array(course.ends, dtype=np.int64), -1)
            covered = (np.cumsum(step) > 0)[:size]
            self._usable[key] = bits(covered) & course.workable
            self._counts[key] = np.concatenate(([0], np.cumsum(self._array(course.workable))))
        return self._usable[key]

    def _free_hands(self) -> Ints:
        """By slot from base, the hands on shift less those busy with what the log has begun."""
        return units_free(self.placer.yard0.short, self.problem.length - self.problem.base)

    def _array(self, mask: int) -> Ints:
        size = self.problem.length - self.problem.base
        return unbits(mask >> self.problem.base, size).astype(np.int64)

    def _group(self, items: list[Item], offer: Ints, single: bool = False) -> _Group:
        supply = np.concatenate(([0], np.cumsum(offer)))
        units = np.array([1 if single else i.hands for i in items], dtype=np.int64)
        need = np.array([i.work for i in items], dtype=np.int64) * units
        own = [self._counts[id(i.course)] for i in items]
        return _Group(items, supply, need, units, own, [None] * len(items))

    # -- the test ---------------------------------------------------------------------------------------------

    def refutes(self, launch: int, partial: bool = True, stop: Callable[[], bool] = lambda: False) -> bool:
        """Whether no plan can launch at or before `launch`, as far as looked until `stop` says so.

        partial: whether to count the parts of tasks too, which takes longer.
        """
        latest = latest_starts(self.placer, launch)
        ends = [-1] * len(latest)
        for i in self.placer.before_launch:
            item = self.problem.items[i]
            if item.fixed is not None:
                continue
            if latest[i] < self.starts[i]:
                return True
            ends[i] = item.course.ends[bisect_left(item.course.starts, latest[i])]
        return any(not stop() and self._overfull(group, latest, ends, partial) for group in self.groups)

    def _released(self, group: _Group, ends: list[int]) -> Ints:
        """Until when each item takes what the group offers, from base, clipped to the grid."""
        moments = [e if u is None else u[e] for e, u in zip(ends, group.until, strict=True)]
        clipped: Ints = np.minimum(np.array(moments, dtype=np.int64), self.problem.length) - self.problem.base
        return clipped

    def _overfull(self, group: _Group, latest: Sequence[int], ends: Sequence[int], partial: bool) -> bool:
        base = self.problem.base
        index = [i.index for i in group.items]
        early = np.array([self.starts[i] for i in index]) - base
        late = np.array([latest[i] for i in index]) - base
        early_end = self._released(group, [self.ends[i] for i in index])
        late_end = self._released(group, [ends[i] for i in index])
        if _whole_overfull(group.supply[early], group.supply[late_end], group.need):
            return True
        if not partial or len(index) > MOST_FOR_PARTIAL:
            return False
        begins, stops = np.unique(np.concatenate((early, late))), np.unique(np.concatenate((early_end, late_end)))
        return _partial_overfull(group, early, late_end, begins, stops)


def _whole_overfull(early: Ints, late_end: Ints, need: Ints) -> bool:
    """Whether some span holds whole tasks that need more than it offers. All in units of the group's supply."""
    begins, ends = np.unique(early), np.unique(late_end)
    table = np.zeros((len(begins), len(ends)), dtype=np.int64)
    np.add.at(table, (np.searchsorted(begins, early), np.searchsorted(ends, late_end)), need)
    inside = np.cumsum(np.cumsum(table[::-1], axis=0)[::-1], axis=1)
    room = ends[None, :] - begins[:, None]
    return bool(((inside > room) & (inside > 0)).any())


def _partial_overfull(group: _Group, early: Ints, late_end: Ints, begins: Ints, stops: Ints) -> bool:
    """As above with the parts of tasks that must lie in a span wherever they are put.

    What must lie within is the least of: all but what can be done before the span from the earliest start, all but
    what can be done after it up to the latest end, and what a run across the whole span does in it.
    """
    before = np.stack([own[begins] for own in group.own])
    after = np.stack([own[stops] for own in group.own])
    at_early = np.array([own[e] for own, e in zip(group.own, early, strict=True)])
    at_late = np.array([own[e] for own, e in zip(group.own, late_end, strict=True)])
    units, need = group.units[:, None], group.need[:, None]
    left = need - units * np.maximum(0, before - at_early[:, None])
    right = need - units * np.maximum(0, at_late[:, None] - after)
    for k, begin in enumerate(begins):
        room = group.supply[stops] - group.supply[begin]
        across = units * (after - before[:, k : k + 1])
        must = np.minimum(np.minimum(left[:, k : k + 1], right), across)
        if bool(((np.maximum(0, must).sum(axis=0) > room) & (stops > begin)).any()):
            return True
    return False


def hours_bound(
    placer: Placer, starts: Sequence[int], ends: Sequence[int], best: int, stop: Callable[[], bool] = lambda: False
) -> int:
    """The first launch not ruled out by people's hours, at least the forward pass's and at most `best`.

    stop: polled; where it says so, what was ruled out by then.
    """
    finish = placer.problem.items[placer.problem.finish]
    if finish.fixed is not None:
        return best
    test = HoursBound(placer, starts, ends)
    launches = finish.course.starts
    low = bisect_left(launches, starts[finish.index])
    # Whole tasks first: that is quick, and in a large job most of it.
    for partial in (False, True):
        high = bisect_left(launches, best)
        while low < high and not stop():
            middle = (low + high) // 2
            if test.refutes(launches[middle], partial, stop):
                low = middle + 1
            else:
                high = middle
    return launches[low] if low < len(launches) else best
