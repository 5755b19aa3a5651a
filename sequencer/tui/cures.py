"""The Cures page: a tide table of coats, the hours of the one stood on, and what it asks."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.binding import BindingType

from sequencer.tui.cures_view import CuresView
from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn
from sequencer.tui.keys import bindings
from sequencer.tui.model import Model
from sequencer.tui.page import Page
from sequencer.tui.posted import Posted


class CuresPage(Page, Drawn):
    """Walks the coats; enter opens the coat's task."""

    title = "Cures"
    marks = (
        "work",
        "wet",
        "firm",
        "open",
        "shutting",
        "missed",
        "keying",
        "sand",
        "cured",
        "now",
        "here",
    )
    help = """
    Every coat that cures now or will: when it is laid, till when it must stay dry, from when it takes the next coat,
    the last start of that coat's work, from when it can be sanded, from when it may be wetted.
    Last start: the last quarter hour in which the people it needs can still begin in time, and the air lets them.
    ! it is within two hours. x the window is missed: what keying takes, and when, stands beside it.
    Below, the hours of the coat you stand on, as if it were left bare; what it lies on and what comes on it beside it.
    """
    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Cures")]

    def __init__(self) -> None:
        super().__init__(id="page-cures")
        self.view = CuresView(Model())
        self._posted = Posted()

    def show(self, model: Model) -> None:
        """Draw `model`, standing where one stood."""
        old, self.view = self.view, CuresView(model)
        if old.plan is not None:
            self.view.follow(old, self._posted.ours(model.marked))
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The page in cells."""
        return self.view.draw(width, height)

    def action_move(self, by: int) -> None:
        """Stand on another coat."""
        if self.view.move(by):
            self._moved()

    def action_hours(self, cells: int) -> None:
        """Move the hours drawn."""
        self.view.hours(cells)
        self.redraw()

    def action_open(self) -> None:
        """Open the coat's task."""
        if self.view.name:
            self.post_message(self.Opened("Tasks", self.view.name))

    def closer(self) -> None:
        """Finer hours."""
        self.view.zoom(1)
        self.redraw()

    def wider(self) -> None:
        """Coarser hours."""
        self.view.zoom(-1)
        self.redraw()

    def to_now(self) -> None:
        """The hours back to where they began."""
        self.view.shift = 0
        self.redraw()

    def on_click(self, event: events.Click) -> None:
        """A click marks a coat; on the marked one it opens its task."""
        at = self.view.at_line(event.y)
        if at is None:
            return
        if at == self.view.at:
            self.action_open()
        else:
            self.action_move(at - self.view.at)

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel walks down."""
        event.stop()
        self.action_move(1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel walks up."""
        event.stop()
        self.action_move(-1)

    def _moved(self) -> None:
        self.redraw()
        self._posted.tell(self.view.name)
        self.post_message(self.Marked(self.view.name))
