"""An independent check of plans: does a plan keep every rule of its job?

The check shares nothing with the planner but the job file's models. It is plain on purpose: quarter hours in
loops, dictionaries and lists, so that it can be read beside the rules.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sequencer.checking.clock import Clock
from sequencer.checking.doings import Doing, Yard
from sequencer.checking.order import (
    check_after,
    check_keying,
    check_wait_start,
    check_windows,
    make_doings,
)
from sequencer.checking.outcome import (
    check_bound,
    check_launch,
    check_nights,
    check_path,
    check_slack,
    check_stages,
    check_stay,
)
from sequencer.checking.own import check_log, check_own
from sequencer.checking.report import RULES, Finding, Report
from sequencer.checking.rows import Row, read_rows, told_now
from sequencer.checking.shared import check_dust, check_gear, check_people
from sequencer.job import Job

__all__ = ["RULES", "Finding", "check_plan"]


def check_plan(job: Job, plan: Mapping[str, Any], now: dt.datetime | None = None) -> list[Finding]:
    """Every rule that `plan`, the object ``sequencer plan --json`` prints, breaks; empty if it keeps all.

    Of the plan only the tasks' ``id``, ``start``, ``end`` and ``pieces``, and the ``launch``, must be there;
    the rest is checked where it is there. `now` (without an offset: the yard's time) goes before the job's
    own ``now``, and that before one the plan tells; with none of them only the haul-out is the earliest
    moment, since the clock of the day the plan was made is not known.

    Raises JobError where the job's weather file cannot be read. Never raises for anything in `plan`.
    """
    report = Report()
    if not isinstance(plan, Mapping):
        report.add("shape", "", "is no JSON object")
        return report.findings
    clock = Clock(job.job.timezone, job.job.hauled)
    rows = read_rows(plan, clock, report)
    doings = make_doings(job, rows, clock, report)
    yard = Yard(job, clock, doings, now or job.job.now or told_now(plan, clock))
    for doing in doings:
        row = rows[doing.id]
        assert row is not None
        _check_row(yard, doing, row, rows, report)
    check_people(yard, report)
    check_gear(yard, report)
    check_dust(yard, report)
    _check_outcome(yard, plan, rows, report)
    return report.findings


def _check_row(yard: Yard, doing: Doing, row: Row, rows: dict[str, Row | None], report: Report) -> None:
    check_log(yard, doing, row, report)
    check_own(yard, doing, report)
    check_after(yard, doing, report)
    check_windows(yard, doing, rows, report)
    check_keying(yard, doing, report)
    check_wait_start(yard, doing, report)


def _check_outcome(yard: Yard, plan: Mapping[str, Any], rows: dict[str, Row | None], report: Report) -> None:
    launch = check_launch(yard, plan, report)
    for doing in yard.doings.values():
        row = rows[doing.id]
        assert row is not None
        check_stages(yard, doing, row, launch, report)
    check_nights(yard, plan, launch, report)
    check_stay(yard, plan, launch, report)
    check_bound(yard, plan, launch, report)
    check_path(yard, rows, report)
    check_slack(rows, report)
