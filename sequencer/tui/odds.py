"""The Odds page: the chance of being afloat by each date, and what the stay then costs."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from sequencer.job.writing import SetField
from sequencer.tui.asking import Say
from sequencer.tui.forms import Pick
from sequencer.tui.keeping import NO_FILE
from sequencer.tui.keys import bindings
from sequencer.tui.listed import Listed
from sequencer.tui.model import Model
from sequencer.tui.odds_past import NO_FILES, NORMALS, past_fault, past_options
from sequencer.tui.odds_view import OddsView


class OddsPage(Listed):
    """Walks the dates; enter opens the task that sets the launch most often."""

    title = "Odds"
    asks = "odds"
    marks = ("here", "afloat")
    help = """\
A thousand ways it may go: the weather as the months usually are, past the forecast and around it;
hours of work between the low and the high; deliveries between the earliest and the latest. Each is
lived through day by day, planning anew as you would, knowing only what you would know.

The tide rises to the share of them that is afloat by a date; the block is what that date adds. Chances
are rounded down, costs up. Book the lift by the sentence on top.

f names a file of past years, or of a typical year (EPW, or a table of hours), that lies beside the job: past
the forecast, whole days that really came are then drawn from it around the date, in place of the usual months.
u takes that back.

It is worked out anew for every new plan while you look at this page."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Odds")]

    def __init__(self) -> None:
        super().__init__("odds")
        self.view: OddsView = OddsView(Model())

    def show(self, model: Model) -> None:
        """Draw `model`; the mark stays where it was put."""
        old = self.view
        if old.model.answers is model.answers and old.model.plan is model.plan and old.model.ascii == model.ascii:
            old.model = model
            return
        kept = old.model.plan is model.plan and old.odds is not None and self.moved
        self.moved = kept
        self.view = OddsView(model, old.at if kept else None, old.top if kept else 0)
        self.redraw()

    moved = False

    def action_move(self, by: int) -> None:
        """Stand on another date."""
        self.moved = True
        super().action_move(by)

    def action_past(self) -> None:
        """Name a file of past years, from which days nobody has told are drawn."""
        job = self.view.model.job
        if job is None or job.path is None:
            self.app.push_screen(Say(NO_FILE))
            return
        options = past_options(job)
        if not options:
            self.app.push_screen(Say(NO_FILES))
            return
        self.app.push_screen(Pick("days nobody has told, from which file?", options, job.weather.past), self._past)

    def _past(self, name: str | None) -> None:
        job = self.view.model.job
        if name is None or job is None or name == (job.weather.past or NORMALS):
            return
        fault = past_fault(job, self.view.plan, name) if name != NORMALS else ""
        if fault:
            self.app.push_screen(Say(fault))
        else:
            self.post_message(self.Changed(SetField("weather", "", "past", name or None)))

    def tell(self) -> None:
        """Dates are no rows of the plan: only this page draws."""
        self.redraw()
