"""The sheet for one day: what to do in order, what to check first, by when, what to leave, what stays wet tonight."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sequencer.grid import PER_HOUR
from sequencer.planning.plan import Plan, Row
from sequencer.telling import Window, clock, duration, lasting, why_row
from sequencer.telling.causes import main_cause
from sequencer.tui.clocktext import when
from sequencer.tui.coats import Coats, coats_of
from sequencer.tui.text import cut, width_of
from sequencer.tui.why import name

LEAVE_MOST = 3
"""Tasks named under what to leave; more would be a list of the whole stay."""

NEAR_CELSIUS = 3
"""A limit of heat is told when the hours come this near it."""


@dataclass(frozen=True)
class Todo:
    """One thing to do on a day: [begin, end) is its part of the day, worked its quarter hours that day.

    check: what the air must be and is. by: the last start and what happens after it. shuts: whether that is a window
    shutting (and no mere advice).
    """

    row: Row
    begin: int
    end: int
    worked: int
    title: str
    place: str
    hands: str
    material: str
    check: str
    by: str
    shuts: bool

    def place_in(self, room: int) -> str:
        """The place's name where it fits in `room` cells, else its id as words."""
        return self.place if width_of(self.place) <= room else self.row.zone.replace("-", " ")


class DaySheet:
    """The sheet of one local day of a plan (0 = the grid's first). Done work is left out from `now` on."""

    def __init__(self, plan: Plan, day: int) -> None:
        self.plan = plan
        self.coats: Coats = coats_of(plan)
        self.day = day
        self.begin = plan.grid.day_start(day)
        self.end = plan.grid.day_start(day + 1)
        self.date = plan.grid.date(day)

    @property
    def todo(self) -> list[Todo]:
        """What to do, in order."""
        found = []
        for row in self.plan.rows.values():
            spans = [(max(b, self.begin), min(e, self.end)) for b, e in row.pieces]
            spans = [(b, e) for b, e in spans if e > b]
            if spans:
                found.append(self._todo(row, spans))
        return sorted(found, key=lambda t: (t.begin, t.end, t.row.id))

    def _todo(self, row: Row, spans: list[tuple[int, int]]) -> Todo:
        plan = self.plan
        zone = plan.job.zones.get(row.zone)
        material = plan.job.materials[row.task.material] if row.task.material and not row.keys else None
        by, shuts = ("", False) if row.finished or row.start < self.begin else self._by(row)
        return Todo(
            row=row,
            begin=spans[0][0],
            end=spans[-1][1],
            worked=sum(e - b for b, e in spans),
            title=f"key {row.keys} for {row.task.id}" if row.keys else row.id,
            place=zone.name if zone else "",
            hands=self._hands(row),
            material=material.name if material else "",
            check="" if row.finished else self._check(row, spans),
            by=by,
            shuts=shuts,
        )

    def _hands(self, row: Row) -> str:
        if not row.hands:
            return "no hands"
        who = [cut(self.plan.job.people[p].name, 14) for p in row.task.who] if not row.keys else []
        if len(who) == row.hands:
            return " and ".join(who)
        return f"{row.hands} hand{'s' if row.hands > 1 else ''}" + (f", {' and '.join(who)} among them" if who else "")

    # -- the check before starting ----------------------------------------------------------------------------

    def _check(self, row: Row, spans: list[tuple[int, int]]) -> str:
        """The limits of the air against the worst of the hours at work; empty where it asks nothing."""
        zone = self.plan.job.zones.get(row.zone)
        if zone is None or row.task.wait is not None:
            return ""
        air = self.plan.problem.tables.air(zone)
        at = slice(spans[0][0], spans[-1][1])
        if not air.known[at].all():
            return "no weather known for these hours"
        material = self.plan.job.materials[row.task.material] if row.task.material and not row.keys else None
        apply, needs = material.apply if material else None, row.task.needs
        said = []
        low = _most(max, needs.min_temp if not row.keys else None, apply.min_temp if apply else None)
        high = _most(min, needs.max_temp if not row.keys else None, apply.max_temp if apply else None)
        if low is not None or high is not None:
            said.append(_degrees(air.temp_c[at], low, high))
        if apply is not None and apply.above_dew is not None:
            margin = math.floor(float((air.temp_c[at] - air.dew_c[at]).min()) + 1e-6)
            said.append(f"{margin} over dew, wants {apply.above_dew:g}")
        if apply is not None and apply.max_humidity is not None:
            said.append(f"{math.ceil(float(air.humidity[at].max()) - 1e-6)} % damp, takes {apply.max_humidity:g}")
        if needs.max_wind is not None and not row.keys:
            said.append(f"wind {math.ceil(float(air.wind_kn[at].max()) - 1e-6)} kn, at most {needs.max_wind:g}")
        if row.task.dry or row.keys:
            said.append("dry" if not air.rain[at].any() else "RAIN")
        return "; ".join(said)

    # -- by when ----------------------------------------------------------------------------------------------

    def _by(self, row: Row) -> tuple[str, bool]:
        """The last start, and what a later one costs."""
        if row.keys:
            return "", False
        windows = [w for w in self.coats.windows_for(row.id) if not w.keyed and w.last >= 0]
        if windows:
            first = min(windows, key=lambda w: w.last)
            last = first.last
            if last < self.end:
                return f"on by {self._when(last)}, or {missed_price(self.plan, first)}", True
        today = self.coats.latest_today(row)
        if today is not None:
            return f"on by {self._when(today[0])}, or {name(today[1])} misses it: then leave it for another day", True
        if windows:
            return f"by {self._when(last)}, or {missed_price(self.plan, first)}", False
        return "", False

    def _when(self, slot: int) -> str:
        return when(self.plan.moment(slot), self.date)

    # -- what to leave, and tonight ---------------------------------------------------------------------------

    @property
    def leave(self) -> list[tuple[Row, str]]:
        """What could be thought of today but must not be started, and why."""
        plan, found = self.plan, []
        for row in plan.rows.values():
            let_go = row.held.ready <= self.end or not row.held.task
            if row.finished or row.start < self.end or not let_go or row.id == plan.job.job.finish:
                continue
            # What only waits for tomorrow's shift needs no warning.
            if row.held.spans and main_cause(row)[0] not in ("start", "off-shift"):
                found.append((row, why_row(plan, row)))
        return found[:LEAVE_MOST]

    @property
    def tonight(self) -> list[str]:
        """What must stay dry through the night, until when, and whether rain or dew is seen."""
        plan, found = self.plan, []
        for row in plan.rows.values():
            dry = self.coats.dry(row)
            if row.task.material and not row.keys and row.start < self.end and dry > self._evening():
                if row.end > self.end:
                    continue
                found.append(f"{name(row.id)} wet till {self._when(dry)}. {self._sky(row, dry)}")
        return found

    def _evening(self) -> int:
        """When the last person leaves, or 18:00 where nobody is there."""
        there = self.plan.problem.tables.hands[self.begin : self.end].nonzero()[0]
        return self.begin + int(there[-1]) + 1 if len(there) else self.plan.grid.at(self.day, 18 * 60)

    def _sky(self, row: Row, dry: int) -> str:
        zone = self.plan.job.zones[row.zone]
        if zone.shelter != "open":
            return "Under cover."
        air = self.plan.problem.tables.air(zone)
        at = slice(row.end, min(dry, self.plan.grid.length))
        for what, mask in (("Rain", air.rain[at]), ("Dew", air.dewy[at])):
            wet = mask.nonzero()[0]
            if len(wet):
                return f"{what} from {self._when(row.end + int(wet[0]))}: cover it."
        return "No rain seen." if air.known[at].all() else "No weather known."

    def says(self, todo: Todo) -> str:
        """How long, for the list: ``0:45``, or until when where it goes on past the day."""
        return duration(todo.worked) + (", goes on" if todo.row.end > self.end else "")

    def time(self, todo: Todo) -> str:
        """When it begins."""
        return clock(self.plan.moment(todo.begin))


def missed_price(plan: Plan, window: Window) -> str:
    """What missing a window costs: ``key it: 2 h``."""
    task = plan.rows[window.before].task
    stage = plan.job.materials[task.material or ""].stages[window.stage]
    return f"key {name(window.before)}: {lasting(math.ceil(stage.if_missed.work * PER_HOUR))}"


def _most(pick: Callable[[list[float]], float], *values: float | None) -> float | None:
    known = [v for v in values if v is not None]
    return pick(known) if known else None


def _degrees(temps: NDArray[np.float64], low: float | None, high: float | None) -> str:
    """The coldest of the hours and the least wanted; the warmest too where it comes near the most."""
    coldest, warmest = math.floor(float(temps.min()) + 1e-6), math.ceil(float(temps.max()) - 1e-6)
    said = f"{coldest} °C" + (f", wants {low:g}" if low is not None else "")
    if high is not None and warmest > high - NEAR_CELSIUS:
        said += f", to {warmest}, takes {high:g}"
    return said
