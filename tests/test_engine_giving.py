"""Questions round a plan: what must move far gives way, the rest stays near, and the answers are true."""

from __future__ import annotations

import json
import math

import pytest
from planned import MORNINGS_LINE, crew, head, planner_of
from random_jobs import random_job

from sequencer.checking import check_plan
from sequencer.job import parse_job
from sequencer.paper.jsonplan import plan_object
from sequencer.planning import aims as aims_module
from sequencer.planning.aiming import Aiming
from sequencer.planning.aims import Aim
from sequencer.planning.bounded import model_by
from sequencer.planning.giving import FARTHER, Nearness, give_way
from sequencer.planning.orders import DAY
from sequencer.planning.planner import Planner, never_stop, plan_job

MORNINGS = head(timezone="Europe/London", finish="off") + crew(MORNINGS_LINE)
"""Monday to Friday, four hours a day."""

FIVE_DAYS = "".join(f'[[task]]\nid = "t{k}"\nwork = 4\n' for k in range(4)) + (
    '[[task]]\nid = "rest"\nwait = 72\nafter = ["t3"]\n'
    '[[task]]\nid = "off"\nwork = 4\nafter = ["t0", "t1", "t2", "rest"]\n'
)
"""Four days' work in any order, but t3 has three days' rest before the launch."""


def by_hand() -> tuple[Planner, dict[str, int], list[int]]:
    """The job of five days, its items by id, and starts with t3 as the last of the four: a day's launch too late."""
    planner = planner_of(parse_job(MORNINGS + FIVE_DAYS))
    problem = planner.placer.problem
    index = {item.id: item.index for item in problem.items}
    at = [0] * len(problem.items)
    for day, name in enumerate(("t0", "t1", "t2", "t3")):
        at[index[name]] = problem.base + day * DAY
    at[index["rest"]] = at[index["t3"]] + 16
    at[index["off"]] = problem.base + 4 * DAY
    return planner, index, at


def test_what_stands_against_the_launch_gives_way_and_the_rest_stays_near() -> None:
    """By hand: for a launch on Friday t3 must come first; a day's way is not enough for it, and is for the others."""
    planner, index, at = by_hand()
    friday = planner.placer.problem.base + 4 * DAY
    aim = Aim(friday, friday, 1, 60.0, at, DAY)
    give_way(planner.placer, planner.earliest, aim, never_stop)
    assert not aim.none
    assert aim.between is not None
    assert aim.ways[index["t3"]] > DAY
    assert {aim.ways[index[name]] for name in ("t0", "t1", "t2")} == {DAY}
    first, last = aim.between
    assert first[index["t3"]] == planner.placer.problem.base
    assert last[index["t0"]] == at[index["t0"]] + DAY


def test_the_starts_named_are_those_that_cannot_all_lie_so_near() -> None:
    planner, index, at = by_hand()
    friday = planner.placer.problem.base + 4 * DAY
    model = model_by(planner.placer, planner.earliest, friday, friday)
    assert model is not None
    near = Nearness(model, at)
    ways = {i: DAY for i in model.work if i != planner.finish}
    clash = near.clash(ways, 1, never_stop)
    assert clash
    assert set(clash) <= {index["t3"], index["rest"]}
    far = dict.fromkeys(ways, 4 * DAY)
    assert near.clash(far, 1, never_stop) is None


def test_where_nothing_can_be_at_all_no_start_is_to_blame() -> None:
    """By hand: sixteen hours of work and four of launching do not go into three days of four hours."""
    planner, _, at = by_hand()
    thursday = planner.placer.problem.base + 3 * DAY
    aim = Aim(0, thursday, 1, 60.0, at, DAY)
    give_way(planner.placer, planner.earliest, aim, never_stop)
    assert aim.none
    assert aim.between is None


def test_ways_that_leave_out_nothing_are_no_bounds() -> None:
    planner, _, at = by_hand()
    friday = planner.placer.problem.base + 4 * DAY
    aim = Aim(friday, friday, 1, 60.0, at, 100 * DAY)
    give_way(planner.placer, planner.earliest, aim, never_stop)
    assert (aim.none, aim.between) == (False, None)


def test_what_clashes_may_lie_twice_as_far_each_time() -> None:
    planner, _, at = by_hand()
    friday = planner.placer.problem.base + 4 * DAY
    aim = Aim(friday, friday, 1, 60.0, at, DAY // 2)
    give_way(planner.placer, planner.earliest, aim, never_stop)
    assert {math.log(way / (DAY // 2), FARTHER) % 1 for way in aim.ways.values()} == {0.0}


@pytest.mark.parametrize("up_to", [0, 60])
@pytest.mark.parametrize("keyless", [False, True])
@pytest.mark.parametrize("seed", range(8))
def test_asked_round_any_plan_the_proved_launch_is_found_and_none_before_it(
    seed: int, keyless: bool, up_to: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The launch is proved by the solver on the whole job; the plan found is checked by the independent checker."""
    job = parse_job(random_job(seed, 13))
    proved = plan_job(job, seconds=60)
    assert proved.proved
    monkeypatch.setattr(aims_module, "ANYHOW_UP_TO", up_to)
    planner = planner_of(job)
    finish = planner.placer.problem.items[planner.finish].course.starts
    aiming = Aiming(planner.placer, planner.earliest, planner.best)
    for last, possible in ((proved.launch, True), (max((s for s in finish if s < proved.launch), default=0), False)):
        if last <= 0:
            continue
        aiming.aims.around = planner.best
        aim = Aim(0, last, 1, 60.0, aiming.aims.drawn(last), DAY // 4, keyless=keyless)
        aiming.answer(aim, math.inf, never_stop)
        assert not aim.cut
        assert (aim.starts is not None) == possible
        assert aim.none != possible
        if aim.starts is not None:
            found = planner.search.laid(aim.starts, aim.keys or {})
            assert found is not None
            assert found.score[0] == proved.launch
            assert check_plan(job, json.loads(json.dumps(plan_object(planner.plan(found, True))))) == []
        else:
            assert aim.nowhere, "what is ruled out is ruled out for all plans"


def test_what_only_plans_without_keying_cannot_do_is_not_ruled_out() -> None:
    planner, _, at = by_hand()
    thursday = planner.placer.problem.base + 3 * DAY
    aiming = Aiming(planner.placer, planner.earliest, planner.best)
    for keyless, first in ((True, 0), (False, thursday + 1)):
        aim = Aim(0, thursday, 1, 60.0, list(at), DAY, keyless=keyless)
        give_way(planner.placer, planner.earliest, aim, never_stop)
        assert aim.none
        assert aim.nowhere != keyless
        aiming._told(aim, lambda _starts, _keys: aiming.aims.around, lambda slot: slot)
        assert aiming.aims.first == first
