"""The air, thought out: which materials and days, where the person stands, what the cells say. No Textual here."""

from __future__ import annotations

import numpy as np

from sequencer.errors import JobError
from sequencer.grid import Grid
from sequencer.job import Material, Zone
from sequencer.planning.compiling import first_moment
from sequencer.planning.plan import Row
from sequencer.planning.tables import Tables
from sequencer.telling.applying import Applying, Use, next_use
from sequencer.tui.air_cells import Cell, cells_from, worst
from sequencer.tui.clocktext import slot_at
from sequencer.tui.model import Model
from sequencer.weather.hourly import TOLD

STEPS = (2, 4, 8, 16)
"""Quarter hours a cell may hold."""
USUAL = 1
"""By the hour."""
BLIND_DAYS = 60
"""Days looked at where there is no plan."""
AHEAD = 14
"""Days from now, and two from the launch, that are always there to stand on and edit."""
PAST_LAUNCH = 2


class AirView:
    """The Air page for one model. slot: the moment stood at; spot: a material, or past the last the days."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.job, self.trouble = model.job, model.trouble
        self.materials: list[Material] = list(self.job.material) if self.job is not None else []
        self.tables = self._tables()
        self.now = slot_at(self.grid, model.now) if self.job is not None and model.now is not None else 0
        self.fine = USUAL
        self.place = ""
        self.slot = self.first = self.top = self.top_day = 0
        self._made: dict[tuple[str, str], Applying] = {}
        self.fault: JobError | None = self._weather_fault()
        self.go(self.now)
        self.spot = self._start()

    def follow(self, old: AirView) -> None:
        """Stand where the person stood; a row marked elsewhere brings its material."""
        if old.job is None or self.job is None:
            return
        self.fine, self.place, self.top, self.top_day = old.fine, old.place, old.top, old.top_day
        if self.place not in self.job.zones:
            self.place = ""
        if old.grid.same(self.grid):
            self.slot, self.first = self._clipped(old.slot), old.first
        else:
            self.slot = self._clipped(self.grid.slot(old.grid.moment(old.slot)))
            self.first = max(0, self.grid.slot(old.grid.moment(old.first)))
        if old.tables is self.tables and old.job is self.job and old.model.plan is self.model.plan:
            self._made = old._made
        marked = self.model.marked
        self._stand_as(old)
        if marked != old.model.marked:
            self.stand_on_row(marked)

    def _stand_as(self, old: AirView) -> None:
        names = [material.id for material in self.materials]
        here = old.material
        if here is None:
            self.spot = len(self.materials)
        else:
            self.spot = names.index(here.id) if here.id in names else min(old.spot, max(0, len(names) - 1))

    # -- what there is ------------------------------------------------------------------------------------------

    def _tables(self) -> Tables | None:
        """The plan's tables where they are of this job; else tables of the job alone, for its weather and people."""
        plan, job = self.model.plan, self.job
        if job is None:
            return None
        known = plan.problem.tables if plan is not None else None
        if known is not None and plan is not None and (plan.job is job or plan.job == job):
            return known
        days = known.grid.days if known is not None else BLIND_DAYS
        first = first_moment(job)
        tables = Tables(job, days, first, known)
        if self.model.now is not None and known is None:
            ahead = tables.grid.day_of(slot_at(tables.grid, self.model.now))
            tables = Tables(job, days + max(0, ahead), first) if ahead > 0 else tables
        return tables

    def _weather_fault(self) -> JobError | None:
        try:
            if self.tables is not None:
                _ = self.tables.outside
        except JobError as error:
            return error
        return None

    @property
    def grid(self) -> Grid:
        """The grid all slots count on."""
        assert self.tables is not None
        return self.tables.grid

    @property
    def last_day(self) -> int:
        """The last day to stand on: past the launch, past now, and past what is told."""
        days = [self.grid.day_of(max(0, self.now)) + AHEAD]
        if self.model.plan is not None:
            days.append((self.model.plan.launched.date() - self.grid.day0).days + PAST_LAUNCH)
        if self.tables is not None and self.fault is None:
            told = np.flatnonzero(self.tables.outside.source == TOLD)
            days += [self.grid.day_of(int(told[-1]))] if len(told) else []
        return min(self.grid.days - 1, max(days))

    @property
    def day(self) -> int:
        """The day stood on (0 = the grid's first)."""
        return self.grid.day_of(self.slot)

    @property
    def material(self) -> Material | None:
        """The material stood on; None in the days."""
        return self.materials[self.spot] if self.spot < len(self.materials) else None

    @property
    def in_days(self) -> bool:
        """Whether one stands in the table of days."""
        return self.spot >= len(self.materials)

    def starts(self) -> dict[str, int]:
        """By task, the start of each row that is still ahead."""
        plan = self.model.plan
        if plan is None:
            return {}
        ahead = (row for row in plan.rows.values() if not (row.begun or row.finished or row.keys))
        return {row.id: self.grid.slot(plan.moment(row.start)) for row in ahead}

    def row_of(self, use: Use) -> Row | None:
        """The plan's row of the task a material is next used for."""
        plan = self.model.plan
        return plan.rows.get(use.task.id) if plan is not None and use.task is not None else None

    def applying(self, material: Material) -> Applying:
        """The material in the place shown: the one chosen, or else where it goes on next."""
        assert self.job is not None
        assert self.tables is not None
        key = (material.id, self.place)
        if key not in self._made:
            use = next_use(self.job, material, self.starts())
            if self.place:
                use = Use(self.job.zones[self.place], use.needs, use.dry, use.task)
            self._made[key] = Applying(self.tables, material, use)
        return self._made[key]

    def zone_shown(self) -> Zone | None:
        """The place chosen; None where each material is shown where it goes on next."""
        return self.job.zones.get(self.place) if self.job is not None else None

    # -- moves --------------------------------------------------------------------------------------------------

    def _start(self) -> int:
        """The material to begin at: of the row marked, else of the next row that lays one."""
        plan = self.model.plan
        names = [material.id for material in self.materials]
        if plan is None:
            return 0
        marked = plan.rows.get(self.model.marked)
        rows = [marked] if marked is not None else []
        rows += [row for row in plan.rows.values() if row.start >= plan.now and not row.keys]
        return next((names.index(row.task.material) for row in rows if row.task.material in names), 0)

    def _clipped(self, slot: int) -> int:
        if self.tables is None:
            return 0
        return max(0, min(slot, self.grid.day_start(self.last_day + 1) - 1))

    def stand_on_row(self, name: str) -> None:
        """On the material of a row, where it lays one."""
        plan = self.model.plan
        row = plan.rows.get(name) if plan is not None else None
        names = [material.id for material in self.materials]
        if row is not None and row.task.material in names:
            self.spot = names.index(row.task.material)

    def go(self, slot: int) -> None:
        """At a moment, the hours drawn from the midnight before it on."""
        self.slot = self._clipped(slot)
        if self.tables is not None:
            self.first = self.grid.day_start(self.day)

    def to_now(self) -> None:
        """At now, among the materials."""
        self.go(self.now)
        self.spot = min(self.spot, max(0, len(self.materials) - 1))

    def move(self, right: int, down: int) -> None:
        """Cells right or left; down the materials and then the days, up the days and then the materials."""
        if self.tables is None:
            return
        if right:
            begin = self.grid.day_start(self.day)
            step = STEPS[self.fine]
            self.slot = self._clipped(begin + (self.slot - begin) // step * step + right * step)
        for _ in range(abs(down)):
            self._step(1 if down > 0 else -1)

    def _step(self, down: int) -> None:
        if not self.in_days:
            self.spot = max(0, min(len(self.materials), self.spot + down))
        elif down < 0 and self.day == 0 and self.materials:
            self.spot = len(self.materials) - 1
        else:
            self.turn(down)

    def turn(self, days: int) -> None:
        """Other days, at the same time of day."""
        if self.tables is None:
            return
        into = self.slot - self.grid.day_start(self.day)
        day = max(0, min(self.last_day, self.day + days))
        self.slot = min(self.grid.day_start(day) + into, self.grid.day_start(day + 1) - 1)

    def cross(self) -> None:
        """From the materials to the days, or back."""
        self.spot = 0 if self.in_days else len(self.materials)

    def zoom(self, finer: int) -> None:
        """Finer or coarser hours."""
        self.fine = max(0, min(len(STEPS) - 1, self.fine - finer))

    def turn_place(self) -> None:
        """The next place's air; after the last, each material where it goes on next."""
        names = ["", *(self.job.zones if self.job is not None else {})]
        self.place = names[(names.index(self.place) + 1) % len(names)]

    # -- cells --------------------------------------------------------------------------------------------------

    def cells(self, room: int) -> list[Cell]:
        """The cells that fit in `room` columns, a blank one between days, the moment stood at among them."""
        self.first = max(0, min(self.first, self.grid.length - 1))
        found = self._from(self.first, room)
        if self.slot < self.first:
            self.first = self.grid.day_start(self.day)
            found = self._from(self.first, room)
        while found and self.slot >= found[-1].end:
            following = self.grid.day_start(self.grid.day_of(self.first) + 1)
            if following > self.slot:
                break
            self.first = following
            found = self._from(self.first, room)
        if not found or not found[0].begin <= self.slot < found[-1].end:
            # A day wider than the screen: it begins where one stands, at a full cell.
            begin, step = self.grid.day_start(self.day), STEPS[self.fine]
            at = begin + (self.slot - begin) // step * step
            self.first = max(begin, at - step * (room // 2))
            found = self._from(self.first, room)
        return found

    def _from(self, first: int, room: int) -> list[Cell]:
        return cells_from(self.grid, first, room, STEPS[self.fine])

    def kind(self, material: Material, cell: Cell) -> str:
        """What is against a material in a cell, one of KINDS; of several the first to mind; empty for nothing."""
        return worst(self.applying(material).kinds[cell.begin : cell.end])

    def hands(self, begin: int, end: int) -> int:
        """The most people on shift in some quarter hour of [begin, end)."""
        assert self.tables is not None
        there = self.tables.hands[begin:end]
        return int(there.max()) if len(there) else 0
