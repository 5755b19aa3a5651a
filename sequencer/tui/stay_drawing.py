"""The stay drawn: a ruler of days, the sky, a lane a place, and below it what the marked cell says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.plan import Row
from sequencer.telling import clock, day_name
from sequencer.tui.clocktext import now_slot
from sequencer.tui.drawing import Cells, Line, line
from sequencer.tui.labels import LABEL, label
from sequencer.tui.lanes import BY_RANK, FIRST_DOING, HOLDS, Lane, path_cells, per_cell
from sequencer.tui.marks import Signs, role_of
from sequencer.tui.model import Model
from sequencer.tui.stay_frame import Frame
from sequencer.tui.stay_head import ruler, sky
from sequencer.tui.stay_reading import reading
from sequencer.tui.stay_today import today_box
from sequencer.tui.stay_view import StayView
from sequencer.tui.text import cut, owner_words, width_of, wrap

TALL = 30
"""From this many lines on the low, the hands and the box of the day are shown."""
LEAST_READING = 4
LAST_WORD = "No engineering approval: data sheets, yard, codes and licensed trades decide."
"""What the tool is not, on the last line of its first page where there is one to spare."""
LEAST_BOX = 3


@dataclass
class Hit:
    """What a line of the drawing shows: a lane by number, or the ruler."""

    lane: int = -1
    ruler: bool = False


class StayDrawing:
    """Draws one view at one size. hits: for each line drawn, what a click on it means."""

    def __init__(self, view: StayView, model: Model, width: int, height: int) -> None:
        self.view, self.model, self.width, self.height = view, model, width, height
        self.signs = Signs(model.ascii)
        self.frame = Frame(view, self.signs, width)
        self.edges, self.shown = self.frame.edges, self.frame.shown
        self.tall = height >= TALL
        self.hits: list[Hit] = []
        self.out: list[Line] = []

    def lines(self) -> list[Line]:
        """The drawing."""
        for drawn in ruler(self.frame):
            self._put(drawn, Hit(ruler=True))
        for drawn in sky(self.frame, self.tall):
            self._put(drawn)
        if self.tall:
            self._put(line())
        self._lanes()
        self._foot_of_lanes()
        self._below()
        return self.out[: self.height]

    def cell_at(self, x: int) -> int:
        """The cell under a screen column; -1 left of the days."""
        return self.view.first_cell + x - LABEL if self.frame.within(x) else -1

    def _put(self, drawn: Line, hit: Hit | None = None) -> None:
        self.out.append(drawn)
        self.hits.append(hit or Hit())

    # -- lanes ------------------------------------------------------------------------------------------------

    def _lanes(self) -> None:
        lanes = self.view.lanes.lanes
        room = self.height - len(self.out) - 1 - LEAST_READING
        heights = [self._lines_of(lane) for lane in lanes]
        folded = sum(heights) > room
        gap = self.tall and not folded and sum(heights) + len(lanes) <= room - 6
        first, last = self._lanes_shown(room) if folded else (0, len(lanes))
        for number in range(first, last):
            lane = lanes[number]
            path = path_cells(lane.path, self.edges)
            self._put(self._marks_line(number, lane, path, folded), Hit(number))
            unfolded = number == self.view.lane if folded else heights[number] > 1
            if unfolded:
                self._put(self._names_line(lane, path), Hit(number))
            if gap and number < last - 1:
                self._put(line())

    def _lines_of(self, lane: Lane) -> int:
        """The launch's own lane needs no line of names where it holds nothing else."""
        only_launch = all(row.id == self.view.lanes.finish for row in lane.rows)
        return 1 if only_launch and lane is self.view.lanes.lanes[-1] else 2

    def _lanes_shown(self, room: int) -> tuple[int, int]:
        """Which lanes fit, names folded but for the one stood in; scrolled as little as needed."""
        view = self.view
        fit = max(1, room - 1)
        first = min(view.first_lane, view.lane)
        first = max(first, view.lane - fit + 1, 0)
        view.first_lane = max(0, min(first, len(view.lanes.lanes) - fit))
        return view.first_lane, min(len(view.lanes.lanes), view.first_lane + fit)

    def _marks_line(self, number: int, lane: Lane, path: NDArray[np.uint8], folded: bool) -> Line:
        view, signs = self.view, self.signs
        here = number == view.lane
        drawn = Cells(self.width)
        drawn.put(0, label(lane, self.view.lanes.lanes, self.signs), "ink bold" if here else "ink")
        if here:
            drawn.put(LABEL - 1, signs["here"], "ink bold")
        marks = per_cell(lane.marks, self.edges)
        launch = view.plan.launch
        for k in range(self.shown):
            mark = BY_RANK[marks[k]]
            if self.edges[k + 1] > launch and (self.edges[k] >= launch or marks[k] < FIRST_DOING):
                mark = "afloat"
                if self.edges[k] <= launch and lane is view.lanes.by_id.get(self._finish_lane()):
                    mark = "launch"
            if mark:
                drawn.put(LABEL + k, signs[mark], role_of(mark))
            if folded and path[k]:
                drawn.tint(LABEL + k, LABEL + k + 1, "bold underline" if path[k] == HOLDS else "bold")
        self.frame.tint_nights(drawn)
        if here:
            drawn.stand(LABEL + view.cell - view.first_cell, signs["here"])
        return drawn.line()

    def _finish_lane(self) -> str:
        return self.view.lanes.lane_of(self.view.plan.rows[self.view.lanes.finish]).id

    def _names_line(self, lane: Lane, path: NDArray[np.uint8]) -> Line:
        """What holds her as a line, names on it where they fit: the longest work keeps its name."""
        drawn, taken = Cells(self.width), Cells(self.width)
        for k in np.flatnonzero(path).tolist():
            drawn.put(LABEL + k, self.signs["holds" if path[k] == HOLDS else "path"], "ink bold")
        rows = [r for r in lane.rows if r.id != self.view.lanes.finish]
        longest_first = sorted(rows, key=lambda r: (-(r.worked or r.end - r.start), r.start))
        left_over = [row for row in longest_first if not self._name(drawn, taken, row, 0)]
        for row in left_over:
            self._name(drawn, taken, row, 4)
        return drawn.line()

    def _name(self, drawn: Cells, taken: Cells, row: Row, least: int) -> bool:
        """Write a row's name at its start; least: may be cut down to this many cells (0: not at all)."""
        x = self.frame.x_of(row.start)
        if not self.frame.within(x):
            return True
        text = "key" if row.keys else row.id
        size = width_of(text)
        while not taken.free(x - (x > LABEL), min(self.width, x + size + 1)) or x + size > self.width:
            size -= 1
            if least == 0 or size < least:
                return False
        text = cut(text, size, self.signs.more)
        marked = row.id == self.model.marked
        drawn.put(x, text, "ink bold reverse" if marked else "ink bold" if row.on_path else "pencil")
        taken.put(x, "#" * size)
        return True

    def _foot_of_lanes(self) -> None:
        """Haul-out, now and the lift under their days."""
        plan, drawn = self.view.plan, Cells(self.width)
        wide = self.frame.columns.level.cells >= 4
        lift = f"lift {day_name(plan.launched)} {clock(plan.launched)}" if wide else f"lift {clock(plan.launched)}"
        now = now_slot(plan, self.model.now)
        self._flag(drawn, plan.launch, self.signs["now"], lift, "ink")
        if self.frame.columns.span(0)[0] <= now < self.frame.columns.span(self.frame.columns.count - 1)[1]:
            self._flag(drawn, now, self.signs["now"], "now", "ink bold")
        self._flag(drawn, plan.hauled, "", "hauled", "pencil")
        self._put(drawn.line())

    def _flag(self, drawn: Cells, slot: int, sign: str, text: str, role: str) -> None:
        """A sign at a slot with its words right of it, or left of it where there is no room."""
        x = self.frame.x_of(slot)
        if not self.frame.within(x):
            return
        said = f"{sign} {text}" if sign else text
        if drawn.free(x, x + len(said)):
            drawn.put(x, said, role)
        elif sign:
            left = f"{text} {sign}"
            begin = x - len(left) + 1
            drawn.put(begin if drawn.free(begin, x + 1) else x, left if drawn.free(begin, x + 1) else sign, role)

    # -- below ------------------------------------------------------------------------------------------------

    def _below(self) -> None:
        """The reading, and the box of the day where there is room."""
        self._put(line())
        said = reading(self.view, self.signs)
        width = self.width if self.width < 130 else 118
        for number, text in enumerate(said):
            plain = self.signs.own(text, owner_words(self.view.plan.job))
            for part in wrap(plain, width, 2, self.signs.more):
                self._put(line(part, "ink bold" if number == 0 else "ink"))
        room = self.height - len(self.out) - 2
        if room >= LEAST_BOX:
            self._put(line())
            for drawn in today_box(self.view.plan, self.model, self.signs, self.width, room):
                self._put(drawn)
        if len(self.out) < self.height:
            while len(self.out) < self.height - 1:
                self._put(line())
            self._put(line(cut(LAST_WORD, self.width, self.signs.more), "pencil"))
