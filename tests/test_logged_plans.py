"""What has happened, whatever it was: the plan goes on from it, keeps its rules, and its ledger still adds up."""

from __future__ import annotations

import random
import re

import pytest
from planned import assert_kept, crew, day, head, local, normals, planned, task, zone
from random_jobs import random_job

from sequencer.checking import check_plan
from sequencer.job import parse_job
from sequencer.paper.jsonplan import plan_object
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job

MORNING = '{ days = "Mon-Sun", from = "08:00", to = "12:00" }'
NOW = "2027-04-13T09:00:00"


def lived(*parts: str, shift: str = MORNING) -> Plan:
    """Hauled on Monday the 12th at 08:00, planned from Tuesday 09:00; the plan keeps every rule."""
    return planned(head(now=NOW), normals(), crew(shift), zone(), *parts)


def assert_adds_up(plan: Plan) -> None:
    """The stay is split without a gap or an overlap from the haul-out to the launch."""
    at = plan.hauled
    for step in plan.steps:
        assert step.begin == at < step.end
        at = step.end
    assert at == plan.launch


LOGS = {
    "within the shift": "started = 2027-04-12T08:00:00\nfinished = 2027-04-12T10:00:00",
    "between grid lines": "started = 2027-04-12T08:05:00\nfinished = 2027-04-12T10:05:00",
    "into the evening": "started = 2027-04-12T11:00:00\nfinished = 2027-04-12T20:00:00",
    "just past the shift": "started = 2027-04-12T11:00:00\nfinished = 2027-04-12T12:10:00",
    "at night": "started = 2027-04-12T22:00:00\nfinished = 2027-04-13T03:00:00",
    "before the haul-out": "started = 2027-04-11T09:00:00\nfinished = 2027-04-11T11:00:00",
    "across the haul-out": "started = 2027-04-11T09:00:00\nfinished = 2027-04-12T09:00:00",
    "only its end": "finished = 2027-04-12T20:00:00",
    "up to now": "started = 2027-04-12T08:00:00\nfinished = 2027-04-13T09:00:00",
    "begun within the shift": "started = 2027-04-12T11:00:00",
    "begun in the evening": "started = 2027-04-12T20:00:00",
    "begun before the haul-out": "started = 2027-04-11T20:00:00",
    "begun now": "started = 2027-04-13T09:00:00",
    "begun with work left": "started = 2027-04-12T20:00:00\nwork_left = 2",
    "begun with no work left": "started = 2027-04-12T08:00:00\nwork_left = 0",
}


@pytest.mark.parametrize("log", LOGS.values(), ids=LOGS.keys())
def test_the_stay_adds_up_whenever_work_was_done(log: str) -> None:
    plan = lived(f'[[task]]\nid = "first"\nwork = 6\n{log}\n', task("launch", "first"))
    assert_adds_up(plan)


@pytest.mark.parametrize("log", LOGS.values(), ids=LOGS.keys())
def test_the_stay_adds_up_where_the_log_has_a_task_done_before_its_turn(log: str) -> None:
    """What is done stands as logged, though what it comes after has not begun."""
    late = f'[[task]]\nid = "second"\nwork = 6\nafter = ["first"]\n{log}\n'
    plan = lived(task("first", work=2), late, task("launch", "second"))
    assert_adds_up(plan)


@pytest.mark.parametrize("seed", range(30))
def test_the_stay_adds_up_and_every_rule_is_kept_whatever_is_logged(seed: int) -> None:
    """Random haul-outs, a day in, with tasks logged as finished at random moments, in no order that makes sense."""
    rng = random.Random(seed)
    lead, *tables = re.split(r"(?m)^(?=\[\[task\]\])", random_job(seed, 4 + seed % 9))
    lead = re.sub(r"(?m)^now = .*$", "now = 2027-04-13T10:20:00", lead)
    for place, table in enumerate(tables[:-1]):
        if rng.random() < 0.4:
            begun, took = rng.randrange(-24 * 60, 23 * 60, 10), rng.randrange(0, 8 * 60, 5)
            moments = [f"2027-04-{12 + m // 1440}T{m % 1440 // 60:02d}:{m % 60:02d}:00" for m in (begun, begun + took)]
            log = f"started = {moments[0]}\nfinished = {moments[1]}\n"
            tables[place] = table.rstrip("\n") + f"\n{log if rng.random() < 0.8 else log.splitlines()[1]}\n\n"
    job = parse_job(lead + "".join(tables))
    plan = plan_job(job, seconds=1)
    assert_kept(job, plan)
    assert_adds_up(plan)


# -- begun work that needs nobody


def test_begun_work_without_hands_minds_the_air() -> None:
    """Four hours of drying that want 10 °C: Monday and Wednesday have that, Tuesday has not. Begun on Monday 22:00,
    two hours of it were done by midnight, and the other two pass on Wednesday."""
    air = day("2027-04-12", 15) + day("2027-04-13", 5) + day("2027-04-14", 15)
    dry = task("dry", hands=0, work=4, zone='"bay"', needs="{ min_temp = 10 }", started="2027-04-12T22:00:00")
    plan = lived(air, dry, task("launch", "dry", hands=0))
    assert [local(plan, moment) for piece in plan.rows["dry"].pieces for moment in piece] == [
        "2027-04-14 00:00",
        "2027-04-14 02:00",
    ]
    assert local(plan, plan.launch) == "2027-04-14 02:00"


def test_begun_work_goes_on_at_once_and_takes_what_it_has_left() -> None:
    # Six hours: 08:00 to 12:00 and from 08:00 to 09:00 make five; one is left.
    plan = lived(task("first", work=6, started="2027-04-12T08:00:00"), task("launch", "first"))
    assert [local(plan, moment) for piece in plan.rows["first"].pieces for moment in piece] == [
        "2027-04-13 09:00",
        "2027-04-13 10:00",
    ]


def test_finished_work_is_told_from_its_start_to_its_end() -> None:
    """`end` is the end of the last piece, finished after the shift or not."""
    text = head(now=NOW) + normals() + crew(MORNING)
    log = task("first", work=6, started="2027-04-12T11:00:00", finished="2027-04-12T12:10:00")
    job = parse_job(text + log + task("launch", "first"))
    told = plan_object(plan_job(job))
    row = next(row for row in told["tasks"] if row["id"] == "first")
    assert (row["start"], row["end"]) == ("2027-04-12T11:00:00+00:00", "2027-04-12T12:15:00+00:00")
    assert row["pieces"][0][0] == row["start"]
    assert row["pieces"][-1][1] == row["end"]
    assert check_plan(job, told) == []


# -- what a begun task's pauses are put down to


def test_pauses_before_now_are_put_down_to_nobody_there_and_to_other_hands() -> None:
    """Six hours of the owner's, begun on Monday 11:00: an hour until noon, four on Tuesday, one on Wednesday.

    Wil alone is there from 13:00 to 17:00; what lies before the start is the start.
    """
    wil = crew('{ days = "Mon-Sun", from = "13:00", to = "17:00" }', name="wil")
    first = task("first", work=6, who='["owner"]', started="2027-04-12T11:00:00")
    plan = lived(wil, first, task("launch", "first", hands=0))
    assert local(plan, plan.launch) == "2027-04-14 09:00"
    assert hours(plan) == {"start": 3, "work": 6, "off-shift": 32, "people": 8}
    assert_adds_up(plan)


def test_begun_before_the_hands_come_waits_for_them() -> None:
    """Begun at 07:00 by a pair that only Wil completes, who comes on Tuesday at 10:00."""
    wil = crew('{ days = "Tue", from = "10:00", to = "12:00" }', name="wil")
    first = task("first", work=1, hands=2, started="2027-04-13T07:00:00")
    plan = lived(wil, first, task("launch", "first", hands=0))
    assert local(plan, plan.launch) == "2027-04-13 11:00"
    assert hours(plan)["people"] == 1
    begun = [(local(plan, s.begin), s.cause) for s in plan.steps if s.row == "first"]
    # From 08:00 the owner was alone; the log says nothing of what he did until now.
    assert begun[-2:] == [("2027-04-13 09:00", "people"), ("2027-04-13 10:00", "work")]


def test_rain_before_now_is_the_weather() -> None:
    """Five hours that want it dry, begun on Monday 08:00 with rain from 09:00 to 11:00, which nobody worked."""
    air = day("2027-04-12", 15, more='rain = ["09:00/11:00"]')
    first = task("first", work=5, zone='"bay"', needs="{ dry = true }", started="2027-04-12T08:00:00")
    plan = lived(air, first, task("launch", "first", hands=0))
    assert plan.rows["first"].past == (
        (plan.hauled, plan.hauled + 4),
        (plan.hauled + 12, plan.hauled + 16),
        (plan.now - 4, plan.now),
    )
    assert local(plan, plan.launch) == "2027-04-13 11:00"
    assert hours(plan) == {"work": 5, "weather": 2, "off-shift": 20}


def test_of_two_begun_tasks_on_one_pair_of_hands_the_later_waits_for_people() -> None:
    early = task("early", work=2, started="2027-04-12T08:00:00", work_left=1)
    late = task("late", work=2, started="2027-04-13T08:00:00", work_left=1)
    plan = lived(early, late, task("launch", "late", hands=0))
    assert [local(plan, moment) for moment in plan.rows["late"].pieces[0]] == ["2027-04-13 10:00", "2027-04-13 11:00"]
    pause = [(s.cause, s.end - s.begin) for s in plan.steps if s.row == "late" and s.begin >= plan.now]
    assert pause == [("people", 4), ("work", 4)]


def test_the_hands_of_begun_work_that_waits_are_free_until_it_goes_on() -> None:
    """Two begun tasks, an hour each, and Wil beside the owner: a third is not told that its hands are gone."""
    early = task("early", who='["owner"]', work=2, started="2027-04-12T08:00:00", work_left=1)
    late = task("late", who='["owner"]', work=2, started="2027-04-13T08:00:00", work_left=1)
    wil = crew(MORNING, name="wil")
    plan = lived(wil, early, late, task("third", who='["wil"]', work=1), task("launch", "early late third", hands=0))
    assert local(plan, plan.rows["third"].start) == "2027-04-13 09:00"
    usage = plan.rows["third"].explain.func.__self__.usage  # type: ignore[attr-defined]
    assert usage.hands[:8].tolist() == [2, 2, 2, 2, 1, 1, 1, 1]


def test_a_pause_of_work_without_hands_is_never_put_down_to_people() -> None:
    """Four hours of drying by night that rain from 02:00 to 03:00 stops, with nobody on shift."""
    air = day("2027-04-14", 15, more='rain = ["02:00/03:00"]')
    dry = task("dry", hands=0, work=4, zone='"bay"', needs="{ dry = true }", not_before="2027-04-14T00:00:00")
    plan = lived(air, dry, task("launch", "dry", hands=0))
    assert plan.stay["weather"] == 4
    assert [s.cause for s in plan.steps if s.row == "dry"][-3:] == ["work", "weather", "work"]


def hours(plan: Plan) -> dict[str, float]:
    """The stay in hours by cause."""
    return {cause: slots / 4 for cause, slots in plan.stay.items()}
