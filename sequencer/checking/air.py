"""The checker's own air: weather by hand, from the file or from the month's normal, and what a zone feels.

°C, % relative humidity, knots. Saturation over water after WMO-No. 8 (Guide to Instruments and Methods of
Observation): e(T) = 6.112 · exp(17.62 T / (243.12 + T)) hPa.
"""

from __future__ import annotations

import csv
import datetime as dt
import math
from bisect import bisect_right
from dataclasses import dataclass
from pathlib import Path

from sequencer.checking.clock import Clock
from sequencer.errors import Fault, JobError
from sequencer.job import Day, Job, Normal, Zone
from sequencer.job.nearby import weather_path

DRIEST = 0.01
"""% humidity taken for anything lower, since the dew point of 0 % does not exist."""


@dataclass(frozen=True)
class Air:
    """The air for a quarter hour: °C, dew point in °C, humidity in %, whether it rains, wind in knots."""

    temp: float
    dew: float
    humidity: float
    rain: bool
    wind: float


def saturation(temp: float) -> float:
    """Vapour pressure over water at saturation, hPa, at `temp` °C (WMO-No. 8)."""
    return 6.112 * math.exp(17.62 * temp / (243.12 + temp))


def dew_from(temp: float, humidity: float) -> float:
    """The dew point in °C of air at `temp` °C and `humidity` %: the inverse of :func:`saturation`."""
    x = math.log(saturation(temp) * max(humidity, DRIEST) / 100 / 6.112)
    return 243.12 * x / (17.62 - x)


def humidity_from(temp: float, dew: float) -> float:
    """Relative humidity in % of air at `temp` and dew point `dew`, °C."""
    return 100 * saturation(dew) / saturation(temp)


def hour_temp(day: Day | Normal, hour: int) -> float:
    """°C at a full local hour: lowest at 05:00, highest at 15:00, half a cosine between (10 h, 14 h)."""
    swing = day.high - day.low
    if 5 <= hour <= 15:
        return day.low + swing * (1 - math.cos(math.pi * (hour - 5) / 10)) / 2
    return day.high - swing * (1 - math.cos(math.pi * ((hour - 15) % 24) / 14)) / 2


def _day_air(day: Day | Normal, hour: int, rain: bool) -> Air:
    temp = hour_temp(day, hour)
    if day.dew is not None:
        dew = day.dew
    else:
        assert day.humidity is not None
        dew = dew_from((day.low + day.high) / 2, day.humidity)
    dew = min(dew, temp)
    return Air(temp, dew, humidity_from(temp, dew), rain, day.wind)


def _file_air(row: dict[str, str]) -> Air:
    """One row of the file; raises KeyError or ValueError where it is none."""
    temp = float(row["temp_c"])
    if row.get("humidity"):
        humidity = min(float(row["humidity"]), 100.0)
        dew = min(dew_from(temp, humidity), temp)
    else:
        dew = min(float(row["dew_c"]), temp)
        humidity = humidity_from(temp, dew)
    rain, wind = float(row.get("rain_mm") or 0), float(row.get("wind_kn") or 0)
    if not all(math.isfinite(v) for v in (temp, dew, humidity, rain, wind)):
        raise ValueError("not a number")
    return Air(temp, dew, humidity, rain > 0, wind)


def _place(hours: dict[float, Air], again: dict[float, Air], clock: Clock, time: dt.datetime, air: Air) -> None:
    """Put a row at its time in quarter hours; a local time that comes twice, or never, needs care."""
    first = clock.quarters(time)
    second = clock.quarters(time.replace(fold=1)) if time.tzinfo is None else first
    if second < first:  # the clock jumped over it: a row of its own for that hour goes before it
        again.setdefault(first, air)
    elif second > first and first in hours:
        hours[second] = air
    else:
        hours[first] = air
        again.setdefault(second, air)


def read_hours(path: Path, clock: Clock) -> dict[float, Air]:
    """The weather file's rows by their time, in quarter hours. Raises JobError naming file and line.

    Times without an offset are the yard's. An hour that comes twice when the clock goes back, but stands
    once in the file, is taken for both.
    """
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        why = (error.strerror or "no access").lower() if isinstance(error, OSError) else "it is not UTF-8 text"
        raise JobError([Fault("weather, file", f"{path.name} can't be read ({why})", "check the file")]) from None
    hours: dict[float, Air] = {}
    again: dict[float, Air] = {}
    reader = csv.reader(lines)
    header = [name.strip().lower() for name in next(reader, [])]
    for cells in reader:
        row = {name: cell.strip() for name, cell in zip(header, cells, strict=False)}
        if not any(row.values()):
            continue
        try:
            time, air = dt.datetime.fromisoformat(row["time"]), _file_air(row)
        except (KeyError, ValueError, OverflowError, ZeroDivisionError) as error:
            what = f"the row cannot be read ({error})"
            raise JobError([Fault(f"{path.name}, line {reader.line_num}", what)]) from None
        _place(hours, again, clock, time, air)
    return again | hours


class Weather:
    """The air outdoors and in each zone, slot by slot. Raises JobError for an unreadable file."""

    def __init__(self, job: Job, clock: Clock) -> None:
        self._clock = clock
        self._days = {day.date: day for day in job.weather.day}
        self._normals = {normal.month: normal for normal in job.weather.normal}
        self._rows = read_hours(weather_path(job), clock) if job.weather.file else {}
        self._times = sorted(self._rows)
        self._known: dict[tuple[str, int], Air | None] = {}

    def last(self) -> float:
        """The slot from which on there is no weather at all; infinite where a month has a normal."""
        if self._normals:
            return math.inf
        days = [self._clock.wall(day, 1440) for day in self._days]
        return max([*days, *(time + 4 for time in self._times[-1:])], default=-math.inf)

    def outdoors(self, slot: int) -> Air | None:
        """The air outdoors in `slot`: the day by hand, else the file, else the month's normal, else None."""
        at = self._clock.local(slot)
        by_hand = self._days.get(at.date())
        if by_hand is not None:
            minute = at.hour * 60 + at.minute
            rain = any(begin < minute + 15 and minute < end for begin, end in by_hand.rain)
            return _day_air(by_hand, at.hour, rain)
        place = bisect_right(self._times, slot) - 1
        if place >= 0 and slot < self._times[place] + 4:
            return self._rows[self._times[place]]
        normal = self._normals.get(at.month)
        return _day_air(normal, at.hour, False) if normal is not None else None

    def in_zone(self, zone: Zone, slot: int) -> Air | None:
        """The air in `zone` in `slot`, or None where there is no weather for it."""
        key = (zone.id, slot)
        if key not in self._known:
            self._known[key] = self._sheltered(zone, self.outdoors(slot))
        return self._known[key]

    @staticmethod
    def _sheltered(zone: Zone, air: Air | None) -> Air | None:
        if air is None:
            return None
        temp, humidity = air.temp, air.humidity
        if zone.heat_to is not None and zone.heat_to > temp:
            temp, humidity = zone.heat_to, humidity_from(zone.heat_to, air.dew)
        rain = air.rain and zone.shelter == "open"
        return Air(temp, air.dew, humidity, rain, 0.0 if zone.shelter == "inside" else air.wind)
