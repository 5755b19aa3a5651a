"""The sheet for one day: what to do in order, what to check first, by when, what to leave, what stays wet tonight."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from sequencer.grid import PER_HOUR
from sequencer.planning.plan import Plan, Row
from sequencer.telling import Window, clock, duration, lasting
from sequencer.telling.air_check import air_checks
from sequencer.telling.leaving import leave_alone
from sequencer.telling.wet import wet_from
from sequencer.tui.clocktext import when
from sequencer.tui.coats import Coats, coats_of
from sequencer.tui.text import cut, width_of
from sequencer.tui.why import name

LEAVE_MOST = 3
"""Tasks named under what to leave; more would be a list of the whole stay."""


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


class DaySheet:
    """The sheet of one local day of a plan (0 = the grid's first). Done work is left out from `now` on."""

    def __init__(self, plan: Plan, day: int) -> None:
        self.plan = plan
        self.coats: Coats = coats_of(plan)
        self.day = day
        self.begin = plan.grid.day_start(day)
        self.end = plan.grid.day_start(day + 1)
        self.date = plan.grid.date(day)

    @cached_property
    def todo(self) -> list[Todo]:
        """What to do, in order."""
        found = []
        for row in self.plan.rows.values():
            spans = [(max(b, self.begin), min(e, self.end)) for b, e in row.pieces]
            spans = [(b, e) for b, e in spans if e > b]
            if spans:
                found.append(self._todo(row, spans))
        return sorted(found, key=lambda t: (t.begin, t.end, t.row.id))

    def place_in(self, todo: Todo, room: int) -> str:
        """The place's name where those of the whole day fit in `room` cells, else its id as words, as on the lanes."""
        fit = all(width_of(one.place) <= room for one in self.todo)
        return todo.place if fit else todo.row.zone.replace("-", " ")

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
        return "; ".join(check.said for check in air_checks(self.plan, row, spans[0][0], spans[-1][1]))

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
        return leave_alone(self.plan, self.end, LEAVE_MOST)

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
        wet = wet_from(self.plan, row, row.end, dry)
        if wet is not None:
            return f"{wet[0]} from {self._when(wet[1])}: cover it."
        known = self.plan.problem.tables.air(zone).known[row.end : min(dry, self.plan.grid.length)]
        return "No rain seen." if known.all() else "No weather known."

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
