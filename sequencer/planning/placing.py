"""Placing tasks one after another at their earliest, each around what already lies there.

A schedule is made from an order of the items and a set of holds (items kept from starting before a slot so that
the next coat meets its window). Whatever the order, the result keeps every rule of the contract; how early the
launch comes depends on the order, which the search improves.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush

from sequencer.planning.bits import pieces
from sequencer.planning.problem import Edge, Item, Keying, Problem
from sequencer.planning.yard import Yard


@dataclass
class Keyed:
    """A keying in a schedule: of the coat `before`, ahead of item `after`; slots."""

    after: int
    before: int
    start: int
    end: int
    keying: Keying


@dataclass
class Schedule:
    """Where every item lies: start and end slots by item index, the keyings, and what was missed or blocked."""

    starts: list[int]
    ends: list[int]
    keyed: list[Keyed] = field(default_factory=list)
    missed: list[tuple[int, Edge, int]] = field(default_factory=list)
    """Windows missed: item, edge, and the start it could have had."""
    key_holds: Mapping[tuple[int, int], int] = field(default_factory=dict)
    """By later item and coat, the slot a keying was kept from starting before."""
    stuck: int = -1
    """The item no start could be found for, -1 where all lie."""

    @property
    def complete(self) -> bool:
        """Whether every item lies."""
        return self.stuck < 0


@dataclass
class Placing:
    """A schedule half made: what lies in the yard, and what may come next.

    ready: by item the slot it may start from, as far as known. waiting: how many earlier tasks it still waits for.
    queue: a heap of (rank, item) of what waits for nothing.
    """

    schedule: Schedule
    yard: Yard
    ready: list[int]
    waiting: list[int]
    queue: list[tuple[float, int]]

    def copy(self) -> Placing:
        """An independent copy."""
        known = self.schedule
        schedule = Schedule(known.starts[:], known.ends[:], known.keyed[:], known.missed[:], known.key_holds)
        return Placing(schedule, self.yard.copy(), self.ready[:], self.waiting[:], self.queue[:])


class Placer:
    """Places a problem's items by order; holds what every schedule of the problem shares."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        n = len(problem.items)
        self.free = [i.index for i in problem.items if i.fixed is None]
        self.stuck_log = -1
        self.start0, self.end0 = [-1] * n, [-1] * n
        self.yard0 = Yard(problem)
        self._settle_log()
        self.release0 = [item.release for item in problem.items]
        self.waiting0 = [0] * n
        self.live_followers: list[list[tuple[int, Sequence[int] | None]]] = [[] for _ in range(n)]
        self.windows: list[list[Edge]] = [[] for _ in range(n)]
        self.before_launch = self._ancestors(problem.finish)
        self.peopled = any(problem.items[i].hands for i in self.free if i in self.before_launch)
        """Whether anything the launch waits for needs hands; else only gear and air hold it up."""
        for i in self.free:
            self._wire(problem.items[i])

    def _ancestors(self, index: int) -> set[int]:
        """An item and all it waits for."""
        found, queue = {index}, [index]
        while queue:
            for edge in self.problem.items[queue.pop()].edges:
                if edge.before not in found:
                    found.add(edge.before)
                    queue.append(edge.before)
        return found

    def _settle_log(self) -> None:
        """Lay down what has happened: finished work as logged, begun work going on from now."""
        problem = self.problem
        begun = []
        for item in problem.items:
            if item.fixed is None:
                continue
            self.start0[item.index] = item.fixed.start
            if item.task.finished is not None:
                self.end0[item.index] = item.fixed.end
                self._occupy(item, item.fixed.start, item.fixed.end, 0)
            else:
                begun.append(item)
        for item in sorted(begun, key=lambda b: (b.fixed.start if b.fixed else 0, b.index)):
            self._go_on(item)

    def _go_on(self, item: Item) -> None:
        """Begun work goes on from now in every slot it can be worked; behind other begun work where hands lack."""
        problem, fixed = self.problem, item.fixed
        assert fixed is not None
        workable = item.course.workable >> problem.base
        at = 0
        while True:
            left, worked, end = item.work, 0, at
            ahead = workable >> at
            while left and ahead and problem.base + end < problem.length:
                if ahead & 1:
                    worked |= 1 << end
                    left -= 1
                ahead >>= 1
                end += 1
            if left:
                self.stuck_log = item.index
                return
            clash = worked & self.yard0.short[item.hands] if item.hands < len(self.yard0.short) else 0
            for person in item.who:
                clash |= worked & self.yard0.busy[person]
            if not clash:
                break
            at = clash.bit_length()
        self.end0[item.index] = fixed.end = problem.base + end
        if not item.is_wait:
            fixed.pieces = [(a + problem.base, b + problem.base) for a, b in pieces(worked, 0, worked.bit_length())]
        self._occupy(item, fixed.start, fixed.end, worked)

    def _occupy(self, item: Item, start: int, end: int, worked: int) -> None:
        """What something logged takes up from now on."""
        problem, yard = self.problem, self.yard0
        if item.hands and worked:
            yard.take_hands(worked, item.hands)
            for person in item.who:
                yard.busy[person] |= worked
        if item.air >= 0 and item.set_curve is not None:
            until = min(problem.stage_moment(item, "set", end), problem.length)
            yard.wet[item.air] |= problem.span_bits(start, until)
        if item.air >= 0 and item.dusty:
            yard.dust[item.air] |= worked
        for use, hold in zip(item.task.gear, item.holds, strict=True):
            until = end if hold.until is None else problem.stage_moment(item, use.until or "done", end)
            yard.take_gear(hold.gear, hold.units, problem.span_bits(start, min(until, problem.length)))

    def _wire(self, item: Item) -> None:
        """Sort an item's edges into live ones, those the log has settled, and windows."""
        problem = self.problem
        for edge in item.edges:
            before = problem.items[edge.before]
            if edge.closes is not None:
                self.windows[item.index].append(edge)
            if before.fixed is None:
                self.waiting0[item.index] += 1
                self.live_followers[edge.before].append((item.index, edge.opens))
            else:
                reached = problem.stage_moment(before, edge.stage, self.end0[edge.before])
                self.release0[item.index] = max(self.release0[item.index], reached)

    def opening(self, edge: Edge, end: int) -> int:
        """When an edge lets the later task start, the earlier work ending at `end`."""
        before = self.problem.items[edge.before]
        if before.fixed is not None:
            return self.problem.stage_moment(before, edge.stage, end)
        return end if edge.opens is None else edge.opens[end]

    def closing(self, edge: Edge, start: int) -> int:
        """When an edge's window closes, the earlier work starting at `start`."""
        assert edge.closes is not None
        return edge.closes[max(0, start)]

    def place(
        self,
        rank: Sequence[float],
        holds: Mapping[int, int] | None = None,
        latest: Sequence[int] | None = None,
        key_holds: Mapping[tuple[int, int], int] | None = None,
    ) -> Schedule:
        """Place every item, the lowest `rank` first among those whose earlier tasks lie.

        rank: a number an item. holds: by item the slot it is kept from starting before. latest: by item the last
        start worth having; an item that would come later leaves the schedule incomplete (`stuck`). key_holds: by later
        item and coat the slot a keying is kept from starting before.
        """
        placing = self.begin(rank, holds, key_holds)
        if self.stuck_log >= 0:
            placing.schedule.stuck = self.stuck_log
        else:
            self.go_on(placing, rank, latest)
        return placing.schedule

    def begin(
        self,
        rank: Sequence[float],
        holds: Mapping[int, int] | None = None,
        key_holds: Mapping[tuple[int, int], int] | None = None,
    ) -> Placing:
        """A placing with what the log says and nothing else laid; arguments as in :meth:`place`."""
        schedule = Schedule(self.start0[:], self.end0[:], key_holds=key_holds or {})
        ready = self.release0[:]
        if holds:
            for i, slot in holds.items():
                ready[i] = max(ready[i], slot)
        waiting = self.waiting0[:]
        queue = [(rank[i], i) for i in self.free if not waiting[i]]
        heapify(queue)
        return Placing(schedule, self.yard0.copy(), ready, waiting, queue)

    def go_on(self, placing: Placing, rank: Sequence[float], latest: Sequence[int] | None, pause: int = -1) -> None:
        """Place what is left, or all that comes before item `pause`."""
        items, length = self.problem.items, self.problem.length
        schedule, yard, ready, waiting = placing.schedule, placing.yard, placing.ready, placing.waiting
        queue, starts, ends = placing.queue, schedule.starts, schedule.ends
        while queue:
            i = queue[0][1]
            if i == pause:
                return
            heappop(queue)
            item = items[i]
            limit = latest[i] if latest is not None else length
            start, end = yard.earliest(item, ready[i], limit)
            if start >= 0 and self.windows[i]:
                start, end = self._meet(schedule, yard, item, start, end, limit)
            if start < 0:
                schedule.stuck = i
                return
            yard.put(item, start, end)
            starts[i], ends[i] = start, end
            for j, opens in self.live_followers[i]:
                moment = end if opens is None else opens[end]
                if moment > ready[j]:
                    ready[j] = moment
                waiting[j] -= 1
                if not waiting[j]:
                    heappush(queue, (rank[j], j))

    def _meet(self, schedule: Schedule, yard: Yard, item: Item, start: int, end: int, limit: int) -> tuple[int, int]:
        """Key what the start has missed; each keying may push the start and so miss another window."""
        done: set[int] = set()
        while True:
            missed = [
                e
                for e in self.windows[item.index]
                if e.before not in done and start > self.closing(e, schedule.starts[e.before])
            ]
            if not missed:
                return start, end
            ready = start
            for edge in missed:
                if edge.before in done:
                    continue
                done.add(edge.before)
                schedule.missed.append((item.index, edge, start))
                keyed = self._key(schedule, yard, item, edge, missed)
                if keyed is None:
                    return -1, -1
                schedule.keyed.append(keyed)
                ready = max(ready, keyed.end)
            start, end = yard.earliest(item, ready, limit)
            if start < 0:
                return -1, -1

    def keying(self, missed: Sequence[Edge], before: int) -> Keying:
        """The keying of an earlier coat, the longest of those that its missed windows ask for."""
        return max((e.keying for e in missed if e.before == before and e.keying), key=lambda k: k.work)

    def sandable(self, coat: Item, end: int) -> int:
        """When a coat whose work ends at `end` may be keyed."""
        material = self.problem.job.materials[coat.task.material or ""]
        return self.problem.stage_moment(coat, "sand" if "sand" in material.stages else "done", end)

    def _key(self, schedule: Schedule, yard: Yard, item: Item, edge: Edge, missed: list[Edge]) -> Keyed | None:
        """Lay the keying of one earlier coat; where two of its windows are missed, the longer keying serves both."""
        keying = self.keying(missed, edge.before)
        ready = self.sandable(self.problem.items[edge.before], schedule.ends[edge.before])
        ready = max(ready, schedule.key_holds.get((item.index, edge.before), 0))
        start, end = yard.key(keying, ready)
        return None if start < 0 else Keyed(item.index, edge.before, start, end, keying)


def hold_for(edge: Edge, start: int) -> int:
    """The first start of the earlier coat whose window is still open at `start`."""
    assert edge.closes is not None
    return bisect_left(edge.closes, start)


def latest_end(opens: Sequence[int] | None, moment: int) -> int:
    """The last end of work from which a stage is reached by `moment`; -1 where none is."""
    return moment if opens is None else bisect_right(opens, moment) - 1
