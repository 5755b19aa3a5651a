"""Moments as tables of weather write them: ISO 8601, digits without marks, day and month either way round."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from zoneinfo import ZoneInfo

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

_CLOCK = r"(?:[T ,]\s*(?P<hour>\d{1,2})(?::?(?P<minute>\d{2}))?(?::(?P<second>\d{2})(?:\.0+)?)?\s*(?P<half>[AP]M)?)?"
_END = r"\s*(?P<zone>Z|UTC|GMT|[+-]\d{2}:?\d{2})?\Z"
_DIGITS = re.compile(
    r"(?P<year>\d{4})(?P<month>\d{2})(?P<day>\d{2})[T: ]?(?P<hour>\d{2})(?P<minute>\d{2})?" + _END, re.IGNORECASE
)
_YEAR_FIRST = re.compile(r"(?P<year>\d{4})[-/.](?P<month>\d{1,2})[-/.](?P<day>\d{1,2})" + _CLOCK + _END, re.IGNORECASE)
_YEAR_LAST = re.compile(
    r"(?P<one>\d{1,2})(?P<mark>[-/. ])(?P<two>\d{1,2}|[a-z]{3,9})\.?(?P=mark)(?P<year>\d{4})" + _CLOCK + _END,
    re.IGNORECASE,
)

ORDERS = ("d/m/y", "m/d/y")
"""Which way round a date with the year last is written."""

_OFFSET = re.compile(r"([+-])(\d{1,2})(?::?(\d{2}))?\Z")


def order_of(texts: Iterable[str]) -> str | None:
    """Which way round the dates of a file are; None where some have the year last and none of them tells.

    With dots the day comes first, as everywhere that dates are written with dots; so it does with a month in letters.
    """
    doubtful = False
    for text in texts:
        found = _YEAR_LAST.match(text.strip())
        if found is None or not found["two"].isdigit() or found["mark"] == ".":
            continue
        if int(found["one"]) > 12:
            return "d/m/y"
        if int(found["two"]) > 12:
            return "m/d/y"
        doubtful = True
    return None if doubtful else "d/m/y"


def read_moment(text: str, order: str = "d/m/y") -> dt.datetime:
    """A moment as a table has it, with an offset only where the text has one. Raises ValueError where it is none.

    order: one of ORDERS. Hour 24 is the next day's midnight.
    """
    text = text.strip()
    found = _DIGITS.match(text) or _YEAR_FIRST.match(text)
    if found is not None:
        month, day = int(found["month"]), int(found["day"])
    else:
        found = _YEAR_LAST.match(text)
        if found is None:
            raise ValueError(text)
        day, month = _day_and_month(found["one"], found["two"], "d/m/y" if found["mark"] == "." else order)
    parts = found.groupdict()
    hour, minute = int(parts["hour"] or 0), int(parts["minute"] or 0)
    if half := (parts.get("half") or "").upper():
        if not 1 <= hour <= 12:
            raise ValueError(text)
        hour = hour % 12 + (12 if half == "PM" else 0)
    whole_day = hour == 24 and minute == 0
    moment = dt.datetime(
        int(parts["year"]), month, day, 0 if whole_day else hour, minute, int(parts.get("second") or 0)
    )
    if not 1900 <= moment.year <= 2200:
        raise ValueError(text)
    moment += dt.timedelta(days=whole_day)
    zone = (parts["zone"] or "").upper()
    return moment.replace(tzinfo=zone_of(zone)) if zone else moment


def _day_and_month(one: str, two: str, order: str) -> tuple[int, int]:
    if two.isdigit():
        return (int(one), int(two)) if order == "d/m/y" else (int(two), int(one))
    return int(one), _MONTHS.index(two[:3].lower()) + 1


def zone_of(told: str) -> dt.tzinfo:
    """A time zone by what people write: ``UTC``, ``+01:00``, ``Europe/London``. Raises ValueError where it is none."""
    if told.upper() in ("UTC", "Z", "GMT"):
        return dt.UTC
    if (found := _OFFSET.match(told)) is not None:
        minutes = int(found[2]) * 60 + int(found[3] or 0)
        if minutes > 14 * 60:
            raise ValueError(told)
        return dt.timezone(dt.timedelta(minutes=minutes if found[1] == "+" else -minutes))
    try:
        return ZoneInfo(told)
    except (KeyError, OSError) as error:
        raise ValueError(told) from error
