"""A job compiled for one future: the ground's items with their own hours of work, deliveries and air."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from sequencer.cure import FULL_DOSE, slot_dose
from sequencer.grid import hours_to_slots
from sequencer.job import Material, Zone
from sequencer.job.links import DONE
from sequencer.odds.courses import Doses, LazyCourse, LazyCurve, Runs, Wet, Worked, next_spoilt
from sequencer.odds.ground import Ground, Kind
from sequencer.odds.yard import FutureYard
from sequencer.planning.placing import Placer
from sequencer.planning.problem import Edge, Fixed, Hold, Item, Keying, Problem
from sequencer.planning.tables import Course, Mask, Tables
from sequencer.weather.hourly import Air


class FutureTables(Tables):
    """The tables of one future: calendars from the ground, air of its own, worked out where it is looked at.

    like: tables of much the same future, shared as far as the air is the same.
    """

    def __init__(self, ground: Ground, air: Air, like: FutureTables | None = None) -> None:
        known = ground.tables
        self.job, self.grid, self.never = ground.job, ground.grid, known.never
        same = like is not None and like.outside is air
        as_warm = like is not None and like.outside.temp_c is air.temp_c
        self._weather: dict[Any, Any] = like._weather if like is not None and same else {}
        self._cures: dict[Any, Any] = like._cures if like is not None and as_warm else {}
        """What temperatures alone make of materials."""
        self._crew = known._crew
        self._courses: dict[Any, Course] = {}
        self.__dict__["shifts"], self.__dict__["hands"] = known.shifts, known.hands
        self.__dict__["outside"] = air
        self.day = ground.day

    def curve(self, zone: Zone, material: Material, hours: tuple[float, ...]) -> list[int]:
        """See :meth:`Tables.curve`."""
        key = (zone.heat_to, material.temps, material.no_cure_below, hours)
        found = self._cures.get(key)
        if found is None:
            # Hours in one proportion at all temperatures make doses in that proportion: these are added up once.
            shape = ("doses", *key[:3], tuple(round(h / hours[0], 12) for h in hours))
            known = self._cures.get(shape)
            if known is None:
                runs, air = self._steady(zone)
                known = self._cures[shape] = hours[0], Doses(runs, slot_dose(material, hours, air))
            first, doses = known
            found = self._cures[key] = LazyCurve(doses, FULL_DOSE * hours[0] / first)
        return cast(list[int], found)

    def _steady(self, zone: Zone) -> tuple[Runs, Air]:
        """The runs of slots alike in temperature in a zone, and its air, a value for each run."""
        key = ("steady", zone.heat_to)
        if key not in self._cures:
            air = self.air(zone)
            runs = Runs(air.temp_c, air.source)
            at = runs.at[:-1]
            short = Air(air.temp_c[at], air.dew_c[at], air.humidity[at], air.rain[at], air.wind_kn[at], air.source[at])
            self._cures[key] = runs, short
        found: tuple[Runs, Air] = self._cures[key]
        return found

    def _fit_of(self, kind: Kind) -> tuple[Mask, NDArray[np.int64]]:
        """Slots whose air suits the work, and how many do not before each grid line."""
        key = ("fit", kind.fit)
        if key not in self._weather:
            assert kind.zone is not None
            fit = self._fit(self.air(kind.zone), kind.needs, kind.dry, kind.apply)
            self._weather[key] = fit, _counted(~fit)
        found: tuple[Mask, NDArray[np.int64]] = self._weather[key]
        return found

    def _worked(self, kind: Kind, item: Item) -> Worked:
        key = ("worked", kind.worked)
        if key not in self._weather:
            if item.is_wait:
                mask = np.ones(self.grid.length, dtype=bool)
            else:
                mask = self.staffed(item.hands, item.task.who)
                if kind.zone is not None:
                    mask = mask & self._fit_of(kind)[0]
            self._weather[key] = Worked(mask)
        found: Worked = self._weather[key]
        return found

    def _wet(self, kind: Kind) -> Wet | None:
        if kind.spoils < 0 or kind.zone is None or kind.material is None:
            return None
        key = ("spoils", kind.spoils)
        if key not in self._weather:
            self._weather[key] = next_spoilt(self.wetted(kind.zone))
        until: NDArray[np.int64] = self._weather[key]
        if kind.dry_hours is None:
            return Wet(until, None)
        return Wet(until, cast(LazyCurve, self.curve(kind.zone, kind.material, kind.dry_hours)))

    def lazy_course(self, kind: Kind, item: Item, work: int) -> LazyCourse:
        """The course of a task of `work` quarter hours, as the planner's compiling has it."""
        one_go = item.task.one_go and not item.is_wait
        return LazyCourse(
            work,
            self._worked(kind, item),
            self.grid.length,
            self.day if one_go else None,
            self._fit_of(kind)[1] if one_go and kind.zone is not None else None,
            self._wet(kind),
            kind.allowed,
        )

    def keying_course(self, zone: Zone, work: int) -> LazyCourse:
        """The course of a keying."""
        key = ("keying", zone.shelter, zone.heat_to)
        if key not in self._weather:
            air = self.air(zone)
            self._weather[key] = Worked(self.staffed(1, ()) & air.known & ~air.rain)
        return LazyCourse(work, self._weather[key], self.grid.length)


def _counted(mask: Mask) -> NDArray[np.int64]:
    """Shape (slots + 1,): how many slots of `mask` lie before each grid line."""
    return np.concatenate(([0], np.cumsum(mask)))


class FuturePlacer(Placer):
    """Places the items of one future."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem)
        self.yard0 = FutureYard.over(self.yard0)


def future_placer(
    ground: Ground, air: Air, work: NDArray[np.int64], due: dict[str, int], like: FutureTables | None = None
) -> FuturePlacer:
    """The job as one future has it.

    air: outside. work: shape (tasks,), quarter hours of each task, or of each wait. due: by delivery its slot. like:
    tables of a future with the same air, or air as warm.
    """
    tables = FutureTables(ground, air, like)
    pattern = ground.problem
    problem = replace(pattern, tables=tables, items=[], followers=[[] for _ in pattern.items])
    for old, slots in zip(pattern.items, work.tolist(), strict=True):
        problem.items.append(_item(ground, tables, old, slots, due))
    keyings: dict[tuple[int, int], Keying] = {}
    for old in pattern.items:
        item = problem.items[old.index]
        item.edges = tuple(_edge(ground, tables, edge, keyings) for edge in old.edges)
        for edge in item.edges:
            problem.followers[edge.before].append((item.index, edge))
    return FuturePlacer(problem)


def _item(ground: Ground, tables: FutureTables, old: Item, work: int, due: dict[str, int]) -> Item:
    task, kind = old.task, ground.kinds[old.index]
    zone, material = kind.zone, kind.material
    release, holds = old.release, old.holds
    if task.delivery is not None:
        dated = ground.grid.slot(task.not_before) if task.not_before is not None else 0
        release = max(ground.base, due[task.delivery], dated)
    if any(hold.until is not None for hold in holds):
        assert zone is not None
        assert material is not None
        pairs = zip(holds, task.gear, strict=True)
        untils = [(h, None if h.until is None else tables.opens(zone, material, use.until or DONE)) for h, use in pairs]
        holds = tuple(Hold(hold.gear, hold.units, until) for hold, until in untils)
    item = Item(
        index=old.index,
        id=old.id,
        task=task,
        work=work,
        hands=old.hands,
        who=old.who,
        course=cast(Course, tables.lazy_course(kind, old, work)),
        air=old.air,
        dusty=old.dusty,
        set_curve=tables.opens(zone, material, "set") if zone is not None and material is not None else None,
        holds=holds,
        edges=(),
        release=release,
    )
    if old.fixed is not None:
        item.fixed = _fixed(ground, item, old.fixed)
    return item


def _fixed(ground: Ground, item: Item, old: Fixed) -> Fixed:
    """What has happened, with what is left of begun work as this future has it."""
    if item.task.finished is not None:
        return old
    if item.task.work_left is not None:
        item.work = hours_to_slots(item.task.work_left)
    else:
        span = ((1 << max(0, ground.base - old.start)) - 1) << old.start
        item.work = max(1, item.work - (item.course.workable & span).bit_count())
    return Fixed(old.start, -1, old.past, [], old.reached)


def _edge(ground: Ground, tables: FutureTables, old: Edge, keyings: dict[tuple[int, int], Keying]) -> Edge:
    kind = ground.kinds[old.before]
    if old.stage == DONE or kind.zone is None or kind.material is None:
        return old
    keying = old.keying
    if keying is not None:
        # Keyings of one coat that take as long share their course, which is then worked out once.
        key = (old.before, keying.work)
        if key not in keyings:
            course = cast(Course, tables.keying_course(kind.zone, keying.work))
            keyings[key] = Keying(keying.work, keying.dusty, keying.air, course)
        keying = replace(keyings[key], dusty=keying.dusty)
    opens = tables.opens(kind.zone, kind.material, old.stage)
    return Edge(old.before, old.stage, opens, tables.closes(kind.zone, kind.material, old.stage), keying)
