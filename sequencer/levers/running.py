"""All levers of a job tried: one at a time, then the best pairs."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from sequencer.errors import JobError, NoPlanError
from sequencer.job import Job
from sequencer.levers.finding import find_levers
from sequencer.levers.late import OddsOf
from sequencer.levers.lever import Lever, Trials, Tried, rank_key
from sequencer.levers.pairs import pairs as pairs_of
from sequencer.levers.trying import CLOSING_SECONDS, Bench
from sequencer.levers.why import Why
from sequencer.planning.plan import Plan
from sequencer.planning.planner import Stop, never_stop

TRYING_SHARE = 0.6
"""Of the time, what goes to the trying where the odds are asked too."""

Progress = Callable[[Tried, int, int], None]
"""Gets each one tried as it comes, how many are, and of how many."""


def try_levers(
    text: str,
    path: str | Path | None,
    job: Job,
    plan: Plan,
    levers: Sequence[Lever] | None = None,
    seconds: float = 20.0,
    stop: Stop = never_stop,
    progress: Progress | None = None,
    pairs: bool = True,
    odds_of: OddsOf | None = None,
) -> Trials:
    """Try each lever for real, then the best two at a time, ranked by what is kept.

    text, path: the job's file; job, plan: what it gives. levers: left out, all that :func:`find_levers` finds.
    A pair is kept where it saves more nights than either alone. odds_of: asked of what saves nights, the best first,
    for as long as there is time. seconds bounds the whole run; what it was too short for stands in `left`. Never
    raises for a lever that can't be.
    """
    began = time.monotonic()
    until = began + seconds * (TRYING_SHARE if odds_of is not None else 1.0)
    run = _Run(Bench(text, Path(path) if path is not None else None, plan, until, stop), progress)
    run.bench.same_effort()
    run.singles(find_levers(job, plan) if levers is None else levers)
    if pairs:
        run.pairs()
    run.prove_rest()
    run.catch_up()
    return with_odds(run.trials(), odds_of, began + seconds, stop) if odds_of is not None else run.trials()


class _Run:
    """One run. plans: by the levers tried, the plan they gave."""

    def __init__(self, bench: Bench, progress: Progress | None) -> None:
        self.bench, self.progress = bench, progress
        self.plans: dict[tuple[Lever, ...], Plan] = {}
        self.left: list[Lever] = []
        self.refused: list[tuple[Lever, str]] = []
        self.of = 0

    def singles(self, levers: Sequence[Lever]) -> None:
        """Each alone."""
        self.of = len(levers)
        for lever in levers:
            self._try((lever,))

    def pairs(self) -> None:
        """The best two at a time."""
        chosen = pairs_of([self._tried(levers) for levers in self.plans])
        self.of += len(chosen)
        for pair in chosen:
            self._try(pair)

    def prove_rest(self) -> None:
        """What is not proved yet once more, the most promising first, for as long as there is time."""
        waiting = [self._tried(levers) for levers, plan in self.plans.items() if not plan.proved]
        for one in sorted(waiting, key=rank_key) if self.bench.before.proved else ():
            if self.bench.over():
                return
            self._replace(one, self.bench.plan_with(one.change, CLOSING_SECONDS))

    def catch_up(self) -> None:
        """The job as it is may have got a better plan after a lever was tried: that is open to the lever too."""
        for one in [self._tried(levers) for levers in self.plans]:
            if one.plan.launch > self.bench.before.launch and not self.bench.before.proved:
                followed = self.bench.follow(one.change)
                self._replace(one, followed if followed is not None else one.plan)

    def _replace(self, one: Tried, plan: Plan) -> None:
        """Take another plan of the same where it launches sooner, or rules out more."""
        if (plan.launch, -plan.bound) < (one.plan.launch, -one.plan.bound):
            self.plans[one.levers] = plan

    def _try(self, levers: tuple[Lever, ...]) -> None:
        bench, alone = self.bench, len(levers) == 1
        if bench.over():
            self.left += levers if alone else ()
            return
        try:
            plan = bench.plan_with(Tried(levers, bench.before, bench.before).change)
        except (JobError, NoPlanError) as error:
            self.refused += [(levers[0], error.text())] if alone else ()
            return
        if bench.over() and not plan.proved:
            # Cut short, it says nothing of the lever.
            self.left += levers if alone else ()
            return
        self.plans[levers] = plan
        bench.learn(plan)
        if self.progress is not None:
            self.progress(self._tried(levers), len(self.plans), self.of)

    def _tried(self, levers: tuple[Lever, ...]) -> Tried:
        return Tried(levers, self.bench.before, self.plans[levers])

    # -- the end ----------------------------------------------------------------------------------------------

    def trials(self) -> Trials:
        """What came of it, with reasons."""
        before = self.bench.before
        told = Why(before)
        found = [t for t in map(self._tried, self.plans) if len(t.levers) == 1 or self._better_together(t)]
        tried = [replace(t, reason=told.reason(t.levers, t.plan)) for t in found]
        paired = sum(len(levers) > 1 for levers in self.plans)
        return Trials(before, tuple(sorted(tried, key=rank_key)), tuple(self.left), tuple(self.refused), paired)

    def _better_together(self, pair: Tried) -> bool:
        """Whether two save more nights than either alone."""
        alone = [self._tried((lever,)).nights for lever in pair.levers if (lever,) in self.plans]
        return pair.nights > max(alone, default=0)


def with_odds(trials: Trials, odds_of: OddsOf, deadline: float, stop: Stop) -> Trials:
    """The same with the moment of 8 in 10, of the job as it is and of what saves nights, the best first."""

    def over() -> bool:
        return stop() or time.monotonic() >= deadline

    before = odds_of(trials.before.job, trials.before) if trials.gains and not over() else None
    if before is None:
        return trials
    asked = [
        replace(one, late=odds_of(one.plan.job, one.plan), before_late=before) if one.nights > 0 and not over() else one
        for one in trials.tried
    ]
    return replace(trials, tried=tuple(asked))
