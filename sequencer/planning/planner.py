"""The planner: from a job to the earliest launch, with bound, slack and reasons.

A plan at once (simple orders), then better ones (changes to the order, holds, keyings), the people-hours bound
beside them, then the proof on a general solver where it is installed; last, among plans with that launch, fewer
missed windows and earlier starts. Seeded, and counted in placings, not seconds, wherever the clock need not stop it:
the same job and seed give the same plan.
"""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable

from sequencer.errors import JobError, NoPlanError
from sequencer.job import Job
from sequencer.job.logbook import log_faults
from sequencer.planning import proof
from sequencer.planning.compiling import base_slot, compile_problem, first_moment
from sequencer.planning.hours import hours_bound
from sequencer.planning.placing import Placer
from sequencer.planning.plan import Plan
from sequencer.planning.rows import build_plan
from sequencer.planning.search import Found, Search
from sequencer.planning.tables import Tables
from sequencer.planning.trouble import explain_no_plan

HORIZONS = (120, 368)
"""Days of grid tried in turn; the second is the year within which a job must be planned."""

WARM_UP_ITEMS = 40_000
"""Items placed in all by the search before the proof is asked: some tenths of a second."""

POLISH_ITEMS = 20_000
"""Items placed in all to better a plan whose launch is settled."""

Progress = Callable[[Plan], None]
Stop = Callable[[], bool]


def never_stop() -> bool:
    """A stop that lets the search run its time."""
    return False


def plan_job(
    job: Job,
    now: dt.datetime | None = None,
    seconds: float = 5.0,
    stop: Stop = never_stop,
    progress: Progress | None = None,
    clock: dt.datetime | None = None,
    seed: int = 1,
    prove: bool = True,
) -> Plan:
    """Plan `job` from `now` (else the job's own, else the later of the haul-out and `clock`).

    seconds bounds the search; it ends earlier when the launch is proved. stop is polled often, a true ends the
    search with the best plan so far. progress gets every better plan as it comes, the first at once, perhaps from
    another thread. prove: whether to ask the solver. Raises JobError (weather file, log) or NoPlanError.
    """
    placer, search = prepare(job, now, clock, seed)
    return Planner(placer, search, seconds, stop, progress).run(prove)


def prepare(
    job: Job, now: dt.datetime | None = None, clock: dt.datetime | None = None, seed: int = 1
) -> tuple[Placer, Search]:
    """Compile on the shortest horizon that gives a plan, and make the first plan."""
    _check_log(job, now, clock)
    moment = first_moment(job)
    for days in HORIZONS:
        tables = Tables(job, days, moment)
        ahead = tables.grid.day_of(base_slot(job, tables.grid, now, clock))
        if ahead > 0:
            # The year counts from the moment the plan starts.
            tables = Tables(job, days + ahead, moment)
        problem = compile_problem(job, tables, base_slot(job, tables.grid, now, clock))
        placer = Placer(problem)
        search = Search(placer, seed)
        if search.first() is not None:
            return placer, search
    raise NoPlanError(explain_no_plan(placer, search), str(job.path or ""))


def _check_log(job: Job, now: dt.datetime | None, clock: dt.datetime | None) -> None:
    """What is logged may not lie past the moment the plan starts from."""
    moment = now if now is not None else None if job.job.now is not None else clock
    if moment is None:
        return
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=job.job.timezone)
    faults = list(log_faults(job, moment))
    if faults:
        raise JobError(faults, str(job.path or ""))


class Planner:
    """One run of the search on a prepared problem."""

    def __init__(self, placer: Placer, search: Search, seconds: float, stop: Stop, progress: Progress | None) -> None:
        assert search.best is not None
        assert search.earliest is not None
        self.placer = placer
        self.search = search
        self.finish = placer.problem.finish
        self.began = time.monotonic()
        self.deadline = self.began + max(0.0, seconds)
        self.stop = stop
        self.progress = progress
        self.bound = search.earliest[0][self.finish]
        self.show(search.best)

    def plan(self, found: Found, final: bool = False) -> Plan:
        """The plan of what was found, with the bound known by now."""
        return build_plan(self.placer, found.schedule, self.bound, time.monotonic() - self.began, final)

    def show(self, found: Found) -> None:
        """Hand a better plan on."""
        if self.progress is not None:
            self.progress(self.plan(found))

    def over(self) -> bool:
        """Whether to stop now."""
        return self.stop() or time.monotonic() >= self.deadline

    @property
    def best(self) -> Found:
        """The best found so far."""
        assert self.search.best is not None
        return self.search.best

    def run(self, prove: bool) -> Plan:
        """Search, prove, polish."""
        search = self.search
        assert search.earliest is not None
        items = len(self.placer.problem.items)
        if not self.over():
            starts, ends = search.earliest
            self.bound = max(self.bound, hours_bound(self.placer, starts, ends, self.best.score[0]))
            search.improve(WARM_UP_ITEMS // items + 20, self.over, self.bound, self.show)
        if prove and proof.available() and not self.over() and self.best.score[0] > self.bound:
            self.prove()
        if not prove or not proof.available():
            while not self.over() and self.best.score[0] > self.bound:
                search.improve(WARM_UP_ITEMS // items + 20, self.over, self.bound, self.show)
        if not self.over():
            search.polish(POLISH_ITEMS // items + 20, self.over)
        return self.plan(self.best, True)

    def prove(self) -> None:
        """Ask the solver for an earlier launch or the proof that there is none."""
        search = self.search
        assert search.earliest is not None

        def better(starts: list[int]) -> None:
            found = search.take(starts)
            if found is not None:
                self.show(found)

        outcome = proof.prove(
            self.placer,
            self.best.schedule.starts,
            search.earliest[0],
            self.bound,
            self.deadline - time.monotonic(),
            self.stop,
            better,
        )
        self.bound = max(self.bound, min(outcome.bound, self.best.score[0]))
