"""Launches aimed at: what is asked, and that the answers are true."""

from __future__ import annotations

import json
import math

import pytest
from ortools.sat.python import cp_model
from planned import MORNINGS_LINE, assert_kept, crew, head, material, normals, planner_of, task, zone
from random_jobs import random_job

from sequencer.checking import check_plan
from sequencer.job import Job, parse_job
from sequencer.paper.jsonplan import plan_object
from sequencer.planning import proof
from sequencer.planning.aiming import Aiming
from sequencer.planning.aims import EFFORT, Aim, Aims
from sequencer.planning.bound import latest_starts
from sequencer.planning.limits import limit_shifts
from sequencer.planning.model import Model
from sequencer.planning.planner import never_stop, plan_job, prepare

MORNINGS = head(timezone="Europe/London", finish="off") + crew(MORNINGS_LINE)


def aiming_of(job: Job) -> Aiming:
    """Questions of a job whose plan in hand is its first."""
    placer, search = prepare(job)
    assert search.earliest is not None
    assert search.best is not None
    aiming = Aiming(placer, search.earliest[0], search.best)
    aiming.aims.first = search.earliest[0][placer.problem.finish]
    return aiming


def aims_of(job: Job) -> Aims:
    """What may be asked of it."""
    return aiming_of(job).aims


def test_questions_of_all_plans_aim_at_slots_of_the_lift_the_early_ones_sooner() -> None:
    aims = aims_of(parse_job(random_job(2, 45)))
    slots = aims.open()
    finish = aims.placer.problem.items[aims.placer.problem.finish]
    assert list(slots) == [s for s in finish.course.starts if aims.first <= s < aims.launch]
    assert len(slots) > 8
    asked = [a for a in (aims.anywhere() for _ in range(400)) if a.at is None]
    assert 150 < len(asked) < 250
    assert {a.last for a in asked} <= set(slots)
    assert len({a.last for a in asked}) > 8
    # A quarter of the slots gets more than half of the questions.
    assert sum(a.last in slots[: len(slots) // 4] for a in asked) > len(asked) / 2
    others = [a for a in (aims.anywhere() for _ in range(200)) if a.at is not None]
    assert {a.last for a in others} <= set(slots)
    assert {a.effort for a in others} == {EFFORT * len(aims.placer.free)}
    assert aims.lowest().last == slots[0]


def test_questions_round_the_plan_in_hand_aim_about_a_stride_sooner_or_at_the_last_slot_of_a_day() -> None:
    text = random_job(1, 70)
    shorter = text.replace('from = "09:00", to = "15:00"', 'from = "09:00", to = "11:00"')
    aims = aims_of(parse_job(shorter))
    place, lasts = aims.axis.first_from, aims.last_of_days()
    assert 2 < len(lasts) < len(aims.open())
    assert all(slot + 1 not in aims.launches for slot in lasts[:-1])
    assert lasts[-1] == aims.open()[-1]
    asked = [a for a in (aims.anywhere() for _ in range(1200)) if not a.by_legs]
    assert all(a.at is not None for a in asked)
    near = [a for a in asked if 4 <= place(aims.ready) - place(a.last) <= 12]
    assert len(near) > len(asked) / 2
    assert {a.last for a in asked} - set(aims.launches), "between the lift's hours too"
    assert sum(a.last in lasts for a in asked) > len(asked) / 8
    assert all(aims.first <= a.last < max(aims.ready, aims.launch) for a in asked)
    whole = EFFORT * len(aims.placer.free)
    assert {round(a.effort / whole, 2) for a in asked} == {0.25, 0.5, 1.0}
    aims.stride = 40.0
    asked = [a for a in (aims.anywhere() for _ in range(1200)) if not a.by_legs]
    assert all(a.at is not None for a in asked)
    assert sum(20 <= place(aims.ready) - place(a.last) <= 60 for a in asked) > len(asked) / 2


def test_the_stride_grows_where_a_question_fared_well_and_shrinks_where_not() -> None:
    aiming = aiming_of(parse_job(random_job(2, 45)))
    aims = aiming.aims
    starts, stride = aims.around.schedule.starts, aims.stride

    def told(**answer: object) -> float:
        aim = Aim(aims.first, aims.ready - 1, 1, 1.0, list(starts), **answer)  # type: ignore[arg-type]
        aiming._told(aim, lambda _starts, _keys: aims.around, lambda slot: slot)
        return aims.stride

    assert told(starts=starts, keys={}) == pytest.approx(1.5 * stride)
    assert told() == pytest.approx(0.85 * 1.5 * stride)
    assert told(cut=True) == pytest.approx(0.85 * 1.5 * stride)
    for _ in range(40):
        told()
    assert aims.stride == 1.0


def test_ready_sooner_is_possible_between_the_lifts_hours_as_well() -> None:
    """By hand: two tasks of 4 h take Monday's and Tuesday's hours, the lift comes on Friday.

    All is ready on Tuesday at noon and not a quarter hour sooner; so there is no launch on Tuesday, before the lift
    comes at all.
    """
    lift = 'slots = [ { days = "Fri", from = "08:00", to = "12:00" } ]\n'
    tasks = "".join(f'[[task]]\nid = "t{k}"\nwork = 4\n' for k in range(2))
    tasks += f'[[task]]\nid = "off"\nwork = 1\nafter = ["t0", "t1"]\n{lift}'
    aiming = aiming_of(parse_job(MORNINGS + tasks))
    base = aiming.placer.problem.base
    noon, friday = base + 96 + 16, base + 4 * 96
    assert (aiming.aims.ready, aiming.aims.launch) == (noon, friday)
    aiming.aims.first = 0
    for last, possible in ((noon, True), (noon - 1, False)):
        aim = Aim(0, last, 1, 60.0)
        aiming.answer(aim, math.inf, never_stop)
        assert (aim.starts is not None) == possible
        assert aim.nowhere != possible
        assert aiming.aims.moot(aim) == possible
        if aim.starts is not None:
            assert aim.starts[aiming.placer.problem.finish] == friday


def test_a_question_asked_again_has_another_seed_and_more_effort() -> None:
    aims = aims_of(parse_job(random_job(2, 45)))
    first, again = aims.lowest(), aims.lowest()
    assert (first.first, first.last) == (again.first, again.last)
    assert first.seed != again.seed
    assert again.effort == pytest.approx(1.5 * first.effort)


def test_a_launch_ruled_out_sends_the_next_question_further_on() -> None:
    aiming = aiming_of(parse_job(random_job(2, 45)))
    aims = aiming.aims
    slots = aims.open()
    aim = aims.lowest()
    aim.none = True
    aiming._told(aim, lambda _starts, _keys: aims.around, lambda slot: slot)
    assert aims.first == slots[0] + 1
    assert aims.lowest().last == slots[2]


def test_a_plan_in_hand_is_drawn_together_to_the_slot_aimed_at() -> None:
    aims = aims_of(parse_job(random_job(2, 45)))
    problem, starts = aims.placer.problem, aims.around.schedule.starts
    base, last = problem.base, aims.open()[0]
    at = aims.drawn(last)
    share = (last - base) / (aims.ready - base)
    assert 0 < share < 1
    for i in aims.placer.free:
        assert at[i] == pytest.approx(base + share * (starts[i] - base), abs=1)
    assert aims.drawn(aims.ready) == starts


def test_the_same_question_has_the_same_answer_and_is_not_asked_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    job = parse_job(random_job(0, 45))
    launch = plan_job(job, seconds=60).launch
    one, other = aiming_of(job), aiming_of(job)
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
    assert aiming_of(job).settled(launch, 0.0, never_stop) is None


def test_an_answer_cut_short_is_not_kept() -> None:
    job = parse_job(random_job(0, 45))
    launch = plan_job(job, seconds=60).launch
    aiming = aiming_of(job)
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


def test_keying_of_the_launch_itself_may_lie_after_all_other_work() -> None:
    """By hand: Monday's four hours hold the coat and nothing else; what it is keyed for, 2 h, waits till the launch."""
    stages = "set = 2\nsand = 20\nimmerse = { opens = 4, closes = 24, if_missed = { work = 2 } }"
    job = parse_job(
        MORNINGS
        + normals()
        + zone()
        + material([20], stages)
        + task("coat", zone='"bay"', material='"coat"', work=4)
        + task("rest", "coat", wait=72)
        + task("off", "coat@immerse rest", work=1)
    )
    plan = plan_job(job, seconds=60)
    assert plan.proved
    assert_kept(job, plan)
    assert len(plan.missed) == 1
    placer, search = prepare(job)
    assert search.earliest is not None
    launch = placer.problem.base + 4 * 96
    assert plan.launch == launch
    model = Model(placer, search.earliest[0], latest_starts(placer, launch))
    limit_shifts(model)
    solver = cp_model.CpSolver()
    assert solver.solve(model.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    (key,) = model.keys.values()
    assert solver.value(key.missed)
