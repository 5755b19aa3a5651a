"""Days of 23, 25 and other hours, in yards all over: what passes is true time, what is agreed is the wall clock."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from planned import assert_kept, crew, day, head, local, material, normals, planned, starts, task, written, zone
from random_jobs import random_job

from sequencer.grid import Grid
from sequencer.job import parse_job, read_job
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job


@dataclass(frozen=True)
class Change:
    """A day on which the clock changes: its hours, and between which wall clock times (whole hours) that is."""

    zone: str
    date: str
    hours: float
    span: tuple[int, int]

    @property
    def day(self) -> dt.date:
        return dt.date.fromisoformat(self.date)

    def on(self, days: int, clock: str = "") -> str:
        """A date, or a moment, `days` days from the change, as TOML has it."""
        date = self.day + dt.timedelta(days=days)
        return f"{date}T{clock}:00" if clock else f"{date}"


# The dates are those of the IANA time zone database's rules for 2027.
CHANGES = [
    Change("Europe/London", "2027-03-28", 23, (0, 6)),
    Change("Europe/London", "2027-10-31", 25, (0, 6)),
    Change("America/New_York", "2027-03-14", 23, (0, 6)),
    Change("America/New_York", "2027-11-07", 25, (0, 6)),
    # Half an hour.
    Change("Australia/Lord_Howe", "2027-10-03", 23.5, (0, 6)),
    Change("Australia/Lord_Howe", "2027-04-04", 24.5, (0, 6)),
    # The clock goes forward at midnight: the day begins at 01:00. It goes back at midnight: 23:00 comes twice.
    Change("America/Santiago", "2027-09-05", 23, (0, 6)),
    Change("America/Santiago", "2027-04-03", 25, (18, 24)),
    # No change, and an offset of no whole hours: +05:45.
    Change("Asia/Kathmandu", "2027-04-04", 24, (0, 6)),
]
changes = pytest.mark.parametrize("change", CHANGES, ids=lambda c: f"{c.zone} {c.date}")


def true_hours(begin: dt.datetime, end: dt.datetime) -> float:
    """True elapsed hours (Python takes moments of one zone apart by the wall clock)."""
    return (end.astimezone(dt.UTC) - begin.astimezone(dt.UTC)) / dt.timedelta(hours=1)


def plan_around(change: Change, *parts: str) -> Plan:
    """The plan of a boat hauled out at noon on the eve of the change."""
    return planned(head(change.on(-1, "12:00"), change.zone), normals(), *parts)


@changes
def test_waits_and_cures_last_their_true_hours(change: Change) -> None:
    coat = task("coat", zone='"bay"', material='"coat"', hands=0)
    plan = plan_around(
        change,
        zone(shelter="inside"),
        material([20], "set = 40\n"),
        task("rest", wait=40),
        coat,
        task("launch", "rest coat@set", hands=0),
    )
    begin = plan.moment(plan.rows["rest"].start)
    assert true_hours(begin, plan.moment(plan.rows["rest"].end)) == 40
    # 40 h after noon on the eve the wall clock shows 04:00, later or earlier by what the day is short or long.
    shown = dt.datetime.combine(change.day + dt.timedelta(days=1), dt.time(4)) + dt.timedelta(hours=24 - change.hours)
    assert local(plan, plan.rows["rest"].end) == f"{shown:%Y-%m-%d %H:%M}"
    coat_row = plan.rows["coat"]
    assert true_hours(plan.moment(coat_row.end), plan.moment(coat_row.stages["set"])) == 40
    assert starts(plan)["launch"] == 41


@changes
def test_shifts_keep_to_the_wall_clock(change: Change) -> None:
    line = '{ days = "Mon-Sun", from = "08:00", to = "12:00" }'
    plan = plan_around(change, crew(line), task("work", work=12), task("launch", "work", hands=0))
    pieces = [(local(plan, a), local(plan, b)) for a, b in plan.rows["work"].pieces]
    assert pieces == [(f"{change.on(k)} 08:00", f"{change.on(k)} 12:00") for k in range(3)]


@changes
def test_a_shift_across_the_change_is_as_long_as_it_truly_is(change: Change) -> None:
    first, last = change.span
    line = f'{{ days = "Mon-Sun", from = "{first:02d}:00", to = "{last:02d}:00" }}'
    truly = 6 + change.hours - 24
    # As much work as that shift truly has fills it; a quarter hour more runs into the next day's.
    for work, ends_on in ((truly, 0), (truly + 0.25, 1)):
        tasks = task("work", work=work, not_before=change.on(0)) + task("launch", "work", hands=0)
        row = plan_around(change, crew(line), tasks).rows["work"]
        assert sum(b - a for a, b in row.pieces) == work * 4
        assert len(row.pieces) == 1 + ends_on


@changes
def test_nights_are_local_midnights(change: Change) -> None:
    for days in (0, 1, 2):
        launch = task("launch", hands=0, not_before=change.on(days, "06:00"))
        assert plan_around(change, launch).nights == days + 1


@changes
def test_a_day_ends_at_its_own_midnight(change: Change) -> None:
    """Work in one go stays on one local date: nearly as long as the day, it begins with the day; longer than the
    day, it waits for a longer one."""

    def first_day(hours: float) -> Plan:
        work = task("work", hands=0, work=hours, one_go=True)
        return plan_around(change, work, task("launch", "work", hands=0))

    # The eve has only its afternoon left.
    plan = first_day(change.hours - 0.25)
    row = plan.rows["work"]
    assert row.start == plan.grid.day_start(1)
    assert {plan.moment(slot).date() for slot in (row.start, row.end)} == {change.day}
    if change.hours < 24:
        later = first_day(change.hours + 0.25)
        assert later.moment(later.rows["work"].start).date() == change.day + dt.timedelta(days=1)


@changes
def test_weather_by_the_day_is_the_local_days(change: Change) -> None:
    """A washed-out day keeps dry work away from its midnight to the next, however long it is."""
    wet = day(change.date, 20, more='rain = ["00:00/24:00"]')
    dry = task("work", hands=0, work=48, zone='"bay"', needs="{ dry = true }") + task("launch", "work", hands=0)
    plan = plan_around(change, wet, zone(), dry)
    (begin, stop), (again, end) = plan.rows["work"].pieces
    grid = plan.grid
    assert (stop, again) == (grid.day_start(1), grid.day_start(2))
    assert (again - stop) / 4 == change.hours
    assert (begin, end) == (plan.hauled, again + 48 * 4 - (stop - begin))


@changes
def test_rain_by_the_clock_falls_whenever_the_clock_shows_those_hours(change: Change) -> None:
    """Rain from an hour before to an hour after the clock times of the change lasts as long as they truly do."""
    first, last = change.span
    wet = day(change.date, 20, more=f'rain = ["{first:02d}:00/{last:02d}:00"]')
    dry = task("work", hands=0, work=72, zone='"bay"', needs="{ dry = true }") + task("launch", "work", hands=0)
    plan = plan_around(change, wet, zone(), dry)
    (_, stop), (again, _) = plan.rows["work"].pieces
    assert (again - stop) / 4 == 6 + change.hours - 24


@changes
def test_a_date_alone_is_its_local_midnight(change: Change) -> None:
    plan = plan_around(change, task("launch", hands=0, not_before=change.on(1)))
    midnight = dt.datetime.combine(change.day + dt.timedelta(days=1), dt.time(), ZoneInfo(change.zone))
    assert plan.launched == midnight
    assert true_hours(plan.moment(plan.hauled), plan.launched) == 12 + change.hours


@changes
def test_hauled_on_the_day_itself_the_grid_begins_at_its_midnight(change: Change) -> None:
    parts = head(change.on(0), change.zone) + normals() + task("rest", wait=48)
    plan = planned(parts, task("launch", "rest", hands=0))
    assert plan.hauled == 0
    assert plan.moment(0).date() == change.day
    assert plan.grid.day_start(1) == change.hours * 4
    assert starts(plan)["launch"] == 48
    assert plan.nights == (2 if change.hours <= 24 else 1)


@changes
def test_times_are_written_with_the_offset_of_their_hour(change: Change) -> None:
    plan = plan_around(change, task("rest", wait=60), task("launch", "rest", hands=0))
    told = written(plan)
    begin, end = (dt.datetime.fromisoformat(told["tasks"][0][name]) for name in ("start", "end"))
    assert (end - begin) == dt.timedelta(hours=60)
    zone_info = ZoneInfo(change.zone)
    assert [moment.utcoffset() for moment in (begin, end)] == [
        moment.astimezone(zone_info).utcoffset() for moment in (begin, end)
    ]


def test_the_offset_of_katmandu_is_five_and_three_quarter_hours() -> None:
    told = written(plan_around(CHANGES[-1], task("launch", hands=0)))
    assert told["launch"] == "2027-04-03T12:00:00+05:45"


def test_the_two_hours_of_one_name_are_told_apart_by_their_offsets() -> None:
    # 31 October 2027, London: 01:30 comes at 00:30 and at 01:30 UTC; without an offset the first is meant.
    for now, utc in (("01:30:00", 0), ("01:30:00+01:00", 0), ("01:30:00+00:00", 1), ("01:30:00Z", 1)):
        text = head("2027-10-30T12:00:00", "Europe/London", now=f"2027-10-31T{now}") + task("launch", hands=0)
        assert planned(text).launched.astimezone(dt.UTC) == dt.datetime(2027, 10, 31, utc, 30, tzinfo=dt.UTC)


@changes
def test_the_grid_counts_every_quarter_hour_once(change: Change) -> None:
    grid = Grid(ZoneInfo(change.zone), change.day - dt.timedelta(days=1), 3)
    moments = [grid.moment(slot) for slot in range(grid.length + 1)]
    assert grid.length == (48 + change.hours) * 4
    assert all(true_hours(a, b) == 0.25 for a, b in pairwise(moments))
    assert [grid.slot(moment) for moment in moments] == list(range(grid.length + 1))
    assert [grid.date(day) for day in grid.day_index.tolist()] == [moment.date() for moment in moments[:-1]]
    assert grid.clock_minutes.tolist() == [moment.hour * 60 + moment.minute for moment in moments[:-1]]


@changes
@pytest.mark.parametrize("seed", [1, 2])
def test_random_haul_outs_across_the_change_keep_every_rule(change: Change, seed: int) -> None:
    job = parse_job(random_job(seed, 9, hauled=change.on(-2, "10:00"), timezone=change.zone))
    assert_kept(job, plan_job(job, seconds=2))


# -- weather files across a change


def file_job(folder: Path, change: Change, rows: list[tuple[str, float]]) -> Path:
    """A job with an hourly file of these local times and °C; a coat that takes 40 h at 10 °C, 20 h at 20 °C."""
    lines = [f"{time},{temp},50,0,0" for time, temp in rows]
    (folder / "air.csv").write_text("time,temp_c,humidity,rain_mm,wind_kn\n" + "\n".join(lines), encoding="utf-8")
    text = (
        head(change.on(-1, "12:00"), change.zone)
        + '\n[weather]\nfile = "air.csv"\n'
        + zone()
        + material([10, 20], "set = [40, 20]\n")
        + task("coat", zone='"bay"', material='"coat"', hands=0)
        + task("launch", "coat@set", hands=0)
    )
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def clock_hours(change: Change) -> list[str]:
    """Every full hour the wall clock shows on the eve and the day of the change, as local times."""
    grid = Grid(ZoneInfo(change.zone), change.day - dt.timedelta(days=1), 3)
    moments = [grid.moment(slot) for slot in range(grid.length)]
    return [f"{moment:%Y-%m-%dT%H:%M}" for moment in moments if moment.minute == 0]


WHOLE_HOURS = [change for change in CHANGES if change.hours == int(change.hours)]


@pytest.mark.parametrize("change", WHOLE_HOURS, ids=lambda c: f"{c.zone} {c.date}")
@pytest.mark.parametrize("keeps", ["every hour", "each name once", "twenty-four a day"])
def test_a_weather_file_in_local_time_has_air_for_every_hour(change: Change, keeps: str, tmp_path: Path) -> None:
    """Whether the logger writes the hour that comes twice both times or once, and though it may write one the clock
    leaves out: the air has no hole, and the coat cures on."""
    hours = clock_hours(change)
    if keeps == "each name once":
        hours = list(dict.fromkeys(hours))
    elif keeps == "twenty-four a day":
        begin = dt.datetime.fromisoformat(change.on(-1))
        hours = [f"{begin + dt.timedelta(hours=k):%Y-%m-%dT%H:%M}" for k in range(72)]
    job = read_job(file_job(tmp_path, change, [(time, 10) for time in hours]))
    plan = plan_job(job, seconds=2)
    assert_kept(job, plan)
    assert starts(plan)["launch"] == 41


def test_the_second_of_two_rows_of_one_name_is_the_second_hour(tmp_path: Path) -> None:
    # London, 31 October 2027. From 13:00 on the eve at 10 °C the coat, 40 h, is 12 h along when the first 01:00
    # begins: that hour at 20 °C counts twice, the second at 10 °C once, and 25 h more are left from 02:00 on.
    change = CHANGES[1]
    seen: set[str] = set()
    rows = []
    for time in clock_hours(change):
        warm = time == "2027-10-31T01:00" and time not in seen
        rows.append((time, 20.0 if warm else 10.0))
        seen.add(time)
    job = read_job(file_job(tmp_path, change, rows))
    plan = plan_job(job, seconds=2)
    assert_kept(job, plan)
    assert local(plan, plan.launch) == "2027-11-01 03:00"
    assert starts(plan)["launch"] == 40


def test_rows_nearer_than_an_hour_count_until_the_next(tmp_path: Path) -> None:
    """A logger that writes every half hour, 10 °C on the hour and 20 °C on the half: an hour makes 1.5 of 40."""
    change = CHANGES[-1]
    rows = []
    for time in clock_hours(change):
        rows += [(time, 10.0), (time.replace(":00", ":30"), 20.0)]
    job = read_job(file_job(tmp_path, change, rows))
    plan = plan_job(job, seconds=2)
    assert_kept(job, plan)
    # 26 h make 39; the half hour at 10 °C after them 0.5, and a quarter at 20 °C the last 0.5.
    assert starts(plan)["launch"] == 1 + 26.75
