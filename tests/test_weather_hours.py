"""Hours of a file laid on the grid, quarter hour by quarter hour, held against the contract's words (§2, §4, §5)."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest
from planned import assert_kept, crew, day, head, material, normals, starts, task, zone

from sequencer.grid import Grid
from sequencer.job import Job, parse_job
from sequencer.job.book import Book
from sequencer.planning.planner import plan_job
from sequencer.weather.bringing import days_from_hours
from sequencer.weather.files import HourlyRow
from sequencer.weather.forecast import read_forecast
from sequencer.weather.hourly import NORMAL, TOLD, UNKNOWN, Air, day_temperature_c, told_air, with_days, zone_air

FRONT = "time,temp_c,humidity,dew_c,rain_mm,wind_kn\n"
MONDAY = dt.date(2027, 4, 12)


def job_in(folder: Path, rows: str, *parts: str) -> Job:
    """A job whose weather file has these rows."""
    (folder / "air.csv").write_text(FRONT + rows, encoding="utf-8")
    text = "\n".join((head(), '[weather]\nfile = "air.csv"\n', crew(), *parts))
    return parse_job(text if "[[task]]" in text else text + task("launch"), folder / "job.toml")


def air_of(folder: Path, rows: str, days: int = 1, *parts: str) -> Air:
    job = job_in(folder, rows, *parts)
    return told_air(job, Grid(job.job.timezone, MONDAY, days))


def dew_point(temp: float, humidity: float) -> float:
    """By the formula of WMO-No. 8, solved for the dew point."""
    gamma = math.log(humidity / 100) + 17.62 * temp / (243.12 + temp)
    return 243.12 * gamma / (17.62 - gamma)


def pressure(temp: float) -> float:
    return 6.112 * math.exp(17.62 * temp / (243.12 + temp))


def told(air: Air, slot: int) -> tuple[float, float, float, bool, float]:
    """Air of one quarter hour: temperature, humidity, dew point, rain, wind."""
    return (
        float(air.temp_c[slot]),
        float(air.humidity[slot]),
        float(air.dew_c[slot]),
        bool(air.rain[slot]),
        float(air.wind_kn[slot]),
    )


def test_a_row_holds_for_its_hour_and_what_it_leaves_out_follows_from_the_rest(tmp_path: Path) -> None:
    air = air_of(tmp_path, "2027-04-12T10:00,12,80,,0.2,9\n2027-04-12T11:00,14,,6,0,4\n")
    for slot in range(40, 44):
        assert told(air, slot) == (12, 80, pytest.approx(dew_point(12, 80)), True, 9)
    for slot in range(44, 48):
        assert told(air, slot) == (14, pytest.approx(100 * pressure(6) / pressure(14)), 6, False, 4)
    assert [int(air.source[slot]) for slot in (39, 40, 47, 48)] == [UNKNOWN, TOLD, TOLD, UNKNOWN]
    assert np.isnan(air.temp_c[39])
    assert not air.known[:40].any()
    assert not air.known[48:].any()


def test_where_both_are_told_both_are_taken_and_the_dew_point_never_passes_the_air(tmp_path: Path) -> None:
    air = air_of(tmp_path, "2027-04-12T10:00,12,80,5,0,9\n2027-04-12T11:00,12,80,13,0,9\n")
    assert told(air, 40)[1:3] == (80, 5)
    assert told(air, 44)[1:3] == (80, 12)


def test_a_row_counts_until_the_next_one_however_soon_that_comes(tmp_path: Path) -> None:
    air = air_of(tmp_path, "2027-04-12T10:00,12,80,,0,9\n2027-04-12T10:30,14,60,,1,4\n2027-04-12T12:00,9,60,,0,4\n")
    temps = [float(t) for t in air.temp_c[40:52]]
    assert temps[:6] == [12, 12, 14, 14, 14, 14]
    assert np.isnan(temps[6:8]).all()
    assert temps[8:] == [9, 9, 9, 9]
    assert [bool(r) for r in air.rain[40:46]] == [False, False, True, True, True, True]


def test_rows_at_the_edges_of_the_grid_count_as_far_as_they_reach_into_it(tmp_path: Path) -> None:
    rows = "2027-04-11T23:00,5,60,,0,1\n2027-04-11T23:15,6,60,,0,2\n2027-04-12T23:15,8,60,,0,3\n"
    air = air_of(tmp_path, rows)
    assert len(air.temp_c) == 96
    # 23:15 to 00:15 of the next day, and 23:15 to the grid's end.
    assert [float(t) for t in air.temp_c[[0, 93, 94, 95]]] == [6, 8, 8, 8]
    assert np.flatnonzero(air.known).tolist() == [0, 93, 94, 95]
    none = air_of(tmp_path, "2027-04-11T23:00,5,60,,0,1\n2027-04-13T00:00,5,60,,0,1\n")
    assert not none.known.any()


def test_the_file_goes_before_the_normals_and_a_day_by_hand_before_both(tmp_path: Path) -> None:
    hand = day("2027-04-13", 25, 10, 'rain = ["10:10/10:50"]')
    job = job_in(tmp_path, "2027-04-12T10:00,12,80,,2,9\n2027-04-13T10:00,12,80,,2,9\n", normals(18, 7), hand)
    grid = Grid(job.job.timezone, MONDAY, 2)
    from_file = told_air(job, grid)
    assert told(from_file, 39)[::2] == (18, 7, 0)
    assert [int(from_file.source[s]) for s in (39, 40, 96 + 40)] == [NORMAL, TOLD, TOLD]
    air = with_days(from_file, job.weather.day, grid)
    # The day by hand replaces the whole day of the file, its rain too; a quarter hour the rain touches is wet.
    assert set(air.temp_c[96:]) == {25}
    assert np.flatnonzero(air.rain).tolist() == [40, 41, 42, 43, 136, 137, 138, 139]
    assert told(air, 96 + 48) == (25, pytest.approx(100 * pressure(10) / pressure(25)), 10, False, 5)
    # What was told before is left as it was.
    assert float(from_file.temp_c[96 + 40]) == 12


def test_a_day_told_by_its_humidity_has_the_dew_point_of_its_mean_temperature(tmp_path: Path) -> None:
    by_hand = "\n[[weather.day]]\ndate = 2027-04-12\nlow = 6\nhigh = 16\nhumidity = 70\nwind = 3\n"
    job = job_in(tmp_path, "", by_hand)
    (tmp_path / "air.csv").write_text(FRONT + "2027-05-12T10:00,12,80,,2,9\n", encoding="utf-8")
    grid = Grid(job.job.timezone, MONDAY, 1)
    air = with_days(told_air(job, grid), job.weather.day, grid)
    dew = dew_point(11, 70)
    # Contract §5: lowest at 05:00, highest at 15:00, half a cosine between; halfway at 10:00 and at 22:00.
    assert [float(air.temp_c[4 * hour]) for hour in (5, 10, 15, 22)] == pytest.approx([6, 11, 16, 11])
    assert float(air.temp_c[4 * 8 + 3]) == pytest.approx(11 - 5 * math.cos(math.pi * 0.3))
    assert float(air.dew_c[60]) == pytest.approx(dew)
    assert float(air.dew_c[20]) == pytest.approx(min(6, dew))
    assert day_temperature_c(6, 16, 0) == pytest.approx(11 - 5 * math.cos(math.pi * 5 / 14))


def test_plans_mind_the_humidity_and_the_dew_of_a_file(tmp_path: Path) -> None:
    """The same limits met and missed by what a file tells as humidity, and as dew point."""
    stuff = material([20], "set = 1\napply = { max_humidity = 75, above_dew = 4 }")
    coat = task("coat", zone='"bay"', material='"coat"') + task("launch", "coat", hands=0)
    place = zone(shelter="covered")
    hours = range(8, 24)
    for cells, begins in (("80,", 4), ("70,", 0), (",16.5", 4), (",14", 0)):
        rows = "".join(f"2027-04-12T{h:02}:00,20,{cells if h < 12 else '60,'},0,3\n" for h in hours)
        job = job_in(tmp_path, rows, place, stuff, coat)
        plan = plan_job(job, seconds=5.0)
        assert_kept(job, plan)
        assert starts(plan)["coat"] == begins, cells


# -- the same hours as a forecast, and as days by hand


def test_a_forecast_tells_a_day_as_its_hours_do(tmp_path: Path) -> None:
    job = parse_job(head() + normals(18, 7) + crew() + task("launch"), tmp_path / "job.toml")
    rows = "".join(f"2027-04-12T{h:02}:00,{10 + h / 2},,{4 + h % 3},{int(h in (3, 4))},{h}\n" for h in range(24))
    (tmp_path / "new.csv").write_text(FRONT + rows, encoding="utf-8")
    (found,) = read_forecast(job, tmp_path / "new.csv", MONDAY).days
    after = {"low": 10.0, "high": 21.5, "dew": 5.0, "wind": 23.0, "rain": ["03:00/05:00"]}
    assert (found.date, found.after) == (MONDAY, after)
    assert found.before == {"low": 18.0, "high": 18.0, "dew": 7.0, "wind": found.before["wind"], "rain": []}
    (by_hand,) = days_from_hours(
        [
            HourlyRow(dt.datetime(2027, 4, 12, h), 10 + h / 2, None, 4 + h % 3, float(h in (3, 4)), float(h))
            for h in range(24)
        ],
        dt.UTC,
    )
    assert {name: value for name, value in by_hand.values.items() if name != "humidity"} == after


def test_a_forecast_in_another_zone_tells_the_yards_days(tmp_path: Path) -> None:
    """Noon to midnight of Sunday in UTC is Monday morning in Auckland, where summer time has just ended."""
    text = head(timezone="Pacific/Auckland") + normals(18, 7) + crew() + task("launch")
    rows = "".join(f"2027-04-11T{h:02}:00+00:00,9,70,,0,5\n" for h in range(12, 24))
    (tmp_path / "new.csv").write_text(FRONT + rows, encoding="utf-8")
    found = read_forecast(parse_job(text, tmp_path / "job.toml"), tmp_path / "new.csv", MONDAY)
    (one,) = found.days
    assert (one.date, one.after["low"], one.after["high"], found.told) == (MONDAY, 9.0, 18.0, 1)
    assert found.change().apply(Book(text)) == "forecast new.csv taken in: 1 day from 2027-04-12"


def test_a_place_keeps_off_what_its_shelter_does(tmp_path: Path) -> None:
    outside = air_of(
        tmp_path, "2027-04-12T10:00,12,80,,2,9\n", 1, zone("open-bay"), zone("tent", "covered", "heat_to = 20")
    )
    job = job_in(tmp_path, "", zone("bay"), zone("tent", "covered"), zone("shed", "inside", "heat_to = 20"))
    bay, tent, shed = (zone_air(outside, job.zones[name]) for name in ("bay", "tent", "shed"))
    dew = dew_point(12, 80)
    assert told(bay, 40) == told(outside, 40)
    assert told(tent, 40) == (12, 80, pytest.approx(dew), False, 9)
    assert told(shed, 40) == (20, pytest.approx(100 * pressure(dew) / pressure(20)), pytest.approx(dew), False, 0)
    for air in (bay, tent, shed):
        assert {len(column) for column in (air.temp_c, air.humidity, air.rain, air.wind_kn)} == {96}
        # Heat makes no weather where none is told.
        assert np.flatnonzero(air.known).tolist() == [40, 41, 42, 43]
        assert np.isnan(air.temp_c[39])


def test_days_made_of_humidity_have_its_dew_points_and_round_against_the_owner() -> None:
    hours = [HourlyRow(dt.datetime(2027, 4, 12, h), 12.27, 80.0, None, 0.0, 6.1) for h in range(24)]
    (found,) = days_from_hours(hours, dt.UTC)
    dew = math.ceil(dew_point(12.27, 80) * 10) / 10
    assert found.values == {"low": 12.2, "high": 12.2, "dew": dew, "humidity": None, "rain": None, "wind": 7.0}
    # 18 hours are a day, 17 are not; an hour told twice is one.
    assert len(days_from_hours(hours[:18], dt.UTC)) == 1
    assert days_from_hours([*hours[:17], hours[0]], dt.UTC) == ()
