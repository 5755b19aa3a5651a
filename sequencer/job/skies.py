"""The weather of the job file: days by hand, and what a month is like past the forecast. °C, %, knots."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator
from typing import Annotated

from pydantic import BeforeValidator, Field

from sequencer.job.tables import Celsius, ClockSpan, Flaw, Knots, Number, Table, Text, checks
from sequencer.job.values import parse_date

AirHumidity = Annotated[Number, Field(ge=1, le=100)]
"""The humidity of outdoor air; air of none would have no dew point."""


class _Air(Table):
    """What a day by hand and a month's normal share."""

    low: Celsius
    high: Celsius
    dew: Celsius | None = None
    humidity: AirHumidity | None = None
    wind: Knots = 0.0
    title: Text = ""
    note: Text = ""

    @checks("low", "high")
    def _rising(self) -> Iterator[Flaw]:
        if self.high < self.low:
            yield Flaw(f"high is {self.high:g} and low is {self.low:g}", "change them over")

    @checks("dew", "humidity")
    def _one_damp(self) -> Iterator[Flaw]:
        if self.dew is None and self.humidity is None:
            yield Flaw("dew is missing", "add dew (the dew point) or humidity (the day's mean)")
        elif self.dew is not None and self.humidity is not None:
            yield Flaw("dew and humidity both stand here", "keep one of the two")


class Day(_Air):
    """``[[weather.day]]``: one day by hand. rain: spans of minutes after local midnight."""

    date: Annotated[dt.date, BeforeValidator(parse_date)]
    rain: tuple[ClockSpan, ...] = ()


class Normal(_Air):
    """``[[weather.normal]]``: what a day of a month is like past the forecast."""

    month: Annotated[int, Field(strict=True, ge=1, le=12)]
    wet_days: Annotated[Number, Field(ge=0, le=31)] = 0.0
    rain_hours: Annotated[Number, Field(ge=0, le=24)] = 0.0
    wet_after_wet: Annotated[Number, Field(ge=0, le=1)] | None = None


class Weather(Table):
    """``[weather]`` with its days and normals.

    file: hourly weather, named from the job file's folder. past: hours of past years or of a typical year there, from
    which the odds draw the days no forecast covers.
    """

    file: Text | None = None
    past: Text | None = None
    day: tuple[Day, ...] = ()
    normal: tuple[Normal, ...] = ()
    title: Text = ""
    note: Text = ""

    @checks()
    def _days_once(self) -> Iterator[Flaw]:
        for date, count in Counter(day.date for day in self.day).items():
            if count > 1:
                yield Flaw(f"the day {date} stands here {count} times", "keep one of them", "day")

    @checks()
    def _months_once(self) -> Iterator[Flaw]:
        for month, count in Counter(normal.month for normal in self.normal).items():
            if count > 1:
                yield Flaw(f"month {month} stands here {count} times", "keep one of them", "normal")
