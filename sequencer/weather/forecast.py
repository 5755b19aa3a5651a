"""A forecast from a file: hours told by it, laid over what is known, and the days that are then different.

A day only partly told keeps its other hours as they are known: a forecast that begins at noon leaves the morning.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sequencer.errors import Fault, JobError, one_line, short_path
from sequencer.grid import PER_HOUR, Grid
from sequencer.job import Job
from sequencer.job.jotting import DayByHand
from sequencer.job.pen import Value
from sequencer.job.writing import Change, Several
from sequencer.weather.daily import values_of
from sequencer.weather.files import HourlyRow
from sequencer.weather.formats import read_weather
from sequencer.weather.hourly import TOLD, Air, outside_air
from sequencer.weather.humidity import dew_point_c, humidity_pct

MOST_DAYS = 31
"""Days taken from one file: days by hand are for what is near. A season's file is named in the job instead."""
MOST_BYTES = 5_000_000
"""A year of hours with many columns is a third of it; more would hold up the screen while it is read."""
ENDINGS = (".csv", ".epw", ".json")
"""Endings of files that may hold weather."""
LEAST_HOURS = 18
"""Hours of a day that must be known before it is taken."""
TITLE = "forecast"
"""How the title of a day begins that came from a file."""

DayValues = dict[str, float | list[str]]


@dataclass(frozen=True)
class ForecastDay:
    """A day that the forecast makes different; before: as it was known, empty for not at all."""

    date: dt.date
    before: DayValues
    after: DayValues


@dataclass(frozen=True)
class Forecast:
    """What a file says from a day on. days: those that differ; told: days it tells; more: days past MOST_DAYS."""

    name: str
    read_on: dt.date
    days: tuple[ForecastDay, ...]
    told: int
    more: int = 0
    notes: tuple[str, ...] = ()
    """What the reader of the file has to say, sentences without a full stop."""

    def change(self) -> Change:
        """The days written into the job, as one change."""
        title = f"{TITLE}, read {self.read_on.isoformat()}"
        made = [DayByHand(day.date, _written(day.after, title)) for day in self.days]
        count = f"{len(made)} day{'' if len(made) == 1 else 's'}"
        since = f" from {self.days[0].date.isoformat()}" if made else ""
        return Several(tuple(made), f"forecast {one_line(self.name, 40)} taken in: {count}{since}")


def weather_files(folder: Path) -> list[Path]:
    """Files of a folder that may hold weather, the newest first; links that lead out of it are left out."""
    try:
        home = folder.resolve()
        near = (path for path in folder.iterdir() if path.suffix.lower() in ENDINGS and path.is_file())
        found = [path for path in near if path.resolve().is_relative_to(home)]
        return sorted(found, key=lambda path: (-path.stat().st_mtime, path.name))
    except OSError:
        return []


def read_hours(path: Path) -> Sequence[HourlyRow]:
    """The hours of a weather file of any known layout. Raises JobError with every fault found."""
    return read_weather(path).rows


def read_forecast(job: Job, path: Path, since: dt.date) -> Forecast:
    """What a file says of the days from `since` on, against what the job knows of them.

    Raises JobError where the file can't be read, has faults, or says nothing of those days.
    """
    _check(path)
    weather = read_weather(path)
    rows = weather.rows
    timezone = job.job.timezone
    dates = [_local(row.time, timezone).date() for row in rows]
    last = max(dates)
    if last < since:
        what = f"its hours are from {min(dates).isoformat()} to {last.isoformat()}, none from {since.isoformat()} on"
        raise JobError([Fault("", what, "bring in one for the days ahead")], path.name)
    span = (last - since).days + 1
    grid = Grid(timezone, since, min(span, MOST_DAYS))
    known = outside_air(job, grid)
    air = _laid_over(known, rows, grid)
    told = {date for date in dates if since <= date}
    days = []
    for day in range(grid.days):
        at = slice(grid.day_start(day), grid.day_start(day + 1))
        if grid.date(day) not in told or int(air.known[at].sum()) < LEAST_HOURS * PER_HOUR:
            continue
        before, after = values_of(known, grid, day), values_of(air, grid, day)
        if before != after or not _told(known, at):
            days.append(ForecastDay(grid.date(day), before, after))
    return Forecast(path.name, since, tuple(days), len(told), max(0, span - MOST_DAYS), weather.notes)


def _check(path: Path) -> None:
    """Raise JobError for what is no file at all."""
    what, hint = "", "check the name, or pick one from the list"
    try:
        if not path.exists():
            what = "there is no such file"
        elif not path.is_file():
            what = "is no file"
        elif path.stat().st_size > MOST_BYTES:
            what, hint = "is too large for a forecast", "cut it to the days ahead"
    except (OSError, ValueError):
        what = "is no name of a file"
    if what:
        raise JobError([Fault("", what, hint)], short_path(str(path), 80))


def _local(time: dt.datetime, timezone: dt.tzinfo) -> dt.datetime:
    return time if time.tzinfo is None else time.astimezone(timezone)


def _laid_over(known: Air, rows: Sequence[HourlyRow], grid: Grid) -> Air:
    """The air with the hours of a file in place of what was known of them; a row counts until the next one."""
    air = Air(*(np.array(getattr(known, name)) for name in Air.__dataclass_fields__))
    begins = sorted((slot, n) for n, row in enumerate(rows) if -PER_HOUR < (slot := grid.slot(row.time)) < grid.length)
    for slot, n in begins:
        row, at = rows[n], slice(max(0, slot), slot + PER_HOUR)
        dew = row.dew_c if row.dew_c is not None else float(dew_point_c(row.temp_c, row.humidity or 0.0))
        air.temp_c[at] = row.temp_c
        air.dew_c[at] = min(dew, row.temp_c)
        air.humidity[at] = row.humidity if row.humidity is not None else humidity_pct(row.temp_c, min(dew, row.temp_c))
        air.rain[at] = row.rain_mm > 0
        air.wind_kn[at] = row.wind_kn
        air.source[at] = TOLD
    return air


def _told(known: Air, at: slice) -> bool:
    """Whether the day was told already, and not only filled in from the month's normal."""
    return bool((known.source[at] == TOLD).all())


def _written(values: DayValues, title: str) -> dict[str, Value | None]:
    """A day as the job file has it; what a day by hand had in place of these goes."""
    rain = values["rain"]
    return {
        "low": values["low"],
        "high": values["high"],
        "dew": values["dew"],
        "humidity": None,
        "rain": list(rain) if isinstance(rain, list) and rain else None,
        "wind": values["wind"],
        "title": title,
    }
