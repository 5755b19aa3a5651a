"""Plans laid leg by leg: a leg leaves out what comes after it and nothing else, and what comes of legs is true."""

from __future__ import annotations

import itertools
import json
import math
import time
from collections.abc import Callable, Iterator

import pytest
from ortools.sat.python import cp_model
from planned import MORNINGS_LINE, crew, gear, head, material, normals, planner_of, task, zone
from random_jobs import random_job

from sequencer.checking import check_plan
from sequencer.job import Job, parse_job
from sequencer.paper.jsonplan import plan_object
from sequencer.planning import legs as legs_module
from sequencer.planning.aims import LEGS_PAST, LEGS_SHARE, LEGS_SHARE_LARGER, LEGS_UP_TO, Aim
from sequencer.planning.axis import Axis
from sequencer.planning.bound import latest_starts
from sequencer.planning.bounded import Leg, StoppedError, bounds_ready, model_between, model_near
from sequencer.planning.giving import give_way
from sequencer.planning.legs import Passage
from sequencer.planning.model import Model
from sequencer.planning.planner import Planner, never_stop, plan_job
from sequencer.planning.proof import Outcome, fewer_windows, prove, reach

MORNINGS = head(timezone="Europe/London", finish="off") + crew(MORNINGS_LINE)
"""Monday to Friday, four hours a day, sixteen positions on shift."""

THREE = "".join(task(f"t{k}", work=4) for k in range(3)) + task("off", "t0 t1 t2", work=1)

FOREVER = 3600.0


def possible(model: Model | None) -> bool:
    """Whether the model has a solution; it must be settled."""
    if model is None:
        return False
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model.model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE)
    return status != cp_model.INFEASIBLE


def passed(planner: Planner, launch: int, seed: int = 1, keyless: bool = False) -> Aim:
    """The answer of one passage at a launch by slot `launch`, left to its end."""
    aim = Aim(planner.bound, launch, seed, 1.0, by_legs=True, keyless=keyless)
    axis = Axis(planner.placer.problem)
    Passage(planner.placer, planner.earliest, axis, aim, never_stop).go(time.monotonic() + FOREVER)
    return aim


def settled(seed: int, tasks: int) -> tuple[Job, int]:
    """A random job and its proved launch."""
    job = parse_job(random_job(seed, tasks))
    plan = plan_job(job, seconds=60)
    assert plan.proved
    return job, plan.launch


def leg_of(text: str, days: int, until: int, end: int) -> bool:
    """Whether a leg up to position `until` is possible in a job of mornings that launches at eight, `days` from now."""
    planner = planner_of(parse_job(text))
    base, placer = planner.placer.problem.base, planner.placer
    return possible(
        model_between(placer, planner.earliest, latest_starts(placer, base + days * 96), True, (), Leg(until, end))
    )


def keeps(job: Job, planner: Planner, aim: Aim, launch: int) -> None:
    """Assert that a passage's plan launches by `launch` and keeps every rule by the independent check."""
    assert aim.starts is not None
    assert aim.keys is not None
    found = planner.search.laid(aim.starts, aim.keys)
    assert found is not None
    assert found.score[0] <= launch
    assert check_plan(job, json.loads(json.dumps(plan_object(planner.plan(found))))) == []


# -- what a leg tells ---------------------------------------------------------------------------------------------


def test_work_past_a_leg_takes_nobodys_hands_but_must_fit_the_hours_of_the_shifts() -> None:
    """By hand: three tasks of a morning each. Two mornings hold two; a third holds all three, two of them at once
    where the leg ends after the first morning, as only the hours of all that is left are counted from there on."""
    for until in (0, 16, 32, 48):
        assert not leg_of(MORNINGS + THREE, 2, until, 32)
        assert leg_of(MORNINGS + THREE, 3, until, 48)
    # Both on Tuesday, with one pair of hands; and Wednesday free for neither.
    planner = planner_of(parse_job(MORNINGS + THREE))
    placer, base = planner.placer, planner.placer.problem.base
    first, last = planner.earliest[:], latest_starts(placer, base + 3 * 96)
    index = {item.id: item.index for item in placer.problem.items}
    for name in ("t1", "t2"):
        first[index[name]] = last[index[name]] = base + 96
    assert possible(model_between(placer, first, last, True, (), Leg(16, 48)))
    assert not possible(model_between(placer, first, last, True, (), Leg(17, 48)))
    assert not possible(model_between(placer, first, last, True, ()))
    # The same where they could lie on Monday too, were t0 not there.
    for name, begin, until in (("t0", 0, 0), ("t1", 0, 96), ("t2", 0, 96)):
        first[index[name]], last[index[name]] = base + begin, base + until
    assert possible(model_between(placer, first, last, True, (), Leg(16, 48)))
    assert not possible(model_between(placer, first, last, True, (), Leg(17, 48)))
    # All asked to come by Tuesday, with the hours of three mornings or of two.
    first[index["t0"]], last[index["t0"]] = base, base + 96
    assert possible(model_between(placer, first, last, True, (), Leg(16, 48)))
    assert not possible(model_between(placer, first, last, True, (), Leg(16, 32)))


def test_gear_and_air_are_told_within_a_leg_and_not_past_it() -> None:
    """By hand: a coat of 2 h, wet till noon, and two hours of dust, at the same time by two people; the same with a
    mould in place of the air."""
    two = head(timezone="Europe/London", finish="off") + crew(MORNINGS_LINE) + crew(MORNINGS_LINE, name="friend")
    stages = "set = 2\nsand = 20"
    paint = normals() + zone() + material([20], stages)
    dust = task("coat", zone='"bay"', material='"coat"', work=2) + task("sanding", zone='"bay"', makes='"dust"', work=2)
    moulds = gear("mould") + task("coat", work=2, gear='["mould"]') + task("sanding", work=2, gear='["mould"]')
    for tasks in (paint + dust, moulds):
        planner = planner_of(parse_job(two + tasks + task("off", "coat sanding", work=1)))
        placer, base = planner.placer, planner.placer.problem.base
        both = {item.index for item in placer.problem.items if item.id != "off"}
        for day, until, free in ((0, 16, False), (0, 1, False), (1, 16, True), (1, 17, False), (1, 32, False)):
            first, last = planner.earliest[:], latest_starts(placer, base + 10 * 96)
            for i in both:
                first[i] = last[i] = base + day * 96
            model = model_between(placer, first, last, True, (), Leg(until, 160))
            assert possible(model) == free, (day, until)


@pytest.mark.parametrize("seed", range(8))
def test_no_leg_rules_out_a_plan_there_is(seed: int) -> None:
    job, launch = settled(seed, 16)
    planner = planner_of(job)
    planner.aim(60)
    planner.prove(60)
    starts = list(planner.best.schedule.starts)
    assert starts[planner.finish] == launch
    axis = Axis(planner.placer.problem)
    last = axis.first_from(launch)
    for until in (1, last // 4, last // 2, last - 1):
        # With every start at its own, whatever the leg, the model has a solution.
        assert possible(model_between(planner.placer, starts, starts, True, None, Leg(until, last)))


# -- passages -----------------------------------------------------------------------------------------------------


@pytest.fixture
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    """Legs so short that small jobs take many, and no rest as a whole but the last few tasks."""
    monkeypatch.setattr(legs_module, "LONG", 48)
    monkeypatch.setattr(legs_module, "STAYS", 24)
    monkeypatch.setattr(legs_module, "REST", 5)


@pytest.mark.usefixtures("short")
@pytest.mark.parametrize("seed", range(10))
def test_passages_find_the_earliest_launch_and_none_before_it(seed: int) -> None:
    job, launch = settled(seed, 18)
    planner = planner_of(job)
    answers = [passed(planner, launch, again) for again in range(3)]
    assert not any(aim.nowhere for aim in answers)
    # In two of these jobs legs this short see too little ahead.
    assert any(aim.starts is not None for aim in answers) == (seed not in (6, 8))
    for aim in answers:
        if aim.starts is not None:
            keeps(job, planner, aim, launch)
    sooner = [passed(planner, launch - 1, again) for again in range(2)] if launch > planner.bound else []
    assert all(aim.starts is None for aim in sooner)


def test_a_passage_through_a_larger_job_is_repeatable_and_keeps_the_rules() -> None:
    job = parse_job(random_job(1, 70))
    planner = planner_of(job)
    launch = planner.best.score[0] - 1
    aim, again = (passed(planner, launch, seed=5, keyless=True) for _ in range(2))
    keeps(job, planner, aim, launch)
    assert (aim.starts, aim.keys) == (again.starts, again.keys)


KEYED = (
    normals()
    + zone()
    + material([20], "set = 2\nsand = 20\nimmerse = { opens = 4, closes = 24, if_missed = { work = 2 } }")
    + task("coat", zone='"bay"', material='"coat"', work=4)
    + task("rest", "coat", wait=72)
    + task("off", "coat@immerse rest", work=1)
)
"""The coat's window is over long before the rest is."""


def test_windows_are_let_go_of_where_not_all_can_be_met() -> None:
    job = parse_job(MORNINGS + KEYED)
    planner = planner_of(job)
    launch = planner.placer.problem.base + 4 * 96
    aim = passed(planner, launch, keyless=True)
    assert not aim.keyless
    keeps(job, planner, aim, launch)
    assert aim.keys


def test_keying_for_the_launch_may_lie_after_all_other_work_in_a_leg_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """By hand: Monday's four hours hold the coat, which must be done by then; the two hours of keying are Tuesday's."""
    monkeypatch.setattr(legs_module, "REST", 0)
    stages = "set = 2\nsand = 20\nimmerse = { opens = 40, closes = 42, if_missed = { work = 2 } }"
    coat = material([20], stages) + task("coat", zone='"bay"', material='"coat"', work=4)
    job = parse_job(MORNINGS + normals() + zone() + coat + task("off", "coat@immerse", work=1))
    planner = planner_of(job)
    launch = planner.placer.problem.base + 2 * 96
    for seed in range(4):
        aim = passed(planner, launch, seed, keyless=seed % 2 == 0)
        keeps(job, planner, aim, launch)
        assert aim.keys


def test_where_there_is_no_first_leg_there_is_no_launch() -> None:
    """By hand: twelve hours of work don't go into two mornings, met windows or not."""
    planner = planner_of(parse_job(MORNINGS + THREE))
    base = planner.placer.problem.base
    planner.bound = base
    for keyless in (False, True):
        aim = passed(planner, base + 2 * 96, keyless=keyless)
        assert aim.nowhere
        assert not aim.cut
    assert passed(planner, base + 3 * 96).starts is not None


def test_sooner_than_needed_is_let_go_of_where_that_cannot_be(monkeypatch: pytest.MonkeyPatch) -> None:
    """By hand: three tasks, a morning each, have not a day to spare, one after another or in any order."""
    monkeypatch.setattr(legs_module, "SOONER", (96,))
    monkeypatch.setattr(legs_module, "REST", 0)
    chain = task("t0", work=4) + task("t1", "t0", work=4) + task("t2", "t1", work=4) + task("off", "t2", work=1)
    for tasks in (chain, THREE):
        job = parse_job(MORNINGS + tasks)
        planner = planner_of(job)
        launch = planner.placer.problem.base + 3 * 96
        aim = Aim(planner.bound, launch, 1, 1.0, by_legs=True)
        passage = Passage(planner.placer, planner.earliest, Axis(planner.placer.problem), aim, never_stop)
        passage.go(time.monotonic() + FOREVER)
        keeps(job, planner, aim, launch)
        # Tied to the forward pass, the chain is not asked to come sooner than it can.
        assert passage.sooner == (96 if tasks == chain else 0)


def test_a_leg_that_led_nowhere_is_laid_again_as_far_as_the_next_had_to_go(monkeypatch: pytest.MonkeyPatch) -> None:
    """By hand: three mornings, two parts from one mould that each keeps till the next evening, and a morning's work
    besides, which must lie between them. Where it lies first, that shows only in the third morning."""
    monkeypatch.setattr(legs_module, "LONG", 16)
    monkeypatch.setattr(legs_module, "STAYS", 16)
    monkeypatch.setattr(legs_module, "REST", 0)
    monkeypatch.setattr(legs_module, "SOONER", (0,))
    part = {"zone": '"bay"', "material": '"coat"', "work": 4, "gear": '[ { id = "mould", until = "set" } ]'}
    tasks = task("besides", work=4) + task("one", **part) + task("other", **part)
    yard = normals() + zone() + gear("mould") + material([20], "set = 30")
    job = parse_job(MORNINGS + yard + tasks + task("off", "besides one other", work=1))
    planner = planner_of(job)
    launch = planner.placer.problem.base + 3 * 96
    legs: list[tuple[int, int]] = []
    asked = Passage._asked

    def seen(self: Passage, laid: object, leg: Leg | None, *rest: object) -> Aim:
        if leg is not None:
            legs.append((len(self.laid), leg.until))
        return asked(self, laid, leg, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(Passage, "_asked", seen)
    for seed in range(8):
        keeps(job, planner, passed(planner, launch, seed), launch)
    # The third leg there is not, nor the second as far as that; the first is.
    assert [(3, 48), (2, 48), (1, 48)] in [legs[at : at + 3] for at in range(len(legs))]


def test_a_passage_stops_when_told_and_says_so() -> None:
    planner = planner_of(parse_job(random_job(1, 70)))
    aim = Aim(planner.bound, planner.best.score[0] - 1, 1, 1.0, by_legs=True)
    axis = Axis(planner.placer.problem)
    Passage(planner.placer, planner.earliest, axis, aim, lambda: True).go(math.inf)
    assert (aim.cut, aim.none, aim.starts) == (True, False, None)
    Passage(planner.placer, planner.earliest, axis, aim, never_stop).go(time.monotonic() - 1)
    assert (aim.cut, aim.none, aim.starts) == (True, False, None)


def never_better(_starts: list[int], _keys: dict[tuple[int, int], int]) -> None:
    raise AssertionError("nothing was searched")


def past(asked: Iterator[int], wanted: int) -> Callable[[], bool]:
    """A stop that says so once it was asked more often than wanted."""
    return lambda: next(asked) >= wanted


def test_a_model_no_longer_wanted_is_not_written_to_its_end_and_is_no_answer() -> None:
    """However often `stop` was asked before it says so: the question is cut, never answered with no."""
    planner = planner_of(parse_job(random_job(1, 70)))
    launch = planner.best.score[0] - 1
    first, last = bounds_ready(planner.placer, planner.earliest, planner.bound, launch)
    for between, leg in ((None, None), ((first, last), Leg(200, 800))):
        for wanted in (0, 1, 50, 100, 120):
            asked = itertools.count()
            aim = Aim(planner.bound, launch, 1, 1.0, between=between, leg=leg)
            reach(planner.placer, planner.earliest, aim, FOREVER, past(asked, wanted))
            assert (aim.cut, aim.none, aim.starts) == (True, False, None)
            assert next(asked) == wanted + 1, "asked no more once it said so"


def test_what_is_stopped_while_it_is_written_claims_nothing() -> None:
    """The whole job, the fewest windows, giving way, and a look near a plan."""
    planner = planner_of(parse_job(random_job(1, 70)))
    placer, earliest, best = planner.placer, planner.earliest, planner.best
    starts, launch = best.schedule.starts, best.score[0]
    for wanted in (0, 1, 50, 100):
        stop = past(itertools.count(), wanted)
        assert prove(placer, starts, earliest, planner.bound, FOREVER, stop, never_better) == Outcome(
            planner.bound, False
        )
        assert fewer_windows(placer, starts, earliest, launch, past(itertools.count(), wanted)) is None
        aim = Aim(planner.bound, launch - 1, 1, 1.0, at=list(starts), way=96)
        give_way(placer, earliest, aim, past(itertools.count(), wanted))
        assert (aim.none, aim.starts, aim.between) == (False, None, None)
        stop = past(itertools.count(), wanted)
        with pytest.raises(StoppedError):
            model_near(placer, planner.floor(), starts, [], (launch, launch, 0), stop=stop)


# -- when they are asked for ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("tasks", "share"), [(45, 0.0), (58, LEGS_SHARE), (70, LEGS_SHARE_LARGER), (130, 0.0)])
def test_larger_jobs_of_people_are_laid_leg_by_leg_too(tasks: int, share: float) -> None:
    planner = planner_of(parse_job(random_job(1, tasks)))
    aims = planner.aiming.aims
    aims.first = planner.bound
    assert (LEGS_PAST < len(planner.placer.free) <= LEGS_UP_TO) == bool(share)
    asked = [aims.anywhere() for _ in range(400)]
    by_legs = [aim for aim in asked if aim.by_legs]
    assert abs(len(by_legs) - share * len(asked)) < 40
    assert {aim.last for aim in by_legs} <= set(aims.open())
    assert all(aim.at is None for aim in by_legs)


def test_legs_come_first_where_they_are_laid_and_looks_near_the_plan_in_larger_jobs_still() -> None:
    for tasks, first in ((58, "aim"), (70, "aim"), (130, "look_near")):
        planner = planner_of(parse_job(random_job(1, tasks)))
        assert planner.turns()[0][0] == getattr(planner, first)


def test_an_answer_of_legs_is_not_taken_for_one_of_all_plans() -> None:
    """What settles a plan's ties looks up what was answered before, by the launch and how often it was asked."""
    planner = planner_of(parse_job(random_job(1, 70)))
    aim = planner.aiming.aims.leg_by_leg()
    planner.aiming._keep(aim)
    assert not planner.aiming._answered
