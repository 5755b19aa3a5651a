"""From a job to a problem with its first plan, on the shortest grid that holds one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from sequencer.errors import JobError, NoPlanError
from sequencer.grid import PER_HOUR
from sequencer.job import Job
from sequencer.job.logbook import log_faults
from sequencer.planning.compiling import base_slot, compile_problem, first_moment
from sequencer.planning.placing import Placer
from sequencer.planning.plan import Plan
from sequencer.planning.rows import build_plan
from sequencer.planning.search import Search
from sequencer.planning.tables import Tables
from sequencer.planning.trouble import explain_no_plan

HORIZONS = (60, 150, 368)
"""Days of grid tried in turn; the last is the year within which a job must be planned."""

MARGIN = 21 * 96
"""Slots a launch must lie ahead of the grid's end: near it, starts are lost whose dry time the grid cuts off."""

Progress = Callable[[Plan], None]


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
        if like is not None and days != HORIZONS[-1] and 2 * days <= like.grid.days:
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
