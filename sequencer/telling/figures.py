"""Moments, hours, hands and money as the yard says them; English, whatever the locale."""

from __future__ import annotations

import datetime as dt
import math

from sequencer.errors import one_line
from sequencer.grid import PER_HOUR

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
SIGNS = {"GBP": "£", "EUR": "€", "USD": "$"}
"""Currencies said by a sign; others by their letters."""


def clock(moment: dt.datetime) -> str:
    """``09:00``."""
    return f"{moment.hour:02}:{moment.minute:02}"


def day_name(moment: dt.date) -> str:
    """``Fri 23``."""
    return f"{WEEKDAYS[moment.weekday()]} {moment.day}"


def day_clock(moment: dt.datetime) -> str:
    """``Fri 23 Apr 09:00``."""
    return f"{day_name(moment)} {MONTHS[moment.month - 1]} {clock(moment)}"


def near_clock(moment: dt.datetime, near: dt.date) -> str:
    """``Fri 23 09:00`` in the month of `near`, else with its month."""
    same = (moment.year, moment.month) == (near.year, near.month)
    return f"{day_name(moment)} {clock(moment)}" if same else day_clock(moment)


def column_clock(moment: dt.datetime, near: dt.date) -> str:
    """At most 12 cells: ``Fri 23 09:00`` in the month of `near` or a week from it, else ``30 May 02:45``.

    A year away it is ``30 May 2028``.
    """
    away = abs((moment.date() - dt.date(near.year, near.month, near.day)).days)
    if away < 7 or (moment.year, moment.month) == (near.year, near.month):
        return f"{day_name(moment)} {clock(moment)}"
    month = f"{moment.day} {MONTHS[moment.month - 1]}"
    return f"{month} {clock(moment)}" if away < 330 else f"{month} {moment.year}"


def span_clock(begin: dt.datetime, end: dt.datetime, near: dt.date) -> str:
    """``Wed 21 09:00-12:00``, or ``Wed 21 16:30 to Thu 22 09:00`` over midnight."""
    if begin.date() == end.date():
        return f"{near_clock(begin, near)}-{clock(end)}"
    return f"{near_clock(begin, near)} to {near_clock(end, near)}"


def hours_text(slots: int) -> str:
    """``84.5 h``; quarter hours are told exactly."""
    return f"{slots / PER_HOUR:.2f}".rstrip("0").rstrip(".") + " h"


def lasting(slots: int) -> str:
    """As a person says it: ``45 min`` below an hour, else :func:`hours_text`."""
    return f"{slots * 60 // PER_HOUR} min" if slots < PER_HOUR else hours_text(slots)


def duration(slots: int) -> str:
    """``5:00``, for columns."""
    sign = "-" if slots < 0 else ""
    whole, rest = divmod(abs(slots), PER_HOUR)
    return f"{sign}{whole}:{rest * 60 // PER_HOUR:02}"


def count_hands(hands: int) -> str:
    """``one pair of hands``, ``two pairs of hands``."""
    number = NUMBERS[hands] if hands < len(NUMBERS) else str(hands)
    return f"{number} {'pair' if hands == 1 else 'pairs'} of hands"


def money(amount: float, currency: str = "") -> str:
    """``£1,028``: a cost, rounded up to whole money."""
    whole = f"{math.ceil(amount - 1e-9):,}"
    currency = one_line(currency, 20)
    sign = SIGNS.get(currency.upper())
    if sign is not None:
        return f"{sign}{whole}"
    return f"{currency} {whole}".strip()
