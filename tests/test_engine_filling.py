"""Plans with no hands left idle: found where few orders do, kept to every rule, the same each time."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from planned import crew, head, planner_of, task
from random_jobs import random_job

from sequencer.checking import check_plan
from sequencer.job import parse_job
from sequencer.paper.jsonplan import plan_object
from sequencer.planning import filling as filling_module
from sequencer.planning.attempt import Attempt
from sequencer.planning.filling import Filling
from sequencer.planning.goal import goal_of
from sequencer.planning.grain import launches
from sequencer.planning.hours import hours_bound
from sequencer.planning.orders import Found, worth
from sequencer.planning.planner import Planner, never_stop

DAY = 96

TWO_MORNINGS = (
    head(hauled="2027-04-12T08:00:00", finish="off")
    + crew('{ days = "Mon-Fri", from = "08:00", to = "12:00" }')
    + crew('{ days = "Mon-Fri", from = "08:00", to = "10:00" }', name="friend")
    + task("short-1", work=2)
    + task("short-2", work=2)
    + task("long-1", work=4)
    + task("long-2", work=4)
    + task("off", "short-1 short-2 long-1 long-2", work=1)
)
"""Twelve hours' work. The two have six hours a day, from eight to ten side by side."""


def to_bound(planner: Planner) -> None:
    """The first plan bettered by simple orders, and the bound of people's hours."""
    planner.search.first()
    best = planner.best.score[0]
    planner.raise_bound(hours_bound(planner.placer, planner.earliest, planner.earliest_ends, best))


def reached(planner: Planner, attempts: int) -> list[tuple[list[int], dict[tuple[int, int], int]]]:
    """What so many attempts before the best plan find."""
    found = (planner.filling.attempt(planner.bound, planner.best, never_stop) for _ in range(attempts))
    return [one for one in found if one is not None]


def later(planner: Planner, launch: int) -> Found:
    """The first plan, taken to launch only at slot `launch`."""
    planner.search.first()
    return replace(planner.best, score=(launch, 0, 0))


def test_two_mornings_are_filled() -> None:
    """By hand: twelve hours' work fill two mornings of six hours; begun here a long task and a short one each day."""
    planner = planner_of(parse_job(TWO_MORNINGS))
    base, finish = planner.placer.problem.base, planner.finish
    filling = Filling(planner.placer, [base + 2 * DAY], larger=False)
    found = filling.attempt(base, later(planner, base + 2 * DAY + 1), never_stop)
    assert found is not None
    starts, keys = found
    assert not keys
    laid = planner.search.laid(starts, keys)
    assert laid is not None
    assert laid.schedule.starts[finish] == base + 2 * DAY
    names = [item.id for item in planner.placer.problem.items]
    by_day = {day: sorted(n[:-2] for n, start in zip(names, starts, strict=True) if start == day) for day in starts}
    assert by_day[base] == by_day[base + DAY] == ["long", "short"]


def test_no_plan_where_the_hours_do_not_hold_the_work() -> None:
    planner = planner_of(parse_job(TWO_MORNINGS.replace('id = "long-1"\nwork = 4', 'id = "long-1"\nwork = 4.25')))
    base = planner.placer.problem.base
    filling = Filling(planner.placer, [base + 2 * DAY], larger=False)
    assert filling.attempt(base, later(planner, base + 2 * DAY + 1), never_stop) is None


def test_room_by_hand() -> None:
    """Until Wednesday there are twelve hours of hands; with a day gone six, in which ten hours' work has no room."""
    planner = planner_of(parse_job(TWO_MORNINGS))
    placer = planner.placer
    base = placer.problem.base
    goal = goal_of(placer, base + 2 * DAY)
    left = list(goal.needed)
    room = goal.room(placer.yard0, base, left, [base] * len(left))
    assert (room.spare, room.over) == (0, -1)
    assert np.diff(room.done)[:16].tolist() == [2] * 8 + [1] * 8
    late = goal.room(placer.yard0, base + DAY, left, [base + DAY] * len(left))
    assert late.spare == -24
    assert late.over >= 0
    tuesday = [base + DAY if placer.problem.items[i].id != "short-1" else base for i in left]
    assert goal.room(placer.yard0, base, left, tuesday).over >= 0


@pytest.mark.parametrize(("seed", "tasks", "named"), [(24, 45, False), (11, 40, True), (21, 40, True)])
def test_what_is_found_keeps_every_rule_and_launches_sooner(seed: int, tasks: int, named: bool) -> None:
    planner = planner_of(parse_job(random_job(seed, tasks, named=named)))
    to_bound(planner)
    best = planner.best.score[0]
    found = reached(planner, 12)
    assert found
    for starts, keys in found:
        laid = planner.search.laid(starts, keys)
        assert laid is not None
        assert planner.bound <= laid.score[0] < best
        plan = planner.plan(laid)
        assert not check_plan(planner.placer.problem.job, json.loads(json.dumps(plan_object(plan))))


def test_a_tight_job_is_proved_without_the_solver() -> None:
    """The bound of people's hours is met: nothing else needs to be asked."""
    planner = planner_of(parse_job(random_job(24, 45)))
    to_bound(planner)
    assert planner.best.score[0] > planner.bound
    planner.fill()
    assert planner.best.score[0] == planner.bound


def test_windows_are_keyed_in_some_attempts_and_met_in_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    job = parse_job(random_job(24, 45))
    keyed = {}
    for share in (0.0, 1.0):
        monkeypatch.setattr(filling_module, "KEYED_SHARE", share)
        planner = planner_of(job)
        to_bound(planner)
        keyed[share] = [keys for _, keys in reached(planner, 15)]
    assert not any(keyed[0.0])
    assert any(keyed[1.0])


@pytest.mark.parametrize("seed", [0, 3, 8, 9])
def test_what_is_kept_of_a_plan_lies_as_it_lay_and_the_rest_keeps_every_rule(seed: int) -> None:
    planner = planner_of(parse_job(random_job(seed, 40)))
    planner.search.first()
    known, base = planner.best.schedule, planner.placer.problem.base
    launch = planner.best.score[0]
    goal = goal_of(planner.placer, launch)
    order = {i: float(known.starts[i]) for i in goal.needed}
    keyings = 0
    for tenth in range(11):
        since = base + (launch - base) * tenth // 10
        attempt = Attempt(planner.placer, goal, order, True, {}, 400, never_stop)
        if not attempt.go(known, since):
            continue
        for i in goal.needed:
            assert attempt.starts[i] == known.starts[i] or known.starts[i] >= since
            assert attempt.starts[i] < since or known.starts[i] >= since
        kept = {(k.after, k.before): k.start for k in known.keyed if k.start < since and k.after in goal.needed}
        assert kept.items() <= attempt.keys.items()
        keyings += len(kept)
        laid = planner.search.laid(attempt.starts, attempt.keys)
        assert laid is not None
        assert laid.score[0] <= launch
        assert not check_plan(planner.placer.problem.job, json.loads(json.dumps(plan_object(planner.plan(laid)))))
    assert keyings


def test_in_a_larger_job_all_is_ready_sooner_each_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(filling_module, "SOONER_SHARE", 1.0)
    planner = planner_of(parse_job(random_job(3, 70)))
    to_bound(planner)
    assert planner.larger
    sooner = [worth(planner.placer, planner.best)[:2]]
    for _ in range(25):
        found = planner.filling.attempt(planner.bound, planner.in_hand, never_stop)
        if found is not None:
            hand = planner.possible(*found)
            sooner.append(worth(planner.placer, hand)[:2])
    assert len(sooner) > 1
    assert all(new < old for old, new in pairwise(sooner))


@pytest.mark.parametrize(("seed", "tasks"), [(5, 45), (3, 70)])
def test_the_same_each_time(seed: int, tasks: int) -> None:
    job = parse_job(random_job(seed, tasks))
    found = []
    for _ in range(2):
        planner = planner_of(job)
        to_bound(planner)
        found.append(reached(planner, 12))
    assert found[0]
    assert found[0] == found[1]


def test_it_stops_when_told() -> None:
    planner = planner_of(parse_job(random_job(5, 45)))
    to_bound(planner)
    asked = []

    def stop() -> bool:
        asked.append(1)
        return len(asked) > 10

    assert planner.filling.attempt(planner.bound, planner.best, stop) is None
    # Once more at each step that is given up.
    assert len(asked) < 10 + 45 + 10


def test_it_is_left_out_where_no_work_needs_hands_or_the_job_is_small_or_large() -> None:
    nobody = "".join(f'\n[[task]]\nid = "t{k}"\nwait = 5\n' for k in range(40))
    after = json.dumps([f"t{k}" for k in range(40)])
    idle = parse_job(head(finish="off") + crew() + nobody + f'\n[[task]]\nid = "off"\nwait = 1\nafter = {after}\n')
    for job in (idle, parse_job(TWO_MORNINGS), parse_job(random_job(0, 130))):
        planner = planner_of(job)
        before = planner.filling.random.getstate()
        planner.fill()
        assert planner.filling.random.getstate() == before


def test_nothing_is_tried_where_no_launch_is_left_to_aim_at() -> None:
    planner = planner_of(parse_job(TWO_MORNINGS))
    slots = launches(planner.placer)
    filling = Filling(planner.placer, slots, larger=True)
    assert filling.attempt(slots[0], later(planner, slots[0]), never_stop) is None
