"""Launches aimed at: what is asked, and that the answers are true."""

from __future__ import annotations

import json

from random_jobs import random_job

from sequencer.checking import check_plan
from sequencer.job import parse_job
from sequencer.paper.jsonplan import plan_object
from sequencer.planning.aiming import Aim, ask, questions, runs_of
from sequencer.planning.planner import never_stop, plan_job, prepare


def test_runs_end_where_the_next_launch_is_not_a_quarter_hour_on() -> None:
    assert runs_of([3, 4, 5, 9, 12, 13]) == [5, 9, 13]
    assert runs_of([]) == []


def test_each_turn_asks_two_questions_of_the_days_that_are_left() -> None:
    days = [d * 96 + k for d in range(4) for k in range(36, 60)]
    for turn in range(8):
        first, second = questions(days, turn)
        assert first.last != second.last
        assert {first.last % 96, second.last % 96} == {59}
        assert first.seed != second.seed


def test_within_one_day_the_questions_aim_between_its_hours() -> None:
    first, second = questions(list(range(40, 50)), 0)
    assert (first.last, second.last) == (45, 40)
    only, again = questions([40], 3)
    assert only.last == again.last == 40


def test_the_proved_launch_can_be_reached_and_the_one_before_it_not() -> None:
    job = parse_job(random_job(4, 20))
    plan = plan_job(job, seconds=30)
    assert plan.proved
    assert check_plan(job, json.loads(json.dumps(plan_object(plan)))) == []
    placer, search = prepare(job)
    assert search.earliest is not None
    finish = placer.problem.items[placer.problem.finish].course.starts
    before = max(s for s in finish if s < plan.rows[job.job.finish].start)
    possible, sooner = Aim(plan.rows[job.job.finish].start, 1), Aim(before, 2)
    earliest = search.earliest[0]
    # One after the other: an answer to the one makes an equal question to the other moot.
    for aim in (possible, sooner):
        ask(placer, earliest, earliest[placer.problem.finish], [aim], 30, never_stop)
    assert possible.starts is not None
    assert possible.starts[placer.problem.finish] <= possible.last
    assert not possible.none
    assert sooner.none
    assert sooner.starts is None


def test_an_answer_makes_the_questions_it_settles_moot() -> None:
    job = parse_job(random_job(4, 20))
    placer, search = prepare(job)
    assert search.earliest is not None
    earliest = search.earliest[0]
    bound = earliest[placer.problem.finish]
    launch = plan_job(job, seconds=30).rows[job.job.finish].start
    later, latest = Aim(launch, 1), Aim(launch + 960, 2)
    ask(placer, earliest, bound, [later, latest], 30, never_stop)
    assert latest.moot or latest.starts is not None
    assert later.moot or later.starts is not None
    assert later.starts is not None or latest.starts is not None
