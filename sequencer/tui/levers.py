"""The Levers page: what would buy a night, each help tried for real; enter takes one into the job."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Protocol, cast

from textual.binding import BindingType

from sequencer.errors import SequencerError, one_line
from sequencer.levers import Asked, asked_of, parse_price, prices_file, read_prices
from sequencer.tui.asking import Say
from sequencer.tui.forms import Write
from sequencer.tui.keys import bindings
from sequencer.tui.levers_view import LeversView
from sequencer.tui.listed import Listed
from sequencer.tui.model import Model

NO_YARD = "The job does not say what a night costs, so there is nothing to hold a price against: b on Tasks, yard."


class Keeper(Protocol):
    """What the page asks of the app."""

    def price_or_why(self, key: str, price: float | None) -> str:
        """Keep what a lever costs, None takes it back; why it can't be kept, empty where it was."""


class LeversPage(Listed):
    """Walks the levers; enter takes the one stood on."""

    title = "Levers"
    asks = "levers"
    marks = ("here",)
    help = """\
Every help that might buy a night is tried for real: put into the job, planned anew, and compared. A tent
over a place, heat, somebody on a day, a longer day, a second mould, a quicker material, an earlier
delivery, another day of the lift's; then the best two at a time.

nights: saved by the best plans found, with a ? where that is not certain and a + where it may be more. 8 in 10:
nights saved on the date by which 8 in 10 tries are afloat. saved: at the yard's rate, rounded down. price: as
far as it is known; ? where nobody has said: e tells it, of a helper for each day he comes. It is kept beside
the job, in NAME.prices.toml. kept: saved less the price. Below: why the one you stand on helps, or why not.

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
        self.view = LeversView(model)
        self.view.follow(old)
        self.redraw()

    def tell(self) -> None:
        """Levers are no rows of the plan: only this page draws."""
        self.redraw()

    def action_open(self) -> None:
        """Take the lever into the job."""
        chosen = self.view.chosen
        if chosen is not None:
            self.post_message(self.Changed(chosen.change))

    def action_price(self) -> None:
        """Ask what the lever stood on costs: one price after another where it has several."""
        trials, chosen = self.view.trials, self.view.chosen
        if trials is None or chosen is None:
            return
        job = trials.before.job
        if job.yard is None or job.path is None:
            self.app.push_screen(Say(NO_YARD))
            return
        try:
            prices = read_prices(job.path)
        except SequencerError as error:
            self.app.push_screen(Say(error))
            return
        kept = f"Kept in {one_line(prices_file(job.path).name, 40)} beside the job; an empty line takes it back."
        self._ask(asked_of(chosen, job), prices, f"in {job.yard.currency}. {kept}")

    def _ask(self, asked: list[Asked], prices: Mapping[str, float], about: str) -> None:
        """Ask the first of these prices, then the others. prices: what stands by now."""
        if not asked:
            return
        first, *rest = asked
        keeper = cast(Keeper, self.app)
        stands = f"{prices[first.key]:g}" if first.key in prices else ""

        def check(text: str) -> str:
            try:
                price = parse_price(text)
            except ValueError as error:
                return str(error)
            return keeper.price_or_why(first.key, price)

        def told(text: str | None) -> None:
            if text is not None:
                self._ask(rest, prices, about)

        words = f"{one_line(first.words, 60)}, {about}"
        self.app.push_screen(Write("what does it cost?", words, stands, check), told)
