"""Weather in the EPW layout: eight header lines, then a line an hour of 35 values between commas.

Source: EnergyPlus, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary" (version 24.1). Hour 1 is 00:01
to 01:00, in the standard time whose hours from UTC stand in the LOCATION line.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sequencer.errors import Fault, JobError, one_line
from sequencer.weather.gathering import SOME_RAIN_MM, Gathering, Told
from sequencer.weather.units import CELSIUS, KNOTS, MM, PERCENT, Unit, unit_of

HEADERS = (
    "LOCATION",
    "DESIGN CONDITIONS",
    "TYPICAL/EXTREME PERIODS",
    "GROUND TEMPERATURES",
    "HOLIDAYS/DAYLIGHT SAVINGS",
    "COMMENTS 1",
    "COMMENTS 2",
    "DATA PERIODS",
)

_METRES = unit_of("wind", "m/s") or KNOTS
_FIELDS: dict[str, tuple[int, Unit, float]] = {
    "temp": (6, CELSIUS, 99.9),
    "dew": (7, CELSIUS, 99.9),
    "humidity": (8, PERCENT, 999),
    "wind": (21, _METRES, 999),
    "rain": (33, MM, 999),
}
"""By quantity the field (the year being 0), its unit, and from what value on it is missing."""

_OBSERVED, _CODES = 26, 27
_WET_DIGITS = slice(1, 6)
"""Digits 2 to 6 of the present weather: rain, drizzle, two of snow, and hail; 9 means none of it."""

LEAST_FIELDS = 28
"""Older files stop short of the rain's depth, but not of the present weather."""


def is_epw(text: str) -> bool:
    """Whether a text begins as an EPW file does."""
    return text.upper().startswith("LOCATION,")


def read_epw(text: str) -> tuple[Gathering, list[str]]:
    """The hours of an EPW text as gathered, and what there is to know about them, a sentence each.

    Where neither the depth nor the present weather tells of rain in any hour, all are taken for dry, and that is said.
    Raises JobError where the header is none.
    """
    lines = text.splitlines()
    zone = _checked_header(lines)
    gathered = Gathering(frozenset(("temp", "wind", "humidity", "dew")))
    years: set[int] = set()
    knows_rain = False
    for number, line in enumerate(lines[len(HEADERS) :], len(HEADERS) + 1):
        if not line.strip():
            continue
        where, cells = f"line {number}", [cell.strip() for cell in line.split(",")]
        if len(cells) < LEAST_FIELDS:
            gathered.fault(where, f"has {len(cells)} values, and an EPW line has 35", "check the line, or take it out")
            continue
        time = _time(cells, zone)
        if time is None:
            told = one_line(",".join(cells[:5]), 40)
            gathered.fault(where, f"{told} is no year, month, day, hour and minute", "check the line, or take it out")
            continue
        told_values = _values(gathered, where, cells)
        if told_values is not None:
            years.add(time.year)
            knows_rain = knows_rain or "rain" in told_values
            gathered.add(where, time, told_values)
    return gathered, _notes(years, knows_rain)


def _notes(years: set[int], knows_rain: bool) -> list[str]:
    notes = []
    if len(years) > 1:
        notes.append(f"Its months are of the years {min(years)} to {max(years)}; a year can be given for all of them")
    if years and not knows_rain:
        notes.append("It says nothing of rain: every hour is taken for dry")
    return notes


def _checked_header(lines: Sequence[str]) -> dt.timezone:
    """The file's time zone. Raises JobError where the eight lines are not there."""
    for number, name in enumerate(HEADERS, 1):
        line = lines[number - 1] if number <= len(lines) else ""
        if not line.upper().startswith(name):
            hint = f"an EPW file has {name} there; take it anew from where it came"
            raise JobError([Fault(f"line {number}", f"begins with {one_line(line[:30], 30)!r}", hint)])
    place, periods = lines[0].split(","), lines[len(HEADERS) - 1].split(",")
    try:
        hours = float(place[8])
        if not -14 <= hours <= 14:
            raise ValueError
    except (IndexError, ValueError):
        hint = "the ninth value is the hours from UTC, such as -5"
        raise JobError([Fault("line 1", "LOCATION tells no time zone", hint)]) from None
    if len(periods) > 2 and periods[2].strip() not in ("", "1"):
        what = f"it has {one_line(periods[2].strip(), 10)} lines an hour"
        raise JobError([Fault(f"line {len(HEADERS)}", what, "take a file with one")])
    return dt.timezone(dt.timedelta(minutes=round(hours * 60)))


def _time(cells: Sequence[str], zone: dt.timezone) -> dt.datetime | None:
    """When the hour begins: hour 1 begins at midnight."""
    try:
        year, month, day, hour = (int(float(cell)) for cell in cells[:4])
        if not (1 <= hour <= 24 and 1900 <= year <= 2200):
            return None
        return dt.datetime(year, month, day, hour - 1, tzinfo=zone)
    except (ValueError, OverflowError):
        return None


def _values(gathered: Gathering, where: str, cells: Sequence[str]) -> dict[str, Told] | None:
    """The values by quantity, rain only where it is told; None where one is no number."""
    found: dict[str, Told] = {}
    for name, (at, unit, missing) in _FIELDS.items():
        cell = cells[at] if at < len(cells) else ""
        try:
            value = float(cell) if cell else missing
        except ValueError:
            gathered.fault(where, f"{name} {one_line(cell, 40)!r} is no number", "check the line, or take it out")
            return None
        found[name] = Told(None if value >= missing else value, unit, cell)
    rain = found.pop("rain")
    observed = cells[_OBSERVED] == "0"
    # The codes are nine digits, but programs that take them for a number drop zeros before the first.
    wet = observed and cells[_CODES].isdigit() and any(c != "9" for c in cells[_CODES].zfill(9)[_WET_DIGITS])
    if wet and not rain.value:
        return found | {"rain": Told(SOME_RAIN_MM, MM)}
    if rain.value is not None or observed:
        found["rain"] = rain if rain.value is not None else Told(0.0, MM)
    return found
