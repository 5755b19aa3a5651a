"""Stay: the whole stay at a glance."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.binding import BindingType

from sequencer.tui.clocktext import now_slot
from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn
from sequencer.tui.keys import bindings
from sequencer.tui.model import Model
from sequencer.tui.notice import notice_lines
from sequencer.tui.page import Page
from sequencer.tui.posted import Posted
from sequencer.tui.stay_drawing import StayDrawing
from sequencer.tui.stay_view import StayView


class StayPage(Page, Drawn):
    """Lanes are places on the boat, columns are days, and it ends in water."""

    title = "Stay"
    help = """
    On top of every page: when she goes back in, nights on the stands, cost. Proved: nothing earlier is possible.
    Once Odds was open: in how many of 100 tries she keeps that date. Beneath, the next last start.

    Each lane is a place on the boat; from left to right go the days of the stay, nights too, for resin works at night.

    The double line under a lane is what holds the launch; a single line is the same path with a day's play or more.

    It ends in water. Below the lanes: what the marked cell says.
    Click a cell to stand on it, click it again to open that day.
    """
    marks = (
        "work",
        "dusty",
        "keying",
        "wet",
        "firm",
        "open",
        "shutting",
        "missed",
        "sand",
        "cured",
        "waits",
        "rain",
        "holds",
        "path",
        "launch",
        "afloat",
        "now",
        "here",
    )
    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Stay")]

    def __init__(self) -> None:
        super().__init__(id="page-stay")
        self.model = Model()
        self.view: StayView | None = None
        self.drawn: StayDrawing | None = None
        self._posted = Posted()

    def show(self, model: Model) -> None:
        """Draw `model`, standing where one stood."""
        before, self.model = self.model, model
        if model.plan is not None:
            if self.view is None or before.job is None or model.job is None:
                self.view = StayView(model.plan, self.size.width or 80)
                self.view.to_now(now_slot(model.plan, model.now))
            self.view.follow(model.plan)
            ours = self._posted.ours(model.marked)
            if model.marked and model.marked != before.marked and not ours:
                self.view.to_row(model.marked)
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The stay, or plain sentences while there is none."""
        if self.view is None:
            return notice_lines(self.model, width)
        self.drawn = StayDrawing(self.view, self.model, width, height)
        return self.drawn.lines()

    # -- moves ------------------------------------------------------------------------------------------------

    def _moved(self) -> None:
        """One stands elsewhere: draw, and tell the others on which row."""
        self.redraw()
        if self.view is not None and self.view.row is not None and self.view.row.id != self.model.marked:
            self._posted.tell(self.view.row.id)
            self.post_message(self.Marked(self.view.row.id))

    def action_move(self, right: int, down: int) -> None:
        """Cells right or left, lanes down or up."""
        if self.view is not None:
            self.view.move(right, down)
            self._moved()

    def action_move_week(self, weeks: int) -> None:
        """Weeks on or back."""
        if self.view is not None:
            level = self.view.columns.level
            self.view.move(weeks * max(1, 7 * level.cells // level.days), 0)
            self._moved()

    def action_edge(self, side: int) -> None:
        """To the haul-out or to the launch."""
        if self.view is not None:
            self.view.slot = self.view.plan.launch if side > 0 else max(0, self.view.plan.hauled)
            self._moved()

    def go(self, slot: int) -> None:
        """Stand at a moment."""
        if self.view is not None:
            self.view.slot = max(0, slot)
            self._moved()

    def to_now(self) -> None:
        """Stand at now, where work is."""
        if self.view is not None:
            self.view.to_now(now_slot(self.view.plan, self.model.now))
            self._moved()

    def closer(self) -> None:
        """Finer hours."""
        self._zoom(1)

    def wider(self) -> None:
        """More days."""
        self._zoom(-1)

    def _zoom(self, finer: int) -> None:
        if self.view is not None:
            self.view.zoom(finer)
            self.redraw()

    def action_open(self) -> None:
        """Open the day one stands on."""
        if self.view is not None:
            row = self.view.row
            self.post_message(self.Opened("Day", row.id if row is not None else "", self.view.slot))

    # -- the mouse --------------------------------------------------------------------------------------------

    def on_click(self, event: events.Click) -> None:
        """Stand on the cell clicked; clicked again, open its day."""
        if self.view is None or self.drawn is None or event.y >= len(self.drawn.hits):
            return
        hit, cell = self.drawn.hits[event.y], self.drawn.cell_at(event.x)
        if hit.lane < 0 and not hit.ruler:
            return
        lane = hit.lane if hit.lane >= 0 else self.view.lane
        again = (lane, cell) == (self.view.lane, self.view.cell)
        self.view.stand(lane, cell if cell >= 0 else self.view.cell)
        self._moved()
        if again:
            self.action_open()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel walks the days."""
        event.stop()
        self.action_move(1, 0)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel walks the days."""
        event.stop()
        self.action_move(-1, 0)
