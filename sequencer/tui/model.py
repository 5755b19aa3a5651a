"""What every page shows: one frozen picture of the job and its plan at a moment."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sequencer.errors import SequencerError
from sequencer.job import Job
from sequencer.job.record import Noted
from sequencer.planning.plan import Plan

if TYPE_CHECKING:
    from sequencer.levers import Trials
    from sequencer.odds import Odds


@dataclass(frozen=True)
class Turn:
    """The last change of the job. words: what was done; before: the plan that stood until then, None for none.

    undo, redo: what those keys would do next, empty for nothing. done: the journal so far, oldest first.
    """

    words: str = ""
    before: Plan | None = None
    undo: str = ""
    redo: str = ""
    done: tuple[Noted, ...] = ()


@dataclass(frozen=True)
class Answers:
    """What is known of a plan beyond itself. about: which. odds: so far, odds_over: whether that is all of them.

    trials: levers tried, None until all are; tried: how many of how many by now. asking: the question under way.
    """

    about: Plan | None = None
    odds: Odds | None = None
    odds_over: bool = False
    trials: Trials | None = None
    tried: tuple[int, int] = (0, 0)
    asking: str = ""
    trouble: SequencerError | None = None


NOTHING_KNOWN = Answers()
"""Nothing asked yet."""


@dataclass(frozen=True)
class Model:
    """The state the pages draw. The app makes a new one for every change and hands it to the pages.

    job: None until read. plan: the best so far (the last good one where `trouble` says a change can't be planned).
    now: the clock in the yard, with offset. looking: whether the search is still on. marked: the row the person
    stands on, shared by all pages. ascii: marks for plain terminals. turn: the last change, and what was done before.
    answers: odds and levers, of the plan they were asked about. outside: what is the matter with the job file, in a
    few words; empty where it is as it is shown here.
    """

    job: Job | None = None
    plan: Plan | None = None
    trouble: SequencerError | None = None
    now: dt.datetime | None = None
    looking: bool = False
    marked: str = ""
    ascii: bool = False
    turn: Turn = Turn()
    answers: Answers = NOTHING_KNOWN
    outside: str = ""

    @property
    def odds(self) -> Odds | None:
        """The odds of the plan shown, so far; None for another's."""
        return self.answers.odds if self.answers.about is self.plan and self.trouble is None else None

    @property
    def trials(self) -> Trials | None:
        """The levers tried on the plan shown; None for another's."""
        return self.answers.trials if self.answers.about is self.plan and self.trouble is None else None
