"""One change of a job tried for real: applied to its text, planned, and the launch proved where that is quick."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sequencer.job import Job
from sequencer.job.writing import Change, apply_change
from sequencer.planning import proof
from sequencer.planning.hours import hours_bound
from sequencer.planning.orders import Found
from sequencer.planning.plan import Plan
from sequencer.planning.planner import Planner, prepare

SEED = 1

PROOF_SECONDS = 1.0
"""The solver's time for a first try of a lever; most need hundredths of it."""

CLOSING_SECONDS = 5.0
"""Its time for another try of a promising one whose launch the first did not prove."""

SETTLE_SECONDS = 1.0
"""Time for a plan of the launch the solver found by a search that repeats; past it the solver's own is taken."""

TURNS = 1
"""Turns of the planner's own search for each try whose launch is not proved, and for the job as it is."""


@dataclass
class Bench:
    """What every try of one job shares.

    text, path: the job's file. before: the plan of the job as it is, whose tables and order each try starts from;
    where its launch is not proved a better one may come (see :meth:`learn`). over: whether to stop now.
    """

    text: str
    path: Path | None
    before: Plan
    deadline: float
    stop: Callable[[], bool]

    def over(self) -> bool:
        """Whether to stop now."""
        return self.stop() or time.monotonic() >= self.deadline

    def job_with(self, change: Change) -> Job:
        """The job as the change makes it. Raises JobError where it would have faults."""
        return apply_change(self.text, change, self.path).job

    def plan_with(self, change: Change, seconds: float = PROOF_SECONDS) -> Plan:
        """The best plan of the job as the change makes it; seconds: for its proof.

        Raises JobError or NoPlanError where there is none.
        """
        return self._plan(self.job_with(change), 0, seconds)

    def _plan(self, job: Job, bound: int, seconds: float) -> Plan:
        planner = self._planner(job, self.before)
        planner.bound = max(planner.bound, bound)
        own = planner.warm if planner.warm is not None and planner.warm.score < planner.best.score else planner.best
        planner.search.best = own
        if proof.available() and planner.solvable and self.before.proved:
            self._prove(planner, own, seconds)
        elif planner.open:
            known = hours_bound(planner.placer, planner.earliest, planner.earliest_ends, own.score[0])
            planner.bound = max(planner.bound, known)
        planner.improve(TURNS)
        return planner.plan(planner.best, True)

    def _planner(self, job: Job, like: Plan) -> Planner:
        placer, search = prepare(job, like.moment(like.now), None, SEED, self.before)
        return Planner(placer, search, self.deadline, self.stop, None, like)

    def _prove(self, planner: Planner, own: Found, seconds: float) -> None:
        """The earliest launch by the solver; the plan itself from a search that repeats, where it can be."""
        if planner.open:
            planner.prove(seconds)
        found = planner.best
        if found.score[0] >= own.score[0] or found.score[0] > planner.bound:
            return
        search = planner.search
        search.best = own
        until = time.monotonic() + SETTLE_SECONDS
        planner.repeatable(found.score[0], lambda: self.over() or time.monotonic() >= until)
        if planner.best.score[0] > found.score[0]:
            search.best = found

    # -- without luck -----------------------------------------------------------------------------------------

    def same_effort(self) -> None:
        """Look for a better plan of the unchanged job with the effort of one try, where its launch is not proved."""
        if not self.before.proved:
            self._better(self._plan(self.before.job, self.before.bound, 0.0))

    def learn(self, plan: Plan) -> None:
        """Try the order of a plan on the unchanged job: what it gains there is no merit of the lever."""
        if self.before.proved or plan.launch >= self.before.launch:
            return
        planner = self._planner(self.before.job, plan)
        if planner.warm is not None:
            planner.bound = max(planner.bound, self.before.bound)
            self._better(planner.plan(planner.warm, True))

    def follow(self, change: Change) -> Plan | None:
        """The order of the best plan known of the job as it is, with the change; None where it gives none."""
        planner = self._planner(self.job_with(change), self.before)
        return planner.plan(planner.warm, True) if planner.warm is not None else None

    def _better(self, plan: Plan) -> None:
        if plan.launch < self.before.launch:
            self.before = plan
