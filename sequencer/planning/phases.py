"""The argument of phases: where work lasts whole hours, whoever begins at the half hour ends there too.

What must all be done by a launch may leave few hours idle. Hands come and go at hours of their own, and work that is
begun goes on until it is done, so at each of those moments just as many pieces must end, or somebody stands idle. On
the on-shift axis a piece whose length is a multiple of some grain ends in the phase it began in. That is looked at
here and all else let go: any hands may do any number of pieces of any multiple, only pieces of another length are
counted, each once and within its span. By dynamic programming over the axis; a launch at which even then more hours
would be idle than are left over is ruled out. No source: worked out here.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import combinations

import numpy as np

from sequencer.planning.axis import Axis
from sequencer.planning.bits import unbits
from sequencer.planning.bound import latest_starts
from sequencer.planning.placing import Placer
from sequencer.planning.problem import Item
from sequencer.planning.tables import Course
from sequencer.planning.yard import units_free

GRAINS = (8, 6, 4, 3, 2)
"""Slots whose multiples are looked for: two hours down to half an hour."""

MOST_ODD = 4
"""Pieces of other lengths, up to which a grain is looked at: each doubles the work."""

MOST_HANDS = 4
"""Hands at once up to which it is."""

MOST_LEFT = 8
"""Slots left over past which it is not looked at: where so much may be idle phases rule nothing out."""

MOST_STATES = 10_000
"""States in all past which it is given up, lest it take longer than a tenth of a second."""

MOST_LAUNCHES = 200
"""Launches looked at, one after another."""

State = tuple[tuple[int, ...], int]
"""The phases of the pieces under way, rising, and the odd ones begun so far as bits."""


def phase_bound(
    placer: Placer,
    earliest: Sequence[int],
    launches: Sequence[int],
    bound: int,
    best: int,
    stop: Callable[[], bool] = lambda: False,
) -> int:
    """The first of `launches` from `bound` on, and before `best`, that is not ruled out; else `best`. The same bound
    where she is in the water.

    earliest: first starts by item. All are slots. stop: polled; where it says so, what was ruled out by then.
    """
    if placer.problem.items[placer.problem.finish].fixed is not None:
        return bound
    test = PhaseBound(placer, earliest)
    at = bisect_left(launches, bound)
    for launch in launches[at : at + MOST_LAUNCHES]:
        if launch >= best:
            return best
        if stop() or not test.refutes(launch):
            return launch
        bound = launch + 1
    return bound


class PhaseBound:
    """Bounds one problem. earliest: first starts by item."""

    def __init__(self, placer: Placer, earliest: Sequence[int]) -> None:
        self.placer = placer
        self.problem = placer.problem
        self.earliest = earliest
        wanted = [self.problem.items[i] for i in placer.free if i in placer.before_launch]
        self.workers = [item for item in wanted if item.hands and item.index != self.problem.finish]
        self.keyings = [edge.keying for item in wanted for edge in item.edges if edge.keying is not None]
        self.axis = Axis(self.problem)
        size = self.problem.length - self.problem.base
        at = np.array(self.axis.slots, dtype=np.int64) - self.problem.base
        free = units_free(placer.yard0.short, size)[at]
        self.free: list[int] = free.tolist()
        self.offer = np.concatenate(([0], np.cumsum(free)))
        self.need = sum(item.work * item.hands for item in self.workers)
        self._holes: dict[int, tuple[list[int], list[int]]] = {}

    def refutes(self, launch: int) -> bool:
        """Whether no plan can launch at or before `launch`."""
        latest = latest_starts(self.placer, launch)
        end = self.axis.first_from(launch)
        left = int(self.offer[end]) - self.need
        if left < 0 or any(latest[item.index] < self.earliest[item.index] for item in self.workers):
            return True
        if left > MOST_LEFT or max(self.free[:end], default=0) > MOST_HANDS:
            return False
        edges = self._edges(latest)
        for grain in GRAINS:
            odd = [item for item in self.workers if item.work % grain]
            # Two hands at one odd piece would count it twice.
            if len(odd) <= MOST_ODD and all(item.hands == 1 for item in odd):
                spans = [(item.work % grain, *self._span(item, latest)) for item in odd]
                # The lightest of each residue stays.
                lengths = sorted((key.work for key in self.keyings), reverse=True)
                keyed = {work % grain: work for work in lengths if work % grain and work <= left}
                if _Chains(grain, self.free[:end], edges, spans, keyed, left).impossible():
                    return True
        return False

    def _span(self, item: Item, latest: Sequence[int]) -> tuple[int, int]:
        """First and last position at which it may begin."""
        return self.axis.first_from(self.earliest[item.index]), self.axis.first_from(latest[item.index])

    def _edges(self, latest: Sequence[int]) -> tuple[Counter[int], Counter[int]]:
        """How many hands' work may pause at a position, and how many's go on there, others being at work meanwhile."""
        pauses: Counter[int] = Counter()
        resumes: Counter[int] = Counter()
        base, length = self.problem.base, self.problem.length
        works = [(i.course, i.work, i.hands, self.earliest[i.index], latest[i.index]) for i in self.workers]
        works += [(keying.course, keying.work, 1, base, length) for keying in self.keyings]
        for course, work, hands, first, last in works:
            if self._pauses(course, work, first, last):
                until = course.ends[bisect_right(course.starts, last) - 1]
                within = range(self.axis.first_from(first) + 1, self.axis.first_from(until))
                for found, at in zip((pauses, resumes), self._workable(course), strict=True):
                    for position in at:
                        found[position] += hands * (position in within)
        return pauses, resumes

    def _pauses(self, course: Course, work: int, first: int, last: int) -> bool:
        """Whether from one of these starts it would not be worked in one go on the axis."""
        low, high = bisect_left(course.starts, first), bisect_right(course.starts, last)
        begins = self.axis.firsts(course.starts[low:high])
        ends = self.axis.firsts([end - 1 for end in course.ends[low:high]])
        return any(end + 1 - begin != work for begin, end in zip(begins, ends, strict=True))

    def _workable(self, course: Course) -> tuple[list[int], list[int]]:
        """Positions at which it ceases to be workable, and at which it is again."""
        found = self._holes.get(id(course))
        if found is None:
            worked = unbits(course.workable >> self.problem.base, self.problem.length - self.problem.base)
            turns = np.diff(worked[np.array(self.axis.slots, dtype=np.int64) - self.problem.base].astype(np.int8))
            found = (np.flatnonzero(turns < 0) + 1).tolist(), (np.flatnonzero(turns > 0) + 1).tolist()
            self._holes[id(course)] = found
        return found


class _Chains:
    """Hands at work along the axis, told by phases.

    A piece for two hands counts as two of one phase. free: by position, hands to be had. edges: by position, how many
    hands' work may pause there in any phase, and how many's may go on. odd: residue, first and last position of each
    piece of another length. keyed: by residue, the least keying of such a length, which costs its slots. left: slots
    that may be idle, or go on such keying, in all.
    """

    def __init__(
        self,
        grain: int,
        free: Sequence[int],
        edges: tuple[Mapping[int, int], Mapping[int, int]],
        odd: Sequence[tuple[int, int, int]],
        keyed: Mapping[int, int],
        left: int,
    ) -> None:
        self.grain, self.free, self.odd, self.keyed, self.left = grain, free, odd, keyed, left
        self.pauses, self.resumes = edges
        self._known: dict[tuple[int, int, int, int, int], dict[State, int]] = {}

    def impossible(self) -> bool:
        """Whether more would be idle than may be, whatever is done."""
        states: dict[State, int] = {((), 0): 0}
        many = 0
        for position in range(len(self.free)):
            found: dict[State, int] = {}
            for state, idle in states.items():
                for after, cost in self._next(position, *state):
                    spent = idle + cost
                    if spent <= self.left and spent < found.get(after, self.left + 1):
                        found[after] = spent
            if not found:
                return True
            many += len(found)
            if many > MOST_STATES:
                return False
            states = found
        last = len(self.free) % self.grain
        return all(any(phase != last for phase in under_way) for under_way, _ in states)

    def _next(self, position: int, under_way: tuple[int, ...], begun: int) -> Iterable[tuple[State, int]]:
        """What may be under way in a slot, and what is idle in it or spent on keying begun there."""
        free, phase = self.free[position], position % self.grain
        pauses, resumes = self.pauses.get(position, 0), self.resumes.get(position, 0)
        if not pauses and not resumes and phase not in under_way and len(under_way) == free:
            return [((under_way, begun), 0)]
        # To end and begin another of its phase is as good as to go on.
        spans = enumerate(self.odd)
        ready = sum(1 << bit for bit, (_, first, last) in spans if first <= position <= last) & ~begun
        going = [other for other in under_way if other != phase]
        least, most = max(0, len(going) - pauses), min(len(going), free)
        return [
            ((tuple(sorted(kept + fresh)), then), cost)
            for many in range(least, most + 1)
            for kept in set(combinations(going, many))
            for (fresh, then), cost in self._begun(phase, free - many, resumes, begun, ready).items()
        ]

    def _begun(self, phase: int, hands: int, resumes: int, begun: int, ready: int) -> dict[State, int]:
        """What `hands` may begin: phases and odd pieces begun by then, and the least slots idle or spent on keying.

        ready: as bits, the odd pieces that may begin.
        """
        if not hands:
            return {((), begun): 0}
        asked = phase, hands, resumes, begun, ready
        found = self._known.get(asked)
        if found is None:
            found = self._known[asked] = {}
            for fresh, now, left, cost in self._one(phase, resumes, begun, ready):
                for (more, then), further in self._begun(phase, hands - 1, left, now, ready & ~now).items():
                    state, spent = (tuple(sorted(fresh + more)), then), cost + further
                    found[state] = min(spent, found.get(state, spent))
        return found

    def _one(self, phase: int, resumes: int, begun: int, ready: int) -> Iterator[tuple[tuple[int, ...], int, int, int]]:
        """What one pair of hands may begin: its phase, odd pieces begun and work that may go on by then, and slots."""
        grain = self.grain
        yield (), begun, resumes, 1
        yield (phase,), begun, resumes, 0
        for rest, cost in self.keyed.items():
            yield ((phase + rest) % grain,), begun, resumes, cost
        if resumes:
            for other in range(grain):
                yield (other,), begun, resumes - 1, 0
        for bit, (rest, _, _) in enumerate(self.odd):
            if ready >> bit & 1:
                yield ((phase + rest) % grain,), begun | 1 << bit, resumes, 0
