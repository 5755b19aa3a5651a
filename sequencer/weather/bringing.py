"""Weather brought in: a file of any layout written as our own hourly file, or as days by hand for the job."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import numpy as np

from sequencer.errors import Fault, UsageError, one_line
from sequencer.job import saving
from sequencer.job.jotting import DayByHand
from sequencer.weather.files import HourlyRow, to_hourly_csv
from sequencer.weather.formats import Weather, in_year, read_weather
from sequencer.weather.humidity import dew_point_c

LEAST_HOURS = 18
"""Hours of a day that must be told before it is taken for a day."""


def words_of(pairs: Iterable[str], option: str) -> dict[str, str]:
    """``temp=TT`` and the like as a dict. Raises UsageError for what is no such pair, or comes twice."""
    found: dict[str, str] = {}
    for pair in pairs:
        word, equals, value = (part.strip() for part in pair.partition("="))
        if not (word and equals and value):
            hint = f"write it like {option} {'temp=F' if option == '--unit' else 'temp=TT'}"
            raise UsageError([Fault("", f"{option} {one_line(pair, 40)!r} names nothing", hint)])
        if word in found:
            raise UsageError([Fault("", f"{option} {one_line(word, 40)} is given twice", "give it once")])
        found[word] = value
    return found


def converted(
    source: Path,
    columns: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    year: int | None = None,
) -> tuple[str, Weather]:
    """A weather file as the text of an hourly file of ours, and what was read.

    year: the year to lay the hours on, for a typical year. Raises as :func:`read_weather`, and UsageError where
    nothing is left.
    """
    weather = read_weather(source, columns, units)
    rows = weather.rows if year is None else in_year(weather.rows, year)
    if not rows:
        raise UsageError([Fault("", f"nothing of it is left in {year}", "take another year")], str(source))
    return to_hourly_csv(rows), weather


def write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet. Raises UsageError where it is, or can't be written."""
    try:
        saving.write_new(path, text.encode())
    except FileExistsError:
        hint = "take another name"
        raise UsageError([Fault("", "is there already, and nothing is overwritten", hint)], str(path)) from None
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", "") or "no such name").lower()
        raise UsageError([Fault("", f"can't be written ({why})", "check the name and the folder")], str(path)) from None


def days_from_hours(rows: Sequence[HourlyRow], timezone: dt.tzinfo) -> tuple[DayByHand, ...]:
    """The days that hours tell of, as days by hand, in time's order; days of fewer than LEAST_HOURS are left out.

    timezone: the yard's. Rounded against the owner: lows and highs down, dew and wind up; rain by whole hours of the
    clock. A day by hand has one dew point and one wind: the mean of the day's dew points, the strongest wind.
    """
    by_date: dict[dt.date, list[tuple[dt.datetime, HourlyRow]]] = defaultdict(list)
    for row in rows:
        local = row.time if row.time.tzinfo is None else row.time.astimezone(timezone)
        by_date[local.date()].append((local, row))
    return tuple(
        _day(date, told) for date, told in sorted(by_date.items()) if len({at for at, _ in told}) >= LEAST_HOURS
    )


def _day(date: dt.date, told: Sequence[tuple[dt.datetime, HourlyRow]]) -> DayByHand:
    temps = [row.temp_c for _, row in told]
    dews = [_dew(row) for _, row in told]
    wet = sorted({hour for at, row in told if row.rain_mm > 0 for hour in _hours(at)})
    values: dict[str, float | list[str] | None] = {
        "low": math.floor(min(temps) * 10 + 1e-6) / 10,
        "high": math.floor(max(temps) * 10 + 1e-6) / 10,
        "dew": math.ceil(float(np.mean(dews)) * 10 - 1e-6) / 10,
        "humidity": None,
        "rain": _spans(wet) or None,
        "wind": float(math.ceil(max(row.wind_kn for _, row in told) - 1e-6)),
    }
    return DayByHand(date, values)


def _dew(row: HourlyRow) -> float:
    dew = row.dew_c if row.dew_c is not None else float(dew_point_c(row.temp_c, row.humidity or 0.0))
    return min(dew, row.temp_c)


def _hours(at: dt.datetime) -> set[int]:
    """Hours of the clock that the hour from `at` on touches, on the same day."""
    after = (at.hour * 60 + at.minute + 59) // 60
    return {at.hour, min(after, 23)}


def _spans(hours: Sequence[int]) -> list[str]:
    """Hours of the clock as spans such as ``13:00/15:00``."""
    spans: list[list[int]] = []
    for hour in hours:
        if spans and spans[-1][1] == hour:
            spans[-1][1] = hour + 1
        else:
            spans.append([hour, hour + 1])
    return [f"{begin:02}:00/{end:02}:00" for begin, end in spans]
