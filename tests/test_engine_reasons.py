"""Why each row starts when it does: every slot from ready to start held against the contract's list of causes (§7).

The causes are reckoned here slot by slot from the plan's own rows; of the planner only its tables are asked, which say
who is on shift, what air is fit or wet, and how long a cure takes.
"""

from __future__ import annotations

from functools import cache
from itertools import groupby

import pytest
from planned import assert_kept, crew, day, days, gear, head, material, normals, planned, starts, task, zone
from random_jobs import random_job

from sequencer.job import parse_job
from sequencer.planning.plan import Plan, Row
from sequencer.planning.planner import plan_job
from sequencer.planning.problem import Item
from sequencer.planning.rows import build_plan
from sequencer.planning.usage import Usage


@cache
def plan_of(seed: int, tasks: int) -> Plan:
    """The proved plan of a random job; it keeps every rule."""
    job = parse_job(random_job(seed, tasks))
    plan = plan_job(job, seconds=60.0)
    assert_kept(job, plan)
    return plan


class Ledger:
    """What a plan takes up, slot by slot, row by row."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.problem, self.job, self.tables = plan.problem, plan.job, plan.problem.tables
        self.items = {item.id: item for item in self.problem.items}

    def worked(self, row: Row) -> set[int]:
        return {slot for begin, end in row.pieces for slot in range(max(begin, self.plan.now), end)}

    def air(self, row: Row) -> str:
        return self.job.zones[row.zone].air_id if row.zone else ""

    def wet(self, row: Row) -> set[int]:
        coat = row.task.material is not None and not row.keys
        return set(range(row.start, row.stages.get("set", self.problem.length))) if coat else set()

    def held(self, row: Row, which: str) -> dict[int, int]:
        found: dict[int, int] = {}
        for use in () if row.keys else row.task.gear:
            until = row.end if use.until in (None, "done") else row.stages[use.until]
            for slot in range(row.start, until if use.id == which else row.start):
                found[slot] = found.get(slot, 0) + use.units
        return found

    def others(self, row: Row) -> list[Row]:
        return [other for other in self.plan.rows.values() if other.id != row.id]

    # -- one row

    def causes(self, row: Row, begin: int, end: int) -> list[tuple[str, int]]:
        """Runs of the first cause that stops a row in each slot of [begin, end)."""
        others = self.others(row)
        self.hands: dict[int, int] = {}
        self.busy: dict[str, set[int]] = {person.id: set() for person in self.job.crew}
        for other in others:
            for slot in self.worked(other):
                self.hands[slot] = self.hands.get(slot, 0) + other.hands
            for name in () if other.keys else other.task.who:
                self.busy[name] |= self.worked(other)
        near = [other for other in others if row.zone and self.air(other) == self.air(row)]
        self.wets = set().union(*(self.wet(other) for other in near))
        self.dusts = set().union(*(self.worked(other) for other in near if other.dusty))
        cause = self.key_cause if row.keys else self.cause
        told = [cause(row, slot) for slot in range(begin, end)]
        return [(cause, len(list(run))) for cause, run in groupby(told)]

    def cause(self, row: Row, slot: int) -> str:
        item, task = self.items[row.id], row.task
        grid, there = self.tables.grid, self.tables.hands
        if task.delivery and slot < grid.slot(self.job.deliveries[task.delivery].due):
            return "delivery"
        if task.not_before is not None and slot < grid.slot(task.not_before):
            return "date"
        run = self.run(item, slot)
        if item.hands:
            if not there[slot]:
                return "off-shift"
            staffed = self.tables.staffed(item.hands, task.who)
            one_day = run and grid.day_of(run[-1] + 1) == grid.day_of(slot)
            if staffed[slot] and task.one_go and not (len(run) == item.work and one_day):
                return "off-shift"
            if not staffed[slot] or any(self.taken(item, at) for at in run):
                return "people"
        over = run[-1] + 1 if run else self.problem.length
        for cause, stopped in (("weather", self.unfit), ("gear", self.gearless), ("dust", self.dusty)):
            if stopped(item, slot, run, over):
                return cause
        allowed = self.tables.starts_allowed(task.slots)
        if allowed is not None and not allowed[slot]:
            return "slot"
        return "start" if slot < self.plan.now else "cure"

    def key_cause(self, row: Row, slot: int) -> str:
        """One pair of hands, dry, dusty or not: of all that stops a task no more can stop a keying."""
        there, air = self.tables.hands, self.tables.air(self.job.zones[row.zone])
        size = sum(end - begin for begin, end in row.pieces)
        run = [at for at in range(slot, row.end) if there[at] and air.known[at] and not air.rain[at]][:size]
        if not there[slot]:
            return "off-shift"
        if any(there[at] <= self.hands.get(at, 0) for at in run):
            return "people"
        if air.rain[slot]:
            return "weather"
        return "dust" if row.dusty and self.wets & set(run) else "cure"

    def run(self, item: Item, slot: int) -> list[int]:
        """The slots worked from a start on; in one go the weather ahead is left aside."""
        if item.hands == 0 and (item.is_wait or not item.task.zone):
            return list(range(slot, min(slot + item.work, self.problem.length)))
        mask = self.tables.staffed(item.hands, item.task.who)
        if not item.task.one_go:
            mask = mask & self.fit(item)
        found: list[int] = []
        at = slot
        while len(found) < item.work and at < self.plan.rows[item.id].end:
            if mask[at]:
                found.append(at)
            at += 1
        return found

    def fit(self, item: Item):  # type: ignore[no-untyped-def]
        task = item.task
        zone = self.job.zones[task.zone] if task.zone and not item.is_wait else None
        apply = self.job.materials[task.material].apply if task.material else None
        return self.tables.fit(zone, task.needs, task.dry, apply)

    def taken(self, item: Item, slot: int) -> bool:
        free = int(self.tables.hands[slot]) - self.hands.get(slot, 0)
        return free < item.hands or any(slot in self.busy[name] for name in item.task.who)

    def unfit(self, item: Item, slot: int, run: list[int], over: int) -> bool:
        task = item.task
        if not task.zone:
            return False
        fit = self.fit(item)
        if not item.is_wait and not all(fit[slot : over if task.one_go else slot + 1]):
            return True
        zone = self.job.zones[task.zone]
        if task.material is None or zone.shelter != "open":
            return False
        material = self.job.materials[task.material]
        until = over if material.dry_until == "done" else self.tables.opens(zone, material, material.dry_until)[over]  # type: ignore[index]
        return bool(self.tables.wetted(zone)[slot : min(until, self.problem.length)].any())

    def gearless(self, item: Item, slot: int, run: list[int], over: int) -> bool:
        for use in item.task.gear:
            used: dict[int, int] = {}
            for other in self.others(self.plan.rows[item.id]):
                for at, units in self.held(other, use.id).items():
                    used[at] = used.get(at, 0) + units
            until = over
            if use.until not in (None, "done"):
                zone, material = self.job.zones[item.task.zone or ""], self.job.materials[item.task.material or ""]
                until = self.tables.opens(zone, material, use.until)[over]  # type: ignore[index, arg-type]
            if any(used.get(at, 0) + use.units > self.job.gears[use.id].count for at in range(slot, until)):
                return True
        return False

    def dusty(self, item: Item, slot: int, run: list[int], over: int) -> bool:
        if item.dusty and self.wets & set(run):
            return True
        return item.set_curve is not None and bool(self.dusts & set(range(slot, item.set_curve[over])))


CASES = [(seed, 6 + 2 * seed) for seed in range(5)]


def check(plan: Plan) -> set[str]:
    """Assert that every planned row's spans are as reckoned; the causes met."""
    ledger = Ledger(plan)
    met: set[str] = set()
    for row in plan.rows.values():
        held = row.held
        if row.keys or row.finished or row.begun:
            continue
        right = ledger.causes(row, held.ready, row.start) if held.ready < row.start else []
        assert list(held.spans) == right, row.id
        met |= {cause for cause, _ in right}
    return met


def test_every_slot_of_a_wait_for_a_keying_is_put_down_to_the_first_cause_that_stops_it() -> None:
    """First plans, in which much is keyed: most keyings wait for people, a shift or a wet coat."""
    met: set[str] = set()
    for seed in range(40):
        plan = plan_job(parse_job(random_job(seed, 24)), seconds=0)
        ledger = Ledger(plan)
        for row in plan.rows.values():
            if row.keys and row.held.task:
                begin = max(row.held.ready, plan.now)
                right = ledger.causes(row, begin, row.start) if begin < row.start else []
                assert list(row.held.spans) == right, (seed, row.id)
                met |= {cause for cause, _ in right}
    assert met >= {"off-shift", "people", "dust"}


@pytest.mark.parametrize(("seed", "tasks"), CASES)
def test_every_slot_of_a_wait_is_put_down_to_the_first_cause_that_stops_it(seed: int, tasks: int) -> None:
    assert check(plan_of(seed, tasks))


@pytest.mark.parametrize(("seed", "tasks"), CASES)
def test_what_a_plan_takes_up_is_what_its_rows_do(seed: int, tasks: int) -> None:
    assert_taken_up(plan_of(seed, tasks))


def assert_taken_up(plan: Plan) -> None:
    """Assert that the planner's count of people, gear, dust and wet coats is what the plan's rows come to."""
    ledger = Ledger(plan)
    usage = usage_of(plan)
    rows = plan.rows.values()
    span = range(plan.now, plan.now + usage.size)
    count: dict[int, int] = {}
    for row in rows:
        for slot in ledger.worked(row):
            count[slot] = count.get(slot, 0) + row.hands
    assert usage.hands.tolist() == [count.get(slot, 0) for slot in span]
    assert usage.on_shift.tolist() == [int(plan.problem.tables.hands[slot]) for slot in span]
    shift = dict(zip(span, usage.on_shift.tolist(), strict=True))
    spans = [(plan.now, plan.launch), (plan.now + 40, plan.now + 60), (plan.launch, plan.launch)]
    left = [[shift[slot] - count[slot] for slot in range(begin, end) if count.get(slot)] for begin, end in spans]
    assert usage.spare_hands(spans) == [min(some, default=0) for some in left]
    for number, air in enumerate(plan.problem.airs):
        wet = [ledger.wet(row) for row in rows if ledger.air(row) == air]
        dust = [ledger.worked(row) for row in rows if ledger.air(row) == air and row.dusty]
        assert usage.wet[number].tolist() == [sum(slot in one for one in wet) for slot in span]
        assert usage.dust[number].tolist() == [sum(slot in one for one in dust) for slot in span]
    for number, which in enumerate(plan.problem.gears):
        held = [ledger.held(row, which) for row in rows]
        units = [sum(one.get(slot, 0) for one in held) for slot in span]
        assert usage.gear[number].tolist() == units
        for begin, end in ((plan.now, plan.launch), (plan.now + 40, plan.now + 60), (plan.launch, plan.launch)):
            most = max(units[begin - plan.now : end - plan.now], default=plan.job.gears[which].count)
            assert usage.spare_gear(number, begin, end) == plan.job.gears[which].count - most


def usage_of(plan: Plan) -> Usage:
    """The usage of a plan's own schedule."""
    explain = plan.rows[plan.job.job.finish].explain
    return explain.func.__self__.usage  # type: ignore[attr-defined, no-any-return]


@pytest.mark.parametrize("together", [1, 5])
@pytest.mark.parametrize(("seed", "tasks"), CASES)
def test_rows_asked_one_at_a_time_or_a_few_are_told_the_same(
    seed: int, tasks: int, together: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = plan_of(seed, tasks)
    monkeypatch.setattr("sequencer.planning.stops.TOGETHER", together)
    anew = {i: row.explain() for i, row in rows_anew(plan).items()}
    assert anew == {i: row.held for i, row in plan.rows.items()}
    assert any(held.spans for held in anew.values())


def rows_anew(plan: Plan) -> dict[str, Row]:
    """The rows of a plan's own schedule, nothing of them worked out yet."""
    explain = plan.rows[plan.job.job.finish].explain
    reasons = explain.func.__self__  # type: ignore[attr-defined]
    return build_plan(reasons.placer, reasons.schedule, plan.bound, 0.0, True).rows


# -- small yards in which one cause after another holds a task


DAY = '{ days = "Mon-Fri", from = "08:00", to = "12:00" }, { days = "Mon-Fri", from = "13:00", to = "17:00" }'
WIL = '{ days = "Mon-Fri", from = "10:00", to = "15:00" }'
STUFF = material([20], "set = 3\nsand = 6\nrecoat = { opens = 2, closes = 30 }\napply = { min_temp = 10 }")
SHOWERS = days("2027-04-12", [20, 20, 8, 20, 20], 'rain = ["09:30/10:00", "14:00/15:00"]')
YARD = (
    crew(DAY),
    crew(WIL, name="wil"),
    zone(),
    zone("shed", "inside"),
    gear("vice"),
    gear("stands", 3),
    STUFF,
    SHOWERS,
    normals(),
    '\n[[delivery]]\nid = "pod"\ndue = 2027-04-14T09:00:00\n',
)
SMALL = {
    "people and the person": (
        task("long", work=6, who='["wil"]'),
        task("mine", work=2, who='["owner"]'),
        task("both", "mine", work=3, hands=2, who='["wil"]', one_go=True),
        task("launch", "long both", hands=0, slots='[ { days = "Mon-Fri", from = "09:00", to = "09:30" } ]'),
    ),
    "weather in one go and with pauses": (
        task("paused", work=6, zone='"bay"', needs="{ dry = true }"),
        task("whole", work=3, zone='"bay"', needs="{ dry = true }", one_go=True),
        task("coat", "paused", work=1, zone='"bay"', material='"coat"'),
        task("launch", "coat@sand whole"),
    ),
    "gear held until a stage": (
        task("coat", work=1, zone='"shed"', material='"coat"', gear='[ { id = "stands", units = 2, until = "sand" } ]'),
        task("other", work=1, gear='[ { id = "stands", units = 2 }, "vice" ]'),
        task("third", "coat", work=5, gear='["vice", { id = "stands", units = 3 }]'),
        task("launch", "other third"),
    ),
    "dust, a delivery and a date": (
        task("coat", work=1, zone='"shed"', material='"coat"'),
        task("grind", work=5, zone='"shed"', makes='"dust"'),
        task("next", "coat@recoat", work=1, zone='"shed"', material='"coat"'),
        task("fit", "grind", work=1, delivery='"pod"'),
        task("late", "coat", work=1, not_before="2027-04-13T11:00:00"),
        task("launch", "fit late next@set"),
    ),
    "a fan that makes dust by night": (
        task("fan", work=9, hands=0, zone='"bay"', makes='"dust"', needs="{ dry = true }"),
        task("coat", work=1, zone='"bay"', material='"coat"'),
        task("soak", "coat@set", wait=8),
        task("launch", "fan soak"),
    ),
    "a coat that is ground while it is laid": (
        task("first", work=1, zone='"shed"', material='"coat"', makes='"dust"', not_before="2027-04-12T10:00:00"),
        task("other", work=1, zone='"shed"', material='"coat"'),
        task("launch", "first other"),
    ),
    "a person and a date, and the vice past both": (
        task("long", work=3, gear='["vice"]'),
        task("named", work=1, who='["wil"]', gear='["vice"]'),
        task("dated", work=1, gear='["vice"]', hands=0, not_before="2027-04-12T09:00:00"),
        task("launch", "long named dated", hands=0),
    ),
    "a window missed and keyed": (
        task("first", work=1, zone='"shed"', material='"coat"'),
        task("second", "first@recoat", work=1, zone='"shed"', material='"coat"', delivery='"pod"'),
        task("mine", work=9, who='["owner"]', not_before="2027-04-14"),
        task("soak", "first", wait=20),
        task("launch", "second soak mine"),
    ),
    "a coat held back for its window": (
        task("first", work=1, zone='"shed"', material='"coat"'),
        task("wait", wait=40),
        task("second", "first@recoat wait", work=1, zone='"shed"', material='"coat"'),
        task("launch", "second@set"),
    ),
}


@cache
def small(name: str) -> Plan:
    """The plan of a small yard, which keeps every rule."""
    return planned(head(), *YARD, *SMALL[name])


@pytest.mark.parametrize("name", SMALL)
def test_what_holds_a_task_in_a_small_yard(name: str) -> None:
    plan = small(name)
    assert check(plan)
    assert_taken_up(plan)


def test_a_fan_makes_no_dust_while_it_rains_on_it() -> None:
    """Rain from 09:30 to 10:00 and from 14:00 to 15:00 stops the fan, and so its dust."""
    fan = task("fan", work=8, hands=0, zone='"bay"', makes='"dust"', needs="{ dry = true }")
    plan = planned(head(), *YARD, fan, task("launch", "fan", hands=0))
    assert plan.rows["fan"].pieces == ((32, 38), (40, 56), (60, 70))
    assert_taken_up(plan)


def test_the_small_yards_meet_every_cause() -> None:
    met = set().union(*(check(small(name)) for name in SMALL))
    assert met == {"delivery", "date", "off-shift", "people", "weather", "gear", "dust", "slot", "cure"}


def test_who_has_the_people_the_gear_and_the_air_is_named() -> None:
    plan = small("gear held until a stage")
    causes = {row.id: (row.held.cause, row.held.by) for row in plan.rows.values()}
    # The coat has two of three stands until it is sanded, and the third task wants them all.
    assert causes["third"] == ("gear", ("coat",))
    assert causes["coat"] == ("people", ("other",))
    dusty = small("dust, a delivery and a date")
    rows = dusty.rows
    grind = rows["grind"].held
    assert (grind.cause, grind.by) in {("dust", ("coat",)), ("dust", ("next",)), ("dust", ("coat", "next"))} or (
        rows["coat"].held.cause == "dust" and rows["coat"].held.by == ("grind",)
    )


def test_a_keying_that_had_the_hands_or_made_the_dust_is_named() -> None:
    """A task with nobody's name on it starts as a keying ends, or a coat after its dust: the keying is among those."""
    named = {"people": 0, "dust": 0}
    for seed, tasks in [*((seed, 24) for seed in range(40)), (8, 40), (46, 40), (72, 40)]:
        plan = plan_job(parse_job(random_job(seed, tasks)), seconds=0)
        keyings = [row for row in plan.rows.values() if row.keys]
        for row in plan.rows.values():
            if row.keys or row.held.cause not in named or not row.held.spans:
                continue
            ended = {key.id for key in keyings if key.end in (row.start - 1, row.start)}
            if row.held.cause == "people" and (row.hands > 1 or not row.task.who):
                assert ended <= set(row.held.by), (seed, row.id)
            named[row.held.cause] += len(set(row.held.by) & {key.id for key in keyings})
            for key in keyings:
                assert key.id not in row.held.by or (key.start < row.start and key.task.id != row.id), (seed, row.id)
    assert min(named.values()) > 0, named


def test_a_pause_is_put_down_to_what_makes_it() -> None:
    """The owner off at noon while Wil is there, rain from 09:30 and from 14:00."""
    one = planned(
        head(),
        *YARD,
        task("job", work=6, zone='"bay"', needs="{ dry = true }", who='["owner"]'),
        task("launch", "job", hands=0),
    )
    assert starts(one) == {"job": 0, "launch": 8.5}
    assert one.stay == {"work": 24, "people": 4, "weather": 6}
    # Wil comes at ten and goes at three.
    two = planned(head(), *YARD, task("job", work=5, who='["wil"]'), task("launch", "job", hands=0))
    assert two.rows["job"].pieces == ((40, 60),)
    assert two.rows["job"].held.spans == (("people", 8),)
    # What lies before the first task of the path is the start, whatever held it.
    assert two.stay == {"work": 20, "start": 8}


def test_what_a_keying_waits_for_and_pauses_for_is_told_each_by_its_cause() -> None:
    """By hand: from 10:00, when the coat has set, until the rain of 11:00-11:30, after it, and the next morning."""
    coat = material(
        [20], 'dry_until = "none"\nset = { opens = 1 }\nrecoat = { opens = 1, closes = 4, if_missed = { work = 3 } }'
    )
    plan = planned(
        head() + crew('{ days = "Mon-Sun", from = "08:00", to = "12:00" }'),
        zone(),
        coat,
        task("a", zone='"bay"', material='"coat"'),
        task("b", "a@recoat", not_before="2027-04-14"),
        task("launch", "b"),
        days("2027-04-12", [20] * 5, 'rain = ["11:00/11:30"]'),
    )
    assert plan.rows["b/key/a"].pieces == ((40, 44), (46, 48), (128, 134))
    told = [(step.cause, (step.end - step.begin) / 4) for step in plan.steps if step.row == "b/key/a"]
    assert told == [("dust", 1), ("work", 1), ("weather", 0.5), ("work", 0.5), ("off-shift", 20), ("work", 1.5)]
    held = plan.rows["b/key/a"].held
    assert (held.cause, held.task) == ("dust", "a")


def test_steady_weather_holds_nobody() -> None:
    plan = planned(head(), crew(DAY), zone(), day("2027-04-12"), task("job", zone='"bay"'), task("launch", "job"))
    assert plan.stay == {"work": 4}
    assert {row.held.cause for row in plan.rows.values()} == {"start", "work"}
