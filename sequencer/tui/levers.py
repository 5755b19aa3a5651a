"""The Levers page: what would buy a night, each help tried for real; enter takes one into the job."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from sequencer.tui.keys import bindings
from sequencer.tui.levers_view import LeversView
from sequencer.tui.listed import Listed
from sequencer.tui.model import Model


class LeversPage(Listed):
    """Walks the levers; enter takes the one stood on."""

    title = "Levers"
    asks = "levers"
    marks = ("here",)
    help = """\
Every help that might buy a night is tried for real: put into the job, planned anew, and compared. A tent
over a place, heat, somebody on a day, a longer day, a second mould, a quicker material, an earlier
delivery, another day of the lift's; then the best two at a time.

saved: at the yard's rate, rounded down. price: as far as it is known; ? where nobody has said. kept: saved
less the price. Below: why the one you stand on helps, or why it does not.

enter takes it into the job and shows what moves; u puts it back."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Levers")]

    def __init__(self) -> None:
        super().__init__("levers")
        self.view: LeversView = LeversView(Model())

    def show(self, model: Model) -> None:
        """Draw `model`, standing where one stood."""
        old = self.view
        if old.model.answers is model.answers and old.model.plan is model.plan and old.model.ascii == model.ascii:
            old.model = model
            return
        kept = old.trials is model.trials
        self.view = LeversView(model, old.at if kept else 0, old.top if kept else 0)
        self.redraw()

    def tell(self) -> None:
        """Levers are no rows of the plan: only this page draws."""
        self.redraw()

    def action_open(self) -> None:
        """Take the lever into the job."""
        chosen = self.view.chosen
        if chosen is not None:
            self.post_message(self.Changed(chosen.change))
