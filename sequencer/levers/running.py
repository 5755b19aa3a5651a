"""All levers of a job tried: one at a time, then the best pairs."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable, Sequence
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
    A pair is kept where it saves more nights than either alone. odds_of: asked of what saves nights, after all else.
    seconds bounds the whole run; what it was too short for stands in `left`. Never raises for a lever that can't be.
    """
    run = _Run(Bench(text, Path(path) if path is not None else None, plan, time.monotonic() + seconds, stop), progress)
    run.bench.same_effort()
    run.singles(find_levers(job, plan) if levers is None else levers)
    if pairs:
        run.pairs()
    run.close()
    return run.trials(odds_of)


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

    def close(self) -> None:
        """What is not proved yet once more, the most promising first, for as long as there is time."""
        waiting = [self._tried(levers) for levers, plan in self.plans.items() if not plan.proved]
        for one in sorted(waiting, key=rank_key) if self.bench.before.proved else ():
            if self.bench.over():
                return
            plan = self.bench.plan_with(one.change, CLOSING_SECONDS)
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

    def trials(self, odds_of: OddsOf | None) -> Trials:
        """What came of it, with reasons."""
        before = self.bench.before
        told = Why(before)
        found = [t for t in map(self._tried, self.plans) if len(t.levers) == 1 or self._better_together(t)]
        late = odds_of(before.job, before) if odds_of is not None and not self.bench.over() else None
        tried = [
            Tried(t.levers, before, t.plan, told.reason(t.levers, t.plan), self._late(t, odds_of, late), late)
            for t in found
        ]
        paired = sum(len(levers) > 1 for levers in self.plans)
        return Trials(before, tuple(sorted(tried, key=rank_key)), tuple(self.left), tuple(self.refused), paired)

    def _better_together(self, pair: Tried) -> bool:
        """Whether two save more nights than either alone."""
        alone = [self._tried((lever,)).nights for lever in pair.levers if (lever,) in self.plans]
        return pair.nights > max(alone, default=0)

    def _late(self, tried: Tried, odds_of: OddsOf | None, before: dt.datetime | None) -> dt.datetime | None:
        if odds_of is None or before is None or tried.nights <= 0 or self.bench.over():
            return None
        return odds_of(tried.plan.job, tried.plan)
