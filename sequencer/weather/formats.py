"""Weather from what people have: an hourly table of whatever layout, an EPW file, or a forecast saved as JSON.

A file is known by how it begins, never by its name's ending.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from sequencer.errors import Fault, JobError, UsageError, one_line, short_path
from sequencer.job.nearby import check_plain
from sequencer.job.wording import listing, nearest
from sequencer.weather.columns import CALENDAR, QUANTITIES
from sequencer.weather.epw import is_epw, read_epw
from sequencer.weather.files import HourlyRow, is_hourly, read_hourly
from sequencer.weather.hourly_json import is_json, read_json
from sequencer.weather.hourly_table import read_table

COLUMN_WORDS = ("time", "date", *CALENDAR, *QUANTITIES)
"""What a column can be named for."""

UNIT_WORDS = (*QUANTITIES, "time", "date")
"""What a unit can be told for: quantities, the time zone, and which way round dates are."""


@dataclass(frozen=True)
class Weather:
    """Hours read from a file. rows: in the file's order; layout: what it is; notes: sentences without a full stop."""

    rows: tuple[HourlyRow, ...]
    layout: str
    notes: tuple[str, ...] = ()


def read_weather(
    path: Path, columns: Mapping[str, str] | None = None, units: Mapping[str, str] | None = None
) -> Weather:
    """The hours of a weather file of any layout known here.

    columns: names of columns by quantity (``temp``, ``dew``, ``humidity``, ``rain``, ``wind``) and for the moment
    (``time``, ``date``, ``year`` ...), where they are not to be guessed. units: by quantity, such as ``temp`` = ``F``;
    ``time`` = the time zone, ``date`` = ``d/m/y`` or ``m/d/y``. Raises JobError with every fault found (no such file,
    no plain file, too large, columns or units not known, values that no air has, each with its line), UsageError for
    columns or units of nothing known.
    """
    columns, units = columns or {}, units or {}
    _check_words(columns, COLUMN_WORDS, "column")
    _check_words(units, UNIT_WORDS, "unit")
    check_plain(path)
    text = _text(path)
    try:
        if is_epw(text):
            gathered, notes = read_epw(text)
            layout = "EPW"
        elif is_json(text):
            gathered, notes = read_json(text, columns, units)
            layout = "forecast, JSON"
        elif not columns and not units and is_hourly(text):
            return Weather(read_hourly(path), "hourly table")
        else:
            gathered, notes = read_table(text, columns, units)
            layout = "table"
        return Weather(gathered.done(), layout, (*notes, *gathered.gap_words()))
    except JobError as error:
        raise JobError(error.faults, short_path(str(path), 80)) from None


def in_year(rows: Sequence[HourlyRow], year: int) -> tuple[HourlyRow, ...]:
    """The rows laid on one year by their month, day and hour, in time's order; 29 February goes where it has none."""
    moved: list[HourlyRow] = []
    for row in rows:
        try:
            moved.append(replace(row, time=row.time.replace(year=year)))
        except ValueError:
            continue
    return tuple(sorted(moved, key=lambda row: row.time.replace(tzinfo=None)))


def spanned(rows: Sequence[HourlyRow]) -> tuple[dt.date, dt.date]:
    """The first and the last day the rows tell of, by their own clocks."""
    dates = [row.time.date() for row in rows]
    return min(dates), max(dates)


def _check_words(given: Mapping[str, str], known: Sequence[str], kind: str) -> None:
    faults = []
    for word in given:
        if word not in known:
            near = nearest(word, known)
            hint = f"did you mean {near}?" if near else f"there are {listing(known)}"
            faults.append(Fault("", f"there is no {kind} for {one_line(word, 40)}", hint))
    if faults:
        raise UsageError(faults)


def _text(path: Path) -> str:
    """A file's text; raises JobError where it can't be had."""
    try:
        raw = path.read_bytes()
    except (OSError, ValueError) as error:
        missing = isinstance(error, FileNotFoundError)
        why = getattr(error, "strerror", "") or "no such name"
        what = "there is no such file" if missing else f"can't be read ({why.lower()})"
        raise JobError([Fault("", what, "check the name")], short_path(str(path), 80)) from None
    coding = "utf-16" if raw.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig"
    for name in (coding, "cp1252"):
        try:
            text = raw.decode(name)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise JobError([Fault("", "is no text", "save it as a table with commas, UTF-8")], one_line(str(path), 200))
