"""A change tried out before it is made: applied to the text, planned off the screen, held against the plan that stands.

No Textual here; run it in a thread.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sequencer.errors import SequencerError
from sequencer.job.writing import Change, apply_change
from sequencer.moved import compare, moved_sentences
from sequencer.planning.plan import Plan
from sequencer.telling import day_clock


@dataclass(frozen=True)
class Outcome:
    """What a change would do. said: whole sentences; bad: they say why there would be no plan; done: the last word."""

    said: tuple[str, ...]
    bad: bool = False
    done: bool = False


@dataclass(frozen=True)
class Trial:
    """What a change is tried on: the job's text and file, from when to plan and for how long, the plan that stands."""

    text: str
    path: Path | None
    now: dt.datetime | None
    clock: dt.datetime
    seconds: float
    like: Plan | None

    def run(self, change: Change, tell: Callable[[Outcome], object], stop: Callable[[], bool]) -> None:
        """Tell what `change` would do, again with every better plan; once `stop` says so nothing more is told."""
        # Imported here so that the screen is up before the planner is.
        from sequencer.planning.planner import plan_job

        def say(plan: Plan, done: bool) -> None:
            if not stop():
                tell(Outcome(self._said(plan), done=done))

        try:
            job = apply_change(self.text, change, self.path).job
            plan = plan_job(
                job,
                self.now,
                self.seconds,
                stop=stop,
                progress=lambda better: say(better, False),
                clock=self.clock,
                like=self.like,
            )
            say(plan, True)
        except SequencerError as error:
            if not stop():
                tell(Outcome(tuple(fault.sentence() for fault in error.faults), bad=True, done=True))

    def _said(self, plan: Plan) -> tuple[str, ...]:
        if self.like is None:
            return (f"With it there is a launch: {day_clock(plan.launched)}.",)
        return tuple(moved_sentences(compare(self.like, plan)))
