"""What the solver's model says of starts, stages and spans, held against its plain meaning start by start.

Each statement of :mod:`sequencer.planning.terms` is put into a model of its own; for every start of the work the solver
is asked for the least, the greatest, or what stays free, and that is reckoned by hand beside it.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from ortools.sat.python import cp_model
from planned import crew, gear, head, material, normals, task, zone

from sequencer.job import parse_job
from sequencer.planning.apart import keep_apart, keep_out
from sequencer.planning.axis import Axis
from sequencer.planning.bits import bits, pieces, unbits
from sequencer.planning.bound import latest_starts
from sequencer.planning.placing import Placer
from sequencer.planning.planner import prepare
from sequencer.planning.spans import Steps, Stretch, Work
from sequencer.planning.terms import Terms, parallel

LAST = 72
"""Starts looked at lie within so many slots of the haul-out, Monday 08:00: two days at work and the night between."""

OWNER = '{ days = "Mon-Sun", from = "08:00", to = "10:00" }, { days = "Mon-Sun", from = "10:30", to = "12:00" }'
WIL = '{ days = "Mon-Sun", from = "09:00", to = "11:15" }'


def yard() -> Placer:
    """Two people with breaks; work of several kinds."""
    rain = '\n[[weather.day]]\ndate = 2027-04-12\nlow = 20\nhigh = 20\ndew = 10\nrain = ["09:00/09:30"]\n'
    parts = (
        head(),
        crew(OWNER),
        crew(WIL, name="wil"),
        zone(),
        zone("shed", "inside"),
        gear("mould", 2),
        normals(),
        rain,
        material([20], "set = 2\nsand = 5\nrecoat = { opens = 1.5, closes = 3 }"),
        task("alone", work=1),
        task("both", work=0.75, hands=2),
        task("coat", work=0.5, zone='"shed"', material='"coat"'),
        task("dry", work=1, zone='"bay"', needs="{ dry = true }"),
        task("fan", work=1.25, hands=0, zone='"bay"', needs="{ dry = true }", makes='"dust"'),
        task("soak", wait=3),
        task("launch", "alone both coat dry fan soak", hands=0),
    )
    return prepare(parse_job("\n".join(parts)))[0]


PLACER = yard()
PROBLEM = PLACER.problem
BASE = PROBLEM.base
ITEMS = {item.id: item for item in PROBLEM.items}
WORKERS = ("alone", "both", "coat", "dry")
NOBODYS = ("fan", "soak")


class Bench:
    """A model with some of the yard's work in it."""

    def __init__(self) -> None:
        self.axis = Axis(PROBLEM)
        self.terms = Terms(PROBLEM, self.axis)
        self.cp = self.terms.cp

    def work(self, name: str, present: cp_model.IntVar | None = None, last: int = LAST) -> Work:
        """The work of one task, its starts within `last` slots."""
        item = ITEMS[name]
        pairs = [(s, e) for s, e in zip(item.course.starts, item.course.ends, strict=True) if s < BASE + last]
        starts, ends = [s for s, _ in pairs], [e for _, e in pairs]
        return self.terms.work(item.course, starts, ends, item.work, item.hands > 0, present, name)

    def extreme(self, var: cp_model.IntVar, least: bool, *fixed: tuple[cp_model.IntVar, int]) -> int | None:
        """The least or greatest value of a variable with others fixed; None where the model has no solution."""
        model = self.cp.clone()
        for other, value in fixed:
            model.add(model.get_int_var_from_proto_index(other.index) == value)
        seen = model.get_int_var_from_proto_index(var.index)
        (model.minimize if least else model.maximize)(seen)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(model)
        assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
        return solver.value(seen) if status == cp_model.OPTIMAL else None

    def free(self, spans: Sequence[cp_model.IntervalVar], upto: int, *fixed: tuple[cp_model.IntVar, int]) -> set[int]:
        """The places below `upto` that the spans leave free, with others fixed."""
        lits = []
        for place in range(upto):
            lit = self.cp.new_bool_var("")
            unit = self.cp.new_optional_fixed_size_interval_var(place, 1, lit, "")
            for span in spans:
                self.cp.add_no_overlap([span, unit])
            lits.append(lit)
        model = self.cp.clone()
        for other, value in fixed:
            model.add(model.get_int_var_from_proto_index(other.index) == value)
        known = [model.get_bool_var_from_proto_index(lit.index) for lit in lits]
        model.maximize(sum(known))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.solve(model) == cp_model.OPTIMAL
        return {place for place, lit in enumerate(known) if solver.value(lit)}


def places(work: Work, axis: Axis) -> list[int]:
    """The values of the start of a work, each by its slot."""
    return [axis.slots.index(s) for s in work.starts] if work.on_axis else list(work.starts)


@pytest.mark.parametrize("name", [*WORKERS, *NOBODYS])
def test_a_work_starts_at_its_feasible_starts_and_nowhere_else(name: str) -> None:
    bench = Bench()
    work = bench.work(name)
    assert work.steps.values == places(work, bench.axis)
    assert work.on_axis == (name in WORKERS)
    assert work.size == ITEMS[name].work
    ends = {work.steps.values[0], work.steps.values[-1]}
    assert {bench.extreme(work.steps.var, least) for least in (True, False)} == ends


def test_an_order_literal_is_true_just_where_the_start_is_as_late() -> None:
    values = [2, 3, 7, 11]
    for asked in range(1, 13):
        model = cp_model.CpModel()
        steps = Steps(model, values, "start")
        literal = steps.ge(asked)
        if asked <= 2:
            assert literal is None
            continue
        for value in values:
            held = model.clone()
            held.add(held.get_int_var_from_proto_index(steps.var.index) == value)
            same = held.get_bool_var_from_proto_index(literal.index)  # type: ignore[union-attr]
            solver = cp_model.CpSolver()
            assert solver.solve(held) == cp_model.OPTIMAL
            assert bool(solver.value(same)) == (value >= asked)
        assert steps.ge(asked) is literal


@pytest.mark.parametrize("name", WORKERS)
@pytest.mark.parametrize("optional", [False, True])
def test_work_takes_the_places_on_the_axis_it_is_worked_in(name: str, optional: bool) -> None:
    probe = Bench()
    count = len(probe.work(name).starts)
    for k in range(0, count, 3):
        bench = Bench()
        present = bench.cp.new_bool_var("") if optional else None
        work = bench.work(name, present)
        upto = bench.axis.first_from(BASE + LAST + 96)
        start = (work.steps.var, work.steps.values[k])
        fixed = (start, (present, 1)) if present is not None else (start,)
        worked = worked_in(work, k)
        free = bench.free(work.spans, upto, *fixed)
        assert {bench.axis.slots[place] for place in set(range(upto)) - free} == worked
        assert len(worked) == work.size


def test_optional_work_that_is_not_done_takes_nothing() -> None:
    for name in WORKERS:
        bench = Bench()
        present = bench.cp.new_bool_var("")
        work = bench.work(name, present)
        assert bench.free(work.spans, 40, (present, 0)) == set(range(40))


def worked_in(work: Work, k: int) -> set[int]:
    """The slots worked from the k-th start."""
    return {slot for b, e in pieces(work.course.workable, work.starts[k], work.ends[k]) for slot in range(b, e)}


def test_work_that_needs_nobody_takes_the_slots_it_goes_on_in() -> None:
    probe = Bench().work("fan")
    for k in range(0, len(probe.starts), 7):
        bench = Bench()
        work = bench.work("fan")
        bench.terms.cut(work)
        free = bench.free(work.spans, BASE + LAST + 16, (work.steps.var, work.starts[k]))
        assert set(range(BASE + LAST + 16)) - free == worked_in(work, k)


@pytest.mark.parametrize("name", [*WORKERS, "fan"])
def test_work_stops_where_its_last_piece_ends(name: str) -> None:
    bench = Bench()
    work = bench.work(name)
    if not work.on_axis:
        bench.terms.cut(work)
    stop = bench.cp.new_int_var(0, PROBLEM.length, "")
    bench.cp.add(stop == bench.terms.stop_of(work))
    for k in range(0, len(work.starts), 2):
        fixed = (work.steps.var, work.steps.values[k])
        right = bench.axis.exact(work.ends[k] - 1) + 1 if work.on_axis else work.ends[k]
        assert {bench.extreme(stop, least, fixed) for least in (True, False)} == {right}


# -- one start and another


CURE = ITEMS["coat"].set_curve
assert CURE is not None


def moments_of(work: Work, kind: str) -> list[int]:
    """What the later start must not come before: the end itself, the end of a cure, or steps made up."""
    assert CURE is not None
    if kind == "end":
        return work.ends
    if kind == "cure":
        return [CURE[e] for e in work.ends]
    # Steps: three starts share a moment, then it jumps.
    return [work.ends[0] + k // 3 * 5 for k in range(len(work.ends))]


@pytest.mark.parametrize("kind", ["end", "cure", "steps"])
@pytest.mark.parametrize(("first", "then"), [("alone", "both"), ("dry", "coat"), ("fan", "alone"), ("coat", "soak")])
def test_the_later_start_comes_no_sooner_than_its_moment(first: str, then: str, kind: str) -> None:
    bench = Bench()
    earlier, later = bench.work(first), bench.work(then, last=2 * LAST)
    moments = moments_of(earlier, kind)
    bench.terms.at_least(later, earlier, moments)
    for k in range(0, len(moments), 2):
        right = next((v for v, s in zip(later.steps.values, later.starts, strict=True) if s >= moments[k]), None)
        fixed = (earlier.steps.var, earlier.steps.values[k])
        assert bench.extreme(later.steps.var, True, fixed) == right, (k, moments[k])
        assert bench.extreme(later.steps.var, False, fixed) == (None if right is None else later.steps.values[-1])


@pytest.mark.parametrize(("first", "then"), [("alone", "both"), ("coat", "dry"), ("coat", "fan"), ("soak", "coat")])
@pytest.mark.parametrize("step", [1, 3])
def test_the_later_start_comes_no_later_than_its_moment(first: str, then: str, step: int) -> None:
    bench = Bench()
    earlier, later = bench.work(first), bench.work(then, last=2 * LAST)
    meant = bench.cp.new_bool_var("")
    moments = [earlier.starts[0] + k // step * step + 6 for k in range(len(earlier.starts))]
    bench.terms.at_most(later, earlier, moments, [meant])
    for k in range(0, len(moments), 2):
        fits = [v for v, s in zip(later.steps.values, later.starts, strict=True) if s <= moments[k]]
        fixed = (earlier.steps.var, earlier.steps.values[k])
        found = bench.extreme(later.steps.var, False, fixed, (meant, 1))
        assert found == (fits[-1] if fits else None), (k, moments[k])
        assert bench.extreme(later.steps.var, False, fixed, (meant, 0)) == later.steps.values[-1]


def test_a_statement_with_a_condition_holds_only_where_that_does() -> None:
    bench = Bench()
    earlier, later = bench.work("alone"), bench.work("both")
    meant = bench.cp.new_bool_var("")
    bench.terms.at_least(later, earlier, earlier.ends, [meant])
    last = (earlier.steps.var, earlier.steps.values[-2])
    assert bench.extreme(later.steps.var, True, last, (meant, 0)) == later.steps.values[0]
    assert bench.extreme(later.steps.var, True, last, (meant, 1)) != later.steps.values[0]


# -- what is held from a start to a moment


def limits_of(bench: Bench, taken: Stretch, *fixed: tuple[cp_model.IntVar, int]) -> tuple[int | None, int | None]:
    """How late a stretch can begin and how soon it can be over, with others fixed."""
    begin, until = (bench.cp.new_int_var(0, PROBLEM.length, "") for _ in range(2))
    bench.cp.add(begin == taken.begin)
    bench.cp.add(until == taken.until)
    return bench.extreme(begin, False, *fixed), bench.extreme(until, True, *fixed)


@pytest.mark.parametrize(
    ("name", "real"), [("both", False), ("both", True), ("coat", False), ("coat", True), ("fan", True)]
)
@pytest.mark.parametrize("kind", ["end", "cure", "steps"])
def test_what_is_held_takes_all_from_the_start_to_the_moment_and_no_more(name: str, kind: str, real: bool) -> None:
    probe = Bench().work(name)
    for k in range(0, len(probe.starts), 11 if name == "fan" else 5):
        bench = Bench()
        work = bench.work(name)
        moments = moments_of(work, kind)
        span, taken = bench.terms.spread(work, moments, real), bench.terms.stretch(work, moments, real)
        fixed = (work.steps.var, work.steps.values[k])
        first = (lambda m: m) if real else bench.axis.first_from
        right = first(work.starts[k]), first(moments[k])
        assert limits_of(bench, taken, fixed) == right
        assert taken.pairs[k] == right
        upto = first(BASE + 3 * 96)
        assert set(range(upto)) - bench.free([span], upto, fixed) == set(range(*right)), (k, work.starts[k], moments[k])


@pytest.mark.parametrize("kind", ["end", "cure", "steps"])
def test_a_cover_is_what_lies_within_on_the_axis_and_may_be_nothing_at_night(kind: str) -> None:
    bench = Bench()
    work = bench.work("fan")
    moments = moments_of(work, kind)
    taken = bench.terms.cover(work, moments)
    assert taken.present is not None
    first = bench.axis.first_from
    nights = 0
    for k in range(0, len(work.starts), 5):
        fixed = (work.steps.var, work.steps.values[k])
        begin, until = first(work.starts[k]), first(moments[k])
        assert taken.pairs[k] == (begin, until)
        assert bench.extreme(taken.present, True, fixed) == int(until > begin)
        assert limits_of(bench, taken, fixed) == (begin, until)
        nights += until == begin
    assert nights or kind != "end"


# -- dust and wet coats


@pytest.mark.parametrize("name", ["alone", "dry", "fan"])
def test_dusty_work_and_a_wet_coat_never_meet_but_for_a_pause_long_enough(name: str) -> None:
    """Every start of the one with every third of the other: allowed just where no slot worked is a wet one."""
    bench = Bench()
    dusty, coat = bench.work(name), bench.work("coat")
    real = not dusty.on_axis
    if real:
        bench.terms.cut(dusty)
    assert CURE is not None
    until = [CURE[e] for e in coat.ends]
    keep_apart(bench.terms, bench.terms.stretch(coat, until, real), dusty, bench.terms.stop_of(dusty))
    said = set()
    for k in range(0, len(dusty.starts), 2):
        for m in range(0, len(coat.starts), 3):
            met = bool(worked_in(dusty, k) & set(range(coat.starts[m], until[m])))
            fixed = (dusty.steps.var, dusty.steps.values[k]), (coat.steps.var, coat.steps.values[m])
            found = bench.extreme(dusty.steps.var, True, *fixed) is None
            assert found == met, (dusty.starts[k], coat.starts[m], until[m])
            said.add(met)
    assert said == {True, False}


def test_a_pause_for_rain_is_long_enough_for_a_coat_that_sets_in_it() -> None:
    bench = Bench()
    dusty = bench.work("dry")
    broken = next(k for k, (s, e) in enumerate(zip(dusty.starts, dusty.ends, strict=True)) if e - s > dusty.size)
    # Rain from 09:00 to 09:30 parts what begins at 08:15 or later; a stretch within those two slots is in nobody's way.
    rain = bench.axis.first_from(BASE + 4)
    for begin, stop in (
        (rain, rain + 1),
        (rain, rain + 2),
        (rain + 1, rain + 2),
        (rain - 1, rain + 1),
        (rain, rain + 3),
    ):
        one = Bench()
        work = one.work("dry")
        keep_apart(one.terms, Stretch(begin, stop, None, [(begin, stop)]), work, one.terms.stop_of(work))
        worked = {one.axis.first_from(slot) for slot in worked_in(work, broken)}
        allowed = one.extreme(work.steps.var, True, (work.steps.var, work.steps.values[broken])) is not None
        assert allowed == (not worked & set(range(begin, stop))), (begin, stop)


def test_a_wet_coat_keeps_out_of_dust_that_is_settled() -> None:
    bench = Bench()
    coat = bench.work("coat")
    assert CURE is not None
    until = [CURE[e] for e in coat.ends]
    begin, stop = BASE + 10, BASE + 14
    keep_out(bench.terms, bench.terms.stretch(coat, until, True), begin, stop)
    for k, start in enumerate(coat.starts):
        met = start < stop and until[k] > begin
        assert (bench.extreme(coat.steps.var, True, (coat.steps.var, coat.steps.values[k])) is None) == met


def test_bit_sets_become_the_spans_they_are() -> None:
    bench = Bench()
    mask = 0b1110_0110 | 0b111 << 60
    slots = {BASE + bit for bit in range(mask.bit_length()) if mask >> bit & 1}
    free = bench.free(bench.terms.mask_spans(mask, True), BASE + 80)
    assert set(range(BASE + 80)) - free == slots
    other = Bench()
    upto = other.axis.first_from(BASE + 80)
    on_axis = {place for place in range(upto) if other.axis.slots[place] in slots}
    assert set(range(upto)) - other.free(other.terms.mask_spans(mask, False), upto) == on_axis


def test_the_axis_counts_the_slots_with_somebody_there() -> None:
    axis, whole = Axis(PROBLEM), Axis(PROBLEM, whole=True)
    there = PROBLEM.tables.hands
    right = [slot for slot in range(BASE, PROBLEM.length) if there[slot]]
    assert axis.slots == right
    assert axis.hands == [int(there[slot]) for slot in right]
    assert whole.slots == list(range(BASE, PROBLEM.length))
    asked = [*range(BASE - 3, BASE + 200), PROBLEM.length - 1, PROBLEM.length, PROBLEM.length + 9]
    for slot in asked:
        assert axis.first_from(slot) == sum(s < slot for s in right)
    assert axis.firsts(asked) == [axis.first_from(slot) for slot in asked]
    assert [axis.exact(slot) for slot in right[:50]] == list(range(50))


@pytest.mark.parametrize("mask", [0, 1, 0b1011, 0b111 << 60, (1 << 130) - 1])
def test_bits_are_told_one_by_one(mask: int) -> None:
    for size in (1, 8, 9, 64, 129):
        assert unbits(mask, size).tolist() == [mask >> k & 1 for k in range(size)]
        assert bits(unbits(mask, size).astype(bool)) == mask & ((1 << size) - 1)


def test_stretches_in_which_targets_run_parallel() -> None:
    assert list(parallel([3, 4, 5, 9, 10], [7, 8, 9, 9, 11])) == [(0, 3), (3, 4), (4, 5)]
    assert list(parallel([3], [8])) == [(0, 1)]


def test_last_starts_are_those_from_which_the_launch_can_be_met() -> None:
    """Nothing here shares: the last start is the greatest whose end lies at or before the launch."""
    launch = BASE + 120
    latest = latest_starts(PLACER, launch)
    for item in PROBLEM.items:
        if item.id == "launch":
            assert latest[item.index] == launch
            continue
        ends = dict(zip(item.course.starts, item.course.ends, strict=True))
        assert latest[item.index] == max(start for start, end in ends.items() if end <= launch)
