"""The table of days: low, high, dew, rain, wind, and from where each is known."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from sequencer.job import Day, Job
from sequencer.planning.tables import Tables
from sequencer.tui.clocktext import LONG_MONTHS, day_month
from sequencer.tui.drawing import Line
from sequencer.tui.marks import Signs
from sequencer.tui.text import cut, pad
from sequencer.weather.daily import values_of
from sequencer.weather.hourly import NORMAL, TOLD, UNKNOWN

NAME, NUMBER, RAIN = 14, 6, 38
"""Cells of a day's name, of a number, and of the rain with its blank at the most."""
ALL_DAY = "00:00/24:00"
BY_HAND = "by hand"


@dataclass(frozen=True)
class DayRow:
    """One day in words. told: whether it is told by file or hand, not filled in."""

    date: dt.date
    low: str
    high: str
    dew: str
    rain: str
    wind: str
    source: str
    told: bool


def day_of_job(job: Job, date: dt.date) -> Day | None:
    """The day by hand of a date."""
    return next((day for day in job.weather.day if day.date == date), None)


def day_row(job: Job, tables: Tables, day: int) -> DayRow:
    """A day (0 = the grid's first) as the job knows it."""
    grid = tables.grid
    date = grid.date(day)
    source = tables.outside.source[grid.day_start(day) : grid.day_start(day + 1)]
    by_hand = day_of_job(job, date)
    values = values_of(tables.outside, grid, day)
    said = BY_HAND if by_hand is not None else _source_words(job, date, set(np.unique(source).tolist()))
    if by_hand is not None and by_hand.title:
        said = by_hand.title
    told = bool((source == TOLD).all())
    if not values:
        return DayRow(date, "", "", "", "", "", said, told)
    low, high, dew = (f"{values[name]:.1f}" for name in ("low", "high", "dew"))
    if by_hand is not None:
        low, high = f"{by_hand.low:.1f}", f"{by_hand.high:.1f}"
        dew = f"{by_hand.dew:.1f}" if by_hand.dew is not None else dew
    rain = values["rain"]
    assert isinstance(rain, list)
    spans = list(by_hand.rain) if by_hand is not None else None
    return DayRow(date, low, high, dew, rain_words(rain, spans), f"{values['wind']:g}", said, told)


def rain_words(spans: list[str], minutes: list[tuple[int, int]] | None = None) -> str:
    """``11:00-17:00, 20:00-22:00``; ``all day``; empty for none. minutes: the spans to the minute, if known."""
    if minutes is not None:
        spans = [f"{a // 60:02}:{a % 60:02}/{b // 60:02}:{b % 60:02}" for a, b in minutes]
    if spans == [ALL_DAY]:
        return "all day"
    return ", ".join(span.replace("/", "-") for span in spans)


def _source_words(job: Job, date: dt.date, sources: set[int]) -> str:
    month = LONG_MONTHS[date.month - 1]
    words = {TOLD: job.weather.file or "file", NORMAL: f"usual for {month}", UNKNOWN: "not known"}
    if len(sources) == 1:
        return words[sources.pop()]
    rest = " and ".join(words[kind] for kind in (NORMAL, UNKNOWN) if kind in sources)
    return f"in part; else {rest}" if TOLD in sources else f"{rest} in part"


def days_head(width: int, signs: Signs) -> Line:
    """The heads of the columns; degrees Celsius, knots."""
    made = Line().add(pad("the days", NAME), "pencil")
    for head in ("low", "high", "dew"):
        made.add(f"{head:>{NUMBER - 1}} ", "pencil")
    made.add(" ").add(pad("rain", rain_cells(width)), "pencil").add("wind  ", "pencil")
    return made.add(cut("from", max(0, width - made.width), signs.more), "pencil")


def rain_cells(width: int) -> int:
    """Cells of the rain column."""
    return max(12, min(RAIN, width - NAME - 3 * NUMBER - 27))


def day_line(row: DayRow, width: int, signs: Signs, here: bool, marked: bool, now: bool) -> Line:
    """One day. marked: the day stood at; here: one stands in the table; now: today."""
    strong = " bold" if marked else ""
    ink = ("ink" if row.told else "pencil") + strong
    made = Line().add(signs["here"] if marked else " ", "ink bold reverse" if here else "ink")
    made.add(pad(day_month(row.date), NAME - 3), "ink" + strong)
    made.add(signs["now"] if now else " ", "ink bold").add(" ")
    if not row.low:
        said = "nothing known: enter types it in, f brings in a file"
        return made.add(cut(said, width - made.width, signs.more), "pencil")
    for value in (row.low, row.high, row.dew):
        made.add(f"{value:>{NUMBER - 1}} ", ink)
    rain = rain_cells(width)
    made.add(" ").add(pad(row.rain or "-", rain - 1, signs.more), f"water{strong}" if row.rain else ink).add(" ")
    made.add(f"{row.wind:>4}  ", ink)
    room = width - made.width
    return made.add(cut(row.source, room, signs.more), "pencil") if room else made
