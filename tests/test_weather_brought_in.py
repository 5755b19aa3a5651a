"""Weather brought in: our own hourly file written and read again, days of a job made of hours."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from weather_files import saved

from sequencer.errors import UsageError
from sequencer.job import parse_job
from sequencer.job.jobfile import JobFile
from sequencer.job.writing import Several
from sequencer.weather.bringing import days_from_hours, write_new
from sequencer.weather.daily import day_values
from sequencer.weather.files import HourlyRow, read_hourly, to_hourly_csv
from sequencer.weather.formats import read_weather

LONDON = dt.timezone(dt.timedelta(hours=1))


# -- our own hourly file


tenths = st.integers(-300, 400).map(lambda n: n / 10)
rows = st.builds(
    HourlyRow,
    time=st.datetimes(dt.datetime(2000, 1, 1), dt.datetime(2100, 1, 1)).map(
        lambda t: t.replace(second=0, microsecond=0)
    ),
    temp_c=tenths,
    humidity=st.integers(1, 100).map(float),
    dew_c=st.none(),
    rain_mm=st.sampled_from([0.0, 0.1, 2.5, 30.0]),
    wind_kn=st.integers(0, 150).map(float),
)
damp = rows.map(lambda row: HourlyRow(row.time, row.temp_c, None, round(row.temp_c - 2, 1), row.rain_mm, row.wind_kn))
aware = rows.map(lambda row: HourlyRow(row.time.replace(tzinfo=LONDON), row.temp_c, row.humidity, None, 0.0, 3.0))


@settings(max_examples=60)
@given(st.lists(rows | damp | aware, min_size=1, max_size=8))
def test_hours_written_and_read_again_are_the_same(hours: list[HourlyRow]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = saved(Path(folder), to_hourly_csv(hours))
        assert read_hourly(path) == tuple(hours)
        assert read_weather(path).rows == tuple(hours)


def test_numbers_are_rounded_against_the_owner() -> None:
    row = HourlyRow(dt.datetime(2027, 4, 12), 8.4567, None, 3.1234, 0.0001, 5.001)
    assert to_hourly_csv([row]).splitlines()[1] == "2027-04-12T00:00,8.45,3.13,0.01,5.01"


def test_a_file_is_never_written_over(tmp_path: Path) -> None:
    path = saved(tmp_path, "mine\n", "out.csv")
    with pytest.raises(UsageError, match="is there already"):
        write_new(path, "theirs\n")
    assert path.read_text(encoding="utf-8") == "mine\n"
    write_new(tmp_path / "new.csv", "a\n")
    assert (tmp_path / "new.csv").read_bytes() == b"a\n"
    with pytest.raises(UsageError, match="can't be written"):
        write_new(tmp_path / "no" / "new.csv", "a\n")


# -- into the job


def hours_of(date: str, count: int = 24) -> list[HourlyRow]:
    begin = dt.datetime.fromisoformat(date)
    return [
        HourlyRow(begin + dt.timedelta(hours=h), 5 + h / 4, None, 3.0, 0.4 if h in (4, 5, 13) else 0.0, float(h % 9))
        for h in range(count)
    ]


JOB = """\
[job]
timezone = "Europe/London"
hauled = 2027-04-12T10:00:00
finish = "go"

[weather]
file = "weather.csv"

[[crew]]
id = "me"
hours = [ { days = "Mon-Fri", from = "08:00", to = "16:00" } ]

[[task]]
id = "go"
work = 1
"""


def test_days_made_of_hours_say_what_the_hours_say(tmp_path: Path) -> None:
    hours = [*hours_of("2027-04-12"), *hours_of("2027-04-13", 20), *hours_of("2027-04-14", 17)]
    saved(tmp_path, to_hourly_csv(hours))
    job = parse_job(JOB, tmp_path / "job.toml")
    days = days_from_hours(hours, job.job.timezone)
    assert [day.date.day for day in days] == [12, 13]
    for day in days:
        told = day_values(job, day.date)
        made = {name: value for name, value in day.values.items() if name != "humidity"}
        assert made == told


def test_a_file_brought_in_becomes_days_of_the_job(tmp_path: Path) -> None:
    path = saved(tmp_path, JOB, "job.toml")
    days = days_from_hours(hours_of("2027-04-12"), LONDON)
    with JobFile.open(path) as file:
        file.apply(Several(days, "forecast taken in"))
        (day,) = file.job.weather.day
    assert (day.date, day.low, day.high, day.dew, day.wind) == (dt.date(2027, 4, 12), 5.0, 10.7, 3.0, 8.0)
    assert day.rain == ((240, 360), (780, 840))


def test_hours_in_another_zone_belong_to_the_yards_days() -> None:
    hours = [
        HourlyRow(row.time.replace(tzinfo=dt.UTC), row.temp_c, None, 3.0, row.rain_mm, 0.0)
        for row in hours_of("2027-04-12T22:00", 24)
    ]
    (day,) = days_from_hours(hours, dt.timezone(dt.timedelta(hours=2)))
    assert day.date == dt.date(2027, 4, 13)
    half = [HourlyRow(dt.datetime(2027, 4, 12, h, 30), 8, None, 3.0, float(h == 13), 0.0) for h in range(24)]
    assert days_from_hours(half, LONDON)[0].values["rain"] == ["13:00/15:00"]
