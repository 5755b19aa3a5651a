"""What a launch by some slot asks for: last starts, and room for all that is left in the hours of hands still free."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.bound import latest_starts
from sequencer.planning.placing import Placer
from sequencer.planning.yard import Yard, units_free


@dataclass
class Room:
    """The hours of hands free from some slot on. done: by slot from the problem's base those before it.

    spare: how many may be left idle. over: an item whose work has no room, with that of others; -1 where all has.
    """

    done: NDArray[np.int64]
    spare: int
    over: int = -1


@dataclass
class Goal:
    """What a launch by some slot asks for. latest, ends: last start and last end by item. end: the last of those.

    needed: the items it waits for, each after all that it waits for itself. work: slots of hands by item.
    """

    latest: list[int]
    ends: NDArray[np.int64]
    end: int
    needed: tuple[int, ...]
    work: NDArray[np.int64]

    def room(self, yard: Yard, slot: int, left: Sequence[int], heads: Sequence[int]) -> Room:
        """The hours free from `slot` on, beside what lies in the yard. heads: earliest starts of the items left.

        Work due by some slot must lie before it, and work that can't start before some slot after it.
        """
        base = yard.problem.base
        free = units_free(yard.short, max(self.end, slot) - base)
        done = np.concatenate((np.zeros(1, dtype=np.int64), np.cumsum(free)))
        items = np.array(left)
        need, ends, begins = self.work[items], self.ends[items], np.minimum(np.array(heads), self.end)
        now, last = done[slot - base], done[self.end - base]
        over = _overfull(ends, need, done[ends - base] - now)
        if over < 0:
            over = _overfull(-begins, need, last - done[begins - base])
        return Room(done, int(last - now - need.sum()), left[over] if over >= 0 else -1)


def goal_of(placer: Placer, launch: int, ready: int | None = None) -> Goal:
    """What a launch by slot `launch` asks for, with all ready for it by slot `ready` where that is sooner."""
    problem = placer.problem
    latest = latest_starts(placer, launch, ready)
    waited = placer.before_launch.intersection(placer.free)
    needed = tuple(i for i in problem.order if i in waited and i != problem.finish)
    ends = np.full(len(problem.items), problem.base, dtype=np.int64)
    work = np.zeros(len(problem.items), dtype=np.int64)
    for i in needed:
        item = problem.items[i]
        at = bisect_left(item.course.starts, latest[i])
        ends[i] = item.course.ends[at] if latest[i] >= 0 else problem.base
        work[i] = item.work * item.hands
    return Goal(latest, ends, int(ends.max()), needed, work)


def _overfull(order: NDArray[np.int64], need: NDArray[np.int64], room: NDArray[np.int64]) -> int:
    """The first in this order whose need and that of all before it is more than its room; -1 for none."""
    by = np.argsort(order, kind="stable")
    past = np.flatnonzero((np.cumsum(need[by]) > room[by]) & (need[by] > 0))
    return int(by[past[0]]) if len(past) else -1
