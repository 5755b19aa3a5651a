"""The solver's model of a small yard: two starts fixed, it must allow just what the rules allow of them (contract §3).

The rules are reckoned beside it slot by slot: who is there, what is held, what is wet, what makes dust.
"""

from __future__ import annotations

from itertools import combinations

import pytest
from ortools.sat.python import cp_model
from planned import crew, gear, head, material, normals, task, zone

from sequencer.job import parse_job
from sequencer.planning.bits import pieces
from sequencer.planning.bound import latest_starts
from sequencer.planning.hours import HoursBound
from sequencer.planning.model import Model
from sequencer.planning.placing import Placer
from sequencer.planning.planner import prepare
from sequencer.planning.problem import Item
from sequencer.planning.yard import Yard

OWNER = '{ days = "Mon-Sun", from = "08:00", to = "12:00" }'
WIL = '{ days = "Mon-Sun", from = "09:00", to = "11:30" }'
PAUL = '{ days = "Mon-Sun", from = "10:00", to = "12:30" }'
COAT = "set = 3\nsand = 5\nrecoat = { opens = 1.5, closes = 5, if_missed = { work = 0.5 } }"
TASKS = (
    task("owners", work=1, who='["owner"]', gear='["vice"]'),
    task("mine", work=0.75, who='["owner"]'),
    task("pair", work=1, hands=2, gear='[ { id = "stands", units = 2 } ]'),
    task("three", work=0.5, hands=3),
    task("one", work=1.5, gear='["stands", "vice"]'),
    task("coat", work=0.5, zone='"shed"', material='"coat"', gear='[ { id = "stands", until = "set", units = 2 } ]'),
    task("sand", work=1, zone='"shed"', makes='"dust"'),
    task("fan", work=1.5, zone='"shed"', hands=0, makes='"dust"', gear='["stands"]'),
)


def placer_of(*tasks: str, head_of: str = "", hands: int = 0) -> Placer:
    """The yard with these tasks and a launch that needs so many hands."""
    names = [text.partition('id = "')[2].partition('"')[0] for text in tasks]
    parts = (
        head_of or head(),
        crew(OWNER),
        crew(WIL, name="wil"),
        crew(PAUL, name="paul"),
        zone("shed", "inside"),
        gear("stands", 3),
        gear("vice"),
        normals(),
        material([20], COAT),
        *tasks,
        task("launch", " ".join(names), hands=hands),
    )
    return prepare(parse_job("\n".join(parts)))[0]


def worked(item: Item, start: int) -> set[int]:
    """The slots an item is worked in from a start."""
    end = ending(item, start)
    return {slot for b, e in pieces(item.course.workable, start, end) for slot in range(b, e)}


def ending(item: Item, start: int) -> int:
    return item.course.ends[item.course.starts.index(start)]


def wet(item: Item, start: int) -> set[int]:
    return set() if item.set_curve is None else set(range(start, item.set_curve[ending(item, start)]))


def held(item: Item, start: int, which: int) -> dict[int, int]:
    """Units of one gear held, by slot."""
    found: dict[int, int] = {}
    for hold in item.holds:
        if hold.gear == which:
            end = ending(item, start)
            for slot in range(start, end if hold.until is None else hold.until[end]):
                found[slot] = found.get(slot, 0) + hold.units
    return found


def allowed(placer: Placer, *laid: tuple[Item, int]) -> bool:
    """Whether items with these starts leave every rule of people, gear and air kept."""
    problem = placer.problem
    there = problem.tables.hands
    hands: dict[int, int] = {}
    for item, start in laid:
        for slot in worked(item, start):
            hands[slot] = hands.get(slot, 0) + item.hands
    if any(count > there[slot] for slot, count in hands.items()):
        return False
    for which, count in enumerate(problem.gear_counts):
        units: dict[int, int] = {}
        for item, start in laid:
            for slot, more in held(item, start, which).items():
                units[slot] = units.get(slot, 0) + more
        if any(taken > count for taken in units.values()):
            return False
    for (one, begin), (two, other) in combinations(laid, 2):
        if set(one.who) & set(two.who) and worked(one, begin) & worked(two, other):
            return False
        if one.air == two.air >= 0:
            dust_one, dust_two = (worked(i, s) if i.dusty else set() for i, s in ((one, begin), (two, other)))
            if wet(one, begin) & dust_two or wet(two, other) & dust_one:
                return False
    return True


def possible(model: Model, *fixed: tuple[cp_model.IntVar, int]) -> bool:
    """Whether the model has a solution with these values."""
    trial = model.model.clone()
    for var, value in fixed:
        trial.add(trial.get_int_var_from_proto_index(var.index) == value)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    return bool(solver.solve(trial) in (cp_model.OPTIMAL, cp_model.FEASIBLE))


def place(model: Model, item: Item, start: int) -> tuple[cp_model.IntVar, int]:
    work = model.work[item.index]
    return work.steps.var, model.axis.exact(start) if work.on_axis else start


def model_of(placer: Placer, days: int) -> Model:
    """The model for launches within so many days."""
    base = placer.problem.base
    return Model(placer, [base] * len(placer.problem.items), latest_starts(placer, base + days * 96))


def starts_of(placer: Placer, item: Item, slots: int, step: int) -> list[int]:
    """Every `step`-th of the starts in so many slots from now."""
    base = placer.problem.base
    return [start for start in item.course.starts if base <= start < base + slots][::step]


PLACER = placer_of(*TASKS)
ITEMS = {item.id: item for item in PLACER.problem.items}
PAIRS = [
    ("owners", "mine"),
    ("owners", "one"),
    ("mine", "pair"),
    ("pair", "three"),
    ("pair", "one"),
    ("pair", "coat"),
    ("one", "coat"),
    ("coat", "sand"),
    ("coat", "fan"),
    ("fan", "pair"),
    ("sand", "fan"),
]


@pytest.mark.parametrize(("one", "two"), PAIRS)
def test_two_starts_are_allowed_just_where_the_rules_allow_them(one: str, two: str) -> None:
    model = model_of(PLACER, 8)
    first, second = ITEMS[one], ITEMS[two]
    said = set()
    for begin in starts_of(PLACER, first, 34, 4):
        for other in starts_of(PLACER, second, 34, 7 if two == "fan" else 3):
            right = allowed(PLACER, (first, begin), (second, other))
            assert possible(model, place(model, first, begin), place(model, second, other)) == right, (begin, other)
            said.add(right)
    assert True in said


@pytest.mark.parametrize(("one", "two"), PAIRS)
def test_the_yard_finds_the_first_start_the_rules_allow_beside_what_lies_there(one: str, two: str) -> None:
    first, second = ITEMS[one], ITEMS[two]
    upto = PLACER.problem.base + 34
    for begin in starts_of(PLACER, first, 34, 2):
        yard = Yard(PLACER.problem)
        yard.put(first, begin, ending(first, begin))
        for ready in range(PLACER.problem.base, upto, 5):
            fits = (s for s in second.course.starts if s >= ready and allowed(PLACER, (first, begin), (second, s)))
            right = next(fits)
            assert yard.earliest(second, ready, PLACER.problem.length) == (right, ending(second, right))
            assert yard.earliest(second, ready, right) == (right, ending(second, right))
            assert yard.earliest(second, ready, right - 1) == (-1, -1)


def test_what_a_yard_takes_up_is_its_own() -> None:
    yard = Yard(PLACER.problem)
    copy = yard.copy()
    for name in ("owners", "coat", "sand"):
        item = ITEMS[name]
        start = item.course.starts[0 if name != "sand" else 40]
        copy.put(item, start, ending(item, start))
    fresh = Yard(PLACER.problem)
    for name in ("short", "busy", "wet", "dust", "gear_short"):
        assert getattr(yard, name) == getattr(fresh, name)
        assert getattr(copy, name) != getattr(fresh, name)


# -- windows


WINDOW = (
    task("first", work=0.5, zone='"shed"', material='"coat"'),
    task("next", "first@recoat", work=0.5, zone='"shed"', material='"coat"', hands=0, one_go="false"),
)


def test_a_window_is_met_or_the_coat_is_keyed_where_there_is_room_for_it() -> None:
    """From 1.5 h after its end to 5 h after its start; else keyed, half an hour, once it can be sanded (5 h)."""
    placer = placer_of(*WINDOW)
    problem = placer.problem
    first, then = (next(i for i in problem.items if i.id == name) for name in ("first", "next"))
    model = model_of(placer, 8)
    there = problem.tables.hands
    met, keyed, barred = 0, 0, 0
    for begin in starts_of(placer, first, 20, 9):
        end = ending(first, begin)
        for other in starts_of(placer, then, 130, 2):
            late = other > begin + 20
            key_from = end + 20
            room = any(there[s] and there[s + 1] for s in range(key_from, other - 1))
            right = other >= end + 6 and (not late or room)
            fixed = place(model, first, begin), place(model, then, other)
            assert possible(model, *fixed) == right, (begin, other)
            (choice,) = model.missed
            if right:
                assert possible(model, *fixed, (choice, 0)) == (not late)
                met, keyed = met + (not late), keyed + late
            else:
                barred += 1
    assert min(met, keyed, barred) > 5


def test_fewest_windows_missed_is_what_is_asked_for() -> None:
    placer = placer_of(*WINDOW)
    model = model_of(placer, 8)
    model.aim_at_windows()
    solver = cp_model.CpSolver()
    assert solver.solve(model.model) == cp_model.OPTIMAL
    assert solver.objective_value == 0
    assert model.read_keys(solver.value) == {}
    starts = model.read(solver.value)
    first, then = (next(i for i in placer.problem.items if i.id == name) for name in ("first", "next"))
    assert ending(first, starts[first.index]) + 6 <= starts[then.index] <= starts[first.index] + 20


# -- what the log has begun


BEGUN = task("owners", work=3, who='["owner"]', started="2027-04-12T08:00:00", gear='["vice"]')


def test_what_is_begun_takes_its_people_and_gear_from_the_others() -> None:
    now = head("2027-04-12T08:00:00", now="2027-04-12T09:00:00")
    placer = placer_of(BEGUN, *TASKS[1:6], head_of=now)
    problem = placer.problem
    items = {item.id: item for item in problem.items}
    begun = items["owners"]
    # One hour of three is worked: two are left, from 09:00 on.
    assert (placer.start0[begun.index], placer.end0[begun.index]) == (problem.base - 4, problem.base + 8)
    busy = set(range(problem.base, problem.base + 8))
    model = model_of(placer, 8)
    for name in ("mine", "pair", "three", "one"):
        item = items[name]
        for start in starts_of(placer, item, 24, 1):
            slots = worked(item, start)
            left = {s: int(problem.tables.hands[s]) - (s in busy) for s in slots}
            right = all(left[s] >= item.hands for s in slots)
            right &= name != "mine" or not slots & busy
            right &= name != "one" or not set(range(start, ending(item, start))) & busy
            assert possible(model, place(model, item, start)) == right, (name, start)
            yard = placer.yard0.copy()
            assert (yard.earliest(item, start, start)[0] == start) == right, (name, start)


def test_a_coat_that_is_finished_keeps_dust_off_until_it_is_set() -> None:
    """Finished at 09:00 and set at 12:00: a single quarter hour of dust, at each of its starts."""
    now = head("2027-04-12T08:00:00", now="2027-04-12T09:00:00")
    log = "started = 2027-04-12T08:00:00\nfinished = 2027-04-12T09:00:00\n"
    placer = placer_of(
        task("coat", zone='"shed"', material='"coat"') + log,
        task("tiny", work=0.25, zone='"shed"', makes='"dust"'),
        task("crowd", work=0.25, hands=2),
        head_of=now,
    )
    problem = placer.problem
    model = model_of(placer, 8)
    tiny, crowd = (next(i for i in problem.items if i.id == name) for name in ("tiny", "crowd"))
    for start in starts_of(placer, tiny, 110, 1):
        assert possible(model, place(model, tiny, start)) == (start >= problem.base + 12), start
    for start in starts_of(placer, crowd, 110, 1):
        assert possible(model, place(model, crowd, start)), start


def test_a_quarter_hour_that_what_is_begun_takes_is_taken_from_the_first() -> None:
    now = head("2027-04-12T08:00:00", now="2027-04-12T09:00:00")
    placer = placer_of(
        task("going", work=1.25, hands=2, started="2027-04-12T08:00:00", work_left=0.25),
        task("tiny", work=0.25),
        head_of=now,
    )
    tiny = next(i for i in placer.problem.items if i.id == "tiny")
    model = model_of(placer, 8)
    said = [possible(model, place(model, tiny, start)) for start in starts_of(placer, tiny, 3, 1)]
    assert said == [False, True, True]


# -- the launch


def test_a_value_of_the_objective_is_a_slot() -> None:
    model = model_of(PLACER, 8)
    launch = PLACER.problem.items[PLACER.problem.finish]
    # Nobody is needed for this launch: its start counts in slots.
    assert model.launch_slot(launch.course.starts[3]) == launch.course.starts[3]
    on_axis = model_of(placer_of(TASKS[1], hands=1), 8)
    assert [on_axis.launch_slot(k) for k in range(5)] == on_axis.axis.slots[:5]
    assert on_axis.launch_slot(10**9) == on_axis.axis.slots[-1]


def test_the_hours_a_vice_is_held_rule_out_a_launch_and_the_model_finds_the_first_there_is() -> None:
    """Four tasks of two hours on one vice: eight hours of a yard that is at work from 08:00 to 12:30."""
    placer = placer_of(*(task(f"t{k}", work=2, gear='["vice"]') for k in range(4)))
    base = placer.problem.base
    bound = HoursBound(placer, [base] * 5, [base + 8] * 5)
    assert bound.refutes(base + 31)
    model = model_of(placer, 8)
    model.aim_at_launch()
    solver = cp_model.CpSolver()
    assert solver.solve(model.model) == cp_model.OPTIMAL
    launch = model.launch_slot(round(solver.objective_value))
    assert launch == base + 96 + 14
    assert not bound.refutes(launch)
