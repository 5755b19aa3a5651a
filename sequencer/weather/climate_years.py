"""Weather that may come, drawn in blocks of days that really came: past years of a place, or a typical year.

A block begins on a random day of the record within a fortnight of the date wanted, in any year, and runs on for nine
days on average, whole days at a time, so that what belongs together (rain, cloud, cold, wind, and how they last) stays
together: the stationary bootstrap of Politis and Romano, Journal of the American Statistical Association 89, 1994,
1303-1313, kept near the season as in Rajagopalan and Lall, Water Resources Research 35, 1999, 3089-3101 (both from
memory).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sequencer.weather.climate import Sky, Told
from sequencer.weather.climate_spells import LONGEST_DAYS
from sequencer.weather.files import HourlyRow
from sequencer.weather.humidity import dew_point_c

NEAR_DAYS = 14
"""Days of the calendar a block may begin from the date wanted, before or after."""

BLOCK_DAYS = 9.0
"""Days a block lasts on average: past a week little is left of what the weather was (PERSISTENCE⁹ is 0.01)."""

MOST_MISSING_HOURS = 3
"""Hours a day may lack; each is then as the hour before it. A day that lacks more is left out."""

YEAR_DAYS = 365


class PastYears:
    """A climate from hours of past years, or of a typical year put together from several.

    rows: in any order, of any years; times with an offset are taken to `timezone`, others are its clock. Days that
    lack more than a few hours are left out; where nothing is left, every day is unknown.
    """

    def __init__(self, rows: Sequence[HourlyRow], timezone: dt.tzinfo) -> None:
        found: dict[dt.date, dict[int, HourlyRow]] = {}
        for row in rows:
            time = row.time.astimezone(timezone) if row.time.tzinfo is not None else row.time
            found.setdefault(time.date(), {}).setdefault(time.hour, row)
        self.dates = sorted(date for date, hours in found.items() if len(hours) >= 24 - MOST_MISSING_HOURS)
        days = [_filled(found[date]) for date in self.dates]
        shape = (len(days), 24)
        self.temp_c = np.array([[r.temp_c for r in day] for day in days]).reshape(shape)
        self.dew_c = np.array([[_dew(r) for r in day] for day in days]).reshape(shape)
        self.rain = np.array([[r.rain_mm > 0 for r in day] for day in days], dtype=bool).reshape(shape)
        self.wind_kn = np.array([[r.wind_kn for r in day] for day in days]).reshape(shape)

    @cached_property
    def _next(self) -> NDArray[np.int64]:
        """By day of the record the place of the day after it, which in a typical year may be of another year; or -1."""
        place = {date: k for k, date in enumerate(self.dates)}
        one_year = {(date.month, date.day): k for k, date in enumerate(self.dates)}
        typical = len(one_year) == len(self.dates)
        after = []
        for date in self.dates:
            following = date + dt.timedelta(days=1)
            found = place.get(following, -1)
            if found < 0 and typical:
                found = one_year.get((following.month, following.day), -1)
            after.append(found)
        return np.array(after, dtype=np.int64)

    @cached_property
    def _turn(self) -> NDArray[np.int64]:
        """By day of the record its day of the year, 0 to 365."""
        return np.array([_day_of_year(date) for date in self.dates], dtype=np.int64)

    @cached_property
    def _wet_before(self) -> NDArray[np.int8]:
        """By day of the record whether the day before it was wet; -1 where that is not known."""
        before = np.full(len(self.dates), -1, dtype=np.int8)
        known = self._next >= 0
        before[self._next[known]] = np.asarray(self.rain.any(axis=1))[known]
        return before

    @property
    def words(self) -> str:
        """``a typical year``, ``2013``, or ``2012 to 2015``."""
        years = sorted({date.year for date in self.dates})
        if len(years) > 1 and len({(date.month, date.day) for date in self.dates}) == len(self.dates):
            return "a typical year"
        return f"{years[0]} to {years[-1]}" if len(years) > 1 else str(years[0]) if years else "no whole day"

    def knows(self, date: dt.date) -> bool:
        """Whether the record has days to draw from for a date."""
        return bool(len(self._near(date)))

    def _near(self, date: dt.date) -> NDArray[np.int64]:
        """Days of the record within a fortnight of a date, in any year."""
        away = np.abs(self._turn - _day_of_year(date))
        return np.flatnonzero(np.minimum(away, YEAR_DAYS - away) <= NEAR_DAYS)

    def draw(self, rng: Sequence[np.random.Generator], first: dt.date, days: int, told: Told | None = None) -> Sky:
        """See :class:`sequencer.weather.climate.Climate`."""
        even = np.stack([r.random((2, LONGEST_DAYS)) for r in rng])
        count = len(rng)
        chosen = np.full((count, days), -1, dtype=np.int64)
        for day in range(days):
            near = self._near(first + dt.timedelta(days=day))
            if not len(near):
                continue
            runs_on = self._next[chosen[:, day - 1]] if day else np.full(count, -1, dtype=np.int64)
            if day:
                runs_on = np.where(chosen[:, day - 1] >= 0, runs_on, -1)
            after_told = told.mask[:, day - 1] if told is not None and day else np.zeros(count, dtype=bool)
            begins = (runs_on < 0) | (even[:, 0, day] < 1 / BLOCK_DAYS) | after_told
            fresh = near[(even[:, 1, day] * len(near)).astype(np.int64)]
            if told is not None and day:
                alike = near[self._wet_before[near] == int(told.wet[day - 1])]
                if len(alike):
                    # What comes after a told day follows a day as wet or dry as that.
                    follows = alike[(even[:, 1, day] * len(alike)).astype(np.int64)]
                    fresh = np.where(after_told, follows, fresh)
            chosen[:, day] = np.where(begins, fresh, runs_on)
        known = np.asarray((chosen >= 0).all(axis=0))
        at = np.maximum(chosen, 0)
        if not self.dates:
            still = np.zeros((count, days, 24))
            return Sky(still, still, still > 0, still, known)
        return Sky(self.temp_c[at], self.dew_c[at], self.rain[at], self.wind_kn[at], known)


def _day_of_year(date: dt.date) -> int:
    """0 on 1 January, alike in all years but for 29 February, which is as 28 February."""
    return dt.date(2001, date.month, min(date.day, 28) if date.month == 2 else date.day).timetuple().tm_yday - 1


def _filled(hours: dict[int, HourlyRow]) -> list[HourlyRow]:
    """The 24 hours of a day, each missing one as the one before it, or else the first there is."""
    last = hours[min(hours)]
    day = []
    for hour in range(24):
        last = hours.get(hour, last)
        day.append(last)
    return day


def _dew(row: HourlyRow) -> float:
    """The dew point, never above the air."""
    if row.dew_c is not None:
        return min(row.dew_c, row.temp_c)
    return float(dew_point_c(row.temp_c, row.humidity if row.humidity is not None else 0.0))
