"""What time does to work, compiled once: who is on shift, fit air, cure clocks, and how a piece of work runs.

Everything here depends on the grid, the crew, the zones, the materials and the weather, never on the order of
tasks. Arrays are numpy while they are made and plain lists where the placing looks things up one at a time.
"""

from __future__ import annotations

import datetime as dt
from array import array
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sequencer.cure import cumulative_dose, reached_at
from sequencer.grid import Grid
from sequencer.job import Apply, Hours, Job, Material, Needs, Stage, Zone
from sequencer.job.links import DONE
from sequencer.planning.bits import bits
from sequencer.shifts import allowed_starts, on_shift
from sequencer.weather.hourly import EPSILON, Air, told_air, with_days, zone_air

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Course:
    """How one piece of work runs from every start its own calendar, its weather and its wet time allow.

    starts, ends: feasible starts (rising) and the end for each (rising too): slots.
    workable: bit set of the slots in which it can be worked; pauses are the rest between start and end.
    """

    starts: list[int]
    ends: list[int]
    workable: int


class Tables:
    """Compiled tables of one job on one grid; each is made when first asked for and kept.

    Raises JobError where the weather file has faults.
    """

    def __init__(
        self, job: Job, days: int, first: dt.datetime | dt.date | None = None, known: Tables | None = None
    ) -> None:
        """days: local days from that of `first` (left out: the haul-out). known: take over from it what holds."""
        self.job = job
        self.grid = Grid(job.job.timezone, first if first is not None else job.job.hauled, days)
        if known is not None and known.grid.same(self.grid):
            self.grid = known.grid
        else:
            known = None
        self.never = self.grid.length + 1
        """Stands for a moment past the grid."""
        self.weather_key = _weather_key(job)
        """What the air depends on, taken before any of it is read: a file may change at any time after."""
        self._weather: dict[Any, Any] = {}
        self._crew: dict[Any, Any] = {}
        self._courses: dict[Any, Course] = {}
        """Kept apart by what they depend on: the weather, the crew, both."""
        if known is not None:
            self._take_over(known)

    def _take_over(self, known: Tables) -> None:
        """Share what the same weather, the same crew, or both make of the same grid."""
        same_weather = known.weather_key == self.weather_key
        if known.weather_key[1:] == self.weather_key[1:] and "told" in known.__dict__:
            self.__dict__["told"] = known.told
        same_crew = known.job.crew == self.job.crew
        if same_weather:
            self._weather = known._weather
            if "outside" in known.__dict__:
                self.__dict__["outside"] = known.outside
        if same_crew:
            self._crew = known._crew
            for name in ("shifts", "hands"):
                if name in known.__dict__:
                    self.__dict__[name] = known.__dict__[name]
        if same_weather and same_crew:
            self._courses = known._courses

    def bare(self) -> Tables:
        """Tables of the same job on the same grid with nothing made yet: light to keep."""
        other = Tables.__new__(Tables)
        other.job, other.grid, other.never, other.weather_key = self.job, self.grid, self.never, self.weather_key
        other._weather, other._crew, other._courses = {}, {}, {}
        return other

    @cached_property
    def outside(self) -> Air:
        """The air outside."""
        return with_days(self.told, self.job.weather.day, self.grid)

    @cached_property
    def told(self) -> Air:
        """The air outside but for the days told by hand."""
        return told_air(self.job, self.grid)

    @cached_property
    def shifts(self) -> dict[str, Mask]:
        """By crew id: the slots in which that person is there."""
        return {c.id: on_shift(c, self.grid) for c in self.job.crew}

    @cached_property
    def hands(self) -> NDArray[np.int16]:
        """Shape (slots,): how many people are on shift."""
        total = np.zeros(self.grid.length, dtype=np.int16)
        for mask in self.shifts.values():
            total += mask
        return total

    def air(self, zone: Zone) -> Air:
        """The air of a zone."""
        key = ("air", zone.shelter, zone.heat_to)
        if key not in self._weather:
            self._weather[key] = zone_air(self.outside, zone)
        found: Air = self._weather[key]
        return found

    def staffed(self, hands: int, who: tuple[str, ...]) -> Mask:
        """Slots in which `hands` people are on shift, those in `who` among them."""
        key = ("staffed", hands, who)
        if key not in self._crew:
            mask = self.hands >= hands
            for person in who:
                mask = mask & self.shifts[person]
            self._crew[key] = mask
        found: Mask = self._crew[key]
        return found

    def fit(self, zone: Zone | None, needs: Needs, dry: bool, apply: Apply | None) -> Mask:
        """Slots whose air in `zone` suits the work (contract §3.5); without a zone, all."""
        if zone is None:
            return np.ones(self.grid.length, dtype=bool)
        key = ("fit", zone.shelter, zone.heat_to, needs, dry, apply)
        if key not in self._weather:
            self._weather[key] = self._fit(self.air(zone), needs, dry, apply)
        found: Mask = self._weather[key]
        return found

    @staticmethod
    def _fit(air: Air, needs: Needs, dry: bool, apply: Apply | None) -> Mask:
        mask = air.known.copy()
        for limit in (needs.min_temp, apply.min_temp if apply else None):
            if limit is not None:
                mask &= air.temp_c >= limit - EPSILON
        for limit in (needs.max_temp, apply.max_temp if apply else None):
            if limit is not None:
                mask &= air.temp_c <= limit + EPSILON
        if dry:
            mask &= ~air.rain
        if needs.max_wind is not None:
            mask &= air.wind_kn <= needs.max_wind + EPSILON
        if apply is not None and apply.max_humidity is not None:
            mask &= air.humidity <= apply.max_humidity + EPSILON
        if apply is not None and apply.above_dew is not None:
            mask &= air.temp_c - air.dew_c >= apply.above_dew - EPSILON
        return mask

    def wetted(self, zone: Zone) -> Mask:
        """Slots in which rain or dew reaches the zone, or nothing is known (contract §3.6)."""
        if zone.shelter != "open":
            return np.zeros(self.grid.length, dtype=bool)
        air = self.air(zone)
        return air.rain | air.dewy | ~air.known

    def curve_array(self, zone: Zone, material: Material, hours: tuple[float, ...]) -> NDArray[np.int64]:
        """Shape (slots + 1,): the moment a stage of `hours` is reached for a count begun at each grid line."""
        key = ("curve", zone.shelter, zone.heat_to, material.temps, material.no_cure_below, hours)
        if key not in self._weather:
            self._weather[key] = reached_at(cumulative_dose(material, hours, self.air(zone)))
        found: NDArray[np.int64] = self._weather[key]
        return found

    def curve(self, zone: Zone, material: Material, hours: tuple[float, ...]) -> Sequence[int]:
        """As :meth:`curve_array`, as plain numbers; past the grid the value is :attr:`never`."""
        key = ("list", zone.shelter, zone.heat_to, material.temps, material.no_cure_below, hours)
        if key not in self._weather:
            # An array takes a tenth of a list's time to make; most of its numbers are never asked for.
            self._weather[key] = array("q", self.curve_array(zone, material, hours).tobytes())
        found: Sequence[int] = self._weather[key]
        return found

    def opens(self, zone: Zone, material: Material, stage: str) -> Sequence[int] | None:
        """By end of work: the moment `stage` is reached; None for ``done``, which is the end itself."""
        return None if stage == DONE else self.curve(zone, material, material.stages[stage].opens)

    def closes(self, zone: Zone, material: Material, stage: str) -> Sequence[int] | None:
        """By start of work: the moment the window of `stage` closes; None where it never does."""
        spec: Stage | None = material.stages.get(stage)
        return None if spec is None or spec.closes is None else self.curve(zone, material, spec.closes)

    def starts_allowed(self, slots: tuple[Hours, ...]) -> Mask | None:
        """Slots in which a task with these lift slots may start; None for no such limit."""
        if not slots:
            return None
        key = ("slots", slots)
        if key not in self._crew:
            self._crew[key] = allowed_starts(slots, self.grid)
        found: Mask = self._crew[key]
        return found

    def kept_course(self, key: object, make: Callable[[], Course]) -> Course:
        """The course known by `key`, made if it is not there yet; the key says all that the grid and tables don't."""
        if key not in self._courses:
            self._courses[key] = make()
        return self._courses[key]

    def course(
        self,
        work: int,
        workable: Mask,
        fit: Mask | None,
        one_go: bool,
        wet: tuple[Mask, NDArray[np.int64] | None] | None,
        allowed: Mask | None,
    ) -> Course:
        """Every feasible start of a piece of work of `work` slots, and its end.

        workable: slots in which it is worked. fit, one_go: in one go every slot from start to end must be fit and
        the local date the same. wet: slots that would spoil it, and by end the moment until which they would
        (None: to the end itself). allowed: starts allowed by slots.
        """
        at = np.flatnonzero(workable)
        if len(at) < work:
            return Course([], [], bits(workable))
        starts, ends = at[: len(at) - work + 1], at[work - 1 :] + 1
        keep = np.ones(len(starts), dtype=bool)
        if one_go:
            day = np.append(self.grid.day_index, self.grid.days)
            keep &= day[starts] == day[ends]
            if fit is not None:
                keep &= _none_between(~fit, starts, ends)
        if wet is not None:
            spoils, until = wet
            stop = ends if until is None else until[ends]
            keep &= stop <= self.grid.length
            keep &= _none_between(spoils, starts, np.minimum(stop, self.grid.length))
        if allowed is not None:
            keep &= allowed[starts]
        return Course(starts[keep].tolist(), ends[keep].tolist(), bits(workable))

    def horizon_end(self) -> dt.datetime:
        """The last moment of the grid."""
        return self.grid.moment(self.grid.length)


def _none_between(mask: Mask, begin: NDArray[np.int64], end: NDArray[np.int64]) -> Mask:
    """For each pair (begin, end): whether mask is false all through [begin, end)."""
    count = np.concatenate(([0], np.cumsum(mask)))
    free: Mask = count[end] == count[begin]
    return free


def _weather_key(job: Job) -> tuple[object, ...]:
    """What the air depends on: what the job says of it, and the file's state."""
    weather = job.weather
    if weather.file is None:
        return (weather.day, weather.normal)
    path = job.folder / weather.file
    try:
        stat = path.stat()
    except (OSError, ValueError):
        return (weather.day, weather.normal, path)
    return (weather.day, weather.normal, path, stat.st_mtime_ns, stat.st_size)
