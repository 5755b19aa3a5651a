"""The Holds page: what holds the launch, told backwards, and where the stay's hours went."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.binding import BindingType

from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn
from sequencer.tui.holds_view import HoldsView
from sequencer.tui.keys import bindings
from sequencer.tui.model import Model
from sequencer.tui.page import Page
from sequencer.tui.posted import Posted


class HoldsPage(Page, Drawn):
    """Walks the sentences; enter opens the task of the one marked."""

    title = "Holds"
    takes_trouble = True
    marks = ("here", "path")
    help = """\
What holds her, told backwards from the launch: each sentence follows from the one below it.
The page opens at the wait where effort pays. Shorten what stands above the line of play and she
launches sooner; what stands below it has that many hours to spare. l shows what would help.

Below: where the hours of the stay went, along the path that sets the launch. They add up.
hands short: somebody is on shift, but not the hands or the person it needs, or they are at work.
not begun: it was let go, and nobody had started it yet."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Holds")]

    def __init__(self) -> None:
        super().__init__(id="page-holds")
        self.view = HoldsView(Model())
        self._posted = Posted()

    def show(self, model: Model) -> None:
        """Draw `model`; the mark stays on the same row where it can."""
        old = self.view
        answer = self._posted.ours(model.marked)
        same = model.plan is not None and model.plan is old.model.plan
        kept = same and (answer or old.row == model.marked or model.marked == old.model.marked)
        self.view = HoldsView(model, old.at if kept else None, old.top)
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The page in cells."""
        return self.view.draw(width, height)

    def action_move(self, by: int) -> None:
        """Mark another sentence."""
        if self.view.move(by):
            self._marked()

    def action_open(self) -> None:
        """Open the task of the sentence."""
        if self.view.row:
            self.post_message(self.Opened("Tasks", self.view.row))

    def on_click(self, event: events.Click) -> None:
        """A click marks a sentence; on the marked one it opens its task."""
        at = self.view.at_line(event.y)
        if at is None:
            return
        if at == self.view.at:
            self.action_open()
            return
        self.view.at = at
        self._marked()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel walks."""
        event.stop()
        self.action_move(1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel walks."""
        event.stop()
        self.action_move(-1)

    def _marked(self) -> None:
        self.redraw()
        self._posted.tell(self.view.row)
        self.post_message(self.Marked(self.view.row))
