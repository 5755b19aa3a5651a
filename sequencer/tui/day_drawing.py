"""One day drawn, midnight to midnight: the air, a lane a place with its windows, and the sheet below."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.telling import Window, clock, day_name
from sequencer.tui.clocktext import now_slot
from sequencer.tui.day_sheet import sheet_lines
from sequencer.tui.day_sky import Sky
from sequencer.tui.day_view import DayView
from sequencer.tui.drawing import Cells, Line, line
from sequencer.tui.labels import LABEL, label
from sequencer.tui.lanes import Lane
from sequencer.tui.marks import Signs, role_of
from sequencer.tui.model import Model
from sequencer.tui.scrolling import follow
from sequencer.tui.stay_reading import what
from sequencer.tui.text import cut, owner_words

NOTES_FROM = 12
"""Cells of room right of the day from which notes are written there."""
LEAST_SHEET = 8
MORE = " more"


@dataclass
class Spot:
    """What a line shows: a spot to stand on (-1: none), and whether its cells are hours."""

    spot: int = -1
    hours: bool = False


class DayDrawing:
    """Draws one view at one size. hits: for each line drawn, what a click on it means."""

    def __init__(self, view: DayView, model: Model, width: int, height: int) -> None:
        self.view, self.model, self.width, self.height = view, model, width, height
        self.signs = Signs(model.ascii)
        view.zoom(0, width - LABEL)
        self.one = view.one
        self.sky = Sky(self.one)
        self.note_at = LABEL + self.one.count + 2
        self.out: list[Line] = []
        self.hits: list[Spot] = []

    def lines(self) -> list[Line]:
        """The drawing."""
        self._head()
        self._lanes()
        self._now()
        self._sheet()
        return self.out[: self.height]

    def cell_at(self, x: int) -> int:
        """The cell under a screen column; -1 beside the hours."""
        return x - LABEL if LABEL <= x < LABEL + self.one.count else -1

    def _put(self, drawn: Cells, note: str = "", spot: int = -1, role: str = "pencil") -> None:
        room = self.width - self.note_at
        if note and room >= NOTES_FROM:
            drawn.put(self.note_at, cut(note, room, self.signs.more), role)
        self.out.append(drawn.line())
        self.hits.append(Spot(spot, True))

    def _row(self, label: str, role: str = "pencil") -> Cells:
        drawn = Cells(self.width)
        drawn.put(0, cut(label, LABEL - 1, self.signs.more), role)
        return drawn

    # -- the head ---------------------------------------------------------------------------------------------

    def _head(self) -> None:
        view, sky, signs = self.view, self.sky, self.signs
        ruler = self._row(day_name(view.plan.grid.date(view.day)), "ink bold")
        for cell, hour in sky.hours(2):
            ruler.put(LABEL + cell, str(hour), "ink")
        here = self.one.cell(view.slot)
        ruler.tint(LABEL + here, LABEL + here + 1, "reverse bold")
        self._put(ruler, sky.head_words(), role="ink")
        label, note = sky.against_words()
        unfit = self._row(label)
        for cell, mark in enumerate(sky.against()):
            if mark:
                unfit.put(LABEL + cell, signs[mark], role_of(mark))
        self._put(unfit, note)
        enough = sky.limits.above_dew
        for text, over_dew, said in (
            (signs.own("air °C"), False, "outside"),
            ("over dew", True, f"{enough:g} is enough" if enough is not None else ""),
        ):
            numbers = self._row(text)
            for cell, number in sky.numbers(over_dew):
                numbers.put(LABEL + cell, number, "ink")
            self._put(numbers, said)
        hands = self._row("hands")
        there = view.plan.problem.tables.hands
        for cell in range(self.one.count):
            most = int(there[self.one.edges[cell] : self.one.edges[cell + 1]].max())
            if most:
                hands.put(LABEL + cell, str(min(9, most)), "ink")
        self._put(hands, self._plain(sky.people(self.width - self.note_at)), role="ink")

    # -- lanes ------------------------------------------------------------------------------------------------

    def _lanes(self) -> None:
        """Lanes with something on come before idle ones where not all fit; the one stood in is always there."""
        view = self.view
        room = max(1, self.height - len(self.out) - 1 - LEAST_SHEET)
        brackets = [self._bracket_of(lane) for lane in view.lanes.lanes]
        shown = [k for k in range(len(brackets)) if self.one.busy[k] or k == view.spot]
        need = len(shown)
        # What can still be missed today is drawn before what only opens.
        for k in sorted(shown, key=lambda k: not self._shuts_today(brackets[k])):
            window = brackets[k]
            if window is not None and need < room:
                need += 1
            else:
                brackets[k] = None
        for k in range(len(brackets)):
            if k not in shown and need < room:
                shown, need = [*shown, k], need + 1
        shown.sort()
        if need > room:
            fit = max(1, room)
            at = shown.index(view.spot) if view.spot in shown else 0
            view.first_lane = follow(min(view.first_lane, at), at, at + 1, fit, len(shown))
            shown = shown[view.first_lane : view.first_lane + fit]
        for k in shown:
            self._lane(k)
            window = brackets[k]
            if window is not None:
                self._bracket(k, window)

    def _lane(self, number: int) -> None:
        view, signs = self.view, self.signs
        lane, here = view.lanes.lanes[number], number == view.spot
        drawn = self._row(label(lane, self.view.lanes.lanes, self.signs), "ink bold" if here else "ink")
        if here:
            drawn.put(LABEL - 1, signs["here"], "ink bold")
        for cell, mark in enumerate(self.one.marks[number]):
            if mark:
                drawn.put(LABEL + cell, signs[mark], role_of(mark))
        there = view.plan.problem.tables.hands
        for cell in range(self.one.count):
            if not there[self.one.edges[cell] : self.one.edges[cell + 1]].any():
                drawn.tint(LABEL + cell, LABEL + cell + 1, "dusk")
        if here:
            drawn.stand(LABEL + self.one.cell(view.slot), signs["here"])
        self._put(drawn, self._lane_note(lane), number)

    def _lane_note(self, lane: Lane) -> str:
        """Who is at work there that day, else what lies there, else what it waits for."""
        lanes, begin, end = self.view.lanes, self.one.begin, self.one.end
        if begin >= self.view.plan.launch:
            return "afloat"
        at_work = lanes.at_work(lane, begin, end)
        if at_work:
            return ", ".join(f"key {row.keys}" if row.keys else row.id for row in at_work)
        coat = lanes.coat(lane, begin, end)
        if coat is not None:
            return f"{coat[0].id} {coat[1]}"
        coming = lanes.coming(lane, begin)
        if coming is None or coming[0].id == lanes.finish:
            return ""
        return f"next {coming[0].id}, {day_name(self.view.plan.moment(coming[1]))}"

    def _shuts_today(self, window: Window | None) -> bool:
        return window is not None and self.one.begin <= window.last < self.one.end

    def _bracket_of(self, lane: Lane) -> Window | None:
        """The window of the lane's coats to draw that day: one that opens or shuts then."""
        mine = {row.id for row in lane.rows}
        begin, end = self.one.begin, self.one.end
        for window in self.view.lanes.coats.windows:
            # One that is open all day and far from shutting says nothing that the lane does not.
            turns = any(begin <= moment < end for moment in (window.opens, window.last, window.closes))
            covered = self.view.plan.rows[window.after].end <= begin
            if turns and window.before in mine and not window.keyed and not covered:
                return window
        return None

    def _bracket(self, number: int, window: Window) -> None:
        """``[===!===]``: when the coat takes the next one; its ``!`` is the last start."""
        drawn, one, signs = Cells(self.width), self.one, self.signs
        first = LABEL + one.cell(window.opens)
        last = LABEL + one.cell(window.closes)
        for x in range(first, last + 1):
            drawn.put(x, signs["open"], role_of("open"))
        if one.begin <= window.opens:
            drawn.put(first, "[", "gate bold")
        if window.closes < one.end:
            drawn.put(last, "]", "gate bold")
        if one.begin <= window.last < one.end:
            drawn.put(LABEL + one.cell(window.last), signs["shutting"], role_of("shutting"))
        self._put(drawn, f"takes {window.after}", number)

    def _now(self) -> None:
        drawn = Cells(self.width)
        slot = now_slot(self.view.plan, self.model.now)
        if self.one.begin <= slot < self.one.end:
            moment = self.model.now or self.view.plan.moment(slot)
            x, said = LABEL + self.one.cell(slot), f"{self.signs['now']} now {clock(moment)}"
            drawn.put(x if x + len(said) <= self.width else self.width - len(said), said, "ink bold")
        self._put(drawn)

    # -- the sheet --------------------------------------------------------------------------------------------

    def _sheet(self) -> None:
        """The sheet, scrolled so that the line stood on is in view; the last line reads the marked half hour."""
        view = self.view
        reading = self._reading_line()
        room = max(0, self.height - len(self.out) - len(reading))
        entries = sheet_lines(self.one.sheet, self.signs, self.width, view.item, True)
        if len(entries) > room:
            entries = sheet_lines(self.one.sheet, self.signs, self.width, view.item, False)
        begin = next((k for k, e in enumerate(entries) if e.item == view.item >= 0), 0)
        end = max((k + 1 for k, e in enumerate(entries) if e.item == view.item >= 0), default=1)
        view.first_line = follow(view.first_line if view.item >= 0 else 0, begin, end, room, len(entries))
        shown = entries[view.first_line : view.first_line + room]
        lanes = len(view.lanes.lanes)
        for entry in shown:
            self.out.append(entry.line)
            self.hits.append(Spot(lanes + entry.item if entry.item >= 0 else -1))
        if len(entries) > view.first_line + room and self.out:
            self._say_more()
        while len(self.out) < self.height - len(reading):
            self.out.append(line())
            self.hits.append(Spot())
        self.out += reading
        self.hits += [Spot() for _ in reading]

    def _say_more(self) -> None:
        """The last line of the sheet says that there is more below."""
        last, room = self.out[-1], self.width - len(MORE)
        if last.width > room:
            last = line(cut(last.plain, room, self.signs.more))
        self.out[-1] = Line([*last.runs, (" " * (room - last.width) + MORE, "pencil")])

    def _reading_line(self) -> list[Line]:
        """What the half hour one stands on says, in the lanes."""
        view = self.view
        if view.item >= 0 or self.height < 16:
            return []
        cell = self.one.cell(view.slot)
        begin, end = int(self.one.edges[cell]), int(self.one.edges[cell + 1])
        lane = view.lanes.lanes[view.spot]
        lead = f"{cut(lane.name, 24)} {clock(view.plan.moment(begin))}: "
        said = "afloat." if begin >= view.plan.launch else what(view.lanes, lane, begin, end)
        return [line(cut(self._plain(lead + said), self.width, self.signs.more), "ink bold")]

    def _plain(self, text: str) -> str:
        """Our words with the owner's among them, as this terminal can show them."""
        return self.signs.own(text, owner_words(self.view.plan.job))
