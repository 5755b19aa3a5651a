"""The air of a day, for its head: what is against coats, degrees, degrees over dew, who is there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sequencer.job import Material
from sequencer.telling import clock
from sequencer.tui.day_view import OneDay
from sequencer.tui.text import cut, width_of


@dataclass(frozen=True)
class Limits:
    """What the day's coats and tasks ask of the air; None where they ask nothing."""

    min_temp: float | None
    above_dew: float | None
    max_humidity: float | None
    max_wind: float | None


def limits_of(one: OneDay) -> Limits:
    """The strictest of the day's coats (of all the job's, on a day without one) and the least wind asked for."""
    rows = [todo.row for todo in one.sheet.todo]
    job = one.plan.job
    mine = [job.materials[r.task.material] for r in rows if r.task.material and not r.keys]
    materials: list[Material] = mine or list(job.material)
    winds = [r.task.needs.max_wind for r in rows if r.task.needs.max_wind is not None and not r.keys]
    lows = [m.apply.min_temp for m in materials if m.apply.min_temp is not None]
    dews = [m.apply.above_dew for m in materials if m.apply.above_dew is not None]
    damps = [m.apply.max_humidity for m in materials if m.apply.max_humidity is not None]
    return Limits(max(lows, default=None), max(dews, default=None), min(damps, default=None), min(winds, default=None))


class Sky:
    """The outside air of one day against its limits."""

    def __init__(self, one: OneDay) -> None:
        self.one = one
        self.limits = limits_of(one)
        self.air = one.plan.problem.tables.outside
        self.at = slice(one.begin, one.end)
        self.known = bool(self.air.known[self.at].any())

    def against(self) -> list[str]:
        """For each cell what is against a coat laid in the open: rain, wind, cold, damp, or nothing."""
        air, limits, at = self.air, self.limits, self.at
        with np.errstate(invalid="ignore"):
            damp = np.zeros(self.one.end - self.one.begin, dtype=bool)
            cold, wind = damp.copy(), damp.copy()
            if limits.above_dew is not None:
                damp |= air.temp_c[at] - air.dew_c[at] < limits.above_dew - 1e-6
            if limits.max_humidity is not None:
                damp |= air.humidity[at] > limits.max_humidity + 1e-6
            if limits.min_temp is not None:
                cold |= air.temp_c[at] < limits.min_temp - 1e-6
            if limits.max_wind is not None:
                wind |= air.wind_kn[at] > limits.max_wind + 1e-6
        found = []
        for begin, end in zip(self.one.edges[:-1] - self.one.begin, self.one.edges[1:] - self.one.begin, strict=True):
            span = slice(int(begin), int(end))
            kinds = (("rain", air.rain[at]), ("wind", wind), ("cold", cold), ("damp", damp))
            found.append(next((name for name, mask in kinds if mask[span].any()), ""))
        return found

    def against_words(self) -> tuple[str, str]:
        """The label of that line, and the note beside it."""
        against = self.against()
        kinds = {mark for mark in against if mark}
        labels = {"damp": "too damp", "cold": "too cold", "wind": "windy", "rain": "rain"}
        label = labels[kinds.pop()] if len(kinds) == 1 else "unfit"
        if not any(against):
            return "unfit", "no hour of it" if self.known else "no weather known"
        ends = [k for k in range(len(against)) if against[k] and (k + 1 == len(against) or not against[k + 1])]
        begins = [k for k in range(len(against)) if against[k] and (k == 0 or not against[k - 1])]
        said = []
        for begin, end in zip(begins, ends, strict=True):
            till = "24:00" if end + 1 == len(against) else self._clock(end + 1)
            said.append(f"till {till}" if begin == 0 else f"{self._clock(begin)}-{till}")
        return label, ", ".join(said)

    def _clock(self, cell: int) -> str:
        return clock(self.one.plan.moment(int(self.one.edges[cell])))

    def head_words(self) -> str:
        """``dry, wind 10 kn``."""
        if not self.known:
            return "no weather known"
        wind = math.ceil(float(np.nanmax(self.air.wind_kn[self.at])) - 1e-6)
        rain = np.flatnonzero(self.air.rain[self.at])
        wet = f"rain {len(rain) / 4:g} h" if len(rain) else "dry"
        return f"{wet}, wind {wind} kn"

    def numbers(self, over_dew: bool) -> list[tuple[int, str]]:
        """(cell, number) every two hours: °C, or °C over dew; rounded down against oneself."""
        found = []
        for cell, _ in self.hours(2):
            slot = int(self.one.edges[cell])
            if self.air.known[slot]:
                value = float(self.air.temp_c[slot] - (self.air.dew_c[slot] if over_dew else 0.0))
                found.append((cell, str(math.floor(value + 1e-6))))
        return found

    def hours(self, every: int) -> list[tuple[int, int]]:
        """(cell, hour) for the cells that begin a full hour divisible by `every`."""
        found = []
        for cell in range(self.one.count):
            moment = self.one.plan.moment(int(self.one.edges[cell]))
            if moment.minute == 0 and moment.hour % every == 0:
                found.append((cell, moment.hour))
        return found

    def people(self, room: int) -> str:
        """Who is there: ``You; Wil 09:00-16:00``; whoever is there all day, or all where it is long, by name alone."""
        shifts = self.one.plan.problem.tables.shifts
        whole = self.one.plan.problem.tables.hands[self.at] > 0
        said, names = [], []
        for person, mask in shifts.items():
            there = np.flatnonzero(mask[self.at])
            if len(there):
                name = cut(self.one.plan.job.people[person].name, 14)
                begin, end = self.one.begin + int(there[0]), self.one.begin + int(there[-1]) + 1
                all_day = np.array_equal(mask[self.at], whole) or len(shifts) == 1
                clocks = f" {clock(self.one.plan.moment(begin))}-{clock(self.one.plan.moment(end))}"
                names.append(name)
                said.append(name if all_day else name + clocks)
        long = "; ".join(said)
        return (long if width_of(long) <= room else ", ".join(names)) or "nobody"
