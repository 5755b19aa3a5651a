"""The first plan after a change, the bound between lifts, tasks pushed together, a clock run out."""

from __future__ import annotations

from itertools import pairwise

import pytest
from planned import assert_kept, crew, head, normals, planner_of, task, zone
from random_jobs import random_job

from sequencer.job import Job, parse_job
from sequencer.planning import proof
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job, prepare
from sequencer.planning.pushing import Pushing
from sequencer.planning.search import Search
from sequencer.planning.slack import Slack
from sequencer.planning.usage import Usage

SHIFT = '{ days = "Mon-Sun", from = "08:00", to = "09:30" }'
LIFT = '[ { days = "Mon Thu", from = "08:00", to = "08:45" } ]'
HELD = """
[[material]]
id = "coat"
temps = [20]
set = 0.5
recoat = { opens = 20, closes = 25, if_missed = { work = 1 } }
"""


class FirstPlan(Exception):  # noqa: N818
    """The first plan has come."""


def first_plan(job: Job, like: Plan | None) -> Plan:
    """The first plan handed on, and nothing tried after it."""
    seen: list[Plan] = []

    def progress(plan: Plan) -> None:
        seen.append(plan)
        raise FirstPlan

    with pytest.raises(FirstPlan):
        plan_job(job, like=like, progress=progress)
    return seen[0]


def planned(*parts: str) -> Job:
    """A job of these parts, at 20 °C."""
    return parse_job("\n".join([head(), normals(), crew(SHIFT), zone("bay", "covered"), *parts]))


@pytest.mark.parametrize(("seed", "tasks"), [(0, 12), (3, 30), (1, 120)])
def test_after_a_change_the_order_in_hand_comes_before_anything_is_searched(
    seed: int, tasks: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = parse_job(random_job(seed, tasks))
    before = plan_job(job, seconds=0)
    monkeypatch.setattr(Search, "at_once", lambda _self: pytest.fail("searched before the first plan was shown"))
    plan = first_plan(job, before)
    assert_kept(job, plan)
    assert plan.launch <= before.launch
    assert not plan.stopped


def test_the_first_plan_after_a_change_holds_its_coats_back_where_the_last_one_did() -> None:
    def coat(name: str, after: str = "") -> str:
        return task(name, after, zone='"bay"', material='"coat"', work=0.5)

    late = task("late", work=0.25, not_before="2027-04-14")
    job = planned(HELD, coat("one"), late, coat("two", "one@recoat late"), task("launch", "two", work=0.25))
    before = plan_job(job)
    assert before.rows["one"].start >= 96  # Held back a day: the window would close before the second coat.
    more = planned(
        HELD, coat("one"), late, coat("two", "one@recoat late"), task("extra"), task("launch", "two extra", work=0.25)
    )
    plan = first_plan(more, before)
    assert_kept(more, plan)
    assert not plan.missed
    assert plan.launch == plan_job(more).launch


def test_a_bound_between_two_lifts_is_the_next_lift() -> None:
    job = planned(task("work", work=2), task("launch", "work", work=0.25, slots=LIFT))
    planner = planner_of(job)
    finish = planner.placer.problem.items[planner.finish]
    starts = finish.course.starts
    planner.search.best.score = (starts[-1], 0, 0)  # type: ignore[union-attr]
    night = next(a + 1 for a, b in pairwise(starts) if b > a + 90)
    planner.raise_bound(night)
    assert planner.bound == next(s for s in starts if s > night)
    planner.raise_bound(night - 40)
    assert planner.bound == next(s for s in starts if s > night)
    planner.raise_bound(starts[-1] + 1)
    assert planner.bound == starts[-1]


@pytest.mark.parametrize("seed", range(8))
def test_an_unproved_bound_is_a_moment_at_which_the_finish_could_start(seed: int) -> None:
    job = parse_job(random_job(seed, 30))
    plan = plan_job(job, seconds=0.3, prove=False)
    assert_kept(job, plan)
    finish = plan.problem.items[plan.problem.finish]
    assert plan.bound in finish.course.starts


@pytest.mark.parametrize("seed", range(8))
def test_tasks_pushed_together_leave_the_launch_where_it_is_and_those_left_out_do_not(seed: int) -> None:
    job = parse_job(random_job(seed, 14))
    plan = plan_job(job, seconds=0)
    planner = planner_of(job)
    placer = planner.placer
    schedule = placer.place(
        [float(plan.rows[i.id].start) for i in placer.problem.items],
        {i: plan.rows[placer.problem.items[i].id].start for i in placer.free if not placer.problem.items[i].is_wait},
    )
    assert schedule.starts[planner.finish] == plan.launch
    latest = Slack(placer, schedule, Usage(placer, schedule)).latest
    later = {i: latest[i] for i in placer.free if latest[i] > schedule.starts[i]}
    pushing = Pushing(placer, schedule)
    kept = pushing.all_kept(later)
    for i in later:
        assert i in kept or not pushing.keeps_launch({i: later[i]})
    # Held past the launch, nothing that the launch waits for is kept.
    past = {i: plan.launch + 1 for i in later if i in placer.before_launch and i != planner.finish}
    assert pushing.all_kept(past) == set()


def test_no_task_pushed_is_no_question() -> None:
    placer, search = prepare(parse_job(random_job(0, 8)))
    assert search.best is not None
    assert Pushing(placer, search.best.schedule).all_kept({}) == set()


def test_the_clock_stops_the_ties_and_the_plan_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    job = parse_job(random_job(0, 12))
    asked: list[bool] = []

    def fewer(*args: object) -> None:
        stop = args[4]
        assert callable(stop)
        asked.append(stop())

    monkeypatch.setattr(proof, "fewer_windows", fewer)
    planner = planner_of(job)
    best = planner.best
    planner.bound = best.score[0]
    best.score = (best.score[0], 1, best.score[2])
    planner.settle(best, True)
    planner.deadline = 0.0
    planner.settle(best, True)
    assert asked == [False, True]
    hasty = plan_job(job, seconds=0)
    assert hasty.stopped
    assert not plan_job(job, seconds=60).stopped
