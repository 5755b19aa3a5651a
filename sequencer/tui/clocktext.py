"""Moments and amounts as words: `Fri 16`, `07:40`, `in 2 h 35`, `£1,028`."""

from __future__ import annotations

import datetime as dt
import math

from sequencer.grid import Grid
from sequencer.planning.plan import Plan
from sequencer.telling import clock, day_name, near_clock
from sequencer.telling.figures import MONTHS

LONG_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def day_month(date: dt.date) -> str:
    """``Fri 16 Apr``."""
    return f"{day_name(date)} {MONTHS[date.month - 1]}"


def day_time(moment: dt.datetime) -> str:
    """``Fri 16 07:40``."""
    return near_clock(moment, moment.date())


def when(moment: dt.datetime, seen_from: dt.date) -> str:
    """The clock alone on the day itself, with the day within a fortnight, with the month beyond."""
    days = (moment.date() - seen_from).days
    if days == 0:
        return clock(moment)
    return day_time(moment) if abs(days) < 14 else f"{day_month(moment)} {clock(moment)}"


def ahead(minutes: float) -> str:
    """How long until then, rounded down against oneself: ``in 2 h 35``, ``in 40 min``, ``in 3 days``."""
    whole = max(0, math.floor(minutes))
    if whole < 60:
        return f"in {whole} min"
    if whole < 36 * 60:
        return f"in {whole // 60} h {whole % 60:02}" if whole % 60 else f"in {whole // 60} h"
    return f"in {whole // 1440} day{'s' if whole >= 2880 else ''}"


def slot_at(grid: Grid, moment: dt.datetime) -> int:
    """The slot in which `moment` falls."""
    line = grid.slot(moment)
    return line if grid.moment(line) == moment else line - 1


def now_slot(plan: Plan, now: dt.datetime | None) -> int:
    """The slot in which now falls; the plan's own where there is no clock."""
    return plan.now if now is None else slot_at(plan.grid, now)
