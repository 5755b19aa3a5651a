"""Day: one day by the hour, and the sheet for it."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from textual import events
from textual.binding import BindingType

from sequencer.tui.clocktext import now_slot
from sequencer.tui.day_drawing import DayDrawing
from sequencer.tui.day_view import DayView
from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn
from sequencer.tui.keys import bindings
from sequencer.tui.labels import LABEL
from sequencer.tui.model import Model
from sequencer.tui.notice import notice_lines
from sequencer.tui.page import Page
from sequencer.tui.posted import Posted


class DayPage(Page, Drawn):
    """Midnight to midnight: the air first, then the places, then what to do."""

    title = "Day"
    help = """
    On top the air outside, every two hours; the line above it marks the hours unfit for the day's coats in the open.

    Each lane is a place; cures come in from yesterday and go on into tomorrow.

    [===!===] under a lane: between the brackets the coat takes the next one; ! is the last start.

    Below, the sheet: what to do in order, what to check before starting, by when, what to leave, what stays wet.
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
        "wind",
        "cold",
        "damp",
        "launch",
        "afloat",
        "now",
        "here",
    )
    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Day")]

    def __init__(self) -> None:
        super().__init__(id="page-day")
        self.model = Model()
        self.view: DayView | None = None
        self.drawn: DayDrawing | None = None
        self._posted = Posted()

    def show(self, model: Model) -> None:
        """Draw `model`, standing where one stood."""
        before, self.model = self.model, model
        if model.plan is not None:
            if self.view is None:
                self.view = DayView(model.plan, now_slot(model.plan, model.now))
            self.view.follow(model.plan)
            ours = self._posted.ours(model.marked)
            if model.marked and model.marked != before.marked and not ours:
                self.view.to_row(model.marked)
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The day, or plain sentences while there is no plan."""
        if self.view is None:
            return notice_lines(self.model, width)
        self.drawn = DayDrawing(self.view, self.model, width, height)
        return self.drawn.lines()

    # -- moves ------------------------------------------------------------------------------------------------

    def _moved(self) -> None:
        """One stands elsewhere: draw, and tell the others on which row."""
        self.redraw()
        if self.view is not None and self.view.row is not None and self.view.row.id != self.model.marked:
            self._posted.tell(self.view.row.id)
            self.post_message(self.Marked(self.view.row.id))

    def action_move(self, right: int, down: int) -> None:
        """Half hours right or left, lanes and lines down or up."""
        if self.view is not None:
            self.view.move(right, down)
            self._moved()

    def action_turn(self, days: int) -> None:
        """Another day."""
        if self.view is not None:
            self.view.turn(days)
            self._moved()

    @property
    def date_shown(self) -> dt.date | None:
        """The day drawn."""
        return self.view.plan.grid.date(self.view.day) if self.view is not None else None

    def go(self, slot: int) -> None:
        """Stand at a moment."""
        if self.view is not None:
            self.view.go(slot)
            self._moved()

    def to_now(self) -> None:
        """Stand at now, on what comes next."""
        if self.view is not None:
            self.view.to_now(now_slot(self.view.plan, self.model.now))
            self._moved()

    def closer(self) -> None:
        """Quarter hours."""
        self._zoom(1)

    def wider(self) -> None:
        """Whole hours."""
        self._zoom(-1)

    def _zoom(self, finer: int) -> None:
        if self.view is not None:
            self.view.zoom(finer, self.size.width - LABEL)
            self.redraw()

    def action_open(self) -> None:
        """Open the task one stands on."""
        if self.view is not None and self.view.row is not None:
            self.post_message(self.Opened("Tasks", self.view.row.id))

    # -- the mouse --------------------------------------------------------------------------------------------

    def on_click(self, event: events.Click) -> None:
        """Stand on what was clicked; clicked again, open it."""
        if self.view is None or self.drawn is None or event.y >= len(self.drawn.hits):
            return
        hit = self.drawn.hits[event.y]
        cell = self.drawn.cell_at(event.x) if hit.hours else -1
        if hit.spot < 0 and cell < 0:
            return
        spot = hit.spot if hit.spot >= 0 else self.view.spot
        here = self.view.one.cell(self.view.slot)
        again = spot == self.view.spot and cell in (-1, here)
        self.view.stand(spot, cell)
        self._moved()
        if again:
            self.action_open()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel walks down the lanes and the sheet."""
        event.stop()
        self.action_move(0, 1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel walks up."""
        event.stop()
        self.action_move(0, -1)
