"""The parts of the weather generator one by one: each is what its docstring says, reckoned or by another library."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from scipy.stats import beta  # type: ignore[import-untyped]

from sequencer.job import Normal
from sequencer.weather.climate import (
    RAIN_LIFTS_DEW,
    RAIN_LIFTS_HIGH,
    RAIN_LIFTS_LOW,
    WIND_BY_HOUR,
    Month,
    Normals,
    Told,
    Usual,
    lasting,
    spreads,
)
from sequencer.weather.climate_hours import hours_of_days, over_the_days, wandering_hours
from sequencer.weather.climate_spells import LONGEST_DAYS, Drawn, beta_inverse, laid_rain, wet_chain
from sequencer.weather.climate_spells import _laid as laid

APRIL = Normal(month=4, low=4.5, high=12.0, dew=4.0, wind=9.0, wet_days=10, rain_hours=5, wet_after_wet=0.6)
START = dt.date(2027, 4, 1)


def generators(count: int, seed: int = 3) -> list[np.random.Generator]:
    return [np.random.default_rng([seed, k]) for k in range(count)]


# -- months


def test_a_month_is_what_its_normal_says_and_what_that_leaves_out_is_filled_in() -> None:
    told = Month.of(APRIL)
    assert told == Month(4.5, 12.0, 4.0, 9.0, pytest.approx(10 / 30), 0.6, 5)
    bare = Month.of(Normal(month=2, low=0, high=8, humidity=75, wet_days=14))
    # Halfway between low and high at 75 %: by the formula of WMO-No. 8.
    gamma = math.log(0.75) + 17.62 * 4 / (243.12 + 4)
    assert bare.dew == pytest.approx(243.12 * gamma / (17.62 - gamma))
    # February of a common year; rain lasts by 1/4 and 3/4 of the share where nothing is told, 5 h on a wet day.
    assert (bare.wet, bare.wet_after_wet, bare.rain_hours) == (0.5, pytest.approx(0.625), 5.0)
    assert Month.of(Normal(month=2, low=0, high=8, dew=1, wet_days=28)).wet == 1.0


def test_a_stay_is_less_sure_of_few_years_than_of_many() -> None:
    thirty, four = Normals([APRIL]), Normals([APRIL], years=4)
    # A month's mean varies by 1.4 °C from year to year, so that of n years is sure to 1.4 / √n.
    assert thirty.spread_season == pytest.approx(math.hypot(0.9, 1.4 / math.sqrt(30)))
    assert four.spread_season == pytest.approx(math.hypot(0.9, 0.7))
    # Share 1/3 with a memory of 0.4: a count's variance is (1 + 0.4) / (1 - 0.4) binomials', its log-odds' the
    # inverse of n p (1 - p) of them.
    for normals, years in ((thirty, 30), (four, 4)):
        unsure = (1.4 / 0.6) / (30 * years * (1 / 3) * (2 / 3))
        assert normals.spread_wetness == pytest.approx(math.hypot(0.25, math.sqrt(unsure)))
    two = Normals([APRIL, APRIL.model_copy(update={"month": 5})])
    assert two.spread_wetness == pytest.approx(Normals([APRIL]).spread_wetness, rel=0.01)
    assert Normals([]).spread_wetness == 0.25


def test_days_spread_less_where_it_is_warmer() -> None:
    cold, mild, hot, hotter = (np.array(one) for one in zip(*spreads(np.array([-9.0, 10.0, 25.0, 40.0])), strict=True))
    assert cold == pytest.approx([4.3, 4.9, 3.3])
    assert mild == pytest.approx([3.3, 4.1, 2.8])
    assert hot == pytest.approx([1.8, 2.9, 2.05])
    assert hotter == pytest.approx(hot)


# -- departures


def test_departures_last_from_day_to_day_by_their_share_and_spread_by_one() -> None:
    fresh = np.random.default_rng(1).standard_normal((400, 300))
    nothing = np.zeros(fresh.shape, dtype=bool)
    for share in (0.0, 0.3, 0.62):
        out = lasting(fresh, share, nothing, None)
        assert np.corrcoef(out[:, :-1].ravel(), out[:, 1:].ravel())[0, 1] == pytest.approx(share, abs=0.01)
        assert out.std() == pytest.approx(1, abs=0.01)
        assert np.array_equal(out[:, 0], fresh[:, 0])


def test_a_told_day_departs_as_told_within_four_deviations_and_echoes_on() -> None:
    fresh = np.zeros((2, 5))
    mask = np.zeros((2, 5), dtype=bool)
    mask[0, 1], mask[1, 1] = True, False
    told = np.full((2, 5), 9.0)
    out = lasting(fresh, 0.5, mask, told)
    assert out[0].tolist() == [0, 4, 2, 1, 0.5]
    assert out[1].tolist() == [0] * 5
    assert lasting(fresh, 0.5, mask, -told)[0, 1] == -4
    assert lasting(fresh, 0.5, mask, told / 9)[0, 1] == 1


def test_days_and_their_departures_are_each_others_inverse() -> None:
    shape = (3, 6)
    rng = np.random.default_rng(2)
    usual = Usual(
        rng.normal(5, 1, shape),
        rng.normal(14, 1, shape),
        rng.normal(-1, 1, shape),
        np.full(6, 8.0),
        (np.full(6, 3.0), np.full(6, 4.0), np.full(6, 2.5)),
    )
    low, high, dew, wind = (np.broadcast_to(rng.normal(0, 0.5, 6), shape) for _ in range(4))
    lows, highs, dews, winds = usual.days(low, high, dew, wind)
    assert (lows, dews) == (pytest.approx(usual.low + 3 * low), pytest.approx(lows + usual.dew_over_low + 2.5 * dew))
    assert (highs >= lows + 0.5).all()
    for future in range(3):
        told = Told(np.ones(shape, dtype=bool), lows[future], highs[future], dews[future], winds[0], np.zeros(6, bool))
        back = usual.departures(told)
        for name, found, right in zip(("low", "high", "dew", "wind"), back, (low, high, dew, wind), strict=True):
            clear = highs[future] > lows[future] + 0.5 if name == "high" else slice(None)
            assert found[future][clear] == pytest.approx(right[future][clear]), name


def test_a_calm_day_counts_as_half_a_knot() -> None:
    flat = np.zeros((1, 1))
    ones = (np.ones(1),) * 3
    usual = Usual(flat, flat + 9, flat, np.array([9.0]), ones)
    one = np.ones((1, 1), dtype=bool)
    calm, half = (
        usual.departures(Told(one, np.zeros(1), np.full(1, 9.0), np.zeros(1), np.array([wind]), np.zeros(1, bool)))[3]
        for wind in (0.0, 0.5)
    )
    assert calm == half
    assert np.isfinite(calm).all()


# -- wet days against dry ones


def test_wet_days_are_milder_by_night_cooler_by_day_and_damper() -> None:
    """Newark and Seattle (in the module's numbers): a wet day's low 1.5 °C higher, its high 0.6 lower."""
    normals = Normals(APRIL.model_copy(update={"month": month}) for month in range(1, 13))
    drawn = Drawn.of(generators(300), 60)
    sky = normals.draw(generators(300), START, 60)
    wet = sky.rain.any(axis=2)
    # At 05:00 and 15:00 the mean day is at its low and its high, but for the share its curve stays inside them.
    at_five, at_three = (sky.temp_c[:, :, hour] for hour in (5, 15))
    low = at_five[wet].mean() - at_five[~wet].mean()
    high = at_three[wet].mean() - at_three[~wet].mean()
    inside = (0.10, 0.065)
    assert low == pytest.approx(RAIN_LIFTS_LOW + inside[0] * (RAIN_LIFTS_HIGH - RAIN_LIFTS_LOW), abs=0.25)
    assert high == pytest.approx(RAIN_LIFTS_HIGH - inside[1] * (RAIN_LIFTS_HIGH - RAIN_LIFTS_LOW), abs=0.3)
    dry_hours = ~sky.rain
    noon = sky.dew_c[:, :, 12]
    lifted = noon[wet & dry_hours[:, :, 12]].mean() - noon[~wet].mean()
    assert 0.6 * (RAIN_LIFTS_LOW + RAIN_LIFTS_DEW) < lifted < RAIN_LIFTS_LOW + RAIN_LIFTS_DEW
    # While it rains the dew point is at most 1.5 °C below the air, and never above it.
    assert (sky.temp_c - sky.dew_c)[sky.rain].max() <= 1.5 + 1e-9
    assert (sky.dew_c <= sky.temp_c).all()
    assert drawn.wet.shape == wet.shape


def test_on_the_whole_the_days_keep_to_the_normal() -> None:
    normals = Normals(APRIL.model_copy(update={"month": month}) for month in range(1, 13))
    sky = normals.draw(generators(400), START, 60)
    assert sky.known.all()
    assert sky.temp_c[:, :, 5].mean() == pytest.approx(4.5 + 0.10 * 7.5, abs=0.15)
    assert sky.temp_c[:, :, 15].mean() == pytest.approx(12.0 - 0.065 * 7.5, abs=0.15)
    assert sky.wind_kn.mean() == pytest.approx(9.0, rel=0.02)
    by_hour = sky.wind_kn.mean(axis=(0, 1))
    assert by_hour / by_hour.mean() == pytest.approx(WIND_BY_HOUR / WIND_BY_HOUR.mean())
    assert sky.rain.any(axis=2).mean() == pytest.approx(1 / 3, abs=0.01)
    # A whole stay departs together, by 0.9 °C and what the normals are unsure of.
    assert sky.temp_c.mean(axis=(1, 2)).std() > 0.9


def test_told_days_are_as_told_and_other_futures_go_on_from_their_own() -> None:
    normals = Normals(APRIL.model_copy(update={"month": month}) for month in range(1, 13))
    days = 6
    mask = np.zeros((200, days), dtype=bool)
    mask[:100, 0] = True
    flat = np.zeros(days)
    told = Told(mask, flat - 9, flat - 2, flat - 12, flat + 20, np.zeros(days, bool))
    free = normals.draw(generators(200), START, days)
    sky = normals.draw(generators(200), START, days, told)
    assert not sky.rain[:100, 0].any()
    # Far below the normal: within the four deviations that its echo is kept to, and lasting for some days.
    assert sky.temp_c[:100, 0].mean() < free.temp_c[:100, 0].mean() - 8
    assert sky.temp_c[:100, 1].mean() < free.temp_c[:100, 1].mean() - 4
    assert sky.wind_kn[:100, 0].mean() > 15
    assert np.array_equal(sky.temp_c[100:], free.temp_c[100:])
    assert np.array_equal(sky.rain[100:], free.rain[100:])


# -- the chain


def test_a_leaning_stay_is_wetter_and_on_average_the_share_stays() -> None:
    rng = np.random.default_rng(4)
    uniform, lean = rng.random((4000, 60)), rng.standard_normal(4000)
    found = wet_chain(np.full(60, 0.3), np.full(60, 0.5), uniform, lean, 0.8)
    assert found.mean() == pytest.approx(0.3, abs=0.01)
    assert found[lean > 1].mean() > found.mean() + 0.12
    assert found[lean < -1].mean() < found.mean() - 0.1
    same = wet_chain(np.full(60, 0.3), np.full(60, 0.5), uniform, np.zeros(4000))
    assert same.mean(axis=1).std() < found.mean(axis=1).std()


def test_a_told_wet_day_makes_the_next_one_as_likely_wet_as_the_chain_has_it() -> None:
    uniform = np.random.default_rng(5).random((6000, 3))
    mask = np.zeros((6000, 3), dtype=bool)
    mask[:, 1] = True
    for told, right in ((True, 0.6), (False, 0.2)):
        # A share of 1/3 and 0.6 after rain leave 0.2 after a dry day.
        wet = np.array([False, told, False])
        found = wet_chain(np.full(3, 1 / 3), np.full(3, 0.6), uniform, np.zeros(6000), 0.0, (mask, wet))
        assert (found[:, 1] == told).all()
        assert found[:, 2].mean() == pytest.approx(right, abs=0.02)
        assert found[:, 0].mean() == pytest.approx(1 / 3, abs=0.02)


def test_the_first_days_drawn_are_the_same_however_many_are_asked_for() -> None:
    few, many = Drawn.of(generators(3), 5), Drawn.of(generators(3), LONGEST_DAYS)
    assert np.array_equal(few.wetness, many.wetness)
    assert np.array_equal(few.season, many.season)
    assert np.array_equal(few.wet, many.wet[:, :5])
    assert np.array_equal(few.normal, many.normal[:, :, :5])
    assert np.array_equal(few.spell, many.spell[:, :, :5])
    assert np.array_equal(few.wander, many.wander[:, :40])
    assert (few.normal.shape, few.spell.shape) == ((4, 3, 5), (7, 3, 5))


# -- hours of rain


@pytest.mark.parametrize("mean", [0.02, 0.2, 0.5, 0.83, 0.98])
def test_numbers_of_a_beta_are_those_of_another_library(mean: float) -> None:
    uniform = np.linspace(0.001, 0.999, 999)[None, :]
    found = beta_inverse(uniform, np.full(999, mean))[0]
    right = beta.ppf(uniform[0], 4 * mean, 4 * (1 - mean))
    assert np.abs(found - right).max() < 2e-3


def spells_of(rain: np.ndarray) -> list[tuple[int, int]]:
    """The spells of one day as (begin, hours)."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], rain.astype(int), [0]))))
    return [(int(a), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


@pytest.mark.parametrize(("on", "to"), [(False, False), (True, False), (False, True), (True, True)])
def test_hours_of_rain_are_laid_in_one_spell_to_three(on: bool, to: bool) -> None:
    size = 6000
    rng = np.random.default_rng(6)
    count = rng.integers(1, 25, size)
    many, begin, gap, split = rng.random((4, size))
    rain = laid(count, np.full(size, on), np.full(size, to), many, begin, gap, split)
    assert (rain.sum(axis=1) == count).all()
    found = [spells_of(day) for day in rain]
    assert {len(one) for one in found} <= {1, 2, 3}
    if on:
        assert rain[:, 0].all()
    if to:
        # One hour can't lie at both ends of the day.
        assert rain[count > 1, 23].all()
    if not on and not to:
        some = (count >= 3) & (count <= 20)
        share = np.array([len(one) for one, fits in zip(found, some, strict=True) if fits])
        # Newark 2013: 53 % of wet days have one spell, 87 % at most two.
        assert (share == 1).mean() == pytest.approx(0.53, abs=0.03)
        assert (share <= 2).mean() == pytest.approx(0.87, abs=0.03)
        # The first begins at any hour there is room for.
        first = [one[0][0] for one, hours in zip(found, count, strict=True) if hours == 4 and len(one) == 1]
        assert min(first) <= 1
        assert max(first) >= 19
        assert np.mean(first) == pytest.approx(10, abs=1.5)


def test_spells_lie_as_far_apart_as_at_newark_and_share_their_hours() -> None:
    """Half of the gaps 2 hours or fewer, a quarter 4 or more, a tenth 8 or more (Newark and Kennedy, 2013)."""
    size = 8000
    rng = np.random.default_rng(7)
    _, begin, gap, split = rng.random((4, size))
    no = np.zeros(size, dtype=bool)
    rain = laid(np.full(size, 6), no, no, np.full(size, 0.7), begin, gap, split)
    found = [spells_of(day) for day in rain]
    assert {len(one) for one in found} == {2}
    gaps = np.array([b[0] - a[0] - a[1] for a, b in found])
    assert gaps.min() == 1
    assert (gaps <= 2).mean() == pytest.approx(0.53, abs=0.04)
    assert (gaps >= 4).mean() == pytest.approx(0.31, abs=0.04)
    assert (gaps >= 8).mean() == pytest.approx(0.07, abs=0.03)
    first = np.array([a[1] for a, _ in found])
    # A fifth to four fifths of the hours fall in the first spell.
    assert (first.min(), first.max()) == (1, 4)
    assert first.mean() == pytest.approx(2.5, abs=0.15)
    three = [spells_of(day) for day in laid(np.full(size, 6), no, no, np.full(size, 0.9), begin, gap, split)]
    assert {len(one) for one in three} == {3}
    assert all(abs(one[1][1] - one[2][1]) <= 1 for one in three)


def test_a_day_of_rain_from_midnight_to_midnight_is_dry_between() -> None:
    yes = np.ones(1, dtype=bool)
    for hours in range(2, 24):
        (day,) = laid(np.array([hours]), yes, yes, *(np.full(1, 0.1) for _ in range(4)))
        (_, first), (begin, last) = spells_of(day)
        assert (day[0], day[23], first + last, begin + last) == (True, True, hours, 24)
    (whole,) = laid(np.array([24]), yes, yes, *(np.full(1, 0.1) for _ in range(4)))
    assert whole.all()


def test_hours_by_the_day_are_laid_into_their_days_and_over_midnight_as_often_as_measured() -> None:
    days = 4000
    hours = np.tile([3.0, 5.0, 0.0, 24.0], days // 4)
    rain = laid_rain(np.random.default_rng(8), hours)
    assert np.array_equal(rain.sum(axis=1), hours)
    # From the first to the second day of each four it may rain over midnight: 0.45 of them, and by chance some more.
    over = rain[0::4, 23] & rain[1::4, 0]
    assert over.mean() == pytest.approx(0.45, abs=0.06)
    # After a dry day it begins at midnight only by chance.
    assert not rain[2::4].any()


# -- the hours of a day


def test_a_day_rises_from_its_low_and_falls_to_the_next_ones() -> None:
    low, high = np.array([[2.0, 6.0, 4.0]]), np.array([[10.0, 16.0, 9.0]])
    (days,) = hours_of_days(low, high)
    assert days[:, 5].tolist() == low[0].tolist()
    assert days[:, 15].tolist() == high[0].tolist()
    for day in range(3):
        assert (np.diff(days[day, 5:16]) > 0).all()
        assert (np.diff(days[day, 15:]) < 0).all()
    # Half a cosine by the power 0.72 of the share of the way: at 10:00, halfway, it has risen by 0.66 of it.
    share = (1 - math.cos(math.pi * 0.5**0.72)) / 2
    assert days[0, 10] == pytest.approx(2 + 8 * share)
    # By 22:00, halfway to the next day's low, it has fallen as far towards that.
    assert days[0, 22] == pytest.approx(10 + (6 - 10) * share)
    assert days[1, 2] == pytest.approx(6 + (10 - 6) * (1 + math.cos(math.pi * (11 / 14) ** 0.72)) / 2)
    # The last day has no next one, and the first none before it.
    assert days[2, 22] == pytest.approx(9 + (4 - 9) * share)
    assert days[0, 0] == pytest.approx(2 + 8 * (1 + math.cos(math.pi * (9 / 14) ** 0.72)) / 2)


def test_hours_stray_from_the_mean_day_and_straight_between_their_draws() -> None:
    low, high = np.array([[2.0, 6.0]]), np.array([[12.0, 16.0]])
    still = wandering_hours(low, high, np.zeros((1, 16)))
    assert still == pytest.approx(hours_of_days(low + 1.0, high - 0.65))
    wander = np.zeros((1, 16))
    wander[0, 3], wander[0, 15] = 1.0, -1.0
    strayed = (wandering_hours(low, high, wander) - still)[0].ravel()
    # A draw each three hours: 06:00 to the fourth at 09:00 and down again to 12:00, of 0.155 of the span of 10 °C.
    assert strayed[6:13] == pytest.approx([0, 0.5167, 1.0333, 1.55, 1.0333, 0.5167, 0], abs=1e-4)
    assert strayed[45:] == pytest.approx([-1.55] * 3)
    assert np.flatnonzero(np.abs(strayed) > 1e-9).tolist() == [7, 8, 9, 10, 11, 43, 44, 45, 46, 47]


def test_what_a_day_is_on_the_whole_runs_straight_from_noon_to_noon() -> None:
    (found,) = over_the_days(np.array([[0.0, 24.0, 12.0]]))
    assert found[:, 12].tolist() == [0, 24, 12]
    line = found.ravel()[12:61]
    assert line == pytest.approx([*np.linspace(0, 24, 25), *np.linspace(24, 12, 25)[1:]])
    assert found[0, :12].tolist() == [0] * 12
    assert found[2, 13:].tolist() == [12] * 11
