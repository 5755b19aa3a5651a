"""The argument of phases: by hand, against every way of laying pieces out, and against real plans."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from random import Random

import pytest
from planned import assert_kept, crew, day, head, normals, planned, planner_of, task, zone
from random_jobs import random_job

from sequencer.job import parse_job
from sequencer.planning import phases as phases_module
from sequencer.planning.hours import hours_bound
from sequencer.planning.phases import GRAINS, MOST_LEFT, PhaseBound, _Chains, phase_bound
from sequencer.planning.planner import Planner, plan_job

HELPED = (
    head(hauled="2027-04-12T08:00:00", finish="off")
    + crew('{ days = "Mon", from = "08:00", to = "14:00" }')
    + crew('{ days = "Mon", from = "09:00", to = "11:30" }', name="friend")
)
WHOLE = task("a", work=1) + task("b", work=1) + task("c", work=2) + task("d", work=3)
"""Seven hours. By 12:30 the two have seven; but what ends when the friend goes, at half past, has begun at a full
hour. So he stands idle from eleven, and all is done at one."""
HALVES = task("a", work=1) + task("b", work=1.5) + task("c", work=2) + task("d", work=2)
"""Six hours and a half, and by twelve the two have as much: the friend does the one and the one and a half."""


def bounds(planner: Planner) -> tuple[float, float]:
    """The bound of people's hours, and that of phases after it: hours from the first slot."""
    planner.search.first()
    best = planner.best.score[0]
    planner.raise_bound(hours_bound(planner.placer, planner.earliest, planner.earliest_ends, best))
    hours = planner.bound
    phases = phase_bound(planner.placer, planner.earliest, planner.launches, hours, best + 96)
    base = planner.placer.problem.base
    return (hours - base) / 4, (phases - base) / 4


def test_who_comes_at_the_hour_and_goes_at_the_half_stands_idle() -> None:
    text = HELPED + WHOLE + task("off", "a b c d", work=1)
    assert bounds(planner_of(parse_job(text))) == (4.5, 5)
    job = parse_job(text)
    plan = plan_job(job, prove=False)
    assert_kept(job, plan)
    assert f"{plan.launched:%H:%M}" == "13:00"
    assert plan.proved


def test_a_piece_of_half_an_hour_more_fits() -> None:
    text = HELPED + HALVES + task("off", "a b c d", work=1)
    assert bounds(planner_of(parse_job(text))) == (4, 4)
    plan = planned(text)
    assert f"{plan.launched:%H:%M}" == "12:00"


def test_that_piece_is_of_no_use_outside_its_span() -> None:
    """From a quarter past ten on it would keep the friend until a quarter to twelve."""
    late = task("b", work=1.5, not_before="2027-04-12T10:15:00")
    text = HELPED + HALVES.replace(task("b", work=1.5), late) + task("off", "a b c d", work=1)
    assert bounds(planner_of(parse_job(text))) == (4, 4.5)
    plan = planned(text)
    assert f"{plan.launched:%H:%M}" == "12:30"


def test_work_for_two_lets_go_of_both() -> None:
    """The friend is gone for half an hour: the other does the half hour's piece, then both go on where they were."""
    text = (
        head(hauled="2027-04-12T08:00:00", finish="off")
        + crew('{ days = "Mon", from = "08:00", to = "14:00" }')
        + crew(
            '{ days = "Mon", from = "09:00", to = "11:30" }',
            '{ days = "Mon", from = "12:00", to = "14:00" }',
            name="friend",
        )
        + task("sweep", work=1)
        + task("engine", "sweep", work=3, hands=2)
        + task("plug", work=0.5, not_before="2027-04-12T11:30:00")
        + task("soak", "plug", wait=0.5)
        + task("off", "engine soak", work=1)
    )
    plan = planned(text)
    assert f"{plan.launched:%H:%M}" == "12:30"
    planner = planner_of(parse_job(text))
    test = PhaseBound(planner.placer, planner.earliest)
    assert test.offer[test.axis.first_from(plan.launch)] == test.need
    assert not test.refutes(plan.launch)


def test_forty_five_tasks_of_a_tight_crew_are_ruled_out_by_the_half_hour() -> None:
    """On her last day both hands would have to end at half past eleven; the one comes at nine."""
    planner = planner_of(parse_job(random_job(5, 45)))
    hours, phases = bounds(planner)
    assert phases - hours == 0.5


# -- against every way of laying pieces out ----------------------------------------------------------------------


Piece = tuple[int, frozenset[int], int]
"""Slots it lasts, positions at which it can't be worked, hands."""


def laid(free: list[int], pieces: list[Piece]) -> bool:
    """Whether all pieces can be done on these hands."""
    if not pieces:
        return True
    (length, holes, hands), rest = pieces[0], pieces[1:]
    for start in range(len(free)):
        if start in holes:
            continue
        worked = [p for p in range(start, len(free)) if p not in holes][:length]
        if len(worked) == length and all(free[p] >= hands for p in worked):
            left = list(free)
            for p in worked:
                left[p] -= hands
            if laid(left, rest):
                return True
    return False


def piece(rng: Random, hole: frozenset[int], alone: frozenset[int]) -> Piece:
    """A piece of work; some can't be worked in the hole, some need two and can't where one is `alone`."""
    kind = rng.random()
    if kind < 0.15:
        return rng.choice((2, 4)), alone, 2
    return rng.choice((2, 2, 4, 4, 6, 3)), hole if kind < 0.35 else frozenset(), 1


def edges(holes: frozenset[int], size: int) -> tuple[list[int], list[int]]:
    """Positions at which work with such holes may pause, and go on."""
    worked = [position not in holes for position in range(size)]
    turns = list(enumerate(pairwise(worked), 1))
    return [p for p, (a, b) in turns if a and not b], [p for p, (a, b) in turns if b and not a]


def test_what_can_be_laid_out_is_never_ruled_out_and_some_of_the_rest_is() -> None:
    rng, possible, ruled_out = Random(7), 0, 0
    for _ in range(800):
        size = rng.randrange(6, 13)
        leaves = rng.choice((7, 9, 10))
        free = [1 + (4 <= p < leaves) for p in range(size)]
        hole = frozenset(range(at := rng.randrange(2, size), min(size, at + rng.randrange(1, 4))))
        alone = frozenset(p for p, hands in enumerate(free) if hands < 2)
        pieces = [piece(rng, hole, alone) for _ in range(rng.randrange(2, 5))]
        left = sum(free) - sum(length * hands for length, _, hands in pieces)
        if left < 0:
            continue
        ceases: Counter[int] = Counter()
        begins: Counter[int] = Counter()
        for _, holes, hands in pieces:
            for found, at in zip((ceases, begins), edges(holes, size), strict=True):
                found.update(dict.fromkeys(at, hands))
        can = laid(free, pieces)
        refuted = False
        for grain in GRAINS:
            if any(length % grain and hands > 1 for length, _, hands in pieces):
                continue
            odd = [(length % grain, 0, size) for length, _, _ in pieces if length % grain]
            refuted |= _Chains(grain, free, (ceases, begins), odd, {}, left).impossible()
        assert not (can and refuted), (free, pieces)
        possible += can
        ruled_out += refuted
    assert possible > 200
    assert ruled_out > 30


def test_plans_of_two_in_rain_are_never_ruled_out() -> None:
    """Work for both, which pauses while the friend is gone, dry work, which pauses in rain, and the rest; in some of
    the jobs two hours at most are left over."""
    rng, tight = Random(3), 0
    for _ in range(60):
        come, go, again = sorted(rng.sample(range(1, 19), 3))
        clock = [f"{8 + quarter // 4:02}:{quarter % 4 * 15:02}" for quarter in (come, go, again)]
        friend = [
            f'{{ days = "Mon-Fri", from = "{clock[0]}", to = "{clock[1]}" }}',
            f'{{ days = "Mon-Fri", from = "{clock[2]}", to = "16:00" }}',
        ]
        names = "abcdef"[: rng.randrange(3, 7)]
        tasks = [
            task(
                name,
                zone='"bay"',
                work=rng.choice((1, 1, 2, 2, 3, 0.5)),
                hands=rng.choice((1, 1, 2)),
                needs=rng.choice(("{}", "{ dry = true }")),
            )
            for name in names
        ]
        wet = f'rain = ["{clock[1]}/{clock[2]}"]'
        text = head(hauled="2027-04-12T08:00:00", finish="off") + zone() + day("2027-04-12", more=wet) + normals()
        text += crew('{ days = "Mon-Fri", from = "08:00", to = "16:00" }') + crew(*friend, name="friend")
        plan = planned(text, *tasks, task("off", " ".join(names), work=1, hands=0))
        planner = planner_of(plan.job)
        test = PhaseBound(planner.placer, planner.earliest)
        assert not test.refutes(plan.launch), text
        tight += test.offer[test.axis.first_from(plan.launch)] - test.need <= MOST_LEFT
    assert tight > 10


def test_real_plans_are_never_ruled_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where more may be idle than the planner itself looks at, so that there are enough of them."""
    monkeypatch.setattr(phases_module, "MOST_LEFT", 80)
    monkeypatch.setattr(phases_module, "MOST_STATES", 20_000)
    looked = 0
    for tasks, seed in [(12, seed) for seed in range(20)] + [(45, seed) for seed in range(8)]:
        planner = planner_of(parse_job(random_job(seed, tasks)))
        planner.search.first()
        planner.improve(1)
        test = PhaseBound(planner.placer, planner.earliest)
        launch = planner.best.score[0]
        assert not test.refutes(launch), (tasks, seed)
        looked += test.offer[test.axis.first_from(launch)] - test.need <= phases_module.MOST_LEFT
    assert looked >= 8
