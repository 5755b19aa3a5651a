"""Parts of the planner one by one: limits of the air, horizons, bounds by hours, begun work, ties, what it costs."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest
from planned import assert_kept, crew, day, days, gear, head, hour, material, normals, planned, starts, task, zone
from random_jobs import random_job

from sequencer.errors import NoPlanError
from sequencer.job import parse_job
from sequencer.planning import proof
from sequencer.planning.hours import hours_bound
from sequencer.planning.plan import Plan
from sequencer.planning.planner import HORIZONS, MARGIN, plan_job, prepare

MORNING = '{ days = "Mon-Sun", from = "08:00", to = "12:00" }'

# -- limits of the air


LIMITS = {
    "min_temp": ("min_temp = 10", "low = 9.9\nhigh = 9.9", "low = 10\nhigh = 10"),
    "max_temp": ("max_temp = 15", "low = 15.1\nhigh = 15.1", "low = 15\nhigh = 15"),
    "max_wind": ("max_wind = 12", "low = 12\nhigh = 12\nwind = 13", "low = 12\nhigh = 12\nwind = 12"),
}


@pytest.mark.parametrize("dry", ["true", "false"])
@pytest.mark.parametrize("name", LIMITS)
def test_a_limit_is_kept_dry_or_not_and_met_at_the_limit(name: str, dry: str) -> None:
    limit, bad, good = LIMITS[name]
    air = "".join(
        f"\n[[weather.day]]\ndate = 2027-04-{12 + k}\ndew = 2\n{told}\n" for k, told in enumerate((bad, good))
    )
    job = task("job", zone='"bay"', needs=f"{{ {limit}, dry = {dry} }}")
    plan = planned(head(), crew(), zone(), air, job, task("launch", "job", hands=0))
    assert starts(plan)["job"] == 16


@pytest.mark.parametrize(
    ("apply", "bad", "good"),
    [
        ("min_temp = 10", "low = 9\nhigh = 9\ndew = 1", "low = 10\nhigh = 10\ndew = 1"),
        ("max_temp = 15", "low = 16\nhigh = 16\ndew = 1", "low = 15\nhigh = 15\ndew = 1"),
        ("max_humidity = 70", "low = 12\nhigh = 12\nhumidity = 71", "low = 12\nhigh = 12\nhumidity = 69.9"),
        ("above_dew = 3", "low = 12\nhigh = 12\ndew = 9.1", "low = 12\nhigh = 12\ndew = 9"),
    ],
)
def test_two_materials_alike_but_for_their_limits_are_not_taken_for_one(apply: str, bad: str, good: str) -> None:
    air = "".join(f"\n[[weather.day]]\ndate = 2027-04-{12 + k}\n{told}\n" for k, told in enumerate((bad, good)))
    plan = planned(
        head(),
        crew(),
        crew(name="wil"),
        zone(shelter="covered"),
        air,
        material([20], "set = 1", "easy"),
        material([20], f"set = 1\napply = {{ {apply} }}", "choosy"),
        task("first", zone='"bay"', material='"easy"'),
        task("second", zone='"bay"', material='"choosy"'),
        task("launch", "first second", hands=0),
    )
    assert starts(plan) == {"first": 0, "second": 16, "launch": 17}


def test_places_alike_but_for_their_shelter_or_their_heat_are_not_taken_for_one() -> None:
    air = day("2027-04-12", 8, more='rain = ["00:00/24:00"]') + day("2027-04-13", 12)
    needs = "{ dry = true, min_temp = 10 }"
    kinds = (("open", ""), ("inside", ""), ("tent", "heat_to = 15"), ("shed", "heat_to = 15"))
    places = [zone(name, "open" if name in ("open", "tent") else "inside", more) for name, more in kinds]
    jobs = [task(f"in-{name}", zone=f'"{name}"', needs=needs, hands=0) for name, _ in kinds]
    names = " ".join(f"in-{name}" for name, _ in kinds)
    plan = planned(head(), crew(), *places, air, *jobs, task("launch", names, hands=0))
    # Only where it is warm and dry on the first day is it done then.
    assert starts(plan) == {"in-open": 16, "in-inside": 16, "in-tent": 16, "in-shed": 0, "launch": 17}


# -- horizons


@pytest.mark.parametrize("wait", [30, 38, 39, 45, 100, 128, 129, 300, 366])
def test_the_grid_reaches_far_enough_past_the_launch_or_a_year(wait: int) -> None:
    plan = planned(head(), crew(MORNING), task("soak", wait=24 * wait), task("launch", "soak"))
    assert hour(plan, plan.launch) == 24 * wait
    assert plan.grid.days in HORIZONS
    assert plan.grid.length - plan.launch >= MARGIN or plan.grid.days == HORIZONS[-1]
    if wait == 366:
        with pytest.raises(NoPlanError) as caught:
            plan_job(parse_job(head() + crew(MORNING) + task("soak", wait=24 * 369) + task("launch", "soak")))
        assert caught.value.file == ""


@pytest.mark.parametrize("gone", [0, 1, 50, 200, 700])
def test_a_stay_that_has_gone_on_for_long_is_planned_from_now(gone: int) -> None:
    now = dt.datetime(2027, 4, 12, 8) + dt.timedelta(days=gone)
    text = head(now="2027-04-12T08:00:00") + crew(MORNING) + task("soak", wait=24 * 60) + task("launch", "soak")
    job = parse_job(text)
    plan = plan_job(job, now=now, seconds=5.0)
    assert_kept(job, plan, now)
    assert hour(plan, plan.launch) == 24 * (gone + 60)
    assert plan.grid.length - plan.launch >= MARGIN


def test_a_clock_before_the_haul_out_or_beside_a_told_now_does_not_count() -> None:
    early, late = dt.datetime(2027, 4, 1, 12, tzinfo=dt.UTC), dt.datetime(2027, 4, 14, 9, 10, tzinfo=dt.UTC)
    parts = crew(MORNING) + task("job") + task("launch", "job")
    told = parse_job(head() + parts)
    open_ = parse_job(head().replace("now = 2027-04-12T08:00:00\n", "") + parts)
    assert hour(plan_job(told, clock=late), plan_job(told, clock=late).now) == 0
    for clock, right in ((early, 0), (late, 49.25), (None, 0)):
        plan = plan_job(open_, clock=clock)
        assert hour(plan, plan.now) == right
    assert plan_job(open_, now=late, clock=early).now == plan_job(open_, clock=late).now


# -- what no plan can beat


SHED = zone("shed", "inside")
COAT = material([20], "set = 3\nsand = 5")
WIL = crew(name="wil")
BOUNDS = {
    # Hours to the launch and to the bound, by hand: two people, round the clock.
    "one vice, four times two hours": (8, 8, [task(f"t{k}", work=2, hands=0, gear='["vice"]') for k in range(4)]),
    # Six hours, of which a count of units sees but 3 · 2 · 2 / 3.
    "two of three stands each": (
        6,
        4,
        [task(f"t{k}", work=2, hands=0, gear='[ { id = "stands", units = 2 } ]') for k in range(3)],
    ),
    "stands held until it is set": (
        8,
        8,
        [
            task(f"t{k}", zone='"shed"', material='"coat"', gear='[ { id = "stands", units = 2, until = "set" } ]')
            for k in range(2)
        ],
    ),
    "one person of two": (6, 6, [task(f"t{k}", work=2, who='["owner"]') for k in range(3)]),
    "both at once, and one more each": (
        6,
        4.25,
        [task(f"t{k}", work=1, hands=2) for k in range(2)] + [task("t2", work=4), task("t3", work=0.25)],
    ),
    "dust and a coat in one air": (
        9,
        8,
        [task("t0", zone='"shed"', material='"coat"'), task("t1", work=5, zone='"shed"', makes='"dust"')],
    ),
}


@pytest.mark.parametrize("name", BOUNDS)
def test_people_gear_and_air_rule_launches_out_up_to_the_first_there_is(name: str) -> None:
    least, ruled_out, tasks = BOUNDS[name]
    stage = "@set" if "shed" in tasks[0] else ""
    links = " ".join(f"t{k}{stage if 'material' in text else ''}" for k, text in enumerate(tasks))
    yard = (crew(), WIL, gear("vice"), gear("stands", 3), gear("spare", 9), SHED, normals(), COAT)
    text = "\n".join((head(), *yard, *tasks, task("launch", links, hands=0)))
    placer, search = prepare(parse_job(text))
    assert search.earliest is not None
    base = placer.problem.base
    plan = planned(text, seconds=20.0)
    assert (plan.launch - base) / 4 == least
    assert (hours_bound(placer, *search.earliest, base + 40 * 96) - base) / 4 == ruled_out


def test_the_solver_proves_the_launch_that_the_planner_finds_and_says_where_it_is() -> None:
    """From a plan three days late: what it comes to is the proved launch, as the last of its better plans has it."""
    seen = 0
    for seed in range(4):
        job = parse_job(random_job(seed, 8))
        placer, search = prepare(job)
        assert search.earliest is not None
        early = search.earliest[0]
        finish = placer.problem.finish
        late = placer.place([0.0] * len(early), {i: early[i] + 3 * 96 for i in placer.free[:2]})
        if not late.complete:
            continue
        told: list[int] = []
        outcome = proof.prove(
            placer,
            late.starts,
            early,
            early[finish],
            20,
            lambda: False,
            lambda found, _keys, told=told, finish=finish: told.append(found[finish]),  # type: ignore[misc]
        )
        truth = plan_job(job, seconds=60)
        assert truth.proved
        assert (outcome.bound, outcome.proved) == (truth.launch, True)
        assert not told or told[-1] == truth.launch
        seen += bool(told)
    assert seen


def test_a_solver_that_has_no_time_rules_nothing_out_that_can_be() -> None:
    for seed in range(3):
        job = parse_job(random_job(seed, 16))
        placer, search = prepare(job)
        assert search.earliest is not None
        early = search.earliest[0]
        finish = placer.problem.finish
        late = placer.place([0.0] * len(early), {i: early[i] + 3 * 96 for i in placer.free[:2]})
        assert late.complete
        outcome = proof.prove(placer, late.starts, early, early[finish], 0.0, lambda: True, lambda _found, _keys: None)
        truth = plan_job(job, seconds=60)
        assert truth.proved
        assert early[finish] <= outcome.bound <= truth.launch
        nothing = proof.prove(
            placer, late.starts, early, late.starts[finish], 5.0, lambda: False, lambda _found, _keys: None
        )
        assert (nothing.bound, nothing.proved) == (late.starts[finish], True)


# -- ties


def test_with_the_launch_kept_the_solver_misses_as_few_windows_as_it_can() -> None:
    stuff = material([20], "set = 0.5\nsand = 1\nrecoat = { opens = 2, closes = 6, if_missed = { work = 1 } }")
    tasks = (
        task("first", zone='"shed"', material='"coat"'),
        task("other", wait=30),
        task("second", "first@recoat other", zone='"shed"', material='"coat"'),
        task("launch", "second@set", hands=0),
    )
    job = parse_job("\n".join((head(), crew(), SHED, normals(), stuff, *tasks)))
    placer, search = prepare(job)
    assert search.earliest is not None
    items = {item.id: item.index for item in placer.problem.items}
    missed = placer.place([0.0, 1.0, 2.0, 3.0])
    assert len(missed.keyed) == 1
    launch = missed.starts[items["launch"]]
    settled = proof.fewer_windows(placer, missed.starts, search.earliest[0], launch, lambda: False)
    assert settled is not None
    found, keys = settled
    assert keys == {}
    assert found[items["launch"]] <= launch
    assert found[items["second"]] <= found[items["first"]] + 24
    assert proof.fewer_windows(placer, missed.starts, search.earliest[0], placer.problem.base, lambda: False) is None
    plan = plan_job(job, seconds=20)
    assert_kept(job, plan)
    assert not plan.missed


# -- what has begun


def begun(name: str, since: str, **more: object) -> str:
    return task(name, started=f"2027-04-12T{since}:00", **more)


def test_begun_work_goes_on_in_the_order_it_was_begun() -> None:
    """Both have two hours left and one person: what was begun first, though listed last, goes first."""
    text = (
        head(now="2027-04-12T10:00:00")
        + crew()
        + begun("listed", "09:00", work=3)
        + begun("older", "08:00", work=4)
        + task("launch", "listed older", hands=0)
    )
    placer, _ = prepare(parse_job(text))
    ends = {item.id: placer.end0[item.index] for item in placer.problem.items}
    assert (ends["older"], ends["listed"]) == (48, 56)


def test_what_was_worked_before_now_is_told_apart_of_what_is_left() -> None:
    plan = planned(
        head(now="2027-04-13T09:00:00"),
        crew(MORNING),
        begun("going", "11:00", work=4),
        task("over", started="2027-04-12T08:00:00", finished="2027-04-12T10:00:00"),
        task("next", "over going", work=1),
        task("launch", "next", hands=0),
    )
    rows = plan.rows
    assert (rows["going"].past, rows["going"].pieces) == (((44, 48), (128, 132)), ((132, 140),))
    assert (rows["going"].begun, rows["going"].finished, rows["going"].slack) == (True, False, 0)
    assert (rows["over"].past, rows["over"].pieces) == ((), ((32, 40),))
    assert (rows["over"].begun, rows["over"].finished, rows["over"].slack) == (False, True, 0)
    assert (rows["next"].past, rows["next"].begun, rows["next"].finished) == ((), False, False)
    # Worked up to now and from now on, it is one stretch of work to the stay.
    assert all((a.cause, a.row) != (b.cause, b.row) for a, b in pairwise(plan.steps))
    worked = [(s.begin, s.end) for s in plan.steps if s.row == "going" and s.cause == "work"]
    assert worked == [(44, 48), (128, 140)]


def test_begun_work_that_can_not_go_on_bars_the_launch() -> None:
    cold = begun("going", "08:00", work=4, zone='"bay"', needs="{ min_temp = 25 }")
    text = "\n".join(
        (head(now="2027-04-12T10:00:00"), crew(), zone(), normals(), cold, task("launch", "going", hands=0))
    )
    with pytest.raises(NoPlanError) as caught:
        plan_job(parse_job(text))
    (fault,) = caught.value.faults
    assert fault.where == "task going"


FINISHED = 'zone = "shed"\nmaterial = "coat"\ngear = [ { id = "stands", units = 2, until = "sand" } ]\n'


@pytest.mark.parametrize(
    ("reached", "set_", "sand"),
    [
        ("", 4, 6),
        ("reached = { set = 2027-04-12T09:40:00 }", 2, 6),
        ("reached = { sand = 2027-04-12T10:00:00 }", 4, 2),
    ],
)
def test_what_is_finished_still_cures_and_holds_or_has_reached_what_was_seen(
    reached: str, set_: float, sand: float
) -> None:
    """Finished at 09:00: set three hours on, to be sanded after five, but for what the owner has seen himself."""
    plan = planned(
        head(now="2027-04-12T10:00:00"),
        crew(),
        crew(name="wil"),
        gear("stands", 3),
        SHED,
        normals(),
        COAT,
        task("coat", started="2027-04-12T08:00:00", finished="2027-04-12T09:00:00") + FINISHED + reached,
        task("grind", zone='"shed"', makes='"dust"'),
        task("other", gear='[ { id = "stands", units = 2 } ]'),
        task("small", gear='["stands"]'),
        task("next", "coat@sand", hands=0),
        task("launch", "grind other small next", hands=0),
    )
    moments = starts(plan)
    assert moments["grind"] == set_
    assert moments["other"] == sand
    assert moments["next"] == sand
    assert moments["small"] == 2


def test_two_pieces_of_gear_are_each_held_for_their_own_time() -> None:
    """The vice while the coat is laid, the stands until it is set, both of them until it is sanded."""
    held = '["vice", { id = "stands", until = "set" }, { id = "mould", until = "sand" }]'
    plan = planned(
        head(),
        crew(),
        crew(name="wil"),
        *(gear(name) for name in ("vice", "stands", "mould")),
        SHED,
        normals(),
        COAT,
        task("coat", zone='"shed"', material='"coat"', gear=held),
        *(task(f"t-{name}", "coat", gear=f'["{name}"]', hands=0) for name in ("vice", "stands", "mould")),
        task("launch", "t-vice t-stands t-mould", hands=0),
    )
    assert starts(plan) == {"coat": 0, "t-vice": 1, "t-stands": 4, "t-mould": 6, "launch": 7}
    assert plan.rows["t-stands"].held.by == plan.rows["t-mould"].held.by == ("coat",)


# -- what it costs


def costed(wait: float) -> Plan:
    yard = "\n[yard]\nnight = 38.5\nfree_nights = 2\nfixed = 420\n"
    return planned(head(), yard, crew(), task("soak", wait=wait), task("launch", "soak", hands=0))


def test_nights_past_the_free_ones_cost_and_no_yard_costs_nothing() -> None:
    # Hauled at 08:00: nights are midnights.
    told = {wait: (costed(wait).nights, costed(wait).cost) for wait in (15, 16, 40, 64, 112)}
    assert told == {15: (0, 420), 16: (1, 420), 40: (2, 420), 64: (3, 458.5), 112: (5, 535.5)}
    plan = costed(64)
    assert [plan.cost_of(nights) for nights in (0, 2, 3, 10)] == [420, 420, 458.5, 728]
    assert plan.nights_until(plan.hauled) == 0
    free = planned(head(), crew(), task("launch"))
    assert (free.cost, free.cost_of(9)) == (None, None)


def test_a_row_has_its_own_stages_and_closings() -> None:
    stuff = material([20], "set = 3\nsand = 5\nrecoat = { opens = 2, closes = 8 }\ncure = 20000")
    plan = planned(
        head(), crew(), SHED, normals(), stuff, task("coat", zone='"shed"', material='"coat"'), task("launch", "coat")
    )
    row = plan.rows["coat"]
    at = plan.hauled
    # From its end at 09:00, but the closing from its start; what is never reached within the grid is not told.
    assert row.stages == {"set": at + 16, "sand": at + 24, "recoat": at + 12}
    assert row.closes == {"recoat": at + 32}
    assert (plan.rows["launch"].stages, plan.rows["launch"].closes) == ({}, {})


def test_cold_days_let_a_task_go_later_by_their_own_cure() -> None:
    # 20 °C for a day and 10 °C after it: at 10 °C the stage takes twice as long.
    stuff = material([10, 20], "set = [4, 2]\nsand = [40, 20]")
    coat = task("coat", zone='"shed"', material='"coat"')
    air = days("2027-04-12", [20]) + normals(10)
    plan = planned(head(), crew(), SHED, air, stuff, coat, task("launch", "coat@sand", hands=0))
    # 15 h of 20 by midnight; the quarter that is left takes 10 h of 40.
    assert hour(plan, plan.launch) == 1 + 15 + 10
