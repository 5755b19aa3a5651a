"""One day, thought out: which day, which half hour, and where on the page the person stands."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.plan import Plan, Row
from sequencer.tui.lanes import BY_RANK, RANK, Lane, Lanes, per_cell
from sequencer.tui.stay_view import WATER
from sequencer.tui.todo import DaySheet

STEPS = (1, 2, 4)
"""Quarter hours a cell may hold; two unless the person asks."""


class OneDay:
    """The cells of one day: edges are slots; a day of 23 or 25 hours has its own number of cells."""

    def __init__(self, plan: Plan, lanes: Lanes, day: int, step: int) -> None:
        self.plan, self.lanes, self.day, self.step = plan, lanes, day, step
        self.begin, self.end = plan.grid.day_start(day), plan.grid.day_start(day + 1)
        self.edges: NDArray[np.int64] = np.array([*range(self.begin, self.end, step), self.end], dtype=np.int64)
        self.sheet = DaySheet(plan, day)

    @property
    def count(self) -> int:
        """How many cells."""
        return len(self.edges) - 1

    def cell(self, slot: int) -> int:
        """The cell of a slot, clipped to the day."""
        return max(0, min(self.count - 1, (slot - self.begin) // self.step))

    @cached_property
    def marks(self) -> list[list[str]]:
        """For each lane, the mark of each cell ("" for none); from the launch on, water."""
        finish = self.lanes.lane_of(self.plan.rows[self.lanes.finish])
        return [self._marks(lane, lane is finish) for lane in self.lanes.lanes]

    def _marks(self, lane: Lane, finish: bool) -> list[str]:
        launch = self.plan.launch
        found = [BY_RANK[code] for code in per_cell(lane.marks, self.edges).tolist()]
        for k in range(self.count):
            if self.edges[k] >= launch:
                found[k] = "afloat"
            elif self.edges[k + 1] > launch:
                found[k] = found[k] or "afloat"
        if finish and self.begin <= launch < self.end:
            found[self.cell(launch)] = "launch"
        return found

    @cached_property
    def busy(self) -> list[bool]:
        """For each lane, whether more than waiting shows that day."""
        return [any(RANK.get(mark, 99) > RANK["waits"] and mark != "afloat" for mark in row) for row in self.marks]


class DayView:
    """Where the person stands in one plan's days. spot: a lane, or past the lanes a line of the sheet."""

    def __init__(self, plan: Plan, slot: int) -> None:
        self.plan = plan
        self.lanes = Lanes(plan)
        self.step = 2
        self.slot = 0
        self.spot = 0
        self.first_lane = 0
        self.first_line = 0
        self._days: dict[tuple[int, int], OneDay] = {}
        self.to_now(slot)

    def follow(self, plan: Plan) -> None:
        """Show another plan and stay where one is."""
        if plan is not self.plan:
            self.plan, self.lanes, self._days = plan, Lanes(plan), {}
            self.slot = self._clipped(self.slot)
            self.spot = max(0, min(self.spot, self.spots - 1))

    # -- the day ----------------------------------------------------------------------------------------------

    @property
    def day(self) -> int:
        """The day one stands on (0 = the grid's first)."""
        return self.plan.grid.day_of(self.slot)

    @property
    def last_day(self) -> int:
        """The last day one can turn to: two days past the launch."""
        return min(self.plan.grid.days - 1, self.plan.grid.day_of(self.plan.launch) + WATER)

    @property
    def one(self) -> OneDay:
        """The day one stands on, in cells."""
        key = (self.day, self.step)
        if key not in self._days:
            self._days[key] = OneDay(self.plan, self.lanes, *key)
        return self._days[key]

    def _clipped(self, slot: int) -> int:
        return max(0, min(slot, self.plan.grid.day_start(self.last_day + 1) - 1))

    # -- spots ------------------------------------------------------------------------------------------------

    @property
    def listed(self) -> list[Row]:
        """The rows of the sheet, in its order: what to do, then what to leave."""
        sheet = self.one.sheet
        return [todo.row for todo in sheet.todo] + [row for row, _ in sheet.leave]

    @property
    def spots(self) -> int:
        """Places to stand: lanes, then the rows of the sheet."""
        return len(self.lanes.lanes) + len(self.listed)

    @property
    def item(self) -> int:
        """The row of the sheet one stands on; -1 in the lanes."""
        return self.spot - len(self.lanes.lanes) if self.spot >= len(self.lanes.lanes) else -1

    @property
    def row(self) -> Row | None:
        """The row one stands on."""
        if self.item >= 0:
            return self.listed[self.item]
        one = self.one
        k = one.cell(self.slot)
        return self.lanes.row_at(self.lanes.lanes[self.spot], int(one.edges[k]), int(one.edges[k + 1]))

    # -- moves ------------------------------------------------------------------------------------------------

    def move(self, right: int, down: int) -> None:
        """Cells right or left, turning the day past midnight; lanes and lines down or up."""
        if right:
            one = self.one
            self.slot = self._clipped(int(one.edges[one.cell(self.slot)]) + right * self.step)
        self.spot = max(0, min(self.spots - 1, self.spot + down))

    def turn(self, days: int) -> None:
        """Other days, at the same time of day."""
        grid = self.plan.grid
        into = self.slot - grid.day_start(self.day)
        day = max(0, min(self.last_day, self.day + days))
        self.slot = min(grid.day_start(day) + into, grid.day_start(day + 1) - 1)
        self.first_line = 0
        self.spot = max(0, min(self.spots - 1, self.spot))

    def zoom(self, finer: int, room: int) -> None:
        """Quarter hours, half hours or hours, where they fit in `room` cells."""
        at = max(0, min(len(STEPS) - 1, STEPS.index(self.step) - finer))
        while at < len(STEPS) - 1 and 100 // STEPS[at] > room:
            at += 1
        self.step = STEPS[at]

    def to_now(self, slot: int) -> None:
        """At a moment, on the next thing to do that day, else in the first lane with something on."""
        self.slot = self._clipped(slot)
        self.first_line = 0
        ahead = [k for k, todo in enumerate(self.one.sheet.todo) if todo.end > slot and not todo.row.finished]
        if ahead:
            self.spot = self.lanes.lanes.index(self.lanes.lane_of(self.listed[ahead[0]]))
        else:
            self.spot = self.one.busy.index(True) if True in self.one.busy else 0

    def go(self, slot: int) -> None:
        """At a moment, in the lane one stands in."""
        self.slot = self._clipped(slot)
        self.first_line = 0
        self.spot = max(0, min(self.spot, len(self.lanes.lanes) - 1))

    def to_row(self, name: str) -> None:
        """On a row that is at work on the day shown; others leave the day and the place as they are."""
        row, one = self.plan.rows.get(name), self.one
        if row is None or self.row is row or row.start >= one.end or row.end <= one.begin:
            return
        self.slot = max(row.start, one.begin)
        self.spot = self.lanes.lanes.index(self.lanes.lane_of(row))
        self.first_line = 0

    def stand(self, spot: int, cell: int = -1) -> None:
        """On a lane or line, and on a cell of the day."""
        self.spot = max(0, min(self.spots - 1, spot))
        if cell >= 0:
            self.slot = int(self.one.edges[max(0, min(self.one.count - 1, cell))])
