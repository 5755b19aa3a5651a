"""The hours' air on the grid: days by hand over the file over the month's normals (contract §2, §5)."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from sequencer.grid import PER_HOUR, Grid
from sequencer.job import Day, Job, Normal, Zone
from sequencer.job.nearby import weather_path
from sequencer.weather.files import HourlyRow, read_hourly
from sequencer.weather.humidity import dew_point_c, humidity_pct

COLDEST_HOUR = 5
WARMEST_HOUR = 15

TOLD = 2
"""Air told by the file or by hand."""
NORMAL = 1
"""Air filled in from the month's normals."""
UNKNOWN = 0
"""No weather at all: unfit for work in a zone, and cure stands still."""

EPSILON = 1e-6
"""Comparisons of measured air forgive this much, so that 100 % humidity reads as dew whatever the rounding."""


@dataclass(frozen=True)
class Air:
    """Air for every slot, each array of shape (slots,).

    temp_c, dew_c: °C; humidity: %; rain: whether it rains; wind_kn: knots; source: UNKNOWN, NORMAL or TOLD.
    """

    temp_c: NDArray[np.float64]
    dew_c: NDArray[np.float64]
    humidity: NDArray[np.float64]
    rain: NDArray[np.bool_]
    wind_kn: NDArray[np.float64]
    source: NDArray[np.int8]

    @property
    def known(self) -> NDArray[np.bool_]:
        """Where there is any weather."""
        return self.source > UNKNOWN

    @property
    def dewy(self) -> NDArray[np.bool_]:
        """Where the air is not warmer than its dew point."""
        return self.temp_c - self.dew_c <= EPSILON


def day_temperature_c(low: float, high: float, hour: float) -> float:
    """The temperature at an hour of a day told by its low and high, °C.

    Lowest at 05:00, highest at 15:00, half a cosine between; the day stands on its own (contract §5).
    """
    if COLDEST_HOUR <= hour <= WARMEST_HOUR:
        phase = (hour - COLDEST_HOUR) / (WARMEST_HOUR - COLDEST_HOUR)
    else:
        since_high = (hour - WARMEST_HOUR) % 24
        phase = 1 - since_high / (24 - WARMEST_HOUR + COLDEST_HOUR)
    return low + (high - low) * (1 - math.cos(math.pi * phase)) / 2


def outside_air(job: Job, grid: Grid) -> Air:
    """The air outside, for every slot of the grid. Raises JobError where the weather file has faults."""
    return with_days(told_air(job, grid), job.weather.day, grid)


def with_days(told: Air, days: tuple[Day, ...], grid: Grid) -> Air:
    """The air with the days told by hand in place of what the file and the normals say of them."""
    air = Air(*(column.copy() for column in (getattr(told, f.name) for f in fields(Air))))
    for day in days:
        index = (day.date - grid.day0).days if isinstance(day.date, dt.date) else -1
        if 0 <= index < grid.days:
            _fill_day(air, day, index, grid, TOLD)
    return air


def told_air(job: Job, grid: Grid, rows: Sequence[HourlyRow] | None = None) -> Air:
    """The air of the file and, where it says nothing, of the month's normals. rows: the file's, where it is read."""
    n = grid.length
    air = Air(
        np.full(n, np.nan),
        np.full(n, np.nan),
        np.full(n, np.nan),
        np.zeros(n, dtype=bool),
        np.zeros(n),
        np.zeros(n, dtype=np.int8),
    )
    _fill_normals(air, job.weather.normal, grid)
    if job.weather.file is not None:
        _fill_file(air, file_rows(job) if rows is None else rows, grid)
    return air


def file_rows(job: Job) -> tuple[HourlyRow, ...]:
    """The hours of the job's weather file, none where it names none. Raises JobError where it has faults."""
    return () if job.weather.file is None else read_hourly(weather_path(job))


def _fill_normals(air: Air, normals: tuple[Normal, ...], grid: Grid) -> None:
    by_month = {normal.month: normal for normal in normals}
    if not by_month:
        return
    for index in range(grid.days):
        normal = by_month.get(grid.date(index).month)
        if normal is not None:
            _fill_day(air, normal, index, grid, NORMAL)


def _fill_day(air: Air, day: Day | Normal, index: int, grid: Grid, source: int) -> None:
    """Write one local day told by low, high and dew (or humidity); a value for each hour of the clock."""
    begin, end = grid.day_start(index), grid.day_start(index + 1)
    hours = [day_temperature_c(day.low, day.high, hour) for hour in range(24)]
    span = slice(begin, end)
    air.temp_c[span] = np.array(hours)[grid.clock_minutes[span] // 60]
    dew = day.dew if day.dew is not None else float(dew_point_c((day.low + day.high) / 2, day.humidity or 0.0))
    air.dew_c[span] = np.minimum(dew, air.temp_c[span])
    air.humidity[span] = humidity_pct(air.temp_c[span], air.dew_c[span])
    air.wind_kn[span] = day.wind
    air.source[span] = source
    air.rain[span] = False
    if isinstance(day, Day):
        clock = grid.clock_minutes[span]
        for first, last in day.rain:
            # A quarter hour that the rain only touches is wet.
            air.rain[span] |= (clock + 15 > first) & (clock < last)


def _fill_file(air: Air, rows: Sequence[HourlyRow], grid: Grid) -> None:
    begins = [(slot, i) for slot, i in _begins(rows, grid) if -PER_HOUR < slot < grid.length]
    if not begins:
        return
    at = np.array([slot for slot, _ in begins])
    within = [i for _, i in begins]
    temp = np.array([rows[i].temp_c for i in within])
    told = np.array([math.nan if (h := rows[i].humidity) is None else h for i in within])
    dews = np.array([math.nan if (d := rows[i].dew_c) is None else d for i in within])
    dew = np.minimum(np.where(np.isnan(dews), dew_point_c(temp, np.nan_to_num(told, nan=50.0)), dews), temp)
    humidity = np.where(np.isnan(told), humidity_pct(temp, dew), told)
    rain = np.array([rows[i].rain_mm > 0 for i in within])
    wind = np.array([rows[i].wind_kn for i in within])
    # Last the first quarter of every row: a row counts until the next one, however soon that comes.
    for quarter in reversed(range(PER_HOUR)):
        slots = at + quarter
        keep = (slots >= 0) & (slots < grid.length)
        slots = slots[keep]
        air.temp_c[slots] = temp[keep]
        air.dew_c[slots] = dew[keep]
        air.humidity[slots] = humidity[keep]
        air.rain[slots] = rain[keep]
        air.wind_kn[slots] = wind[keep]
        air.source[slots] = TOLD


def _begins(rows: Sequence[HourlyRow], grid: Grid) -> list[tuple[int, int]]:
    """Where rows begin, as (slot, index of the row); what counts less comes first.

    A local time that comes twice when the clock goes back is the first time the file's first row of that time, the
    second time its second row, or else the same. One that the clock leaves out yields to a row of the time it jumps to.
    """
    yielding: list[tuple[int, int]] = []
    firm: list[tuple[int, int]] = []
    seen: set[dt.datetime] = set()
    for index, row in enumerate(rows):
        first = second = grid.slot(row.time)
        if row.time.tzinfo is None:
            second = grid.slot(row.time.replace(fold=1))
        if second < first:
            yielding.append((first, index))
        elif second == first:
            firm.append((first, index))
        elif row.time in seen:
            firm.append((second, index))
        else:
            seen.add(row.time)
            firm.append((first, index))
            yielding.append((second, index))
    return yielding + firm


def zone_air(outside: Air, zone: Zone) -> Air:
    """What a zone makes of the air outside (contract §3.11)."""
    rain = outside.rain if zone.shelter == "open" else np.zeros_like(outside.rain)
    wind = outside.wind_kn if zone.shelter != "inside" else np.zeros_like(outside.wind_kn)
    if zone.heat_to is None:
        return replace(outside, rain=rain, wind_kn=wind)
    warmed = np.fmax(outside.temp_c, np.where(outside.known, zone.heat_to, np.nan))
    humidity = np.where(warmed > outside.temp_c, humidity_pct(warmed, outside.dew_c), outside.humidity)
    return replace(outside, temp_c=warmed, humidity=humidity, rain=rain, wind_kn=wind)
