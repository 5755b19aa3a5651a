"""Questions that take seconds: how sure the date is, and what would buy a night. Asked off the screen, told as they go.

Each is asked when its page is first looked at for a plan, and again for every new plan while one looks at it.
"""

from __future__ import annotations

import datetime as dt
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

from textual import on
from textual.message import Message
from textual.worker import Worker, WorkerState

from sequencer.errors import SequencerError
from sequencer.levers import Trials, Tried
from sequencer.odds import Odds
from sequencer.planning.plan import Plan
from sequencer.tui.editing import Editing
from sequencer.tui.keeping import NO_FILE
from sequencer.tui.model import Answers

RUNS = 1000
LEVER_SECONDS = 20.0
ODDS, LEVERS = "odds", "levers"


class Told(Message):
    """Something a question has to say so far, about a plan. over: whether that is all."""

    def __init__(self, about: Plan, told: Odds | Trials | tuple[int, int] | SequencerError, over: bool) -> None:
        super().__init__()
        self.about = about
        self.told = told
        self.over = over


class Questions(Editing):
    """An app that answers them."""

    def __init__(
        self, job_path: Path | None, now: dt.datetime | None, clock: Callable[[], dt.datetime], seconds: float
    ) -> None:
        super().__init__(job_path, now, clock, seconds)
        self._questions: dict[str, tuple[Plan, threading.Event]] = {}

    def ask_for(self, question: str) -> None:
        """Ask a question about the plan that stands, unless that is answered or under way."""
        plan, file = self.model.plan, self.file
        asked = self._questions
        if plan is None or file is None or self.model.looking or self.model.trouble is not None:
            return
        if question in asked:
            if asked[question][0] is plan:
                return
            asked[question][1].set()
        stop = threading.Event()
        asked[question] = (plan, stop)
        self._answers(replace(self._answered(plan), asking=question))
        work = _odds if question == ODDS else partial(_levers, file.text, file.path)
        self.run_worker(
            partial(work, plan, self.post_message, lambda: stop.is_set() or self.leaving),
            name=question,
            description=question,
            group=question,
            exit_on_error=False,
            thread=True,
        )

    def _answered(self, plan: Plan) -> Answers:
        """What is known of a plan; nothing of one before it."""
        known = self.model.answers
        return known if known.about is plan else Answers(plan)

    def _answers(self, answers: Answers) -> None:
        self.show_model(replace(self.model, answers=answers))

    @on(Told)
    def _told(self, message: Told) -> None:
        if message.about is not self.model.plan:
            return
        answers = self._answered(message.about)
        if message.over:
            answers = replace(answers, asking="")
        if isinstance(message.told, Odds):
            answers = replace(answers, odds=message.told, odds_over=message.over)
        elif isinstance(message.told, Trials):
            answers = replace(answers, trials=message.told.bare())
        elif isinstance(message.told, SequencerError):
            answers = replace(answers, trouble=message.told)
        else:
            answers = replace(answers, tried=message.told)
        self._answers(answers)

    def price_or_why(self, key: str, price: float | None) -> str:
        """Keep a price beside the job, and rank anew what was tried; why it can't be kept, empty where it was."""
        from sequencer.levers import keep_price, with_prices

        trials, file = self.model.trials, self.file
        if file is None:
            return NO_FILE
        try:
            prices = keep_price(file.path, key, price)
        except SequencerError as error:
            return " ".join(fault.sentence() for fault in error.faults)
        if trials is not None:
            self._answers(replace(self.model.answers, trials=with_prices(trials, prices), trouble=None))
        return ""

    @on(Worker.StateChanged)
    def _question_ended(self, event: Worker.StateChanged) -> None:
        """A fault of the tool inside a question is told like one inside a search."""
        if event.state is WorkerState.ERROR and event.worker.name in (ODDS, LEVERS):
            self.say_broken(event.worker.error)

    def stop_looking(self) -> None:
        """Stop the questions too."""
        super().stop_looking()
        for _, stop in self._questions.values():
            stop.set()


def _odds(plan: Plan, post: Callable[[Message], object], stop: Callable[[], bool]) -> None:
    """Ask the odds; each growing answer is posted."""
    from sequencer.odds import tell_odds

    def tell(odds: Odds) -> None:
        post(Told(plan, odds, False))

    try:
        told: Odds | SequencerError = tell_odds(plan.job, plan, RUNS, stop=stop, progress=tell)
    except SequencerError as error:
        told = error
    if not stop():
        post(Told(plan, told, True))


def _levers(text: str, path: Path, plan: Plan, post: Callable[[Message], object], stop: Callable[[], bool]) -> None:
    """Try the levers; how far it is is posted now and then, then what came of it, last also what it is at 8 in 10."""
    from sequencer.levers import eight_in_ten, read_prices, try_levers, with_odds, with_prices

    deadline = time.monotonic() + LEVER_SECONDS

    def tell(_: Tried, done: int, of: int) -> None:
        if not done % 8:
            post(Told(plan, (done, of), False))

    def say(told: Trials | SequencerError, over: bool) -> None:
        if not stop():
            post(Told(plan, told, over))

    try:
        trials = try_levers(text, path, plan.job, plan, seconds=LEVER_SECONDS, stop=stop, progress=tell)
        say(with_prices(trials, read_prices(path)), False)
        trials = with_odds(trials, eight_in_ten(stop=stop), deadline, stop)
        # Read again: a price may have been told meanwhile.
        say(with_prices(trials, read_prices(path)), True)
    except SequencerError as error:
        say(error, True)
