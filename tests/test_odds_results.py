"""What arrays of futures say together, reckoned by hand."""

from __future__ import annotations

import datetime as dt
import json

import numpy as np
import pytest
from odds_jobs import haul_out, planned

from sequencer.checking import check_plan
from sequencer.odds.results import NEVER, Odds, Tally, odds_from
from sequencer.paper.jsonplan import plan_object
from sequencer.planning.plan import Plan


@pytest.fixture(scope="module")
def plan() -> Plan:
    job = haul_out()
    found = planned(job)
    assert not check_plan(job, json.loads(json.dumps(plan_object(found))))
    return found


def odds_of(plan: Plan, days: list[float], **more: object) -> Odds:
    """Odds of futures that launch so many days after the plan; NEVER for none."""
    launch = np.array([NEVER if day == NEVER else plan.launch + round(96 * day) for day in days])
    tasks = len(plan.job.task)
    marks = np.zeros((len(days), tasks), dtype=bool)
    tally = {"chain": marks, "last": marks, **more}
    return odds_from(plan, Tally(launch, **tally), 1, len(days))  # type: ignore[arg-type]


def test_shares_by_date_and_dates_by_chance(plan: Plan) -> None:
    odds = odds_of(plan, [0, 0, 0, 1, 1, 1, 3, 3, 7, 7])
    day = plan.launched.date()
    assert [odds.by(day + dt.timedelta(days=k)) for k in (-1, 0, 1, 2, 3, 6, 7)] == pytest.approx(
        [0, 0.3, 0.6, 0.6, 0.8, 0.8, 1.0]
    )
    assert odds.date_for(0.3) == plan.launched
    assert odds.date_for(0.5) == plan.launched + dt.timedelta(days=1)
    assert odds.date_for(0.8) == plan.launched + dt.timedelta(days=3)
    assert odds.date_for(0.81) == plan.launched + dt.timedelta(days=7)
    assert odds.as_planned == pytest.approx(0.3)
    assert [x.count for x in odds.launches] == [3, 3, 2, 2]
    assert [x.nights for x in odds.launches] == [plan.nights + k for k in (0, 1, 3, 7)]


def test_by_a_moment_is_to_the_quarter_hour(plan: Plan) -> None:
    odds = odds_of(plan, [0, 1])
    assert odds.by(plan.launched - dt.timedelta(minutes=1)) == 0
    assert odds.by(plan.launched) == 0.5
    assert odds.by(plan.launched.replace(tzinfo=None)) == 0.5
    assert odds.by(plan.launched.astimezone(dt.UTC) + dt.timedelta(hours=24)) == 1.0


def test_futures_without_a_launch_count_against_every_date(plan: Plan) -> None:
    odds = odds_of(plan, [0, 0, 1, NEVER, NEVER])
    assert odds.unplanned == pytest.approx(0.4)
    assert odds.by(dt.date(2099, 1, 1)) == pytest.approx(0.6)
    assert odds.date_for(0.6) is not None
    assert odds.date_for(0.8) is None
    assert odds.nights.at50 == plan.nights + 0 if odds.launches[0].by >= 0.5 else plan.nights + 1
    assert odds.nights.at80 is None
    assert odds.cost.at90 is None
    assert odds.mean_nights == pytest.approx(plan.nights + 1 / 3)


def test_no_launch_at_all_is_no_date(plan: Plan) -> None:
    odds = odds_of(plan, [NEVER, NEVER])
    assert odds.launches == ()
    assert odds.unplanned == 1.0
    assert odds.date_for(0.05) is None
    assert odds.mean_nights is None
    assert odds.mean_cost is None
    assert odds.nights == (None, None, None, None)


def test_before_the_first_future_nothing_is_known(plan: Plan) -> None:
    odds = odds_of(plan, [])
    assert (odds.runs, odds.launches, odds.unplanned) == (0, (), 0.0)
    assert odds.by(plan.launched) == 0
    assert odds.error_of(0.5) == 100.0


def test_money(plan: Plan) -> None:
    """The yard takes 400 for all and 40 a night but for two nights: nights - 2 of them."""
    odds = odds_of(plan, [0, 0, 1, 1, 1, 2, 2, 2, 5, 9], wetter=[0, 96, 48, 48])
    costs = [400 + 40 * (plan.nights + k - 2) for k in (0, 0, 1, 1, 1, 2, 2, 2, 5, 9)]
    assert odds.mean_cost == pytest.approx(np.mean(costs))
    assert odds.cost == (costs[0], costs[4], costs[7], costs[8])
    assert odds.nights == (plan.nights, plan.nights + 1, plan.nights + 2, plan.nights + 5)
    assert odds.night_cost == 40
    assert odds.now_cost == 400
    assert odds.wet_day_nights == pytest.approx(0.5)
    assert odds.wet_day == pytest.approx(20)


def test_a_job_without_a_yard_has_nights_and_no_money() -> None:
    job = haul_out()
    bare = planned(job.model_copy(update={"yard": None}))
    odds = odds_of(bare, [0, 1], wetter=[96])
    assert odds.mean_nights == pytest.approx(bare.nights + 0.5)
    assert odds.mean_cost is None
    assert odds.cost == (None, None, None, None)
    assert (odds.night_cost, odds.now_cost, odds.wet_day) == (None, None, None)


def test_the_error_is_that_of_a_share(plan: Plan) -> None:
    """sqrt(p (1 - p) / n): a binomial share's standard error."""
    odds = odds_of(plan, [0] * 60 + [1] * 40)
    assert odds.error == pytest.approx(100 * np.sqrt(0.6 * 0.4 / 100))
    assert odds.error_of(0.8) == pytest.approx(4.0)
    low, high = odds.date_range(0.55)
    assert (low, high) == (plan.launched, plan.launched + dt.timedelta(days=1))


def test_what_sets_the_launch_and_what_costs_days(plan: Plan) -> None:
    ids = [task.id for task in plan.job.task]
    chain = np.zeros((4, len(ids)), dtype=bool)
    chain[:3, ids.index("coat2")] = True
    chain[3, ids.index("fit-pod")] = True
    lost = {"rain": [96, 0, 0, 0], "hours": [96, 96, 96, 96], "cold": [-48, 0, 0, 0]}
    odds = odds_of(plan, [0, 0, 1, 2], chain=chain, last=chain, lost=lost)
    assert odds.sets_launch == {"coat2": 0.75, "fit-pod": 0.25}
    assert list(odds.sets_launch) == ["coat2", "fit-pod"]
    assert list(odds.risks.items()) == [("hours", 1.0), ("rain", 0.25), ("cold", -0.125)]
