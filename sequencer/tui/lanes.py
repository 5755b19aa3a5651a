"""Lanes: the places on the boat, each with a mark for every quarter hour, and the line that sets the launch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.plan import Plan, Row
from sequencer.tui.coats import Coats, coats_of

BY_RANK = (
    "",
    "waits",
    "cured",
    "sand",
    "firm",
    "open",
    "wet",
    "dusty",
    "work",
    "keying",
    "shutting",
    "missed",
)
"""Marks from the weakest to the strongest: where two fall on one quarter hour the stronger shows."""
RANK = {name: rank for rank, name in enumerate(BY_RANK)}
FIRST_DOING = RANK["dusty"]
"""From here on a mark is shown even where it fills little of a cell."""

NO_PATH, PLAY, HOLDS = 0, 1, 2
A_DAY = 96
YARD = "yard"
"""The lane of whatever has no place on the boat."""

WATER_DAYS = 14
"""How far past the launch lanes are drawn: further than any screen shows of the water."""

Codes = NDArray[np.uint8]


@dataclass
class Lane:
    """One place: its zone's id, what it is called, its rows by start, a mark and a path code a slot."""

    id: str
    name: str
    short: str
    rows: list[Row]
    marks: Codes
    path: Codes


class Lanes:
    """The lanes of one plan, in the file's order; tasks without a zone last, in the yard's."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.coats: Coats = coats_of(plan)
        self.length = min(plan.grid.length, plan.launch + WATER_DAYS * A_DAY)
        self.finish = plan.job.job.finish
        self.lanes = self._empty()
        self.by_id = {lane.id: lane for lane in self.lanes}
        for row in plan.rows.values():
            self.lane_of(row).rows.append(row)
        for lane in self.lanes:
            self._paint(lane)
        self._paint_path()

    def _empty(self) -> list[Lane]:
        zones = [(z.id, z.name, z.id.replace("-", " ")) for z in self.plan.job.zone]
        loose = any(not row.zone for row in self.plan.rows.values())
        if (loose or not zones) and YARD not in {z[0] for z in zones}:
            zones.append((YARD, "yard", "yard"))
        return [Lane(i, name, short, [], self._slots(), self._slots()) for i, name, short in zones]

    def _slots(self) -> Codes:
        return np.zeros(self.length, dtype=np.uint8)

    def lane_of(self, row: Row) -> Lane:
        """Where a row is done."""
        return self.by_id[row.zone or YARD]

    # -- what is there ----------------------------------------------------------------------------------------

    def row_at(self, lane: Lane, begin: int, end: int) -> Row | None:
        """The row to speak of in [begin, end): at work there, else the coat that shows, else the next to come."""
        at_work = self.at_work(lane, begin, end)
        if at_work:
            return at_work[0]
        coat = self.coat(lane, begin, end)
        if coat is not None:
            return coat[0]
        coming = self.coming(lane, begin)
        return coming[0] if coming is not None else None

    def at_work(self, lane: Lane, begin: int, end: int) -> list[Row]:
        """Rows of the lane worked (or waiting their hours) within [begin, end), by start."""
        return [r for r in lane.rows if any(b < end and e > begin for b, e in r.pieces or [(r.start, r.end)])]

    def coat(self, lane: Lane, begin: int, end: int) -> tuple[Row, str, int] | None:
        """The coat of the lane that shows longest within [begin, end): its row, mark, and until when it holds."""
        best: tuple[int, Row, str, int] | None = None
        for row in lane.rows:
            for b, e, mark in self.coats.states(row):
                overlap = min(e, end) - max(b, begin)
                if overlap > 0 and (best is None or overlap >= best[0]):
                    best = (overlap, row, mark, e)
        return best[1:] if best is not None else None

    def coming(self, lane: Lane, slot: int) -> tuple[Row, int] | None:
        """The next row of the lane to start or go on from `slot` on, and when."""
        begins = [(b, k) for k, row in enumerate(lane.rows) for b, _ in row.pieces or [(row.start, row.end)]]
        nexts = [(b, k) for b, k in begins if b >= slot]
        if not nexts:
            return None
        at, k = min(nexts)
        return lane.rows[k], at

    # -- painting ---------------------------------------------------------------------------------------------

    def _paint(self, lane: Lane) -> None:
        self._paint_waiting(lane)
        for row in lane.rows:
            for begin, end, mark in self.coats.states(row):
                self._mark(lane, begin, end, mark)
            if row.id != self.finish:
                self._paint_work(lane, row)

    def _paint_waiting(self, lane: Lane) -> None:
        """Dots while somebody is on shift and work is still to come here."""
        last = max((r.start for r in lane.rows if r.id != self.finish), default=0)
        hauled = max(0, self.plan.hauled)
        if last > hauled:
            there = self.plan.problem.tables.hands[hauled : min(last, self.length)] > 0
            lane.marks[hauled : hauled + len(there)][there] = RANK["waits"]

    def _paint_work(self, lane: Lane, row: Row) -> None:
        if row.task.wait is not None:
            self._mark(lane, row.start, row.end, "waits")
        mark = "keying" if row.keys else "dusty" if row.dusty else "work"
        for begin, end in row.pieces:
            self._mark(lane, begin, end, mark)

    def _mark(self, lane: Lane, begin: int, end: int, mark: str) -> None:
        span = slice(max(0, begin), max(0, min(end, self.length)))
        np.maximum(lane.marks[span], RANK[mark], out=lane.marks[span])

    def _paint_path(self) -> None:
        """What sets the launch; the wait for the lift is drawn where the boat's last work was."""
        lane = self.lanes[0] if self.lanes else None
        for step in self.plan.steps:
            row = self.plan.rows[step.row]
            if row.id != self.finish or lane is None:
                lane = self.lane_of(row)
            play = row.finished or row.slack >= A_DAY
            span = slice(max(0, step.begin), max(0, min(step.end, self.length)))
            np.maximum(lane.path[span], PLAY if play else HOLDS, out=lane.path[span])


def per_cell(codes: Codes, edges: NDArray[np.int64]) -> NDArray[np.uint8]:
    """The mark of each cell [edges[k], edges[k + 1]) of a lane.

    Doings (work, keying, what shuts) show wherever they touch a cell, the strongest first; else what lasts longest,
    where a blank needs three quarters of the cell to win.
    """
    edges = np.clip(edges, 0, len(codes))
    kinds = len(BY_RANK)
    counts = np.zeros((len(edges) - 1, kinds), dtype=np.int32)
    for kind in range(kinds):
        summed = np.concatenate(([0], np.cumsum(codes == kind)))
        counts[:, kind] = np.diff(summed[edges])
    sizes = np.diff(edges)
    mostly_blank = counts[:, 0] * 4 > sizes * 3
    counts[~mostly_blank, 0] = 0
    # Ties go to the stronger mark.
    resting = kinds - 1 - np.argmax(counts[:, ::-1], axis=1)
    doing = np.where(counts[:, FIRST_DOING:] > 0, np.arange(FIRST_DOING, kinds), 0).max(axis=1)
    work, dusty = RANK["work"], RANK["dusty"]
    longer = np.where(counts[:, dusty] > counts[:, work], dusty, work)
    doing = np.where((doing == work) | (doing == dusty), longer, doing)
    return np.where(doing > 0, doing, resting).astype(np.uint8)


def path_cells(codes: Codes, edges: NDArray[np.int64]) -> NDArray[np.uint8]:
    """The path code of each cell: the strongest that touches it."""
    edges = np.clip(edges, 0, len(codes))
    found = np.zeros(len(edges) - 1, dtype=np.uint8)
    for code in (PLAY, HOLDS):
        summed = np.concatenate(([0], np.cumsum(codes == code)))
        found[np.diff(summed[edges]) > 0] = code
    return found
