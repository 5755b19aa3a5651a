"""Who is there when: hours, recurrences and absences as quarter hours; lift slots as allowed starts."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable

import numpy as np
from dateutil.rrule import rrulestr
from numpy.typing import NDArray

from sequencer.grid import Grid
from sequencer.job import Crew, Hours

MINUTES_A_DAY = 1440


def _matching_days(hours: Hours, grid: Grid) -> Iterable[int]:
    """The local days on which a line of hours begins; day -1 too, for hours that run past midnight."""
    if hours.days is not None:
        return [d for d in range(-1, grid.days) if grid.date(d).weekday() in hours.days]
    assert hours.rule is not None
    assert hours.since is not None
    rule, until = _split_until(hours, grid)
    occurrences = rrulestr(rule, dtstart=dt.datetime.combine(hours.since, dt.time()))
    first = dt.datetime.combine(grid.date(-1), dt.time())
    last = dt.datetime.combine(grid.date(grid.days), dt.time())
    days = [(when.date() - grid.day0).days for when in occurrences.between(first, last, inc=True)]
    return [day for day in days if until is None or _begins(hours, grid, day) <= until]


def _begins(hours: Hours, grid: Grid, day: int) -> dt.datetime:
    """The moment, in UTC, at which a line of hours begins on a local day."""
    clock = dt.time(hours.start // 60, hours.start % 60)
    return dt.datetime.combine(grid.date(day), clock, grid.timezone).astimezone(dt.UTC)


def _split_until(hours: Hours, grid: Grid) -> tuple[str, dt.datetime | None]:
    """A rule without its UNTIL, and that as the last moment, in UTC, an occurrence may begin at.

    RFC 5545 §3.3.10 bounds the moment of an occurrence, in UTC where it ends in Z; dateutil takes no such UNTIL
    beside a first day without an offset. A date alone takes its whole day in.
    """
    assert hours.rule is not None
    found = re.search(r";?UNTIL=(\d{8})(?:T(\d{6})(Z?))?", hours.rule)
    if found is None:
        return hours.rule, None
    last = dt.datetime.strptime(found[1] + (found[2] or "235959"), "%Y%m%d%H%M%S")
    until = last.replace(tzinfo=dt.UTC if found[3] else grid.timezone)
    return hours.rule.replace(found[0], "").strip(";"), until.astimezone(dt.UTC)


def _spans(hours: Iterable[Hours], grid: Grid) -> Iterable[tuple[int, int]]:
    """Each span of the hours as grid lines (begin, end), unclipped; both rounded to the next grid line."""
    for line in hours:
        end = line.end if line.end > line.start else line.end + MINUTES_A_DAY
        for day in _matching_days(line, grid):
            yield grid.at(day, line.start), grid.at(day, end)


def on_shift(person: Crew, grid: Grid) -> NDArray[np.bool_]:
    """Shape (grid.length,): the quarter hours in which the person is there."""
    there = np.zeros(grid.length, dtype=bool)
    for begin, end in _spans(person.hours, grid):
        there[max(0, begin) : max(0, end)] = True
    for first, last in person.away:
        begin = max(0, (first - grid.day0).days)
        end = min(grid.days, (last - grid.day0).days + 1)
        if begin < end:
            there[grid.day_start(begin) : grid.day_start(end)] = False
    return there


def allowed_starts(slots: Iterable[Hours], grid: Grid) -> NDArray[np.bool_]:
    """Shape (grid.length,): the grid lines at which a task with these slots may start, both ends included."""
    allowed = np.zeros(grid.length, dtype=bool)
    for begin, end in _spans(slots, grid):
        allowed[max(0, begin) : max(0, end + 1)] = True
    return allowed
