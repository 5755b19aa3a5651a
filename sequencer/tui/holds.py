"""The Holds page: what holds the launch, told backwards, and where the stay's hours went."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from sequencer.tui.holds_view import HoldsView
from sequencer.tui.keys import bindings
from sequencer.tui.listed import Listed
from sequencer.tui.model import Model


class HoldsPage(Listed):
    """Walks the sentences; enter opens the task of the one marked."""

    title = "Holds"
    takes_trouble = True
    marks = ("here", "path")
    help = """\
What holds her, told backwards from the launch: each sentence follows from the one below it.
The page opens at the wait where effort pays. Shorten what stands above the line of play and she
launches sooner; what stands below it has that many hours to spare.

Below: where the hours of the stay went, along the path that sets the launch. They add up.
hands short: somebody is on shift, but not the hands or the person it needs, or they are at work.
not begun: it was let go, and nobody had started it yet."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Holds")]

    def __init__(self) -> None:
        super().__init__("holds")
        self.view: HoldsView = HoldsView(Model())

    def show(self, model: Model) -> None:
        """Draw `model`; the mark stays on the same row where it can."""
        old = self.view
        answer = self.posted.ours(model.marked)
        same = model.plan is not None and model.plan is old.model.plan
        kept = same and (answer or old.row == model.marked or model.marked == old.model.marked)
        self.view = HoldsView(model, old.at if kept else None, old.top)
        self.redraw()
