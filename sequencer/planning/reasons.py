"""Why each task starts when it does.

For every task: what it came after last, when that let it go, and for each slot from then to its start the first
thing, in the contract's order (§7), that stops it from starting there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sequencer.job.links import DONE
from sequencer.planning.placing import Keyed, Placer, Schedule
from sequencer.planning.plan import Held
from sequencer.planning.problem import Item
from sequencer.planning.tables import Mask, pieces
from sequencer.planning.usage import Usage

HELD_BACK = "cure"
"""A coat held back on purpose waits for the cure: its window must still be open for the next one."""

STOPS = ("delivery", "date", "off-shift", "people", "weather", "gear", "dust", "slot", "start", HELD_BACK)
"""What stops a start, in the contract's order; then what lies before now, and (at -1) nothing but the planner."""


@dataclass(frozen=True)
class Ready:
    """When a row was let go, by what."""

    slot: int
    before: int = -1
    stage: str = ""
    keyed: Keyed | None = None


class Reasons:
    """Explains one schedule."""

    def __init__(self, placer: Placer, schedule: Schedule, usage: Usage) -> None:
        self.placer = placer
        self.problem = placer.problem
        self.tables = placer.problem.tables
        self.schedule = schedule
        self.usage = usage
        self._fits: dict[int, Mask] = {}
        self._keyed_of: dict[int, list[Keyed]] = {}
        for keyed in schedule.keyed:
            self._keyed_of.setdefault(keyed.after, []).append(keyed)

    @cached_property
    def _spans(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Starts and ends by item."""
        return np.array(self.schedule.starts), np.array(self.schedule.ends)

    # -- what let it go ---------------------------------------------------------------------------------------

    def ready(self, item: Item) -> Ready:
        """What an item came after last. Ties go to the one listed first."""
        best = Ready(-(1 << 60))
        for edge in item.edges:
            moment = self.placer.opening(edge, self.schedule.ends[edge.before])
            if moment > best.slot and moment <= max(self.schedule.starts[item.index], moment if item.fixed else 0):
                best = Ready(moment, edge.before, edge.stage)
        for keyed in self._keyed_of.get(item.index, []):
            if keyed.end >= best.slot:
                best = Ready(keyed.end, -1, DONE, keyed)
        if best.before < 0 and best.keyed is None:
            return Ready(self.problem.base)
        return best

    def keyed_of(self, index: int) -> list[Keyed]:
        """The keyings ahead of an item."""
        return self._keyed_of.get(index, [])

    def ready_key(self, keyed: Keyed) -> Ready:
        """What a keying came after: the coat sanded, or just done."""
        before = self.problem.items[keyed.before]
        material = self.problem.job.materials[before.task.material or ""]
        stage = "sand" if "sand" in material.stages else DONE
        return Ready(self.problem.stage_moment(before, stage, self.schedule.ends[keyed.before]), keyed.before, stage)

    # -- what stopped it --------------------------------------------------------------------------------------

    def stops(self, item: Item, begin: int, end: int) -> list[tuple[str, int]]:
        """What stops `item` from starting in each slot of [begin, end): runs of (cause, slots)."""
        if end <= begin:
            return []
        code = np.full(end - begin, -1, dtype=np.int8)
        slots = np.arange(begin, end)
        code[: max(0, self.problem.base - begin)] = len(STOPS) - 2
        # The first cause that stops a start is to be told: it is written last.
        for number, mask in reversed(list(enumerate(self._tests(item, slots)))):
            if mask is not None:
                code[mask] = number
        return _runs(code, STOPS)

    def _tests(self, item: Item, slots: NDArray[np.int64]) -> list[Mask | None]:
        """For each cause in order, where it stops a start; None for never."""
        task, grid = item.task, self.tables.grid
        due = grid.slot(self.problem.job.deliveries[task.delivery].due) if task.delivery else 0
        date = grid.slot(task.not_before) if task.not_before is not None else 0
        run = self._run_ends(item, slots)
        return [
            slots < due if due > slots[0] else None,
            slots < date if date > slots[0] else None,
            self._off_shift(item, slots, run),
            self._no_people(item, slots, run),
            self._weather(item, slots, run),
            self._no_gear(item, slots, run),
            self._dust(item, slots, run),
            self._no_slot(item, slots),
        ]

    def _staffed(self, item: Item) -> Mask:
        return self.tables.staffed(item.hands, item.task.who)

    def _fit(self, item: Item) -> Mask:
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
        mask = self._staffed(item)[span] if item.task.one_go else self._staffed(item)[span] & self._fit(item)[span]
        at = np.flatnonzero(mask) + slots[0]
        first = np.searchsorted(at, slots)
        last = np.minimum(first + item.work - 1, len(at) - 1)
        return at[last] + 1 if len(at) else np.full(len(slots), self.problem.length)

    def _off_shift(self, item: Item, slots: NDArray[np.int64], run: NDArray[np.int64]) -> Mask | None:
        if item.hands == 0:
            return None
        nobody: Mask = self.tables.hands[slots[0] : slots[-1] + 1] == 0
        if not item.task.one_go:
            return nobody
        grid = self.tables.grid
        staffed = self._staffed(item)
        at = np.flatnonzero(staffed[slots[0] : self.schedule.ends[item.index]]) + slots[0]
        fits = np.searchsorted(at, slots) + item.work - 1 < len(at)
        day = grid.day_index
        ends = np.minimum(run, grid.length - 1)
        too_short: Mask = staffed[slots[0] : slots[-1] + 1] & (~fits | (day[slots] != day[ends]))
        return nobody | too_short

    def _no_people(self, item: Item, slots: NDArray[np.int64], run: NDArray[np.int64]) -> Mask | None:
        if item.hands == 0:
            return None
        staffed = self._staffed(item)
        usage, own = self.usage, self._own(item)
        part = usage.window(int(slots[0]), int(run[-1]))
        free = usage.on_shift[part] - usage.hands[part] + own[part] * item.hands
        taken = free < item.hands
        for person in item.who:
            taken |= usage.people[person][part] > own[part]
        at = slice(usage.base + part.start, usage.base + part.stop)
        taken &= staffed[at] if item.task.one_go else staffed[at] & self._fit(item)[at]
        clash = _nearest(taken, at.start, slots, run)
        return _either(~staffed[slots[0] : slots[-1] + 1], clash)

    def _own(self, item: Item) -> NDArray[np.int32]:
        if item.fixed is not None:
            return np.zeros(self.usage.size, dtype=np.int32)
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        return self.usage.worked(item.course.workable, start, end)

    def _any_between(self, mask: Mask, begin: NDArray[np.int64], end: NDArray[np.int64]) -> Mask | None:
        """For each (begin, end) whether `mask`, on the usage's slots, is true anywhere within; None for never."""
        base, size = self.usage.base, self.usage.size
        low, high = min(max(int(begin[0]) - base, 0), size), min(max(int(end[-1]) - base, 0), size)
        return _nearest(mask[low:high], low + base, begin, end)

    def _weather(self, item: Item, slots: NDArray[np.int64], run: NDArray[np.int64]) -> Mask | None:
        task, job = item.task, self.problem.job
        zone = job.zones[task.zone] if task.zone else None
        if zone is None:
            return None
        fit = self._fit(item)
        bad: Mask | None = ~fit[slots[0] : slots[-1] + 1] if not item.is_wait else None
        if task.one_go and not item.is_wait:
            bad = _either(bad, self._over(~fit, slots, run))
        material = job.materials[task.material] if task.material else None
        if material is not None and zone.shelter == "open" and material.dry_until != "none":
            until = run
            if material.dry_until != DONE:
                curve = self.tables.curve_array(zone, material, material.stages[material.dry_until].opens)
                until = curve[np.minimum(run, len(curve) - 1)]
            if until[-1] > self.problem.length:
                bad = _either(bad, until > self.problem.length)
            bad = _either(bad, self._over(self.tables.wetted(zone), slots, np.minimum(until, self.problem.length)))
        return bad

    @staticmethod
    def _over(mask: Mask, begin: NDArray[np.int64], end: NDArray[np.int64]) -> Mask | None:
        """As :meth:`_any_between`, on the whole grid."""
        low, high = int(begin[0]), int(max(end.max(), begin[-1] + 1))
        return _nearest(mask[low:high], low, begin, end)

    def _no_gear(self, item: Item, slots: NDArray[np.int64], run: NDArray[np.int64]) -> Mask | None:
        stopped: Mask | None = None
        usage = self.usage
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        for hold in item.holds:
            used = usage.gear[hold.gear].copy()
            freed = end if hold.until is None else hold.until[end] if item.fixed is None else end
            used[usage.window(start, freed)] -= hold.units
            full = used + hold.units > self.problem.gear_counts[hold.gear]
            until = run if hold.until is None else _looked_up(hold.until, run)
            clash = self._any_between(full, slots, until)
            stopped = _either(stopped, clash)
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
            worked = self._staffed(item)[usage.base : usage.base + usage.size] if item.hands else True
            stopped = self._any_between((wet > 0) & worked, slots, run)
        if item.set_curve is not None:
            dust = usage.dust[item.air] - (self._own(item) if item.dusty else 0)
            until = _looked_up(item.set_curve, run)
            stopped = _either(stopped, self._any_between(dust > 0, slots, until))
        return stopped

    def _no_slot(self, item: Item, slots: NDArray[np.int64]) -> Mask | None:
        allowed = self.tables.starts_allowed(item.task.slots)
        return None if allowed is None else ~allowed[slots]

    # -- the answers ------------------------------------------------------------------------------------------

    def held(self, item: Item) -> Held:
        """What held an item to its start."""
        ready = self.ready(item)
        start = self.schedule.starts[item.index]
        task, stage = self._named(item, ready)
        gap = self.stops(item, ready.slot, start) if item.fixed is None and ready.slot < start else []
        if gap:
            cause = gap[-1][0]
            return Held(cause, task, stage, ready.slot, tuple(gap), tuple(self._in_the_way(item, cause, start)))
        return Held(self._released_by(ready), task, stage, ready.slot)

    def _released_by(self, ready: Ready) -> str:
        if ready.keyed is not None:
            return "work"
        if ready.before < 0:
            return "start"
        if ready.stage != DONE:
            return "cure"
        return "wait" if self.problem.items[ready.before].is_wait else "work"

    def _named(self, item: Item, ready: Ready) -> tuple[str, str]:
        if ready.keyed is not None:
            return self.key_id(ready.keyed), DONE
        if ready.before < 0:
            return "", ""
        return self.problem.items[ready.before].id, ready.stage

    def key_id(self, keyed: Keyed) -> str:
        """The row id of a keying (contract §3.2)."""
        items = self.problem.items
        return f"{items[keyed.after].id}/key/{items[keyed.before].id}"

    def _in_the_way(self, item: Item, cause: str, start: int) -> list[str]:
        """Which rows had the people, the gear or the air just before `start`."""
        if cause not in ("people", "gear", "dust"):
            return []
        schedule, found = self.schedule, []
        starts, ends = self._spans
        begun = (starts < start) & (ends > self.problem.base)
        for i in np.flatnonzero(begun & (ends >= start - 1) if cause == "people" else begun).tolist():
            other = self.problem.items[i]
            if other is item:
                continue
            begin, end = schedule.starts[i], schedule.ends[i]
            if cause == "people":
                mine = other.hands and begin < start <= end + 1
                shares = set(other.who) & set(item.who) if item.who and item.hands == 1 else True
                hit = bool(mine and shares)
            elif cause == "gear":
                gears = {h.gear for h in item.holds}
                hit = any(
                    h.gear in gears and begin < start and (end if h.until is None else h.until[end]) >= start - 1
                    for h in other.holds
                )
            else:
                wet = other.set_curve is not None and begin < start <= other.set_curve[end] + 1
                hit = other.air == item.air and ((item.dusty and wet) or (other.dusty and begin < start <= end + 96))
            if hit:
                found.append(other.id)
        return found

    def held_key(self, keyed: Keyed) -> Held:
        """What held a keying to its start."""
        ready = self.ready_key(keyed)
        task = self.problem.items[ready.before].id
        gap = self._key_stops(keyed, max(ready.slot, self.problem.base), keyed.start)
        cause = gap[-1][0] if gap else "cure" if ready.stage != DONE else "work"
        return Held(cause, task, ready.stage, ready.slot, tuple(gap))

    def _key_stops(self, keyed: Keyed, begin: int, end: int) -> list[tuple[str, int]]:
        if end <= begin:
            return []
        job = self.problem.job
        zone = job.zones[self.problem.items[keyed.before].task.zone or ""]
        air = self.tables.air(zone)
        rain = (~air.known | air.rain)[begin:end]
        code = np.select([self.tables.hands[begin:end] == 0, rain], [0, 1], 2)
        return _runs(code, ("off-shift", "weather", "people"))

    def pauses(self, item: Item, worked: list[tuple[int, int]]) -> list[tuple[int, int, str]]:
        """The pauses of an item between its pieces: (begin, end, cause)."""
        found = []
        for (_, begin), (end, _) in pairwise(worked):
            for cause, count in self._pause_causes(item, begin, end):
                found.append((begin, begin + count, cause))
                begin += count
        return found

    def _pause_causes(self, item: Item, begin: int, end: int) -> list[tuple[str, int]]:
        off = np.select(
            [
                np.arange(begin, end) < self.problem.base,
                self.tables.hands[begin:end] == 0,
                ~self._staffed(item)[begin:end],
            ],
            [0, 1, 2],
            3,
        )
        return _runs(off, ("start", "off-shift", "people", "weather"))

    def worked(self, item: Item) -> list[tuple[int, int]]:
        """The spans an item is worked: logged, or its course's."""
        if item.fixed is not None:
            return item.fixed.pieces
        if item.is_wait:
            return []
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        return pieces(item.course.workable, start, end)


def _either(one: Mask | None, other: Mask | None) -> Mask | None:
    """Where one or the other is true; None stands for nowhere."""
    return other if one is None else one if other is None else one | other


def _nearest(mask: Mask, offset: int, begin: NDArray[np.int64], end: NDArray[np.int64]) -> Mask | None:
    """For each (begin, end) whether `mask`, counted from `offset`, is true anywhere within; None for never."""
    # What clashes is rare: the nearest clash at or after each begin tells.
    hits = np.flatnonzero(mask) + offset
    if not len(hits):
        return None
    at = np.searchsorted(hits, begin)
    found: Mask = (hits[np.minimum(at, len(hits) - 1)] < end) & (at < len(hits))
    return found


def _looked_up(curve: Sequence[int], at: NDArray[np.int64]) -> NDArray[np.int64]:
    """The values of a curve at rising slots, those past its end taken at the end."""
    clipped = np.minimum(at, len(curve) - 1)
    low = int(clipped[0])
    found: NDArray[np.int64] = np.array(curve[low : int(clipped[-1]) + 1], dtype=np.int64)[clipped - low]
    return found


def _runs(code: NDArray[Any], names: Sequence[str]) -> list[tuple[str, int]]:
    """Runs of equal codes as (name, count)."""
    if not len(code):
        return []
    bounds = [0, *(np.flatnonzero(code[1:] != code[:-1]) + 1).tolist(), len(code)]
    return [(names[code[a]], b - a) for a, b in pairwise(bounds)]
