"""Jobs that no plan can be made of: the error names the task, what bars it and what to change (contract §7)."""

from __future__ import annotations

from pathlib import Path

import pytest
from planned import crew, days, gear, head, material, normals, planned, task, zone

from sequencer.errors import NoPlanError
from sequencer.job import parse_job
from sequencer.planning.planner import plan_job

DAYLIGHT = '{ days = "Mon-Fri", from = "08:00", to = "12:00" }'
EVENINGS = '{ days = "Mon-Fri", from = "18:00", to = "20:00" }'
LAUNCH = task("launch", "job")


def refused(*parts: str) -> list[str]:
    """What is said of a job that can't be planned, a sentence a fault."""
    with pytest.raises(NoPlanError) as caught:
        plan_job(parse_job("\n".join((head(), *parts))), seconds=1.0)
    return [fault.sentence() for fault in caught.value.faults]


def test_more_hands_than_there_are_people() -> None:
    assert refused(crew(), task("job", hands=3), LAUNCH) == [
        "task job: no launch within a year: it needs 3 hands, the crew is 1; change hands or add crew."
    ]


def test_people_who_never_meet() -> None:
    yard = crew(DAYLIGHT) + crew(EVENINGS, name="wil")
    said = "task job: no launch within a year: its 2 hands{} are never on shift together; change hours or hands."
    assert refused(yard, task("job", hands=2), LAUNCH) == [said.format("")]
    both = task("job", hands=2, who='["owner", "wil"]')
    assert refused(yard, both, LAUNCH) == [said.format(", owner and wil among them")]


def test_every_task_that_is_barred_by_itself_is_named_and_no_other() -> None:
    said = refused(crew(), task("job", hands=2), task("other", hands=4), task("fine"), LAUNCH)
    assert [sentence.partition(":")[0] for sentence in said] == ["task job", "task other"]


def test_days_without_weather() -> None:
    # Told on the 12th to the 14th alone; the year that the job must be planned within (contract §7) ends 368 days on.
    weather = days("2027-04-12", [20, 20, 20])
    cold = task("job", zone='"bay"', needs="{ min_temp = 25 }")
    assert refused(crew(), zone(), weather, cold, LAUNCH) == [
        "task job: no launch within a year: there is no weather from 15 April 2027 to 13 April 2028; "
        "add days by hand or a normal for the month."
    ]


def test_days_without_weather_before_now_are_no_matter() -> None:
    cold = task("job", zone='"bay"', needs="{ min_temp = 25 }")
    text = "\n".join((head(now="2027-04-20T08:00:00"), crew(), zone(), days("2027-04-20", [20]), cold, LAUNCH))
    with pytest.raises(NoPlanError) as caught:
        plan_job(parse_job(text, Path("yard.toml")), seconds=1.0)
    assert caught.value.text().startswith(
        "yard.toml: task job: no launch within a year: there is no weather from 21 April 2027 to "
    )


def test_a_gap_in_the_weather_is_told_from_its_first_day_to_its_last() -> None:
    # April and June are told; the first stretch without weather is May's.
    months = [part for part in normals().split("\n\n") if "month = 4\n" in part or "month = 6\n" in part]
    cold = task("job", zone='"bay"', needs="{ min_temp = 25 }", not_before="2027-04-12")
    said = refused(crew(), zone(), "\n\n".join(months), cold, LAUNCH)
    # The fortnight from now is known, so what bars it is the air; which days are missing is no longer the matter.
    assert said == [
        "task job: no launch within a year: no hour's air in bay suits it; "
        "change its limits, or shelter or heat the zone."
    ]
    late = task("job", zone='"bay"', work=1, not_before="2028-04-14")
    assert refused(crew(), zone(), "\n\n".join(months), late, LAUNCH) == [
        "task job: no launch within a year: there is no weather from 1 May 2027 to 31 May 2027; "
        "add days by hand or a normal for the month."
    ]


def test_a_single_day_without_weather_is_told_as_one() -> None:
    weather = days("2027-04-12", [20] * 3) + days("2027-04-16", [20] * 380)
    late = task("job", zone='"bay"', not_before="2028-04-14")
    assert refused(crew(), zone(), weather, late, LAUNCH) == [
        "task job: no launch within a year: there is no weather from 15 April 2027 to 15 April 2027; "
        "add days by hand or a normal for the month."
    ]


def test_air_that_never_suits() -> None:
    said = (
        "task job: no launch within a year: no hour's air in bay suits it; "
        "change its limits, or shelter or heat the zone."
    )
    warm = task("job", zone='"bay"', needs="{ min_temp = 25 }")
    assert refused(crew(), zone(), normals(20), warm, LAUNCH) == [said]
    stuff = material([20], "set = 2\napply = { min_temp = 25 }")
    assert refused(crew(), zone(), normals(20), stuff, task("job", zone='"bay"', material='"coat"'), LAUNCH) == [said]
    damp = material([20], "set = 2\napply = { above_dew = 3 }")
    coat = task("job", zone='"bay"', material='"coat"')
    assert refused(crew(), zone(), normals(20, 19), damp, coat, LAUNCH) == [said]


def test_slots_that_never_come_round() -> None:
    # A rule that ended before the haul-out.
    slots = '[ { rule = "FREQ=WEEKLY;BYDAY=MO;UNTIL=20260101", since = "2025-01-06", from = "09:00", to = "10:00" } ]'
    assert refused(crew(), task("job", slots=slots), LAUNCH) == [
        "task job: no launch within a year: its slots never come round; change slots."
    ]


def test_one_go_that_fits_no_shift() -> None:
    said = (
        "task job: no launch within a year: {} h in one go fit no shift with fit weather and dry time after; "
        "set one_go = false, longer hours, or shelter the zone."
    )
    assert refused(crew(DAYLIGHT), task("job", work=4.5, one_go=True), LAUNCH) == [said.format("4.5")]
    assert planned(head(), crew(DAYLIGHT), task("job", work=4, one_go=True), LAUNCH).rows["job"].worked == 16
    # Four hours fit the shift, but the next day's rain always comes before it has set.
    wet = days("2027-04-12", [20] * 400, 'rain = ["13:00/14:00"]')
    stuff = material([20], "set = 6")
    coat = task("job", zone='"bay"', material='"coat"', work=4)
    assert refused(crew(DAYLIGHT), zone(), wet, stuff, coat, LAUNCH) == [said.format("4")]


def test_slots_at_hours_when_nobody_is_there() -> None:
    slots = '[ { days = "Mon-Fri", from = "14:00", to = "15:00" } ]'
    assert refused(crew(DAYLIGHT), task("job", slots=slots), LAUNCH) == [
        "task job: no launch within a year: it finds no start; change its hours, weather limits or slots."
    ]


def test_a_task_that_what_comes_before_leaves_no_start() -> None:
    said = (
        "task launch: no launch within a year: no start fits it after what comes before it and beside what else is "
        "in the yard; look at its hands, gear, slots and not_before."
    )
    too_long = task("first", wait=24 * 200), task("job", "first", wait=24 * 200)
    assert refused(crew(), *too_long, LAUNCH) == [said.replace("launch:", "job:")]
    # A year away is further than any launch may be. No word of weather: nothing here is out in it.
    assert refused(crew(), task("job"), task("launch", "job", not_before="2028-05-01")) == [said]


def test_gear_that_never_comes_free() -> None:
    # Below 5 °C the cure stands still, and the mould is held until it is sanded.
    stuff = material([20], "set = 2\nsand = 10\nno_cure_below = 5")
    yard = (crew(), zone(), normals(3), gear("mould"), stuff)
    first = task("job", zone='"bay"', material='"coat"', gear='[ { id = "mould", until = "sand" } ]')
    (said,) = refused(*yard, first, task("next", "job", gear='["mould"]'), task("launch", "next"))
    assert said.startswith("task ")
    assert "no launch within a year" in said
