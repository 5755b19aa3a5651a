"""When a material may be applied in a place, hour by hour, and what is against it.

The limits are those the planner keeps: the air while it is worked, and in the open no rain or dew until it is dry
(contract §3.5, §3.6). Temperatures and margins are rounded down, humidity and wind up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sequencer.job import Job, Material, Needs, Task, Zone
from sequencer.job.links import DONE
from sequencer.planning.tables import Mask, Tables
from sequencer.telling.figures import clock, near_clock
from sequencer.weather.hourly import EPSILON, Air

KINDS = ("", "unknown", "rain", "cold", "warm", "damp", "wind", "rain-ahead", "dew-ahead", "slow")
"""What is against it, by code; of several, the first is told first. slow: it would not dry within what is known."""
YES = 0
OUTSIDE = Zone(id="outside")
"""The place where a job names none."""


@dataclass(frozen=True)
class Use:
    """Where and how a material goes on next. task: None where no task of the job uses it."""

    zone: Zone
    needs: Needs = field(default_factory=Needs)
    dry: bool = True
    task: Task | None = None


def next_use(job: Job, material: Material, starts: dict[str, int]) -> Use:
    """The next task to lay `material`, by `starts` (id to slot, of what has not begun), else the last that did.

    Without a task it is the job's first place, or the open air.
    """
    mine = [task for task in job.task if task.material == material.id and task.zone in job.zones]
    ahead = sorted((starts[task.id], n, task) for n, task in enumerate(mine) if task.id in starts)
    task = ahead[0][2] if ahead else mine[-1] if mine else None
    if task is None or task.zone is None:
        return Use(job.zone[0] if job.zone else OUTSIDE)
    return Use(job.zones[task.zone], task.needs, task.dry, task)


class Applying:
    """One material in one place. kinds: shape (slots,), for every quarter hour a code of KINDS."""

    def __init__(self, tables: Tables, material: Material, use: Use) -> None:
        """Raises JobError where the weather file has faults."""
        self.tables, self.material, self.use = tables, material, use
        self.air: Air = tables.air(use.zone)
        self._now = self._kinds_now()
        self._until = self._dry_until()
        self._wetted = tables.wetted(use.zone)
        self._next_wet = _next(self._wetted)
        self.kinds = self._kinds()

    # -- codes --------------------------------------------------------------------------------------------------

    def _kinds_now(self) -> NDArray[np.int8]:
        """What is against it in the air of each slot itself."""
        air, apply, needs = self.air, self.material.apply, self.use.needs
        over = air.temp_c - air.dew_c
        low, high = self._heat()
        found = np.zeros(len(air.temp_c), dtype=np.int8)
        with np.errstate(invalid="ignore"):
            # The last written is the first told.
            if needs.max_wind is not None:
                found[air.wind_kn > needs.max_wind + EPSILON] = KINDS.index("wind")
            if apply.max_humidity is not None:
                found[air.humidity > apply.max_humidity + EPSILON] = KINDS.index("damp")
            if apply.above_dew is not None:
                found[over < apply.above_dew - EPSILON] = KINDS.index("damp")
            if high is not None:
                found[air.temp_c > high + EPSILON] = KINDS.index("warm")
            if low is not None:
                found[air.temp_c < low - EPSILON] = KINDS.index("cold")
            if self.use.dry:
                found[air.rain] = KINDS.index("rain")
        found[~air.known] = KINDS.index("unknown")
        return found

    def _dry_until(self) -> NDArray[np.int64] | None:
        """Shape (slots + 1,): by end of work, until when rain and dew must stay off; None where they don't matter."""
        material, zone = self.material, self.use.zone
        if zone.shelter != "open" or material.dry_until == "none":
            return None
        if material.dry_until == DONE:
            return np.arange(self.tables.grid.length + 1, dtype=np.int64)
        return self.tables.curve_array(zone, material, material.stages[material.dry_until].opens)

    def _kinds(self) -> NDArray[np.int8]:
        """Those of the air, and where it suits, what would reach a quarter hour's work before it is dry."""
        found = self._now.copy()
        if self._until is None:
            return found
        slots = np.arange(len(found))
        until, wet = self._until[slots + 1], self._next_wet[slots]
        fit = found == YES
        found[fit & (until > self.tables.grid.length)] = KINDS.index("slow")
        caught = fit & (wet < np.minimum(until, self.tables.grid.length))
        at = np.minimum(wet, len(found) - 1)
        rains, unknown = self.air.rain[at], ~self.air.known[at]
        found[caught] = np.where(
            unknown, KINDS.index("slow"), np.where(rains, KINDS.index("rain-ahead"), KINDS.index("dew-ahead"))
        )[caught]
        return found

    # -- answers ------------------------------------------------------------------------------------------------

    def kind(self, slot: int) -> str:
        """What is against it in a slot, one of KINDS; empty for nothing. Past the grid: unknown."""
        return KINDS[self.kinds[slot]] if 0 <= slot < len(self.kinds) else "unknown"

    def next_yes(self, slot: int) -> int:
        """The first slot from `slot` on in which it may go on; -1 where there is none."""
        return _first(self.kinds == YES, slot, len(self.kinds))

    def last_yes(self, slot: int) -> int:
        """The slot from which it may no longer go on, counted from one in which it may."""
        at = _first(self.kinds != YES, slot, len(self.kinds))
        return at if at >= 0 else len(self.kinds)

    def against(self, slot: int) -> list[str]:
        """Everything that is against it in a slot, in short words; empty for nothing."""
        if not 0 <= slot < len(self.kinds) or not self.air.known[slot]:
            return ["no weather is known"]
        found = [said for said, against in self._limits(slot) if against]
        return found or ([self._ahead(slot, slot + 1)] if self.kinds[slot] != YES else [])

    def margins(self, slot: int) -> list[str]:
        """How near its limits the air of a slot is: ``9.1 °C, wants 8``."""
        return [said for said, against in self._limits(slot) if not against and not said.startswith("rain")]

    def span_against(self, slot: int, span: int) -> str:
        """Why `span` slots of work in one go could not begin in `slot`, where the slot itself is fit; else empty."""
        end = slot + span
        if end > len(self._now):
            return "no weather is known for all of it"
        at = _first(self._now != YES, slot, end)
        if at >= 0:
            return f"{', '.join(self.against(at))} from {self._clock(at, slot)}"
        caught = self._until is not None and (
            self._until[end] > len(self._now) or self._next_wet[slot] < self._until[end]
        )
        return self._ahead(slot, end) if caught else ""

    def _heat(self) -> tuple[float | None, float | None]:
        """The lowest and the highest temperature it may be worked at, °C."""
        apply, needs = self.material.apply, self.use.needs
        lows, highs = _known(apply.min_temp, needs.min_temp), _known(apply.max_temp, needs.max_temp)
        return max(lows, default=None), min(highs, default=None)

    def _limits(self, slot: int) -> list[tuple[str, bool]]:
        """Each limit in words, and whether the air of a slot breaks it."""
        air, apply, needs = self.air, self.material.apply, self.use.needs
        temp, humid, wind = float(air.temp_c[slot]), float(air.humidity[slot]), float(air.wind_kn[slot])
        over = temp - float(air.dew_c[slot])
        low, high = self._heat()
        found = []
        if self.use.dry and air.rain[slot]:
            found.append((f"rain till {self._rain_ends(slot)}", True))
        if low is not None:
            found.append((f"{_down(temp)} °C, wants {low:g}", temp < low - EPSILON))
        if high is not None and (temp > high + EPSILON or low is None):
            found.append((f"{_up(temp)} °C, takes {high:g}", temp > high + EPSILON))
        if apply.above_dew is not None:
            found.append((f"{_down(over)} °C over dew, wants {apply.above_dew:g}", over < apply.above_dew - EPSILON))
        if apply.max_humidity is not None:
            found.append(
                (f"humidity {_up(humid)} %, takes {apply.max_humidity:g}", humid > apply.max_humidity + EPSILON)
            )
        if needs.max_wind is not None:
            found.append((f"wind {_up(wind)} kn, takes {needs.max_wind:g}", wind > needs.max_wind + EPSILON))
        return found

    def _ahead(self, slot: int, end: int) -> str:
        """What would reach work of [slot, end) before it is dry."""
        assert self._until is not None
        wet = int(self._next_wet[slot])
        if wet >= min(int(self._until[end]), len(self._now)):
            return "it would not dry in the time the weather is known for"
        if not self.air.known[wet]:
            return f"no weather is known from {self._clock(wet, slot)}, before it is dry"
        what = "rain" if self.air.rain[wet] else "dew"
        return f"{what} {self._clock(wet, slot)} would reach it wet"

    def _rain_ends(self, slot: int) -> str:
        at = _first(~self.air.rain, slot, len(self._now))
        return self._clock(at, slot) if at >= 0 else "the end of what is known"

    def _clock(self, slot: int, near: int) -> str:
        """A moment by the clock alone on the day of `near`, else with its day."""
        begin, moment = self.tables.grid.moment(near), self.tables.grid.moment(slot)
        return clock(moment) if begin.date() == moment.date() else near_clock(moment, begin)


def _next(mask: Mask) -> NDArray[np.int64]:
    """By slot, the first slot from it on where `mask` is true; the length where none is."""
    at = np.where(mask, np.arange(len(mask)), len(mask))
    return np.minimum.accumulate(at[::-1])[::-1]


def _first(mask: Mask, begin: int, end: int) -> int:
    """The first slot of [begin, end) where `mask` is true; -1 where none is."""
    hits = np.flatnonzero(mask[max(0, begin) : end])
    return max(0, begin) + int(hits[0]) if len(hits) else -1


def _known(*values: float | None) -> list[float]:
    return [value for value in values if value is not None]


def _down(value: float) -> str:
    return f"{math.floor(value * 10 + EPSILON) / 10:g}"


def _up(value: float) -> str:
    return f"{math.ceil(value * 10 - EPSILON) / 10:g}"
