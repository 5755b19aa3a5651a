"""The plan as a calendar, read back by another reader (``vobject``) and held against RFC 5545 line by line."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
import vobject
from planned import assert_kept, crew, head, normals, zone
from planned import task as plain_task
from telling_jobs import BAY, HEAD, MISSED, NORMALS, SOFT

from sequencer.errors import UsageError
from sequencer.job import parse_job
from sequencer.paper.calendar import plan_calendar
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job
from sequencer.supplies import lead_of, supplies
from sequencer.telling import windows


def planned(tasks: str, now: str = "", front: str = HEAD) -> Plan:
    """A plan that keeps every rule."""
    moment = dt.datetime.fromisoformat(now) if now else None
    job = parse_job(front + NORMALS + tasks)
    plan = plan_job(job, now=moment, seconds=2.0)
    assert_kept(job, plan, moment)
    return plan


def read(text: str) -> list[Any]:
    """The events as the other reader has them."""
    return list(vobject.readOne(text).vevent_list)


def of_kind(text: str, kind: str) -> list[Any]:
    return [event for event in read(text) if event.categories.value == [kind]]


def uids(text: str) -> set[str]:
    return {event.uid.value for event in read(text)}


# -- the form


def unfolded(text: str) -> list[str]:
    return text.replace("\r\n ", "").split("\r\n")


def test_every_line_is_folded_and_ends_as_the_standard_says() -> None:
    # RFC 5545, 3.1: lines end in CRLF and are at most 75 octets long without it.
    text = plan_calendar(planned(BAY, front=HEAD.replace('"The pod"', f'"{"Ünder-Wässer " * 12}"')))
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    assert any("Ünder-Wässer " * 7 in line for line in unfolded(text))


def test_the_calendar_has_what_the_standard_asks_for() -> None:
    # RFC 5545, 3.6: VERSION and PRODID once; 3.6.1: UID and DTSTAMP in each event; 3.6.5: the zone each TZID names.
    lines = unfolded(plan_calendar(planned(BAY)))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    events = lines.count("BEGIN:VEVENT")
    assert events == 4 + 1 + 1
    assert sum(line.startswith("UID:") for line in lines) == events
    assert sum(line.startswith("DTSTAMP:2027") and line.endswith("Z") for line in lines) == events
    named = {line.partition("TZID=")[2].partition(":")[0] for line in lines if "TZID=" in line}
    assert named == {"Europe/London"}
    assert lines.count("BEGIN:VTIMEZONE") == 1
    assert "TZID:Europe/London" in lines


# -- what is in it


def test_another_reader_finds_every_piece_of_work_at_its_moment() -> None:
    plan = planned(BAY)
    work = of_kind(plan_calendar(plan), "work")
    told = {(e.summary.value, e.dtstart.value, e.dtend.value) for e in work}
    rows = [row for row in plan.rows.values() if row.id != "relaunch"]
    assert told == {(row.title, plan.moment(b), plan.moment(e)) for row in rows for b, e in row.pieces}
    assert {start.utcoffset() for _, start, _ in told} == {dt.timedelta(hours=1)}


def test_the_lift_is_told_with_an_alarm_the_day_before() -> None:
    plan = planned(BAY)
    (lift,) = of_kind(plan_calendar(plan), "lift")
    assert lift.dtstart.value == plan.launched
    assert lift.valarm.trigger.value == dt.timedelta(days=-1)


def test_a_window_that_shuts_rings_before_its_last_start() -> None:
    plan = planned(SOFT)
    (window,) = windows(plan)
    (event,) = of_kind(plan_calendar(plan), "window")
    assert event.summary.value == "Last start of coat-2 on coat-1"
    assert event.dtstart.value == plan.moment(window.last)
    triggers = [alarm.trigger.value for alarm in event.valarm_list]
    assert triggers == [dt.timedelta(hours=-12), dt.timedelta(hours=-2)]
    assert all(alarm.action.value == "DISPLAY" and alarm.description.value for alarm in event.valarm_list)
    assert "Missed: " in event.description.value


def test_a_window_that_is_missed_or_taken_rings_no_more() -> None:
    (missed,) = of_kind(plan_calendar(planned(MISSED, now="2027-04-05T18:00")), "window")
    assert missed.summary.value == "Window missed: key coat-1 for coat-2"
    assert not hasattr(missed, "valarm")
    log = "started = 2027-04-05T10:00:00\nfinished = 2027-04-05T11:00:00\n"
    taken = SOFT.replace('id = "coat-1"\n', f'id = "coat-1"\n{log}').replace(
        'id = "coat-2"\n', 'id = "coat-2"\nstarted = 2027-04-05T15:00:00\nfinished = 2027-04-05T15:45:00\n'
    )
    (covered,) = of_kind(plan_calendar(planned(taken, now="2027-04-05T16:00")), "window")
    assert covered.summary.value == "coat-2 went on coat-1"
    assert not hasattr(covered, "valarm")


def test_a_delivery_is_a_moment_or_a_whole_day_as_written() -> None:
    (event,) = of_kind(plan_calendar(planned(BAY)), "delivery")
    assert event.summary.value == "Delivery: The pod"
    assert event.dtstart.value == dt.datetime(2027, 4, 8, 10, tzinfo=dt.UTC)
    (event,) = of_kind(plan_calendar(planned(BAY, front=HEAD.replace("08T11:00:00", "08"))), "delivery")
    assert (event.dtstart.value, event.dtend.value) == (dt.date(2027, 4, 8), dt.date(2027, 4, 9))
    assert event.transp.value == "TRANSPARENT"


def test_the_last_day_to_order_is_a_day_with_an_alarm_in_the_morning() -> None:
    plan = planned(BAY)
    (event,) = of_kind(plan_calendar(plan, orders=supplies(plan, lead_of(["coat=5"]))), "order")
    assert event.dtstart.value == dt.date(2027, 3, 31)
    assert event.valarm.trigger.value == dt.timedelta(hours=9)


def test_text_of_the_owner_comes_back_letter_for_letter_and_breaks_nothing() -> None:
    name = r"Pod; \"big\", 1,5 m\\n BEGIN:VEVENT \r\nEND:VCALENDAR"
    text = plan_calendar(planned(BAY, front=HEAD.replace('"The pod"', f'"{name}"')))
    (event,) = of_kind(text, "delivery")
    shown = 'Pod; "big", 1,5 m\\n BEGIN:VEVENT \\r\\nEND:VCALENDAR'
    assert event.summary.value == f"Delivery: {shown}"
    assert unfolded(text).count("BEGIN:VEVENT") == 6


# -- a second import


def test_identifiers_stay_when_the_plan_moves_and_revisions_rise() -> None:
    first = plan_calendar(planned(BAY), dt.date(2027, 4, 5))
    later = planned(BAY.replace('id = "coat-1"\n', 'id = "coat-1"\nnot_before = 2027-04-06\n'))
    second = plan_calendar(later, dt.datetime(2027, 4, 6, 9))
    assert uids(first) == uids(second)
    assert {e.uid.value: e.dtstart.value for e in read(first)} != {e.uid.value: e.dtstart.value for e in read(second)}
    assert max(int(e.sequence.value) for e in read(first)) < min(int(e.sequence.value) for e in read(second))
    assert first == plan_calendar(planned(BAY), dt.date(2027, 4, 5))


def test_identifiers_belong_to_the_file(tmp_path: Path) -> None:
    found = []
    for name in ("a/dunlin.toml", "b/dunlin.toml", "b/knot.toml"):
        job = parse_job(HEAD + NORMALS + BAY, tmp_path / name)
        plan = plan_job(job, seconds=2.0)
        assert_kept(job, plan)
        text = plan_calendar(plan)
        assert len(uids(text)) == len(read(text))
        found.append(uids(text))
    assert found[0] == found[1]
    assert not found[0] & found[2]


def test_a_piece_half_done_stays_the_same_event() -> None:
    plan = planned(BAY)
    before = {e.summary.value: e.uid.value for e in of_kind(plan_calendar(plan), "work")}
    begun = BAY.replace('id = "coat-1"\n', 'id = "coat-1"\nstarted = 2027-04-05T10:00:00\nwork_left = 0.5\n')
    now = planned(begun, now="2027-04-05T10:30")
    (event,) = [e for e in of_kind(plan_calendar(now), "work") if e.summary.value == "coat-1"]
    assert event.uid.value == before["coat-1"]
    assert event.dtstart.value == plan.moment(plan.rows["coat-1"].start)
    assert event.dtend.value == plan.moment(plan.rows["coat-1"].end)


def test_what_an_earlier_calendar_had_and_the_plan_has_no_more_is_cancelled() -> None:
    split = planned(BAY.replace("work = 2", "work = 5"))
    assert len(split.rows["fit"].pieces) == 2
    first, plan = plan_calendar(split, dt.date(2027, 4, 5)), planned(BAY)
    text = plan_calendar(plan, dt.date(2027, 4, 6), before=first)
    cancelled = [e for e in read(text) if hasattr(e, "status")]
    assert {e.uid.value for e in cancelled} == uids(first) - uids(plan_calendar(plan))
    assert [e.dtstart.value for e in cancelled] == [split.moment(split.rows["fit"].pieces[1][0])]
    assert {e.status.value for e in cancelled} == {"CANCELLED"}
    assert uids(first) <= uids(text)
    # And once more from that: nothing comes back to life.
    again = plan_calendar(plan, dt.date(2027, 4, 7), before=text)
    assert {e.uid.value for e in read(again) if hasattr(e, "status")} == {e.uid.value for e in cancelled}


@pytest.mark.parametrize("before", ["no calendar", "BEGIN:VCALENDAR\r\nPRODID:x\r\nEND:VCALENDAR\r\n", "BEGIN:VEVENT"])
def test_an_earlier_calendar_of_somebody_else_is_refused(before: str) -> None:
    with pytest.raises(UsageError, match="is none of this tool's"):
        plan_calendar(planned(BAY), before=before)


# -- the yard's clock


@pytest.mark.parametrize(
    ("timezone", "hauled"),
    [
        ("Europe/London", "2027-10-30T08:00:00"),
        ("Europe/London", "2027-03-27T08:00:00"),
        ("America/New_York", "2027-11-06T08:00:00"),
        ("Australia/Lord_Howe", "2027-04-03T08:00:00"),
        ("Asia/Kolkata", "2027-04-03T08:00:00"),
        ("UTC", "2027-04-03T08:00:00"),
    ],
)
def test_moments_across_a_change_of_the_clock_come_back_right(timezone: str, hauled: str) -> None:
    # Work round the clock, two nights long, with ends in the hour that comes twice or never.
    tasks = "".join(
        plain_task(f"t{k}", f"t{k - 1}" if k else "", work=2.75, zone='"bay"', hands=0) for k in range(14)
    ) + plain_task("launch", "t13")
    job = parse_job(head(hauled, timezone) + normals() + crew() + zone(shelter="inside") + tasks)
    plan = plan_job(job, seconds=2.0)
    assert_kept(job, plan)
    told = {e.summary.value: (e.dtstart.value, e.dtend.value) for e in of_kind(plan_calendar(plan), "work")}
    assert len(told) == 14
    for name, (begin, end) in told.items():
        row = plan.rows[name]
        assert begin.astimezone(dt.UTC) == plan.moment(row.start).astimezone(dt.UTC)
        assert end.astimezone(dt.UTC) == plan.moment(row.end).astimezone(dt.UTC)
