"""Jobs in which nothing needs hands and gear alone holds work up, as in the published instances."""

from __future__ import annotations

import random

import pytest
from planned import assert_kept, crew, gear, head, planner_of, starts, task, zone

from sequencer.job import Job, parse_job
from sequencer.planning import grain
from sequencer.planning.orders import DAY, Found
from sequencer.planning.planner import plan_job

MOULD = '["mould"]'


def job_of(*parts: str) -> Job:
    return parse_job("\n".join([head(), gear("mould"), *parts]))


def in_turn(*more: str, **last: object) -> Job:
    """Two tasks of 3 and 2 hours on one mould, and the launch after both, with these fields."""
    both = task("a", work=3, hands=0, gear=MOULD) + task("b", work=2, hands=0, gear=MOULD)
    return job_of(both, *more, task("launch", "a b", **({"hands": 0} | last)))


def random_gear(seed: int, count: int, moulds: int = 2, trolleys: int = 3) -> Job:
    """Tasks of half hours on two pieces of gear, each after some of those before it."""
    rng = random.Random(f"gear {seed}")
    parts = [head(), gear("mould", moulds), gear("trolley", trolleys)]
    for k in range(count):
        after = " ".join(f"t{j}" for j in range(max(0, k - 5), k) if rng.random() < 0.25)
        use = (
            f'[{{ id = "mould", units = {rng.choice((1, 2))} }}, {{ id = "trolley", units = {rng.choice((1, 2, 3))} }}]'
        )
        parts.append(task(f"t{k}", after, work=rng.choice((0.5, 1, 1.5, 2, 3.5)), hands=0, gear=use))
    parts.append(task("launch", " ".join(f"t{k}" for k in range(count)), hands=0, work=0.25))
    return parse_job("\n".join(parts))


def grain_of(job: Job) -> int:
    """How many slots lie between the launches worth a look."""
    launches = grain.launches(planner_of(job).placer)
    return launches[1] - launches[0]


def test_launches_lie_apart_by_what_all_times_are_multiples_of() -> None:
    """By hand: 3 and 2 hours are whole hours; half an hour more of waiting makes it half hours."""
    assert grain_of(in_turn()) == 4
    assert grain_of(in_turn(task("c", wait=0.5))) == 4  # The launch does not wait for it.
    job = job_of(task("a", work=3, hands=0, gear=MOULD), task("c", "a", wait=0.5), task("launch", "a c", hands=0))
    assert grain_of(job) == 2
    assert grain_of(in_turn(work=0.25)) == 4  # Nothing waits for the end of the launch.


@pytest.mark.parametrize(
    "job",
    [
        in_turn(crew(), hands=1),
        job_of(crew(), task("a", work=3, gear=MOULD), task("launch", "a", hands=0)),
        job_of(task("a", work=3, hands=0, started="2027-04-12T06:00:00Z"), task("launch", "a", hands=0)),
        in_turn(slots='[ { days = "Mon-Fri", from = "09:15", to = "15:00" } ]'),
        job_of(
            "".join(f"[[weather.normal]]\nmonth = {m}\nlow = 5\nhigh = 20\ndew = 3\n" for m in range(1, 13)),
            zone(),
            task("a", work=3, hands=0, zone='"bay"', needs="{ min_temp = 12 }"),
            task("launch", "a", hands=0),
        ),
    ],
    ids=["hands at the launch", "hands before it", "begun", "lift slots", "weather"],
)
def test_wherever_that_can_not_be_told_every_slot_counts(job: Job) -> None:
    placer = planner_of(job).placer
    assert grain.launches(placer) == placer.problem.items[placer.problem.finish].course.starts


@pytest.mark.parametrize("seed", range(6))
def test_no_launch_is_missed_by_it(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The proved launch is that of the solver asked about every quarter hour."""
    job = random_gear(seed, 14)
    assert grain_of(job) == 2
    plan = plan_job(job, seconds=60)
    assert_kept(job, plan)
    monkeypatch.setattr(grain, "_grain", lambda *_: 1)
    other = plan_job(job, seconds=60)
    assert plan.proved
    assert other.proved
    assert plan.launch == other.launch


def test_the_same_job_gives_the_same_plan() -> None:
    """Its launch comes of a question, given enough whatever the clock says."""
    job = random_gear(0, 40, 5, 7)
    plan, other = plan_job(job, seconds=60), plan_job(job, seconds=60)
    assert plan.proved
    assert not plan.stopped
    assert starts(plan) == starts(other)


def test_the_bound_rises_to_the_next_of_them() -> None:
    """By hand: one mould for 3 and 2 hours; nothing before 4 h and a quarter means nothing before 5 h."""
    planner = planner_of(in_turn())
    base = planner.placer.problem.base
    planner.search.best = planner.search.laid([base, base + 20, base + 40])
    planner.raise_bound(base + 17)
    assert planner.bound == base + 20


def test_the_whole_job_is_asked_first_and_again() -> None:
    planner = planner_of(random_gear(1, 70))
    assert [turn for turn, _ in planner.turns()] == [planner.prove, planner.aim, planner.prove, planner.look_near]
    assert planner.aiming.aims.small


def test_what_a_question_finds_is_placed_again_without_its_gaps() -> None:
    """By hand: the second task a day late comes right after the first, and the launch at 5 h."""
    planner = planner_of(in_turn())
    base = planner.placer.problem.base
    planner.search.best = planner.search.laid([base, base + DAY, base + 2 * DAY])
    assert planner.best.score[0] == base + 2 * DAY
    taken = planner.possible([base, base + DAY, base + DAY + 8], {})
    assert taken.score[0] == planner.best.score[0] == base + 20
    assert_kept(planner.placer.problem.job, planner.plan(taken, True))


def test_what_the_solver_betters_is_too() -> None:
    planner = planner_of(in_turn())
    base = planner.placer.problem.base
    planner.search.best = planner.search.laid([base, base + DAY, base + 2 * DAY])
    planner.take([base, base + DAY, base + DAY + 8], {})
    assert planner.best.score[0] == base + 20


@pytest.mark.parametrize("seed", range(3))
def test_looks_bring_work_on_gear_forward(seed: int) -> None:
    job = random_gear(seed, 25)
    planner = planner_of(job)
    assert all(planner.near.weights[i] > 0 for i in planner.near.sharing)
    best = planner.best.schedule.starts
    holds = {i: best[i] + DAY for i in planner.placer.free}
    planner.search.best = None
    late = planner.search.try_order([float(s) for s in best], holds)
    assert late is not None
    before = planner.near.lateness(late)
    planner.look_near(4)
    assert planner.near.around is not None
    assert planner.near.lateness(planner.near.around) < before
    assert planner.best.score[0] < late.score[0]
    assert_kept(job, planner.plan(planner.best, True))


@pytest.mark.parametrize(("later", "times"), [(32, 3), (400, 1)])
def test_questions_go_on_while_they_help_where_few_launches_are_left(later: int, times: int) -> None:
    """By hand: 8 whole hours before the launch in hand are few, 100 many. The third time nothing comes of it."""
    planner = planner_of(in_turn())
    base = planner.placer.problem.base
    planner.search.best = planner.search.laid([base, base + 12, base + 20 + later])
    planner.bound = base + 20
    asked: list[int] = []

    def ask(first: int, around: Found, *_: object) -> bool:
        planner.aiming.aims.first, planner.aiming.aims.around = first, around
        asked.append(first)
        return len(asked) < 3

    planner.aiming.ask = ask  # type: ignore[method-assign, assignment]
    planner.aim(1.0)
    assert asked == [base + 20] * times


def test_where_work_needs_hands_questions_go_on_however_many_launches_are_left() -> None:
    planner = planner_of(job_of(crew(), task("a", work=3), task("launch", "a")))
    base = planner.placer.problem.base
    planner.search.best = planner.search.laid([base, base + 400])
    planner.bound = base + 12
    answers = [True, True, False]
    planner.aiming.ask = lambda *_: answers.pop(0)  # type: ignore[method-assign, assignment]
    planner.aim(1.0)
    assert not answers
