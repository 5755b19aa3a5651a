"""Futures obey the contract, start from what is told, and come out the same whoever makes them."""

from __future__ import annotations

import datetime as dt
import json
import random
from pathlib import Path

import numpy as np
import pytest
from odds_jobs import APRIL_AND_MAY, haul_out, planned
from random_jobs import hand_days, random_job

from sequencer.checking import check_plan
from sequencer.job import Job, parse_job, read_job
from sequencer.odds import Odds, tell_odds, telling
from sequencer.odds.batches import Batches, Field
from sequencer.odds.chances import Chances
from sequencer.odds.future import future_placer
from sequencer.odds.ground import Given, Ground
from sequencer.odds.living import Life, chain, live
from sequencer.odds.skies import TRUST_DAYS
from sequencer.paper.jsonplan import plan_object
from sequencer.planning.placing import Placer
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job, prepare
from sequencer.planning.rows import build_plan
from sequencer.weather.hourly import TOLD, Air


def told_job(seed: int, tasks: int) -> Job:
    """A random haul-out whose weather is told to the end."""
    days = hand_days(random.Random(f"told {seed}"), dt.date(2027, 4, 11), 150)
    return parse_job(random_job(seed, tasks, weather=days))


def check(job: Job, plan: Plan) -> None:
    assert not check_plan(job, json.loads(json.dumps(plan_object(plan))))


def batches_of(job: Job, plan: Plan, runs: int = 100, seed: int = 1) -> Batches:
    return Batches(Given.of(job, plan), seed, runs, plan.problem.tables)


def launches(batches: Batches) -> np.ndarray:
    return np.concatenate([batches.make(k).launch for k in range(batches.count)])


# -- the rules of time ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_with_nothing_uncertain_every_future_is_the_plan(seed: int) -> None:
    job = told_job(seed, 12)
    plan = plan_job(job, seconds=5)
    check(job, plan)
    odds = tell_odds(job, plan, runs=40, cores=1)
    assert [x.moment for x in odds.launches] == [plan.launched]
    assert odds.as_planned == 1.0
    assert odds.error == 0.0
    assert odds.date_for(0.9) >= plan.moment(plan.bound)  # type: ignore[operator]


@pytest.mark.parametrize("seed", range(10))
def test_a_future_is_placed_as_the_planner_places(seed: int) -> None:
    """The tables worked out as far as they are asked for give the very schedules of the whole ones."""
    job = parse_job(random_job(seed, 25))
    plan = plan_job(job, seconds=0, prove=False)
    ground = Ground(Given.of(job, plan), plan.grid.days, plan.problem.tables)
    chances = Chances(ground)
    lazy = future_placer(ground, ground.expected, chances.likely_work, chances.due)
    whole = Placer(ground.problem)
    rng = random.Random(seed)
    for _ in range(6):
        rank = [rng.random() for _ in job.task]
        holds = {rng.randrange(25): rng.randrange(plan.now, plan.launch) for _ in range(3)}
        ours, theirs = lazy.place(rank, holds), whole.place(rank, holds)
        assert (ours.starts, ours.ends) == (theirs.starts, theirs.ends)
        assert [(k.after, k.before, k.start, k.end) for k in ours.keyed] == [
            (k.after, k.before, k.start, k.end) for k in theirs.keyed
        ]


def as_told(job: Job, air: Air, ground: Ground, work: np.ndarray, due: dict[str, int], folder: Path) -> Job:
    """The job of one future with nothing left to chance: its weather as a file, its hours and deliveries as told."""
    lines = ["time,temp_c,dew_c,rain_mm,wind_kn"]
    for slot in range(0, ground.length, 4):
        at = ground.grid.moment(slot).isoformat()
        wet = 1 if air.rain[slot] else 0
        values = (float(air.temp_c[slot]), float(air.dew_c[slot]), wet, min(149.0, float(air.wind_kn[slot])))
        lines.append(",".join([at, *map(repr, values)]))
    (folder / "air.csv").write_text("\n".join(lines))
    weather = job.weather.model_copy(update={"file": "air.csv", "day": (), "normal": ()})
    tasks = []
    for task, slots in zip(job.task, work.tolist(), strict=True):
        hours = {"low": slots / 4, "likely": slots / 4, "high": slots / 4}
        tasks.append(task.model_copy(update={"work": task.work and task.work.model_copy(update=hours)}))
    came = [d.model_copy(update={"due": ground.grid.moment(due[d.id]), "range": None}) for d in job.delivery]
    told = job.model_copy(update={"weather": weather, "task": tuple(tasks), "delivery": tuple(came)})
    told._path = folder / "job.toml"
    return told


@pytest.mark.parametrize("future", range(6))
def test_how_a_future_went_is_a_plan_that_the_check_accepts(future: int, tmp_path: Path) -> None:
    job = haul_out()
    plan = planned(job)
    check(job, plan)
    batches = batches_of(job, plan)
    ground, rng = batches.near.ground, np.random.default_rng(future)
    air = batches.near.weathering.skies([rng]).air(0)
    work, due = batches.near.chances.work(rng), batches.near.chances.deliveries(rng)
    life = live(ground, air, work, due)
    assert life.schedule is not None
    told = as_told(job, air, ground, work, due, tmp_path)
    placer, _ = prepare(told)
    starts = life.schedule.starts
    holds = {i: starts[i] for i in placer.free}
    keys = {(k.after, k.before): k.start for k in life.schedule.keyed}
    again = placer.place(starts, holds, None, keys)
    assert (again.starts, again.ends) == (starts, life.schedule.ends)
    check(told, build_plan(placer, again, 0, 0.0, True))
    best = plan_job(told, seconds=5)
    check(told, best)
    assert life.launch >= best.bound


def test_hours_of_one_go_work_stay_within_its_day() -> None:
    text = HEAD + (
        '[[task]]\nid = "lay-up"\nwork = [4, 6, 20]\none_go = true\n[[task]]\nid = "go"\nwork = 1\nafter = ["lay-up"]\n'
    )
    job = parse_job(text)
    plan = planned(job)
    odds = tell_odds(job, plan, runs=200, cores=1)
    assert odds.unplanned == 0
    assert odds.by(plan.launched.date() + dt.timedelta(days=1)) == 1.0


HEAD = """
[job]
timezone = "Europe/London"
hauled = 2027-03-27T08:00:00
now = 2027-03-27T08:00:00
finish = "go"

[[crew]]
id = "me"
hours = [ { days = "Mon-Sun", from = "08:00", to = "18:00" } ]
"""


def test_a_log_is_kept_and_begun_work_goes_on() -> None:
    """What is finished stays; of begun work that may take 6 to 20 hours some is left, or what `work_left` says."""
    text = HEAD.replace("now = 2027-03-27T08:00:00", "now = 2027-03-28T08:00:00") + (
        '[[task]]\nid = "done"\nwork = 3\nstarted = 2027-03-27T08:00:00\nfinished = 2027-03-27T12:00:00\n'
        '[[task]]\nid = "begun"\nwork = [6, 8, 20]\nafter = ["done"]\nstarted = 2027-03-27T13:00:00\n{left}'
        '[[task]]\nid = "go"\nwork = 1\nafter = ["begun"]\n'
    )
    job = parse_job(text.replace("{left}", "work_left = 3.5\n"))
    odds = tell_odds(job, planned(job), runs=30, cores=1)
    assert [x.moment.isoformat() for x in odds.launches] == ["2027-03-28T11:30:00+01:00"]
    job = parse_job(text.replace("{left}", ""))
    odds = tell_odds(job, planned(job), runs=300, cores=1)
    # Five hours are done by the evening: of 6 to 20 at least one is left, at most fifteen over two days.
    assert odds.launches[0].moment.isoformat() >= "2027-03-28T09:00:00+01:00"
    assert odds.launches[-1].moment.isoformat() <= "2027-03-29T13:00:00+01:00"
    assert len(odds.launches) > 10


# -- what is told -----------------------------------------------------------------------------------------------------


def test_forecasts_hold_less_the_farther_they_reach() -> None:
    """exp(-(L / TRUST_DAYS)²) of the futures still have the told weather after L days; today all have."""
    days = hand_days(random.Random(1), dt.date(2027, 4, 12), 14)
    job = haul_out(weather=days + APRIL_AND_MAY)
    plan = planned(job)
    field: Field = batches_of(job, plan).near
    skies = field.weathering.skies([np.random.default_rng([9, k]) for k in range(800)])
    grid, begin = field.ground.grid, field.weathering.begin
    for lead, share in ((0, 1.0), (1, 0.973), (3, 0.779), (6, 0.368), (10, 0.062)):
        assert share == pytest.approx(np.exp(-((lead / TRUST_DAYS) ** 2)), abs=0.001)
        slots = slice(max(begin, grid.day_start(lead)), grid.day_start(lead + 1))
        held = np.all(skies.columns[0][:, slots] == field.ground.expected.temp_c[slots], axis=1)
        assert held.mean() == pytest.approx(share, abs=0.04)
        assert np.all((skies.source[:, slots] == TOLD).all(axis=1) == held)


def test_told_weather_without_normals_stays_as_told() -> None:
    days = hand_days(random.Random(1), dt.date(2027, 4, 12), 80)
    job = haul_out(weather=days, grind="7", late=False)
    plan = planned(job)
    odds = tell_odds(job, plan, runs=20, cores=1)
    assert [x.moment for x in odds.launches] == [plan.launched]


def test_the_past_is_never_drawn_anew() -> None:
    job = haul_out()
    later = job.model_copy(update={"job": job.job.model_copy(update={"now": dt.datetime(2027, 4, 14, 12)})})
    batches = batches_of(later, planned(later))
    skies = batches.near.weathering.skies([np.random.default_rng(k) for k in range(5)])
    base = batches.near.ground.base
    assert base > 0
    for column in ("temp_c", "dew_c", "rain"):
        assert np.all(getattr(skies.air(3), column)[:base] == getattr(batches.near.ground.expected, column)[:base])
    assert not np.array_equal(skies.air(3).temp_c, batches.near.ground.expected.temp_c)


# -- what moves the odds ----------------------------------------------------------------------------------------------


def chances_of(job: Job, runs: int = 100) -> Odds:
    return tell_odds(job, planned(job), runs=runs, cores=1)


def test_more_rain_launches_later() -> None:
    wetter = APRIL_AND_MAY.replace("wet_days = 11", "wet_days = 22")
    drier = APRIL_AND_MAY.replace("wet_days = 11", "wet_days = 3")
    nights = [chances_of(haul_out(weather, "7", False)).mean_nights for weather in (drier, APRIL_AND_MAY, wetter)]
    assert nights[0] < nights[1] < nights[2]  # type: ignore[operator]


def test_hours_and_deliveries_spread_the_launch() -> None:
    sure = chances_of(haul_out(APRIL_AND_MAY.replace("wet_days = 11", "wet_days = 0"), "7", False))
    late = chances_of(haul_out(APRIL_AND_MAY.replace("wet_days = 11", "wet_days = 0"), "7", True))
    slow = chances_of(haul_out(APRIL_AND_MAY.replace("wet_days = 11", "wet_days = 0"), "[19, 20, 80]", False), 200)
    assert late.mean_nights > sure.mean_nights  # type: ignore[operator]
    assert len(slow.launches) > 1.5 * len(sure.launches)
    assert slow.mean_nights > sure.mean_nights + 1  # type: ignore[operator]
    assert late.risks["delivery"] > 0.2
    assert slow.risks["hours"] > 0.5
    assert "delivery" not in sure.risks
    assert "hours" not in sure.risks


def test_one_more_wet_day_costs_nights() -> None:
    odds = chances_of(haul_out(grind="7", late=False), 200)
    assert odds.wet_day_nights is not None
    assert 0.05 < odds.wet_day_nights < 2
    assert odds.wet_day == pytest.approx(40 * odds.wet_day_nights)
    assert odds.risks["rain"] > 0.1


def test_the_chain_of_a_life_leads_back_from_the_launch() -> None:
    job = haul_out(late=False)
    plan = planned(job)
    batches = batches_of(job, plan)
    ids = [task.id for task in job.task]
    field = batches.near
    chances = field.chances
    on_time = live(field.ground, field.ground.expected, chances.likely_work, chances.due)
    found, last = chain(on_time)
    assert {ids[i] for i in found} == {"relaunch", "fit-pod"} == {r.id for r in plan.rows.values() if r.on_path}
    assert {ids[i] for i in last} == {"fit-pod"}
    early = live(field.ground, field.ground.expected, chances.likely_work, {"pod": plan.now})
    found, last = chain(early)
    assert {ids[i] for i in found} == {"relaunch", "coat2", "coat1", "grind"}
    assert {ids[i] for i in last} == {"coat2"}
    assert chain(Life(-1, early.placer, None)) == (set(), set())


def test_a_job_that_winter_stops_still_counts_its_futures() -> None:
    """No month but April is warm enough and known: what misses it never launches."""
    cold = APRIL_AND_MAY.split("[[weather.normal]]")[1]
    wet = "[[weather.normal]]" + cold.replace("wet_days = 11", "wet_days = 26").replace(
        "rain_hours = 5", "rain_hours = 20"
    )
    job = haul_out(weather=wet, grind="34", late=False)
    odds = chances_of(job, 40)
    assert 0 < odds.unplanned <= 1
    assert sum(x.count for x in odds.launches) == round((1 - odds.unplanned) * 40)


# -- running ----------------------------------------------------------------------------------------------------------


def test_one_core_or_two_give_the_same_odds(monkeypatch: pytest.MonkeyPatch) -> None:
    job = haul_out()
    plan = planned(job)
    alone = tell_odds(job, plan, runs=90, seed=4, cores=1)
    monkeypatch.setattr(telling, "WORTH_HELP_SECONDS", 0.0)
    assert tell_odds(job, plan, runs=90, seed=4, cores=2) == alone
    assert tell_odds(job, plan, runs=90, seed=5, cores=1) != alone
    assert alone.runs == 90


def test_more_futures_begin_with_the_same_ones() -> None:
    job = haul_out()
    plan = planned(job)
    few, many = launches(batches_of(job, plan, 30)), launches(batches_of(job, plan, 70))
    assert np.array_equal(few, many[:30])


def test_a_thousand_futures_say_much_the_same_as_many_more() -> None:
    """Of one job: the 8 in 10 date of 300 futures within a day of that of 1200 others."""
    job = haul_out()
    plan = planned(job)
    few = tell_odds(job, plan, runs=300, seed=1, cores=1)
    many = launches(Batches(Given.of(job, plan), 2, 1200, plan.problem.tables, 0))
    wanted = plan.moment(int(np.quantile(many, 0.8, method="inverted_cdf")))
    assert abs(few.date_for(0.8) - wanted) <= dt.timedelta(days=1)  # type: ignore[operator]


def test_stopped_odds_tell_what_there_is(monkeypatch: pytest.MonkeyPatch) -> None:
    job = haul_out()
    plan = planned(job)
    monkeypatch.setattr(telling, "PROGRESS_SECONDS", 0.0)
    seen: list[Odds] = []
    odds = tell_odds(job, plan, runs=5000, stop=lambda: len(seen) >= 3, progress=seen.append, cores=1)
    assert [o.runs for o in seen] == [20, 40, 60]
    assert odds == seen[-1]
    assert odds.wanted == 5000
    assert tell_odds(job, plan, runs=0, cores=1).launches == ()
    assert tell_odds(job, plan, runs=100, stop=lambda: True, cores=1).runs == 0


def test_the_demo_job_has_odds() -> None:
    job = read_job(Path(__file__).parent.parent / "jobs" / "dunlin-pod.toml")
    plan = plan_job(job, seconds=1, prove=False)
    check(job, plan)
    odds = tell_odds(job, plan, runs=60, cores=1)
    assert odds.runs == 60
    assert odds.launches[0].moment >= plan.moment(plan.bound) - dt.timedelta(days=7)
    assert set(odds.sets_launch) <= set(job.tasks)
    assert odds.sets_launch["relaunch"] == pytest.approx(1 - odds.unplanned)
    assert all(a.by < b.by and a.moment < b.moment for a, b in zip(odds.launches, odds.launches[1:], strict=False))
