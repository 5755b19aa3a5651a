"""The head of the stay: the ruler of days, rain, the high, and where there is room the low and the hands."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np

from sequencer.telling.figures import MONTHS
from sequencer.tui.clocktext import LONG_MONTHS
from sequencer.tui.drawing import Cells, Line
from sequencer.tui.labels import LABEL
from sequencer.tui.stay_frame import Frame
from sequencer.weather.hourly import TOLD

WEEKDAYS = ("Mo", "Tu", "We", "Th", "Fr", "Sa", "Su")
ONE_LINE_CELLS = 4
"""From this many cells a day its weekday and number share a line."""
ROOMY_CELLS = 8


def ruler(frame: Frame) -> list[Line]:
    """The days: weekdays and numbers, on one line where the cells are wide enough."""
    grid, a_day = frame.view.plan.grid, frame.columns.level.cells
    days = frame.days()
    names, numbers = Cells(frame.width), Cells(frame.width)
    names.put(0, LONG_MONTHS[grid.date(days[0][0] if days else 0).month - 1], "ink bold")
    here = frame.columns.day_of(frame.view.cell)
    for number, (index, x) in enumerate(days):
        date = grid.date(index)
        role = "ink bold reverse" if index == here else "ink" if date.weekday() < 5 else "pencil"
        if a_day >= ONE_LINE_CELLS:
            gap = " " if a_day >= ROOMY_CELLS else ""
            names.put(x, f"{WEEKDAYS[date.weekday()]}{gap}{date.day}", role)
        elif a_day == 3:
            names.put(x, WEEKDAYS[date.weekday()], role)
            numbers.put(x, str(date.day), role)
        else:
            _coarse(frame, names, numbers, date, x, number, role)
    return [names.line()] if a_day >= ONE_LINE_CELLS else [names.line(), numbers.line()]


def _coarse(frame: Frame, names: Cells, numbers: Cells, date: dt.date, x: int, number: int, role: str) -> None:
    """Days of one or two cells, or two days a cell: one letter a day, a number where it fits."""
    a_day, span = frame.columns.level.cells, frame.columns.level.days
    if span == 1:
        names.put(x, WEEKDAYS[date.weekday()][0], role)
    week_begins = date.weekday() < span
    wanted = number % 2 == 0 if a_day == 2 else week_begins or number == 0
    # Where a screen holds months, the first week of each is told by its name.
    named = a_day == 1 and date.day <= 7 * span
    text = f"{date.day} {MONTHS[date.month - 1]}" if named else str(date.day)
    if wanted and numbers.free(x - (x > LABEL), x + len(text)):
        numbers.put(x, text, role)


def sky(frame: Frame, tall: bool) -> list[Line]:
    """Rain and the high; on tall screens the low and the hands too."""
    lines = [_rain(frame), _temperatures(frame, "high", True)]
    return [*lines, _temperatures(frame, "low", False), _hands(frame)] if tall else lines


def _rain(frame: Frame) -> Line:
    drawn = Cells(frame.width)
    drawn.put(0, "rain", "pencil")
    wet = frame.view.plan.problem.tables.outside.rain
    counts = np.concatenate(([0], np.cumsum(wet)))
    edges = np.clip(frame.edges, 0, len(wet))
    for k in np.flatnonzero(np.diff(counts[edges]) > 0).tolist():
        drawn.put(LABEL + k, frame.signs["rain"], "water")
    frame.tint_nights(drawn)
    return drawn.line()


def _temperatures(frame: Frame, what: str, highest: bool) -> Line:
    """A number a day where it fits, rounded down; a forecast's in ink, a normal month's in pencil."""
    grid, air = frame.view.plan.grid, frame.view.plan.problem.tables.outside
    drawn = Cells(frame.width)
    drawn.put(0, frame.signs.own(f"{what} °C"), "pencil")
    for index, x in frame.days():
        span = slice(grid.day_start(index), grid.day_start(index + frame.columns.level.days))
        if air.known[span].any():
            value = float(np.nanmax(air.temp_c[span]) if highest else np.nanmin(air.temp_c[span]))
            text = str(math.floor(value + 1e-6))
            if drawn.free(x - (x > LABEL), x + len(text)):
                drawn.put(x, text, "ink" if (air.source[span] == TOLD).any() else "pencil")
    return drawn.line()


def _hands(frame: Frame) -> Line:
    drawn = Cells(frame.width)
    drawn.put(0, "hands", "pencil")
    hands = frame.view.plan.problem.tables.hands
    for k in range(frame.shown):
        span = hands[max(0, frame.edges[k]) : max(0, frame.edges[k + 1])]
        if len(span) and span.max() > 0:
            drawn.put(LABEL + k, str(min(9, int(span.max()))), "ink")
    frame.tint_nights(drawn)
    return drawn.line()
