"""The checker's own clock, air and cure, against values worked out by hand."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from checking_plans import CREW, EPOXY, PLACES, even_days, job_of

from sequencer.checking.air import Weather, dew_from, hour_temp, humidity_from, saturation
from sequencer.checking.clock import Clock, quarters_of
from sequencer.checking.cure import Cures, hours_to
from sequencer.checking.people import Shifts
from sequencer.errors import JobError
from sequencer.job import Day, Job, read_job

LONDON = ZoneInfo("Europe/London")
TASK = """
[[task]]
id = "relaunch"
work = 1
"""


def clock_of(job: Job) -> Clock:
    return Clock(job.job.timezone, job.job.hauled)


# -- clock


def test_slots_are_true_quarter_hours_on_days_of_23_and_25_hours() -> None:
    spring = Clock(LONDON, dt.datetime(2027, 3, 28, 10))  # 01:00 becomes 02:00
    assert spring.wall(dt.date(2027, 3, 28), 1440) == 23 * 4
    assert spring.say(4) == "Sun 28 Mar 2027 02:00"
    autumn = Clock(LONDON, dt.date(2027, 10, 31))  # 02:00 becomes 01:00
    assert autumn.wall(dt.date(2027, 10, 31), 1440) == 25 * 4


def test_a_moment_between_lines_counts_from_the_next() -> None:
    clock = Clock(LONDON, dt.datetime(2027, 4, 12, 8, 30))
    assert clock.line(dt.datetime(2027, 4, 12, 8, 30)) == 34
    assert clock.line(dt.datetime(2027, 4, 12, 8, 30, 1)) == 35
    assert clock.line(dt.datetime(2027, 4, 12, 7, 30, tzinfo=dt.UTC)) == 34
    assert clock.line(dt.date(2027, 4, 13)) == 96
    assert [quarters_of(hours) for hours in (0, 0.1, 0.25, 0.26, 1.3)] == [1, 1, 1, 2, 6]


def test_shifts_end_on_the_next_line_and_may_run_past_midnight() -> None:
    crew = """
[[crew]]
id = "night"
hours = [ { rule = "FREQ=DAILY;COUNT=2", since = "2027-04-12", from = "22:00", to = "02:10" } ]
away = ["2027-04-14"]
"""
    job = job_of(crew, TASK)
    shifts = Shifts(job, clock_of(job), 0, 400)
    there = [slot for slot in range(400) if shifts.there(slot)]
    # 22:00 is slot 88; 02:10 counts from 02:15, slot 96 + 9. The second night ends at midnight, where away
    # begins.
    assert there == [*range(88, 105), *range(184, 192)]


# -- air


def test_humidity_and_dew_point() -> None:
    # 17.62 · 20 / 263.12 = 1.33931; 6.112 · e^1.33931 = 23.33 hPa.
    assert saturation(20) == pytest.approx(23.33, abs=0.005)
    assert dew_from(20, 100) == pytest.approx(20)
    # Half of it, 11.66 hPa: x = ln(11.66 / 6.112) = 0.6462; 243.12 x / (17.62 − x) = 9.26 °C.
    assert dew_from(20, 50) == pytest.approx(9.26, abs=0.005)
    assert humidity_from(20, dew_from(20, 50)) == pytest.approx(50)


@pytest.mark.parametrize(
    ("hour", "temp"),
    [
        (5, 6.0),
        (10, 10.0),  # half of the 10 h up
        (15, 14.0),
        (22, 10.0),  # half of the 14 h down
        (0, 14 - 4 * (1 - math.cos(math.pi * 9 / 14))),
        (4, 14 - 4 * (1 - math.cos(math.pi * 13 / 14))),
    ],
)
def test_a_day_by_hand_becomes_hours(hour: int, temp: float) -> None:
    day = Day.model_validate({"date": dt.date(2027, 4, 12), "low": 6.0, "high": 14.0, "dew": 5.0})
    assert hour_temp(day, hour) == pytest.approx(temp)


ZONES = """
[[zone]]
id = "open"
[[zone]]
id = "tent"
shelter = "covered"
heat_to = 15
[[zone]]
id = "hold"
shelter = "inside"
"""


def test_zones_shelter_and_heat() -> None:
    job = job_of(ZONES, TASK, even_days(12, low="10", high="10", dew="12", rain='["12:20/12:40"]', wind="9"))
    weather = Weather(job, clock_of(job))
    open_air, tent, hold = (weather.in_zone(job.zones[name], 49) for name in ("open", "tent", "hold"))
    assert open_air is not None
    assert tent is not None
    assert hold is not None
    # Slot 49 is 12:15 to 12:30, which the rain touches. The dew point is never above the temperature: 10, not
    # 12.
    assert (open_air.temp, open_air.dew, open_air.humidity, open_air.rain, open_air.wind) == (
        10,
        10,
        100,
        True,
        9,
    )
    assert (tent.temp, tent.dew, tent.rain, tent.wind) == (15, 10, False, 9)
    # e(10) / e(15) = 12.26 / 17.02 hPa.
    assert tent.humidity == pytest.approx(72.0, abs=0.1)
    assert (hold.rain, hold.wind) == (False, 0)
    rain = [slot for slot in range(96) if (air := weather.outdoors(slot)) is not None and air.rain]
    assert rain == [49, 50]


FILE_JOB = """
[weather]
file = "wx.csv"

[[weather.day]]
date = 2027-04-13
low = 20
high = 20
dew = 10

[[weather.normal]]
month = 5
low = 8
high = 8
humidity = 100
"""

ROWS = """time,temp_c,dew_c,rain_mm,wind_kn
2027-04-12T07:00Z,11,5,0.2,7
2027-04-12T09:00,12,13,0,
2027-04-13T09:00,13,5,0,0
"""


def file_weather(folder: Path, rows: str) -> Weather:
    (folder / "wx.csv").write_text(rows, encoding="utf-8")
    path = folder / "job.toml"
    head = '[job]\ntitle = "t"\ntimezone = "Europe/London"\nhauled = 2027-04-12T08:30:00\nfinish = "relaunch"\n'
    path.write_text(head + FILE_JOB + TASK, encoding="utf-8")
    job = read_job(path)
    return Weather(job, clock_of(job))


def test_the_day_by_hand_goes_before_the_file_and_that_before_the_normal(tmp_path: Path) -> None:
    weather = file_weather(tmp_path, ROWS)
    temps = {slot: air and air.temp for slot in (31, 32, 35, 36, 39, 40, 96 + 36) for air in [weather.outdoors(slot)]}
    # 07:00 UTC is 08:00 in London, slot 32; a row holds for its hour; the 13th is by hand.
    assert temps == {31: None, 32: 11, 35: 11, 36: 12, 39: 12, 40: None, 96 + 36: 20}
    first, second = weather.outdoors(32), weather.outdoors(36)
    assert first is not None
    assert second is not None
    assert (first.rain, first.wind, second.rain, second.wind, second.dew) == (True, 7, False, 0, 12)
    may = weather.outdoors(19 * 96)
    assert may is not None
    assert (may.temp, may.rain) == (8, False)
    assert may.dew == pytest.approx(8)


def test_local_hours_that_come_twice_or_never(tmp_path: Path) -> None:
    head = "time,temp_c,humidity,rain_mm,wind_kn\n"
    twice = "2027-10-31T01:00,1,80,0,0\n2027-10-31T01:00,2,80,0,0\n2027-10-31T02:00,3,80,0,0\n"
    never = "2027-03-28T00:00,5,80,0,0\n2027-03-28T01:00,6,80,0,0\n2027-03-28T02:00,7,80,0,0\n"
    weather = file_weather(tmp_path, head + twice + never)
    clock = Clock(LONDON, dt.date(2027, 4, 12))
    found = {}
    for hour in (dt.datetime(2027, 10, 31, h, tzinfo=dt.UTC) for h in range(3)):
        air = weather.outdoors(clock.line(hour))
        found[hour.hour] = air and air.temp
    assert found == {0: 1, 1: 2, 2: 3}
    # At 01:00 UTC on 28 March it is 02:00 in London; 01:00 never comes.
    air = weather.outdoors(clock.line(dt.datetime(2027, 3, 28, 1, tzinfo=dt.UTC)))
    assert air is not None
    assert air.temp == 7


def test_a_weather_file_that_cannot_be_read_is_a_fault_with_its_line(tmp_path: Path) -> None:
    with pytest.raises(JobError, match=r"wx\.csv, line 3"):
        file_weather(tmp_path, "time,temp_c,humidity\n2027-04-12T07:00,11,80\n2027-04-12T08:00,warm,80\n")


# -- cure


@pytest.mark.parametrize(
    ("temp", "hours"),
    [
        (10, 8.0),
        (20, 4.0),
        (15, math.sqrt(8 * 4)),  # halfway in ln τ
        (0, 16.0),  # 10 °C under the first column doubles it
        (-10, 32.0),
        (30, 2.0),
        (35, 4 / 2**1.5),
    ],
)
def test_hours_to_a_stage(temp: float, hours: float) -> None:
    assert hours_to((10.0, 20.0), (8.0, 4.0), temp) == pytest.approx(hours)
    assert hours_to((20.0,), (4.0,), temp) == pytest.approx(4 * 2 ** ((20 - temp) / 10))


def test_cure_adds_up_over_changing_air_and_stands_still_in_the_cold() -> None:
    # set takes 4 h at 20 °C and 8 h at 10 °C. From 22:00 on the 12th (slot 88) two hours at 20 °C make half
    # of it.
    days = (even_days(12), even_days(13, low="4", high="4"), even_days(14, low="10", high="10"))
    job = job_of(CREW, PLACES, EPOXY + "no_cure_below = 5\n", TASK, *days)
    cures = Cures(Weather(job, clock_of(job)))
    bay, epoxy = job.zones["bay"], job.materials["epoxy"]
    # The 13th, at 4 °C, brings nothing; the other half takes 4 h at 10 °C: 04:00 on the 14th, slot 192 + 16.
    assert cures.opens(bay, epoxy, "set", 88) == 208
    # The window closes 8 h at 20 °C, 16 h at 10 °C: a quarter of it on the 12th, 12 h on the 14th, slot 192 +
    # 48.
    assert cures.closes(bay, epoxy, "recoat", 88) == 240
    # The weather ends with the 14th: sand, 12 h at 10 °C, is not reached from 13:00 on.
    assert cures.opens(bay, epoxy, "sand", 192 + 48) == 288
    assert cures.opens(bay, epoxy, "sand", 192 + 52) is None
