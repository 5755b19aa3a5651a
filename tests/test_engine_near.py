"""Looks near a plan: what is freed, which orders are kept, and that only better plans come of them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from planned import assert_kept, crew, head, normals, planner_of, task
from random_jobs import random_job

from sequencer.job import Job, parse_job
from sequencer.planning import bounded, proof
from sequencer.planning.aims import Aim
from sequencer.planning.near import FAR_DAYS, KINDS, LEAST_FREED, REST_DAYS, Look, Near
from sequencer.planning.orders import DAY, Found, kept_orders, worth
from sequencer.planning.planner import Planner, never_stop, plan_job


def late_planner(job: Job) -> Planner | None:
    """A planner whose best plan has all work three days late; None where it can't be so late."""
    planner = planner_of(job)
    starts = planner.best.schedule.starts
    items = planner.placer.problem.items
    holds = {i: starts[i] + 3 * DAY for i in planner.placer.free if not items[i].is_wait}
    planner.search.best = None
    return planner if planner.search.try_order([float(s) for s in starts], holds) is not None else None


@pytest.mark.parametrize("seed", range(3))
def test_a_look_frees_items_that_share_something_and_moves_the_others_by_days(seed: int) -> None:
    planner = planner_of(parse_job(random_job(seed, 40)))
    near, starts = planner.near, planner.best.schedule.starts
    kinds = set()
    for _ in range(60):
        look = near.choose(planner.best)
        kinds.add(look.kind)
        assert look.far in {days * DAY for days in FAR_DAYS}
        assert look.rest in {days * DAY for days in REST_DAYS}
        assert 2 <= len(look.freed) <= len(near.placer.free)
        if look.kind == "together":
            first, last = min(starts[i] for i in look.freed), max(starts[i] for i in look.freed)
            between = [i for i in near.sharing if first < starts[i] < last]
            assert set(between) <= look.freed
    assert kinds == set(KINDS)


def after(pairs: list[tuple[int, int]], first: int) -> set[int]:
    """Everything that comes after `first` by these pairs, one after another."""
    found, queue = set[int](), [first]
    while queue:
        at = queue.pop()
        more = {later for earlier, later in pairs if earlier == at} - found
        found |= more
        queue += more
    return found


@pytest.mark.parametrize("seed", range(4))
def test_the_pairs_keep_the_order_of_all_that_wants_the_same_hands(seed: int) -> None:
    """By hand: of two that want hands, one ends before the other starts, or they lie side by side."""
    planner = planner_of(parse_job(random_job(seed, 25)))
    found, items = planner.best, planner.placer.problem.items
    kept = [i for i in planner.near.sharing if items[i].hands]
    pairs = kept_orders(items, found, kept)
    starts, ends = found.schedule.starts, found.schedule.ends
    assert all(ends[earlier] <= starts[later] for earlier, later in pairs)
    for i in kept:
        assert after(pairs, i) == {j for j in kept if ends[i] <= starts[j]}
    assert len(pairs) < 3 * len(kept)


@pytest.mark.parametrize("seed", range(3))
def test_what_a_look_finds_keeps_the_order_and_is_no_worse(seed: int) -> None:
    planner = planner_of(parse_job(random_job(seed, 20)))
    around, placer = planner.best, planner.placer
    kept = kept_orders(placer.problem.items, around, planner.near.sharing[::2])
    first = planner.floor()
    last = [start + 2 * DAY for start in around.schedule.starts]
    model = bounded.model_near(placer, first, last, kept, worth(placer, around))
    assert model is not None
    answer = proof.near(model, around.schedule.starts, 20, never_stop, 1)
    assert answer.closed
    assert answer.starts is not None
    assert answer.keys is not None
    found = planner.search.laid(answer.starts, answer.keys)
    assert found is not None
    assert worth(placer, found) <= worth(placer, around)
    assert_kept(planner.placer.problem.job, planner.plan(found, True))
    for earlier, later in kept:
        assert found.schedule.ends[earlier] <= found.schedule.starts[later]


def test_looks_near_a_poor_plan_find_better_ones_that_keep_every_rule() -> None:
    bettered = 0
    for seed in range(6):
        job = parse_job(random_job(seed, 10))
        planner = late_planner(job)
        if planner is None:
            continue
        before = planner.best.score[0]
        planner.look_near(20)
        plan = planner.plan(planner.best, True)
        assert_kept(job, plan)
        assert plan_job(job, seconds=60).launch <= plan.launch <= before
        bettered += plan.launch < before
    assert bettered >= 3


@pytest.mark.parametrize("seed", range(4))
def test_a_look_forward_brings_work_forward_and_is_no_worse(seed: int) -> None:
    planner = late_planner(parse_job(random_job(seed, 12)))
    if planner is None:
        planner = planner_of(parse_job(random_job(seed, 12)))
    around, placer, near = planner.best, planner.placer, planner.near
    last = [start + DAY for start in around.schedule.starts]
    model = bounded.model_near(placer, planner.floor(), last, [], worth(placer, around), near.weights, near.keyed)
    assert model is not None
    answer = proof.near(model, around.schedule.starts, 20, never_stop, 1)
    assert answer.starts is not None
    assert answer.keys is not None
    found = planner.search.laid(answer.starts, answer.keys)
    assert found is not None
    assert worth(placer, found) <= worth(placer, around)
    assert near.lateness(found) <= near.lateness(around)
    assert_kept(placer.problem.job, planner.plan(found, True))


def test_the_lateness_of_a_plan_counts_what_each_start_weighs() -> None:
    """By hand, in quarter hours at work: a at once, b after its 8, the launch after b's 4."""
    job = parse_job(
        head() + crew() + normals() + task("a", work=2) + task("b", "a", work=1) + task("launch", "b", work=1)
    )
    planner = planner_of(job)
    near, items = planner.near, planner.placer.problem.items
    weigh = {item.id: near.weights[item.index] for item in items if item.index in near.weights}
    assert near.lateness(planner.best) == 8 * weigh["b"] + 12 * weigh["launch"]


def test_items_weigh_as_their_work_does_each_time_otherwise() -> None:
    """By hand: 8 quarter hours of one pair of hands at 10 a slot, more or less by 7 tenths."""
    job = parse_job(head() + crew() + normals() + task("a", work=2) + task("launch", "a", work=1))
    planner = planner_of(job)
    near = planner.near
    index = next(item.index for item in planner.placer.problem.items if item.id == "a")
    seen = set()
    for _ in range(200):
        near.weigh()
        seen.add(near.weights[index])
    assert 24 <= min(seen) < 40
    assert 120 < max(seen) <= 136


def test_a_look_forward_may_key_and_be_ready_as_it_likes_but_launches_no_later() -> None:
    planner = planner_of(parse_job(random_job(1, 12)))
    near, found = planner.near, planner.best
    launch = found.score[0]
    for forward in (False, True):
        look = Look("anywhere", frozenset(near.sharing), DAY, DAY, forward)
        limit = near.no_worse_than(found, look)
        assert limit[0] == launch
        assert (limit > worth(planner.placer, found)) == forward
        assert ((launch + 1, 0, 0) <= limit) is False


def late_for_wednesday() -> Iterator[tuple[Job, Planner]]:
    """Jobs whose lift comes on Wednesdays, each with a planner whose best plan is three days late."""
    for seed in range(8):
        text = random_job(seed, 10)
        weekly = text.replace(
            'slots = [ { days = "Mon-Fri", from = "09:00"', 'slots = [ { days = "Wed", from = "09:00"'
        )
        job = parse_job(weekly)
        planner = late_planner(job) if weekly != text else None
        if planner is not None:
            yield job, planner


def test_between_two_mornings_of_the_lift_what_she_waits_for_moves_up() -> None:
    """Where no launch comes earlier, an earlier end of the work does, and the lift before it comes nearer."""
    moved = 0
    for _, planner in late_for_wednesday():
        placer, best = planner.placer, planner.best
        before = worth(placer, best)
        assert before[1] <= before[0] == best.score[0]
        floor = planner.floor()
        floor[placer.problem.finish] = before[0] - 1
        planner.near.look(best, floor, 20, never_stop, lambda: None)
        assert planner.near.around is not None
        assert worth(placer, planner.near.around)[0] == before[0]
        after = planner.near.nearest
        assert after <= before
        moved += after[1] < before[1]
    assert moved >= 2


def test_a_plan_ready_sooner_is_taken_in_hand_though_she_launches_no_sooner(monkeypatch: pytest.MonkeyPatch) -> None:
    moved = 0
    for job, planner in late_for_wednesday():
        # Placed again a plan so late would launch sooner, which is not what is looked at here.
        monkeypatch.setattr(planner.search, "justified", lambda found: found)
        placer, late = planner.placer, planner.best
        launch, ready, _ = worth(placer, late)
        assert planner.in_hand is late
        aim = Aim(launch, ready - 1, 1, 60.0)
        proof.reach(placer, planner.earliest, aim, 60, never_stop)
        assert aim.none != (aim.starts is not None)
        if aim.starts is not None:
            found = planner.possible(aim.starts, aim.keys or {})
            assert planner.in_hand is found is planner.near.around
            assert worth(placer, found)[0] == launch
            assert worth(placer, found)[1] < ready
            assert_kept(job, planner.plan(found, True))
            planner.near.offer(late)
            assert planner.in_hand is found, "none that is worse takes its place"
            moved += 1
    assert moved >= 2


def test_looks_end_when_told_to_and_keep_what_they_have(monkeypatch: pytest.MonkeyPatch) -> None:
    planner = planner_of(parse_job(random_job(1, 20)))
    asked: list[int] = []

    def near(*_args: object) -> proof.Looked:
        asked.append(1)
        return proof.Looked()

    monkeypatch.setattr(proof, "near", near)
    near_it = Near(planner.placer, planner.search.laid, planner.earliest)
    best = planner.best
    earlier: list[Found] = []
    low = [planner.placer.problem.base] * len(best.schedule.starts)
    near_it.look(best, low, 60, lambda: len(asked) >= 5, lambda: earlier.append(planner.best))
    assert near_it.around is best
    assert 5 <= len(asked) <= 6
    assert not earlier
    # None came to an end: fewer are freed from then on.
    assert min(near_it.size.values()) < 18
    assert min(near_it.size.values()) >= LEAST_FREED


def test_an_idle_hour_is_looked_for_where_a_hand_has_nothing_to_do() -> None:
    """By hand: 8 quarter hours of a, then a wait of six hours, then b: idle from the end of a to the start of b."""
    job = parse_job(
        head()
        + crew()
        + normals()
        + task("a", work=2)
        + task("w", "a", wait=6)
        + task("b", "w", work=1)
        + task("launch", "b", work=1)
    )
    planner = planner_of(job)
    near, problem = planner.near, planner.placer.problem
    rows = {item.id: planner.best.schedule.starts[item.index] for item in problem.items}
    on_shift = problem.tables.hands
    idle = [s for s in range(rows["a"] + 8, rows["b"]) if on_shift[s]]
    assert idle
    assert near._idle_hours(planner.best) == idle


@pytest.mark.parametrize("seed", range(4))
def test_windows_that_must_stay_met_are_not_missed(seed: int) -> None:
    planner = planner_of(parse_job(random_job(seed, 40)))
    near, placer, around = planner.near, planner.placer, planner.best
    last = [start + DAY for start in around.schedule.starts]
    keyed = {(k.after, k.before) for k in around.schedule.keyed}
    asked = worth(placer, around)
    model = bounded.model_near(placer, planner.floor(), last, [], asked, near.weights, near.keyed, keyed)
    every = bounded.model_near(placer, planner.floor(), last, [], asked, near.weights, near.keyed)
    assert model is not None
    assert every is not None
    assert set(model.keys) <= keyed
    assert len(every.keys) > len(model.keys)
    answer = proof.near(model, around.schedule.starts, 2, never_stop, 1)
    assert answer.starts is not None
    found = planner.search.laid(answer.starts, answer.keys or {})
    assert found is not None
    assert {(k.after, k.before) for k in found.schedule.keyed} <= keyed
    assert near.lateness(found) <= near.lateness(around)


def test_a_slot_of_keying_counts_as_half_a_slot_of_all_work() -> None:
    planner = planner_of(parse_job(random_job(3, 40)))
    near, found = planner.near, planner.best
    assert found.schedule.keyed
    late = sum(near.axis.exact(found.schedule.starts[i]) * weight for i, weight in near.weights.items())
    slots = sum(k.keying.work for k in found.schedule.keyed)
    assert near.lateness(found) == late + slots * round(sum(near.weights.values()) / 2)
