"""What stops a task from starting, slot by slot: the first thing, in the contract's order (§7)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from sequencer.job.links import DONE
from sequencer.planning.asked import FIRST, Asked, Gap, Suiting, ask
from sequencer.planning.masks import either, looked_up, nearest, over, runs_of
from sequencer.planning.placing import Keyed, Schedule
from sequencer.planning.problem import Item
from sequencer.planning.ready import Readiness
from sequencer.planning.tables import Mask
from sequencer.planning.usage import Usage

HELD_BACK = "cure"
"""A coat held back on purpose waits for the cure: its window must still be open for the next one."""

STOPS = (*FIRST, "weather", "gear", "dust", "slot", "start", HELD_BACK)
"""What stops a start, in the contract's order; then what lies before now, and (at -1) nothing but the planner."""

KEYING_STOPS = ("off-shift", "people", "weather", "dust", HELD_BACK)
"""The same for a keying: one pair of hands, dry, no gear, no date."""

TOGETHER = 64
"""Items whose gaps are asked about in one go: quick where all rows are, and not long where only one is, nor large."""


class Stops:
    """Tells what stops the starts of one schedule's tasks; `usage` is what that schedule takes up."""

    def __init__(self, schedule: Schedule, usage: Usage, ready: Readiness) -> None:
        self.problem = usage.problem
        self.tables = usage.problem.tables
        self.schedule = schedule
        self.usage = usage
        self.ready = ready
        self.suiting = Suiting(usage)
        self._asked: dict[int, Asked] = {}

    def of(self, item: Item, alone: bool) -> list[tuple[str, int]]:
        """What stopped `item` from starting in each slot from when it was let go to its start: runs of (cause, slots).

        None for what has begun. alone: few others are going to be asked about.
        """
        if self._gap(item) is None:
            return []
        # Of a large job these take much memory, and a row is hardly asked about twice; two threads may ask at once.
        asked = self._asked.pop(item.index, None)
        if asked is None:
            first = item.index // TOGETHER * TOGETHER
            wanted = [item] if alone else self.problem.items[first : first + TOGETHER]
            gaps = [found for one in wanted if (found := self._gap(one)) is not None]
            answers = {one.item.index: one for one in ask(gaps, self.schedule, self.usage, self.suiting)}
            asked = answers.pop(item.index)
            self._asked.update(answers)
        return _first_of(self._tests(asked), asked.code, STOPS, len(FIRST))

    def _gap(self, item: Item) -> Gap | None:
        """From when an item was let go to its start; None for nothing, and for what has begun."""
        begin, end = self.ready.of_item(item).slot, self.schedule.starts[item.index]
        return Gap(item, begin, end) if item.fixed is None and begin < end else None

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
        return _first_of(tests, np.full(len(slots), -1, dtype=np.int8), KEYING_STOPS)

    def _tests(self, asked: Asked) -> Iterator[Mask | None]:
        """For each cause after the first ones, where it stops a start, worked out when asked for; None for never."""
        yield self._weather(asked)
        yield self._no_gear(asked)
        yield self._dust(asked)
        yield self._no_slot(asked)
        yield asked.slots < self.problem.base if self.problem.base > asked.begin else None

    def _own(self, item: Item) -> NDArray[np.int32]:
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        return self.usage.worked(item.course.workable, start, end)

    def _any_between(self, mask: Mask, begin: NDArray[np.int64], end: NDArray[np.int64]) -> Mask | None:
        """For each (begin, end) whether `mask`, on the usage's slots, is true anywhere within; None for never."""
        base, size = self.usage.base, self.usage.size
        low, high = min(max(int(begin[0]) - base, 0), size), min(max(int(end[-1]) - base, 0), size)
        return nearest(mask[low:high], low + base, begin, end)

    def _weather(self, asked: Asked) -> Mask | None:
        item, slots, run = asked.item, asked.slots, asked.run
        task, job = item.task, self.problem.job
        zone = job.zones[task.zone] if task.zone else None
        if zone is None:
            return None
        fit = self.suiting.fit(item)
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

    def _no_gear(self, asked: Asked) -> Mask | None:
        item, slots, run = asked.item, asked.slots, asked.run
        stopped: Mask | None = None
        usage = self.usage
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        for hold in item.holds:
            used = usage.gear[hold.gear].copy()
            freed = end if hold.until is None else hold.until[end]
            used[usage.window(start, freed)] -= hold.units
            full = used + hold.units > self.problem.gear_counts[hold.gear]
            until = run if hold.until is None else looked_up(hold.until, run)
            clash = self._any_between(full, slots, until)
            stopped = either(stopped, clash)
        return stopped

    def _dust(self, asked: Asked) -> Mask | None:
        item, slots, run = asked.item, asked.slots, asked.run
        if item.air < 0 or not (item.dusty or item.set_curve is not None):
            return None
        usage = self.usage
        stopped: Mask | None = None
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        if item.dusty:
            wet = usage.wet[item.air].copy()
            if item.set_curve is not None:
                wet[usage.window(start, item.set_curve[end])] -= 1
            worked = self.suiting.staffed(item)[usage.base : usage.base + usage.size] if item.hands else True
            stopped = self._any_between((wet > 0) & worked, slots, run)
        if item.set_curve is not None:
            dust = usage.dust[item.air] - (self._own(item) if item.dusty else 0)
            until = looked_up(item.set_curve, run)
            stopped = either(stopped, self._any_between(dust > 0, slots, until))
        return stopped

    def _no_slot(self, asked: Asked) -> Mask | None:
        allowed = self.tables.starts_allowed(asked.item.task.slots)
        return None if allowed is None else ~allowed[asked.slots]


def _first_of(
    tests: Iterable[Mask | None], code: NDArray[np.int8], names: tuple[str, ...], first: int = 0
) -> list[tuple[str, int]]:
    """Runs of the first test that is true, by its name, over the slots of `code`; the last name where none is.

    code: by slot the number of what is known to stop it, -1 where nothing yet. first: the number of the first test.
    """
    numbered = enumerate(tests, first)
    # Most rows are told by who is there and free; what comes after that need not be looked at.
    while code.min() < 0 and (test := next(numbered, None)) is not None:
        number, mask = test
        if mask is not None:
            code[mask & (code < 0)] = number
    return runs_of(code, names)
