"""What stops a task from starting, slot by slot: the first thing, in the contract's order (§7)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from sequencer.job.links import DONE
from sequencer.planning.masks import either, looked_up, nearest, over, runs_of
from sequencer.planning.placing import Keyed, Schedule
from sequencer.planning.problem import Item
from sequencer.planning.tables import Mask
from sequencer.planning.usage import Usage

HELD_BACK = "cure"
"""A coat held back on purpose waits for the cure: its window must still be open for the next one."""

STOPS = ("delivery", "date", "off-shift", "people", "weather", "gear", "dust", "slot", "start", HELD_BACK)
"""What stops a start, in the contract's order; then what lies before now, and (at -1) nothing but the planner."""

KEYING_STOPS = ("off-shift", "people", "weather", "dust", HELD_BACK)
"""The same for a keying: one pair of hands, dry, no gear, no date."""


class Stops:
    """Tells what stops the starts of one schedule's tasks; `usage` is what that schedule takes up."""

    def __init__(self, schedule: Schedule, usage: Usage) -> None:
        self.problem = usage.problem
        self.tables = usage.problem.tables
        self.schedule = schedule
        self.usage = usage
        self._fits: dict[int, Mask] = {}

    def of(self, item: Item, begin: int, end: int) -> list[tuple[str, int]]:
        """What stops `item` from starting in each slot of [begin, end): runs of (cause, slots)."""
        if end <= begin:
            return []
        return _first_of(self._tests(item, np.arange(begin, end)), end - begin, STOPS)

    def of_keying(self, keyed: Keyed, begin: int, end: int) -> list[tuple[str, int]]:
        """What stops a keying from starting in each slot of [begin, end): runs of (cause, slots)."""
        if end <= begin:
            return []
        keying, usage = keyed.keying, self.usage
        air = self.tables.air(self.problem.job.zones[self.problem.items[keyed.before].task.zone or ""])
        there, dry = self.tables.hands[begin : keyed.end] > 0, (air.known & ~air.rain)[begin : keyed.end]
        slots, workable, part = np.arange(begin, end), there & dry, usage.window(begin, keyed.end)
        # No earlier start ends later than the one taken.
        at = workable.nonzero()[0] + begin
        run = at[np.minimum(at.searchsorted(slots) + keying.work, len(at)) - 1] + 1
        own = usage.worked(keying.course.workable, keyed.start, keyed.end)
        taken = workable & (usage.on_shift[part] - usage.hands[part] + own[part] < 1)
        wet = workable & (usage.wet[keying.air][part] > 0) if keying.dusty else np.zeros_like(workable)
        tests = [
            ~there[: len(slots)],
            nearest(taken, begin, slots, run),
            ~dry[: len(slots)],
            nearest(wet, begin, slots, run),
        ]
        return _first_of(tests, len(slots), KEYING_STOPS)

    def _tests(self, item: Item, slots: NDArray[np.int64]) -> Iterator[Mask | None]:
        """For each cause in order, where it stops a start, worked out when asked for; None for never."""
        task, grid = item.task, self.tables.grid
        due = grid.slot(self.problem.job.deliveries[task.delivery].due) if task.delivery else 0
        yield slots < due if due > slots[0] else None
        date = grid.slot(task.not_before) if task.not_before is not None else 0
        yield slots < date if date > slots[0] else None
        run = self._run_ends(item, slots)
        yield self._off_shift(item, slots, run)
        yield self._no_people(item, slots, run)
        yield self._weather(item, slots, run)
        yield self._no_gear(item, slots, run)
        yield self._dust(item, slots, run)
        yield self._no_slot(item, slots)
        yield slots < self.problem.base if self.problem.base > slots[0] else None

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

    def _run_ends(self, item: Item, slots: NDArray[np.int64]) -> NDArray[np.int64]:
        """By start, the end of the work over the slots it could be worked, weather ahead left aside for one-go."""
        if item.hands == 0 and (item.is_wait or not item.task.zone):
            return np.minimum(slots + item.work, self.problem.length)
        # No earlier start ends later than the one taken.
        span = slice(int(slots[0]), self.schedule.ends[item.index])
        mask = self.staffed(item)[span] if item.task.one_go else self.staffed(item)[span] & self.fit(item)[span]
        at = mask.nonzero()[0] + slots[0]
        first = at.searchsorted(slots)
        last = np.minimum(first + item.work - 1, len(at) - 1)
        return at[last] + 1 if len(at) else np.full(len(slots), self.problem.length)

    def _off_shift(self, item: Item, slots: NDArray[np.int64], run: NDArray[np.int64]) -> Mask | None:
        if item.hands == 0:
            return None
        nobody: Mask = self.tables.hands[slots[0] : slots[-1] + 1] == 0
        if not item.task.one_go:
            return nobody
        grid = self.tables.grid
        staffed = self.staffed(item)
        at = staffed[slots[0] : self.schedule.ends[item.index]].nonzero()[0] + slots[0]
        fits = at.searchsorted(slots) + item.work - 1 < len(at)
        day = grid.day_index
        ends = np.minimum(run, grid.length - 1)
        too_short: Mask = staffed[slots[0] : slots[-1] + 1] & (~fits | (day[slots] != day[ends]))
        return nobody | too_short

    def _no_people(self, item: Item, slots: NDArray[np.int64], run: NDArray[np.int64]) -> Mask | None:
        if item.hands == 0:
            return None
        staffed = self.staffed(item)
        usage, own = self.usage, self._own(item)
        part = usage.window(int(slots[0]), int(run[-1]))
        free = usage.on_shift[part] - usage.hands[part] + own[part] * item.hands
        taken = free < item.hands
        for person in item.who:
            taken |= usage.people[person][part] > own[part]
        at = slice(usage.base + part.start, usage.base + part.stop)
        taken &= staffed[at] if item.task.one_go else staffed[at] & self.fit(item)[at]
        clash = nearest(taken, at.start, slots, run)
        return either(~staffed[slots[0] : slots[-1] + 1], clash)

    def _own(self, item: Item) -> NDArray[np.int32]:
        if item.fixed is not None:
            return np.zeros(self.usage.size, dtype=np.int32)
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        return self.usage.worked(item.course.workable, start, end)

    def _any_between(self, mask: Mask, begin: NDArray[np.int64], end: NDArray[np.int64]) -> Mask | None:
        """For each (begin, end) whether `mask`, on the usage's slots, is true anywhere within; None for never."""
        base, size = self.usage.base, self.usage.size
        low, high = min(max(int(begin[0]) - base, 0), size), min(max(int(end[-1]) - base, 0), size)
        return nearest(mask[low:high], low + base, begin, end)

    def _weather(self, item: Item, slots: NDArray[np.int64], run: NDArray[np.int64]) -> Mask | None:
        task, job = item.task, self.problem.job
        zone = job.zones[task.zone] if task.zone else None
        if zone is None:
            return None
        fit = self.fit(item)
        bad: Mask | None = ~fit[slots[0] : slots[-1] + 1] if not item.is_wait else None
        if task.one_go and not item.is_wait:
            bad = either(bad, over(~fit, slots, run))
        material = job.materials[task.material] if task.material else None
        if material is not None and zone.shelter == "open" and material.dry_until != "none":
            until = run
            if material.dry_until != DONE:
                curve = self.tables.curve_array(zone, material, material.stages[material.dry_until].opens)
                until = curve[np.minimum(run, len(curve) - 1)]
            if until[-1] > self.problem.length:
                bad = either(bad, until > self.problem.length)
            bad = either(bad, over(self.tables.wetted(zone), slots, np.minimum(until, self.problem.length)))
        return bad

    def _no_gear(self, item: Item, slots: NDArray[np.int64], run: NDArray[np.int64]) -> Mask | None:
        stopped: Mask | None = None
        usage = self.usage
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        for hold in item.holds:
            used = usage.gear[hold.gear].copy()
            freed = end if hold.until is None else hold.until[end] if item.fixed is None else end
            used[usage.window(start, freed)] -= hold.units
            full = used + hold.units > self.problem.gear_counts[hold.gear]
            until = run if hold.until is None else looked_up(hold.until, run)
            clash = self._any_between(full, slots, until)
            stopped = either(stopped, clash)
        return stopped

    def _dust(self, item: Item, slots: NDArray[np.int64], run: NDArray[np.int64]) -> Mask | None:
        if item.air < 0 or not (item.dusty or item.set_curve is not None):
            return None
        usage = self.usage
        stopped: Mask | None = None
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        if item.dusty:
            wet = usage.wet[item.air].copy()
            if item.set_curve is not None and item.fixed is None:
                wet[usage.window(start, item.set_curve[end])] -= 1
            worked = self.staffed(item)[usage.base : usage.base + usage.size] if item.hands else True
            stopped = self._any_between((wet > 0) & worked, slots, run)
        if item.set_curve is not None:
            dust = usage.dust[item.air] - (self._own(item) if item.dusty else 0)
            until = looked_up(item.set_curve, run)
            stopped = either(stopped, self._any_between(dust > 0, slots, until))
        return stopped

    def _no_slot(self, item: Item, slots: NDArray[np.int64]) -> Mask | None:
        allowed = self.tables.starts_allowed(item.task.slots)
        return None if allowed is None else ~allowed[slots]


def _first_of(tests: Iterable[Mask | None], size: int, names: tuple[str, ...]) -> list[tuple[str, int]]:
    """Runs of the first test that is true, by its name, over so many slots; the last name where none is."""
    code = np.full(size, -1, dtype=np.int8)
    for number, mask in enumerate(tests):
        if mask is not None:
            code[mask & (code < 0)] = number
            # Most rows are told by who is there and free; what comes after that need not be looked at.
            if code.min() >= 0:
                break
    return runs_of(code, names)
