"""Launches aimed at: what is asked, and that the answers are true."""

from __future__ import annotations

import json

import pytest
from ortools.sat.python import cp_model
from planned import MORNINGS_LINE, crew, head, planner_of
from random_jobs import random_job

from sequencer.checking import check_plan
from sequencer.job import Job, parse_job
from sequencer.paper.jsonplan import plan_object
from sequencer.planning import proof
from sequencer.planning.aiming import Aim, Aiming
from sequencer.planning.bound import latest_starts
from sequencer.planning.limits import limit_shifts
from sequencer.planning.model import Model
from sequencer.planning.planner import never_stop, plan_job, prepare

MORNINGS = head(timezone="Europe/London", finish="off") + crew(MORNINGS_LINE)


def aiming_of(job: Job, launch: int | None = None) -> Aiming:
    """Questions of a job whose best launch is at this slot, else that of its first plan."""
    placer, search = prepare(job)
    assert search.earliest is not None
    assert search.best is not None
    aiming = Aiming(placer, search.earliest[0])
    aiming.around = search.best.schedule.starts
    aiming.first = search.earliest[0][placer.problem.finish]
    aiming.launch = search.best.score[0] if launch is None else launch
    return aiming


def test_questions_aim_at_slots_not_ruled_out_and_before_the_best_launch() -> None:
    aiming = aiming_of(parse_job(random_job(2, 45)))
    slots = aiming.open()
    finish = aiming.placer.problem.items[aiming.placer.problem.finish]
    assert list(slots) == [s for s in finish.course.starts if aiming.first <= s < aiming.launch]
    assert len(slots) > 8
    aims = [aiming.anywhere() for _ in range(200)]
    assert {a.last for a in aims} <= set(slots)
    assert len({a.last for a in aims}) > 8
    # The early ones sooner: a quarter of the slots gets more than a quarter of the questions.
    assert sum(a.last in slots[: len(slots) // 4] for a in aims) > 100
    assert {a.at is None for a in aims} == {True, False}
    assert aiming.lowest().last == slots[0]


def test_a_question_asked_again_has_another_seed_and_more_effort() -> None:
    aiming = aiming_of(parse_job(random_job(2, 45)))
    first, again = aiming.lowest(), aiming.lowest()
    assert (first.first, first.last) == (again.first, again.last)
    assert first.seed != again.seed
    assert again.effort == pytest.approx(1.5 * first.effort)


def test_a_launch_ruled_out_sends_the_next_question_further_on() -> None:
    aiming = aiming_of(parse_job(random_job(2, 45)))
    slots = aiming.open()
    aim = aiming.lowest()
    aim.none = True
    aiming._told(aim, lambda _starts, _keys: [], lambda slot: slot)
    assert aiming.first == slots[0] + 1
    assert aiming.lowest().last == slots[2]


def test_a_plan_in_hand_is_drawn_together_to_the_launch_aimed_at() -> None:
    aiming = aiming_of(parse_job(random_job(2, 45)))
    problem, around = aiming.placer.problem, aiming.around
    base, finish, last = problem.base, problem.finish, aiming.open()[0]
    at = aiming.drawn(last)
    share = (last - base) / (around[finish] - base)
    assert at[finish] == last
    for i in aiming.placer.free:
        assert at[i] == pytest.approx(base + share * (around[i] - base), abs=1)


def test_the_same_question_has_the_same_answer_and_is_not_asked_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    job = parse_job(random_job(0, 45))
    launch = plan_job(job, seconds=60).launch
    one, other = aiming_of(job, launch), aiming_of(job, launch)
    found = one.settled(launch, 20.0, never_stop)
    again = other.settled(launch, 20.0, never_stop)
    assert found is not None
    assert again is not None
    assert found.starts == again.starts
    assert found.starts is not None
    assert found.starts[one.placer.problem.finish] == launch

    def never(*_args: object) -> None:
        raise AssertionError("asked twice")

    monkeypatch.setattr(proof, "reach", never)
    assert one.settled(launch, 0.0, never_stop) is found
    assert aiming_of(job, launch).settled(launch, 0.0, never_stop) is None


def test_an_answer_cut_short_is_not_kept() -> None:
    job = parse_job(random_job(0, 45))
    launch = plan_job(job, seconds=60).launch
    aiming = aiming_of(job, launch)
    assert aiming.settled(launch, 20.0, lambda: True) is None
    assert aiming._answered == {}


def test_the_proved_launch_can_be_reached_and_the_one_before_it_not() -> None:
    job = parse_job(random_job(4, 20))
    plan = plan_job(job, seconds=30)
    assert plan.proved
    assert check_plan(job, json.loads(json.dumps(plan_object(plan)))) == []
    placer, search = prepare(job)
    assert search.earliest is not None
    finish = placer.problem.items[placer.problem.finish].course.starts
    before = max(s for s in finish if s < plan.rows[job.job.finish].start)
    possible, sooner = Aim(0, plan.rows[job.job.finish].start, 1, 60.0), Aim(0, before, 2, 60.0)
    for aim in (possible, sooner):
        proof.reach(placer, search.earliest[0], aim, 60, never_stop)
    assert possible.starts is not None
    assert possible.starts[placer.problem.finish] <= possible.last
    assert not possible.none
    assert sooner.none
    assert sooner.starts is None


@pytest.mark.parametrize("seed", range(6))
def test_asking_from_the_first_plan_ends_at_the_launch_there_is(seed: int) -> None:
    job = parse_job(random_job(seed, 12))
    proved = plan_job(job, seconds=60)
    assert proved.proved
    planner = planner_of(job)
    if planner.bound < planner.best.score[0]:
        planner.aim(60)
    assert planner.best.score[0] == planner.bound == proved.launch
    assert check_plan(job, json.loads(json.dumps(plan_object(planner.plan(planner.best, True))))) == []


@pytest.mark.parametrize("seed", range(8))
def test_what_must_fit_before_the_launch_rules_out_no_launch_there_is(seed: int) -> None:
    job = parse_job(random_job(seed, 14))
    plan = plan_job(job, seconds=60)
    assert plan.proved
    placer, search = prepare(job)
    assert search.earliest is not None
    found = planner_of(job)
    found.aim(60)
    starts = list(found.best.schedule.starts)
    # The plan itself keeps the limits: with every start at its own, the model has a solution.
    model = Model(placer, starts, starts)
    assert not model.hopeless
    limit_shifts(model)
    solver = cp_model.CpSolver()
    assert solver.solve(model.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)


def test_more_work_than_fits_before_the_launch_is_ruled_out_without_a_search() -> None:
    """By hand: three tasks of 4 h for one person on shift 4 h a day; two days' hours hold two of them, three all."""
    tasks = "".join(f'[[task]]\nid = "t{k}"\nwork = 4\n' for k in range(3))
    job = parse_job(MORNINGS + tasks + '[[task]]\nid = "off"\nwork = 1\nafter = ["t0", "t1", "t2"]\n')
    placer, search = prepare(job)
    assert search.earliest is not None
    for day, possible in ((2, False), (3, True)):
        model = Model(placer, search.earliest[0], latest_starts(placer, day * 96 + 8 * 4))
        assert not model.hopeless
        limit_shifts(model)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(model.model)
        assert (status == cp_model.INFEASIBLE) != possible
        assert possible or solver.num_branches == 0
