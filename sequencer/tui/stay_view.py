"""The stay at a glance, thought out: where the person stands, how fine the days are, what a cell holds.

No screen in here. :mod:`sequencer.tui.stay_drawing` draws it.
"""

from __future__ import annotations

from sequencer.planning.plan import Plan, Row
from sequencer.tui.columns import LEVELS, USUAL, USUAL_WIDE, Columns, opening_level
from sequencer.tui.labels import LABEL
from sequencer.tui.lanes import Lane, Lanes

WATER = 2
"""Days of water shown after the launch."""
WIDE = 110


class StayView:
    """Where the person stands in one plan's stay. Kept from plan to plan by :meth:`follow`."""

    def __init__(self, plan: Plan, width: int = 80) -> None:
        self.plan = plan
        self.lanes = Lanes(plan)
        self.level: int | None = None
        self.width = width
        self.lane = 0
        self.slot = plan.now
        self.first_cell = 0
        self.first_lane = 0
        self._columns: dict[int, Columns] = {}
        self.to_now(plan.now)

    def follow(self, plan: Plan) -> None:
        """Show another plan and stay where one is."""
        if plan is self.plan:
            return
        here = self.here.id
        self.plan, self.lanes, self._columns = plan, Lanes(plan), {}
        ids = [lane.id for lane in self.lanes.lanes]
        self.lane = ids.index(here) if here in ids else 0
        self.slot = min(self.slot, self.columns.span(self.columns.count - 1)[0])

    # -- columns ----------------------------------------------------------------------------------------------

    @property
    def days(self) -> int:
        """Days shown: from the haul-out to two days of water."""
        return self.plan.grid.day_of(self.plan.launch) + 1 + WATER

    @property
    def room(self) -> int:
        """Cells for days on the screen."""
        return max(1, self.width - LABEL)

    @property
    def shown_level(self) -> int:
        """The level in use: the person's, or else the finest that holds the whole stay."""
        if self.level is not None:
            return self.level
        return opening_level(self.days, self.room, USUAL_WIDE if self.width >= WIDE else USUAL)

    @property
    def columns(self) -> Columns:
        """The cells at the level in use."""
        level = self.shown_level
        if level not in self._columns:
            self._columns[level] = Columns(self.plan.grid, level, self.days)
        return self._columns[level]

    @property
    def cell(self) -> int:
        """The cell the person stands on."""
        return self.columns.cell(self.slot)

    @property
    def here(self) -> Lane:
        """The lane the person stands in."""
        return self.lanes.lanes[self.lane]

    # -- moves ------------------------------------------------------------------------------------------------

    def move(self, right: int, down: int) -> None:
        """Some cells right (or left) and lanes down (or up)."""
        if right:
            cell = max(0, min(self.columns.count - 1, self.cell + right))
            self.slot = self.columns.span(cell)[0]
        self.lane = max(0, min(len(self.lanes.lanes) - 1, self.lane + down))

    def stand(self, lane: int, cell: int) -> None:
        """On a cell of a lane."""
        self.lane = max(0, min(len(self.lanes.lanes) - 1, lane))
        self.slot = self.columns.span(max(0, min(self.columns.count - 1, cell)))[0]

    def zoom(self, finer: int) -> None:
        """Finer or coarser cells, standing on the same moment."""
        self.level = max(0, min(len(LEVELS) - 1, self.shown_level + finer))

    def to_now(self, slot: int) -> None:
        """On `slot`, in the lane of what is at work then or comes next."""
        self.slot = max(0, slot)
        rows = [r for r in self.plan.rows.values() if not r.finished and r.end > slot]
        if rows:
            self.lane = self.lanes.lanes.index(self.lanes.lane_of(min(rows, key=lambda r: (r.start, r.end))))

    def to_row(self, name: str) -> None:
        """On the start of a row, where there is such a row and one does not stand on it already."""
        row = self.plan.rows.get(name)
        if row is not None and self.row is not row:
            self.lane = self.lanes.lanes.index(self.lanes.lane_of(row))
            self.slot = row.start

    # -- what is there ----------------------------------------------------------------------------------------

    @property
    def row(self) -> Row | None:
        """The row one stands on: at work in the cell, else the coat that shows, else the next to come."""
        begin, end = self.columns.span(self.cell)
        return self.lanes.row_at(self.here, begin, end)
