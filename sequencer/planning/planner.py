"""The planner: from a job to the earliest launch, with bound, slack and reasons.

A plan at once (simple orders), then better ones (changes to the order, holds, keyings), the people-hours bound
beside them, then turns of a general solver, where it is installed, and of the search, until the launch is
proved; last, among plans with that launch, fewest missed windows, then earlier starts. Seeded, and counted in
placings, not seconds, wherever the clock need not stop it: the same job and seed give the same plan.
"""

from __future__ import annotations

import datetime as dt
import time
from bisect import bisect_left
from collections.abc import Callable

from sequencer.errors import JobError, NoPlanError
from sequencer.grid import PER_HOUR
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

HORIZONS = (60, 150, 368)
"""Days of grid tried in turn; the last is the year within which a job must be planned."""

MARGIN = 21 * 96
"""Slots a launch must lie ahead of the grid's end: near it, starts are lost whose dry time the grid cuts off."""

TRIED_ITEMS = 6_000
"""Items placed by one turn of the search, whatever the job's size: a few tenths of a second."""

POLISHED_ITEMS = 8_000
"""Items placed to better a plan whose launch is settled."""

FIRST_PROOF_SECONDS = 4.0
"""Half the solver's first turn; each later turn lasts twice as long, from the best plan by then."""

SOLVED_UP_TO = 300
"""Items up to which the solver is asked: past that its model takes gigabytes and closes nothing in minutes."""

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
    like: Plan | None = None,
) -> Plan:
    """Plan `job` from `now` (else the job's own, else the later of the haul-out and `clock`).

    seconds bounds the search; it ends earlier when the launch is proved. stop is polled often, a true ends the
    search with the best plan so far. progress gets every better plan as it comes, the first at once, perhaps from
    another thread. prove: whether to ask the solver. like: a plan of much the same job, whose compiled tables are
    used again where they still hold and whose order gives the first plan. Raises JobError (weather file, log) or
    NoPlanError.
    """
    began = time.monotonic()
    placer, search = prepare(job, now, clock, seed, like, progress)
    return Planner(placer, search, began + max(0.0, seconds), stop, progress, like).run(prove)


def prepare(
    job: Job,
    now: dt.datetime | None = None,
    clock: dt.datetime | None = None,
    seed: int = 1,
    like: Plan | None = None,
    progress: Progress | None = None,
) -> tuple[Placer, Search]:
    """Compile on the shortest horizon that gives a plan, and make the first plan.

    progress: gets the plan in the order of `like` before anything else is tried.
    """
    _check_log(job, now, clock)
    moment = first_moment(job)
    for days in HORIZONS:
        if like is not None and 2 * days <= like.grid.days:
            # The like plan has needed a longer grid: its tables are at hand, a shorter one's are not.
            continue
        tables = _tables(job, days, moment, now, clock, like)
        if days != HORIZONS[-1] and _too_short(job, tables):
            continue
        problem = compile_problem(job, tables, base_slot(job, tables.grid, now, clock))
        placer = Placer(problem)
        search = Search(placer, seed)
        last = tables.grid.length if days == HORIZONS[-1] else tables.grid.length - MARGIN
        if like is not None and progress is not None:
            as_before = search.follow(like)
            if as_before is not None and as_before.score[0] <= last:
                assert search.earliest is not None
                progress(build_plan(placer, as_before.schedule, search.earliest[0][problem.finish], 0.0, False))
        found = search.at_once()
        if found is not None and found.score[0] <= last:
            return placer, search
    raise NoPlanError(explain_no_plan(placer, search), str(job.path or ""))


def _tables(
    job: Job,
    days: int,
    first: dt.datetime | dt.date,
    now: dt.datetime | None,
    clock: dt.datetime | None,
    like: Plan | None,
) -> Tables:
    """Tables for `days` local days from the moment the plan starts; those of a like plan where they hold."""
    known = like.problem.tables if like is not None else None
    tables = Tables(job, days, first, known)
    ahead = tables.grid.day_of(base_slot(job, tables.grid, now, clock))
    # The days count from the moment the plan starts; in whole weeks, so that tables last from day to day.
    return tables if ahead <= 0 else Tables(job, days + -(-ahead // 7) * 7, first, known)


def _too_short(job: Job, tables: Tables) -> bool:
    """Whether the work plainly fills the grid: more than half the hours its people are there for."""
    work = sum(task.hours * task.people for task in job.task)
    return work * 2 * PER_HOUR > int(tables.hands.sum()) > 0


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

    def __init__(
        self,
        placer: Placer,
        search: Search,
        deadline: float,
        stop: Stop,
        progress: Progress | None,
        like: Plan | None = None,
    ) -> None:
        assert search.best is not None
        assert search.earliest is not None
        self.placer = placer
        self.search = search
        self.earliest, self.earliest_ends = search.earliest
        self.finish = placer.problem.finish
        self.items = len(placer.problem.items)
        self.began = time.monotonic()
        self.deadline = deadline
        self.stop = stop
        self.progress = progress
        self.bound = self.earliest[self.finish]
        self.hurried = False
        """Whether the clock cut short what settles the ties of a proved launch."""
        shown = search.followed
        self.warm = search.follow(like) if like is not None else None
        first = self.warm if self.warm is not None and self.warm.score < search.best.score else search.best
        if shown is None or first is not shown:
            self.show(first)

    def plan(self, found: Found, final: bool = False) -> Plan:
        """The plan of what was found, with the bound known by now."""
        return build_plan(
            self.placer, found.schedule, self.bound, time.monotonic() - self.began, final, final and self.hurried
        )

    def raise_bound(self, slot: int) -> None:
        """No plan launches before `slot`, nor then before the next start that the finish itself could have.

        Its lift slots, shifts and weather are in its feasible starts. Never past the best launch.
        """
        finish = self.placer.problem.items[self.finish]
        if finish.fixed is None:
            at = bisect_left(finish.course.starts, slot)
            slot = finish.course.starts[at] if at < len(finish.course.starts) else self.best.score[0]
        self.bound = max(self.bound, min(slot, self.best.score[0]))

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

    @property
    def open(self) -> bool:
        """Whether something earlier is still possible, and there is time to look."""
        return self.best.score[0] > self.bound and not self.over()

    def run(self, prove: bool) -> Plan:
        """Search, prove, settle the ties."""
        prove = prove and proof.available() and self.solvable
        if not self.over():
            self.search.first()
        if self.open:
            self.raise_bound(hours_bound(self.placer, self.earliest, self.earliest_ends, self.best.score[0]))
        self.improve(1)
        own = self.best
        if self.warm is not None and self.warm.score < own.score:
            self.search.best = self.warm
        turn = 1
        while self.open:
            if prove:
                self.prove(FIRST_PROOF_SECONDS * 2**turn)
            self.improve(2**turn if prove else 20)
            turn += 1
        if self.best.score[0] <= self.bound:
            if not self.over():
                self.settle(own, prove)
            self.hurried = self.over()
        return self.plan(self.best, True)

    def improve(self, turns: int) -> None:
        """A fixed count of tries of the planner's own search."""
        if self.open:
            self.search.improve(turns * (TRIED_ITEMS // self.items + 10), self.over, self.bound, self.show)

    @property
    def solvable(self) -> bool:
        """Whether the job is small enough for the solver."""
        return self.items <= SOLVED_UP_TO

    def prove(self, seconds: float) -> None:
        """Ask the solver for an earlier launch or the proof that there is none, for so long at most."""

        def better(starts: list[int], keys: dict[tuple[int, int], int]) -> None:
            found = self.search.take(starts, keys)
            if found is not None:
                self.show(found)

        left = min(seconds, self.deadline - time.monotonic())
        outcome = proof.prove(
            self.placer, self.best.schedule.starts, self.earliest, self.bound, left, self.stop, better
        )
        self.raise_bound(outcome.bound)

    def settle(self, own: Found, prove: bool) -> None:
        """Among plans with the proved launch: fewest missed windows, then earlier starts.

        It starts from what the planner's own search found before the solver came in, or from a solver's run that
        counts effort and not time, so that the plan does not depend on the machine's speed. Only the deadline cuts it
        short, and then the plan says so.
        """
        search, launch = self.search, self.best.score[0]
        fallback = self.best
        search.best = own
        search.reseed()
        if prove and (own.score[0] > launch or own.score[1]):
            settled = proof.settle(self.placer, own.schedule.starts, self.earliest, launch, self.over)
            if settled is not None:
                search.take(*settled)
        if self.best.score[0] > launch:
            search.best = fallback
        search.polish(POLISHED_ITEMS // self.items + 10, self.over)
