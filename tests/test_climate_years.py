"""Blocks of days that really came: what they keep of the record, and what they go on from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from backtest_weather import Place, new_york, seattle
from odds_jobs import APRIL_AND_MAY, haul_out, planned

from sequencer.errors import JobError
from sequencer.odds import tell_odds
from sequencer.weather.climate import Told
from sequencer.weather.climate_years import BLOCK_DAYS, NEAR_DAYS, PastYears
from sequencer.weather.files import HourlyRow, to_hourly_csv

UTC = dt.UTC


def generators(count: int, seed: int = 1) -> list[np.random.Generator]:
    return [np.random.default_rng([seed, k]) for k in range(count)]


def rows_of(place: Place) -> list[HourlyRow]:
    return [
        HourlyRow(
            dt.datetime.combine(date, dt.time(hour)),
            float(place.temp[day, hour]),
            None,
            float(place.dew[day, hour]),
            1.0 if place.rain[day, hour] else 0.0,
            float(place.wind[day, hour]),
        )
        for day, date in enumerate(place.dates)
        for hour in range(24)
    ]


def marked(dates: Sequence[dt.date], hours: int = 24) -> list[HourlyRow]:
    """Days told apart by their temperature: the year less 2000, and a hundredth for each day of the year."""
    return [
        HourlyRow(dt.datetime.combine(date, dt.time(h)), mark(date), 50.0, None, float(date.day % 3 == 0), 5.0)
        for date in dates
        for h in range(hours)
    ]


def mark(date: dt.date) -> float:
    return date.year - 2000 + date.timetuple().tm_yday / 1000


def year(number: int) -> list[dt.date]:
    return [dt.date(number, 1, 1) + dt.timedelta(days=k) for k in range(365)]


def test_blocks_are_days_in_a_row_from_near_the_date() -> None:
    climate = PastYears(marked(year(2013) + year(2014) + year(2015)), UTC)
    sky = climate.draw(generators(200), dt.date(2027, 4, 1), 60)
    marks = sky.temp_c[:, :, 0]
    assert np.all(sky.temp_c == marks[:, :, None])
    day = np.round((marks % 1) * 1000) - 1
    wanted = np.arange(90, 150)
    # A block that has begun early may run a few days on past what is near.
    assert np.abs(day - wanted).max() <= NEAR_DAYS
    in_a_row = np.isclose(np.diff(marks, axis=1), 0.001)
    assert in_a_row.mean() == pytest.approx(1 - 1 / BLOCK_DAYS, abs=0.02)
    assert {int(y) for y in np.unique(marks // 1)} == {13, 14, 15}
    assert sky.known.all()


def test_seattle_keeps_its_seasons_and_its_rain() -> None:
    """Share of wet days, P11 and P01 of 2012-15 (``vega_datasets``), and the months' means."""
    place = seattle()
    climate = PastYears(rows_of(place), UTC)
    sky = climate.draw(generators(60), dt.date(2025, 1, 1), 365)
    wet = np.asarray(sky.rain.any(axis=2))
    after, before = wet[:, 1:], wet[:, :-1]
    assert wet.mean() == pytest.approx(0.4264, abs=0.02)
    assert after[before].mean() == pytest.approx(0.6726, abs=0.04)
    assert after[~before].mean() == pytest.approx(0.2437, abs=0.04)
    month = np.array([date.month for date in place.dates])
    for number, days in ((1, slice(0, 31)), (4, slice(90, 120)), (7, slice(181, 212))):
        assert sky.temp_c[:, days].mean() == pytest.approx(place.temp[month == number].mean(), abs=0.8)


def test_more_days_begin_with_the_same_ones() -> None:
    climate = PastYears(rows_of(new_york("LGA")), UTC)
    short, long = (climate.draw(generators(3), dt.date(2027, 4, 1), days) for days in (30, 90))
    assert np.array_equal(short.temp_c, long.temp_c[:, :30])


def test_days_after_told_ones_follow_days_as_wet_or_dry() -> None:
    climate = PastYears(marked(year(2014)), UTC)
    mask = np.zeros((100, 20), dtype=bool)
    mask[:, :6] = True
    told = Told(mask, *(np.zeros(20) for _ in range(4)), wet=np.ones(20, dtype=bool))
    sky = climate.draw(generators(100), dt.date(2027, 4, 1), 20, told)
    followed = [dt.date(2014, 1, 1) + dt.timedelta(days=round(m % 1 * 1000) - 2) for m in sky.temp_c[:, 6, 0]]
    # Days of the month that three divides are the wet ones.
    assert all(date.day % 3 == 0 for date in followed)


def test_a_typical_year_of_many_years_runs_on_over_its_seams() -> None:
    months = [dt.date(2001 + date.month % 5, date.month, date.day) for date in year(2013)]
    climate = PastYears(marked(months), UTC)
    sky = climate.draw(generators(50), dt.date(2027, 12, 1), 90)
    assert sky.known.all()
    after = [(a, b) for future in sky.temp_c[:, :, 0] for a, b in pairwise(future)]
    last, first = mark(dt.date(2001 + 12 % 5, 12, 31)), mark(dt.date(2001 + 1 % 5, 1, 1))
    assert any(np.isclose(a, last) and np.isclose(b, first) for a, b in after)


def test_days_with_holes_are_left_out_and_far_dates_unknown() -> None:
    whole = [date for date in year(2014) if date.month == 4]
    holed = [date for date in year(2014) if date.month == 5]
    climate = PastYears(marked(whole) + marked(holed, 20), UTC)
    assert climate.dates == whole
    sky = climate.draw(generators(20), dt.date(2027, 5, 1), 60)
    assert sky.known[:10].all()
    assert not sky.known[20:].any()
    assert not PastYears([], UTC).draw(generators(2), dt.date(2027, 5, 1), 5).known.any()


def test_times_with_an_offset_are_taken_to_the_yards_clock() -> None:
    rows = [
        HourlyRow(dt.datetime(2014, 4, day, hour, tzinfo=dt.UTC), float(hour), 50.0, None, 0.0, 5.0)
        for day in range(1, 29)
        for hour in range(24)
    ]
    climate = PastYears(rows, ZoneInfo("America/New_York"))
    sky = climate.draw(generators(1), dt.date(2027, 4, 10), 3)
    assert sky.temp_c[0, 1].tolist() == [float((hour + 4) % 24) for hour in range(24)]
    assert np.all(sky.dew_c < sky.temp_c)


def test_a_job_draws_from_the_past_years_it_names(tmp_path: Path) -> None:
    """With a year that never rains no rain costs days; the plan is made from the normals either way."""
    dry = [HourlyRow(r.time, 15.0, 60.0, None, 0.0, 5.0) for r in marked(year(2014))]
    (tmp_path / "past.csv").write_text(to_hourly_csv(dry))
    job = haul_out('[weather]\npast = "past.csv"\n' + APRIL_AND_MAY, "7", False)
    job._path = tmp_path / "job.toml"
    plan = planned(job)
    odds = tell_odds(job, plan, runs=40, cores=1)
    assert odds.risks["rain"] == 0
    assert len(odds.launches) == 1
    (tmp_path / "past.csv").write_text("what,is\nthis,1\n")
    with pytest.raises(JobError, match=r"past\.csv"):
        tell_odds(job, plan, runs=40, cores=1)
    (tmp_path / "past.csv").unlink()
    with pytest.raises(JobError, match="no such file"):
        tell_odds(job, plan, runs=40, cores=1)
