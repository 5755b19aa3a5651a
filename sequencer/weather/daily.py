"""One day of weather in a few numbers, as it would be given by hand: what a change of that day starts from."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np

from sequencer.grid import Grid
from sequencer.job import Job
from sequencer.weather.hourly import Air, outside_air


def day_values(job: Job, date: dt.date) -> dict[str, float | list[str]]:
    """The day's low, high, dew (°C), wind (knots) and rain as ``[[weather.day]]`` has them; empty if unknown.

    Rounded against the owner: the low down, dew and wind up. Rain by whole hours of the clock. Raises JobError
    where the weather file has faults.
    """
    grid = Grid(job.job.timezone, date, 1)
    return values_of(outside_air(job, grid), grid, 0)


def values_of(air: Air, grid: Grid, day: int) -> dict[str, float | list[str]]:
    """The same of a local day (0 = the grid's first) of air that is at hand."""
    at = slice(grid.day_start(day), grid.day_start(day + 1))
    known = air.known[at]
    if not known.any():
        return {}
    temp, dew, wind = air.temp_c[at][known], air.dew_c[at][known], air.wind_kn[at][known]
    hours = sorted(set((grid.clock_minutes[at][known & air.rain[at]] // 60).tolist()))
    return {
        "low": math.floor(float(np.min(temp)) * 10 + 1e-6) / 10,
        "high": math.floor(float(np.max(temp)) * 10 + 1e-6) / 10,
        "dew": math.ceil(float(np.mean(dew)) * 10 - 1e-6) / 10,
        "wind": float(math.ceil(float(np.max(wind)) - 1e-6)),
        "rain": _spans(hours),
    }


def _spans(hours: list[int]) -> list[str]:
    """Hours of the clock as spans such as ``13:00/15:00``."""
    spans: list[list[int]] = []
    for hour in hours:
        if spans and spans[-1][1] == hour:
            spans[-1][1] = hour + 1
        else:
            spans.append([hour, hour + 1])
    return [f"{begin:02}:00/{end:02}:00" for begin, end in spans]
