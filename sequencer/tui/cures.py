"""The Cures page: a tide table of coats, the hours of the one stood on, and what it asks."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from sequencer.tui.cures_view import CuresView
from sequencer.tui.keys import bindings
from sequencer.tui.listed import Listed
from sequencer.tui.model import Model


class CuresPage(Listed):
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
        super().__init__("cures")
        self.view: CuresView = CuresView(Model())

    def show(self, model: Model) -> None:
        """Draw `model`, standing where one stood."""
        old, self.view = self.view, CuresView(model)
        if old.plan is not None:
            self.view.follow(old, self.posted.ours(model.marked))
        self.redraw()

    def action_hours(self, cells: int) -> None:
        """Move the hours drawn."""
        self.view.hours(cells)
        self.redraw()

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
