"""One day of weather in a few numbers, as it would be given by hand: what a change of that day starts from."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np

from sequencer.grid import Grid
from sequencer.job import Job
from sequencer.weather.hourly import outside_air


def day_values(job: Job, date: dt.date) -> dict[str, float | list[str]]:
    """The day's low, high, dew (°C), wind (knots) and rain as ``[[weather.day]]`` has them; empty if unknown.

    Rounded against the owner: the low down, dew and wind up. Rain by whole hours of the clock. Raises JobError
    where the weather file has faults.
    """
    grid = Grid(job.job.timezone, date, 1)
    air = outside_air(job, grid)
    known = air.known
    if not known.any():
        return {}
    temp, dew = air.temp_c[known], air.dew_c[known]
    hours = sorted(set((grid.clock_minutes[known & air.rain] // 60).tolist()))
    return {
        "low": math.floor(float(np.min(temp)) * 10 + 1e-6) / 10,
        "high": math.floor(float(np.max(temp)) * 10 + 1e-6) / 10,
        "dew": math.ceil(float(np.mean(dew)) * 10 - 1e-6) / 10,
        "wind": float(math.ceil(float(np.max(air.wind_kn[known])) - 1e-6)),
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
