"""The Moved page: what the last change did, and what was done before."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from sequencer.tui.keys import bindings
from sequencer.tui.listed import Listed
from sequencer.tui.model import Model
from sequencer.tui.moved_view import MovedView


class MovedPage(Listed):
    """Walks what moved; enter opens the task of the line."""

    title = "Moved"
    takes_trouble = True
    marks = ("here", "holds")
    help = """\
It comes up after each change: the launch before and after, windows now missed and what that costs
in work, what to do today instead, what slid and what came forward, and why.

was, now: the start as it was planned, and as it is; by: how far it moved, in hours and minutes, from three
days on in days and hours.

u takes the change back, again and again, also after the app was closed; r does it again.
Below stands what was done when, the latest first. Escape goes back to where you were."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Moved")]

    def __init__(self) -> None:
        super().__init__("moved")
        self.view: MovedView = MovedView(Model())

    def show(self, model: Model) -> None:
        """Draw `model`; a new change is read from its top."""
        old = self.view
        if old.model.plan is model.plan and old.turn is model.turn and old.model.trouble is model.trouble:
            same = old.model.ascii == model.ascii and old.model.looking == model.looking
            old.model = model
            if same:
                return
        kept = old.turn is model.turn
        self.view = MovedView(model, old.at if kept else 0, old.top if kept else 0)
        self.redraw()
