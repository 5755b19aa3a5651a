"""A sound job file: every field of the format gives the value it stands for."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel
from support import BASE_JOB, changed, job_with

from sequencer.job import (
    Apply,
    Day,
    GearUse,
    Hours,
    IfMissed,
    Job,
    Link,
    Material,
    Needs,
    Normal,
    Stage,
    Task,
    Work,
    Yard,
    job_faults,
    log_faults,
    parse_job,
    parse_link,
    read_job,
)


def test_the_head_and_the_yard() -> None:
    job = job_with()
    assert job.job.title == "Pod conversion"
    assert job.job.boat == "Dunlin, 10 m sloop"
    assert job.job.timezone == ZoneInfo("Europe/London")
    assert job.job.hauled == dt.datetime(2027, 4, 12, 10)
    assert job.job.now == dt.datetime(2027, 4, 15, 18)
    assert job.job.finish == "relaunch"
    assert job.yard == Yard(currency="GBP", night=38.0, free_nights=2, fixed=420.0)


def test_the_weather() -> None:
    weather = job_with().weather
    assert weather.file == "april.csv"
    assert weather.day == (Day(date=dt.date(2027, 4, 16), low=6, high=13.5, dew=5, rain=((780, 1080),), wind=12),)
    assert weather.normal == (Normal(month=4, low=4.5, high=12, dew=5, wet_days=10, rain_hours=5, wet_after_wet=0.6),)


def test_the_crew() -> None:
    owner, friend = job_with().crew
    weekdays = frozenset(range(6))
    assert [(line.days, line.start, line.end) for line in owner.hours] == [
        (weekdays, 480, 720),
        (weekdays, 780, 1050),
    ]
    first, second = dt.date(2027, 5, 1), dt.date(2027, 5, 3)
    assert owner.away == ((dt.date(2027, 4, 22), dt.date(2027, 4, 22)), (first, second))
    (line,) = friend.hours
    assert (line.days, line.rule) == (None, "FREQ=WEEKLY;INTERVAL=2;BYDAY=SA")
    assert (line.since, line.start, line.end) == (dt.date(2027, 4, 10), 540, 960)


def test_places_gear_and_deliveries() -> None:
    job = job_with()
    (zone,) = job.zone
    assert (zone.air_id, zone.shelter, zone.heat_to) == ("under-hull", "open", 15)
    assert {gear.id: gear.count for gear in job.gear} == {"grinder": 1, "pad-mould": 1, "stand-pads": 4}
    pod = job.deliveries["pod"]
    assert pod.due == dt.date(2027, 4, 26)
    assert pod.range == (dt.date(2027, 4, 24), dt.date(2027, 5, 5))


def test_the_material() -> None:
    epoxy = job_with().materials["lay-up-epoxy"]
    assert epoxy.apply == Apply(min_temp=10, max_temp=32, max_humidity=85, above_dew=3)
    assert (epoxy.dry_until, epoxy.no_cure_below, epoxy.temps) == ("set", 5, (10, 20, 30))
    assert list(epoxy.stages) == ["set", "recoat", "sand", "cure"]
    assert epoxy.stages["set"] == Stage(opens=(10, 5, 2.5))
    missed = IfMissed(work=1.5, dust=True)
    assert epoxy.stages["recoat"] == Stage(opens=(8, 4, 2), closes=(60, 36, 20), if_missed=missed)


def test_a_task_with_everything() -> None:
    task = job_with().tasks["tab-pad"]
    assert task.name == "Tab the pad to the hull, three layers"
    assert (task.zone, task.material, task.part) == ("drive-bay", "lay-up-epoxy", "Plan B")
    assert task.work == Work(low=3, likely=4, high=6)
    assert (task.hours, task.people, task.who) == (4, 2, ("owner",))
    assert task.after == (Link("grind-taper"), Link("bond-pad", "recoat"))
    pads = GearUse(id="stand-pads", units=2)
    assert task.gear == (GearUse(id="grinder"), GearUse(id="pad-mould", until="sand"), pads)
    assert task.not_before == dt.date(2027, 4, 14)
    assert task.one_go
    assert task.dry


def test_what_tasks_default_to() -> None:
    tasks = job_with().tasks
    grind, soak = tasks["grind-taper"], tasks["soak"]
    assert grind.work == Work(low=5, likely=5, high=5)
    assert grind.needs == Needs(dry=True, max_wind=20, min_temp=5, max_temp=35)
    assert (grind.dusty, grind.one_go, grind.people) == (True, False, 1)
    assert (soak.wait, soak.hours, soak.people, soak.dry, soak.name) == (48, 48, 0, False, "soak")
    (slot,) = tasks["relaunch"].slots
    assert (slot.days, slot.start, slot.end) == (frozenset(range(5)), 540, 900)
    assert tasks["fit-pod"].delivery == "pod"


def test_what_happened() -> None:
    bond = job_with().tasks["bond-pad"]
    assert bond.started == dt.datetime(2027, 4, 14, 8, 30)
    assert bond.finished == dt.datetime(2027, 4, 14, 11)
    assert bond.reached == {"sand": dt.datetime(2027, 4, 15, 7)}
    half = job_with(('id = "soak"', 'id = "soak"\nstarted = 2027-04-15T07:00:00+02:00\nwork_left = 1.5'))
    assert half.tasks["soak"].started == dt.datetime(2027, 4, 15, 7, tzinfo=dt.timezone(dt.timedelta(hours=2)))
    assert half.tasks["soak"].work_left == 1.5


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("hauled = 2027-04-12T10:00:00", 'hauled = "2027-04-12T10:00:00"'),
        ("due = 2027-04-26", 'due = "2027-04-26"'),
        ("date = 2027-04-16", "date = 2027-04-16T00:00:00"),
        ('after = ["grind-taper"]', 'after = ["grind-taper@done", "grind-taper"]'),
        ("started = 2027-04-12T13:00:00\n", ""),
        ("hauled = 2027-04-12T10:00:00", "hauled = 2027-04-15T17:00:00"),
        ("wait = 48", "wait = 48\nhands = 0"),
        ("hands = 2\n", "hands = 9\n"),
        ('who = ["owner"]', "who = []"),
        ('dry_until = "set"', 'dry_until = "none"'),
        ('dry_until = "set"', 'dry_until = "done"'),
        ('until = "sand"', 'until = "done"'),
        ("cure   = [336", "overpaint = { opens = [9, 5, 3] }\nde-mould = [4, 3, 2]\ncure = [336"),
        ("set    = [10, 5, 2.5]", "set = { opens = [10, 5, 2.5] }"),
        ('from = "09:00", to = "16:00"', "from = 09:00:00, to = 16:00:00"),
        ('from = "09:00", to = "16:00"', 'from = "22:00", to = "06:00"'),
        ('from = "09:00", to = "16:00"', 'from = "0:00", to = "24:00"'),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=SA", "RRULE:freq=monthly;byday=1sa,3sa;until=20270601T000000Z"),
        ("dew = 5.0\nrain", "humidity = 80\nrain"),
        ("dew = 5.0\nwet_days", "humidity = 80\nwet_days"),
        ('title = "Pod conversion"\n', ""),
        ('"13:00/18:00"', '"00:00/24:00", "05:00/06:15"'),
    ],
)
def test_other_ways_to_write_it_are_as_good(old: str, new: str) -> None:
    job_with((old, new))


def test_one_column_needs_no_brackets() -> None:
    epoxy = job_with(
        ("temps = [10, 20, 30]", "temps = 20"),
        ("set    = [10, 5, 2.5]", "set = 5"),
        ("opens = [8, 4, 2], closes = [60, 36, 20]", "opens = 4, closes = 36"),
        ("sand   = [36, 18, 9]", "sand = 18"),
        ("cure   = [336, 168, 84]", "cure = [168]"),
    ).materials["lay-up-epoxy"]
    assert epoxy.temps == (20,)
    assert epoxy.stages["recoat"].closes == (36,)


@pytest.mark.parametrize(
    ("written", "days"),
    [
        ("Mon-Fri", {0, 1, 2, 3, 4}),
        ("Sat-Mon", {5, 6, 0}),
        ("tuesday Thu", {1, 3}),
        ("Mon – Tue, sun", {0, 1, 6}),
    ],
)
def test_weekdays(written: str, days: set[int]) -> None:
    line = Hours.model_validate({"days": written, "from": 480, "to": 720})
    assert set(line.days or ()) == days


def test_a_recurrence_is_kept_so_that_a_local_calendar_can_read_it() -> None:
    job = job_with(("INTERVAL=2;BYDAY=SA", "UNTIL=20270601T000000Z;BYDAY=SA"))
    assert job.crew[1].hours[0].rule == "FREQ=WEEKLY;UNTIL=20270601T000000Z;BYDAY=SA"


def test_hostile_text_is_kept_as_the_owner_typed_it() -> None:
    typed = r"[/red] \u001b[2J \u202e " + "x" * 300
    assert job_with(('part = "Plan B"', f'part = "{typed}"')).tasks["tab-pad"].part.startswith("[/red] \x1b[2J")


def test_the_order_of_the_file_is_kept() -> None:
    assert list(job_with().tasks)[:3] == ["grind-taper", "bond-pad", "tab-pad"]


def test_field_by_field_gives_what_the_models_alone_give() -> None:
    assert parse_job(BASE_JOB) == Job.model_validate(tomllib.loads(BASE_JOB))


def test_a_sound_job_has_no_faults_when_asked_again() -> None:
    assert job_faults(job_with()) == []


def test_the_folder_is_where_the_file_is(tmp_path: Path) -> None:
    file = tmp_path / "dunlin.toml"
    file.write_bytes(b"\xef\xbb\xbf" + BASE_JOB.replace("\n", "\r\n").encode())
    job = read_job(str(file))
    assert (job.path, job.folder) == (file, tmp_path)
    plain = parse_job(BASE_JOB)
    assert plain.path is None
    assert job.model_dump() == plain.model_dump()


def test_the_log_can_be_held_against_another_moment() -> None:
    job = job_with()
    assert log_faults(job, None) == []
    assert log_faults(job, dt.datetime(2027, 4, 15, 7)) == []
    late = log_faults(job, dt.datetime(2027, 4, 15, 5, tzinfo=dt.UTC))
    assert [fault.where for fault in late] == ["task bond-pad, reached"]
    assert "reached sand 2027-04-15 07:00 is later than now" in late[0].what


@pytest.mark.parametrize(
    ("model", "wrong", "said"),
    [
        (Day, {"date": "2027-04-16", "low": 9, "high": 3, "dew": 1}, "high is 3 and low is 9"),
        (Normal, {"month": 4, "low": 1, "high": 3}, "dew is missing"),
        (Hours, {"days": "Mon", "from": "09:00", "to": "09:00"}, "from and to are the same time"),
        (Material, {"id": "glue", "temps": [10, 20], "set": [3]}, "it has 1 number, and temps has 2 numbers"),
        (Task, {"id": "bond", "work": 2, "material": "glue"}, "zone is missing"),
    ],
)
def test_models_made_in_code_keep_their_own_rules(model: type[BaseModel], wrong: dict[str, object], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        model.model_validate(wrong)


@given(
    task=st.text("abz09-", min_size=1),
    stage=st.sampled_from(["done", "set", "x-1"]),
)
@settings(max_examples=50)
def test_a_link_reads_back_as_written(task: str, stage: str) -> None:
    link = Link(task, stage)
    assert parse_link(str(link)) == link
    assert str(link) == (task if stage == "done" else f"{task}@{stage}")


def test_changed_refuses_a_swap_that_does_nothing() -> None:
    with pytest.raises(AssertionError):
        changed(("no such text", ""))
