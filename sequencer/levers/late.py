"""The date by which 8 in 10 futures are afloat, asked of each lever with the same futures."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from sequencer.job import Job
from sequencer.odds import tell_odds
from sequencer.planning.plan import Plan
from sequencer.planning.planner import Stop, never_stop

SHARE = 0.8

RUNS = 100
"""Futures asked of each: at 8 in 10 so many tell to 4 points of 100, and all are asked the same ones."""

OddsOf = Callable[[Job, Plan], dt.datetime | None]
"""The moment by which 8 in 10 futures of a plan are afloat; the same seed for all, so that chance falls out."""


def eight_in_ten(runs: int = RUNS, seed: int = 1, stop: Stop = never_stop) -> OddsOf:
    """Asks `runs` futures of each plan; None where it is stopped before all are lived through, or too few launch."""

    def asked(job: Job, plan: Plan) -> dt.datetime | None:
        odds = tell_odds(job, plan, runs, seed, stop)
        return odds.date_for(SHARE) if odds.runs == runs else None

    return asked
