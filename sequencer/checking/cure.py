"""The checker's own cure: when a coat reaches a stage, summed quarter hour by quarter hour."""

from __future__ import annotations

import math

from sequencer.checking.air import Weather
from sequencer.job import Material, Zone

LONGEST = 400 * 96
"""Slots after which a stage counts as never reached: more than the year a plan may take."""

ENOUGH = 1 - 1e-9
"""The sum at which a stage is reached: 1, less what adding thousands of fractions loses."""

TOLERANCE = 1e-6
"""How close two reals must be to count as equal, in °C, % or knots."""


def hours_to(temps: tuple[float, ...], hours: tuple[float, ...], temp: float) -> float:
    """τ in hours at `temp` °C from the columns `temps` and `hours`.

    Between two columns straight in ln τ; outside them each 10 °C halves or doubles it.
    """
    if temp <= temps[0]:
        return hours[0] * math.pow(2, (temps[0] - temp) / 10)
    for i in range(1, len(temps)):
        if temp <= temps[i]:
            share = (temp - temps[i - 1]) / (temps[i] - temps[i - 1])
            return math.exp((1 - share) * math.log(hours[i - 1]) + share * math.log(hours[i]))
    return hours[-1] / math.pow(2, (temp - temps[-1]) / 10)


class Cures:
    """Stages of materials in the air of zones, remembered so that a plan asks each only once."""

    def __init__(self, weather: Weather) -> None:
        self._weather = weather
        self._last = weather.last()
        self._reached: dict[tuple[str, str, tuple[float, ...], int], int | None] = {}
        self._rates: dict[tuple[str, str, tuple[float, ...]], dict[int, float]] = {}
        self._by_temp: dict[tuple[str, tuple[float, ...], float], float] = {}

    def opens(self, zone: Zone, material: Material, stage: str, begin: int) -> int | None:
        """The grid line at which `stage` is reached, counted from `begin`; None where that never comes."""
        return self._reach(zone, material, material.stages[stage].opens, begin)

    def closes(self, zone: Zone, material: Material, stage: str, begin: int) -> int | None:
        """The grid line at which the window of `stage` closes, counted from `begin`; None if never."""
        hours = material.stages[stage].closes
        return None if hours is None else self._reach(zone, material, hours, begin)

    def _reach(self, zone: Zone, material: Material, hours: tuple[float, ...], begin: int) -> int | None:
        key = (zone.id, material.id, hours, begin)
        if key not in self._reached:
            self._reached[key] = self._sum(zone, material, hours, begin)
        return self._reached[key]

    def _sum(self, zone: Zone, material: Material, hours: tuple[float, ...], begin: int) -> int | None:
        rates = self._rates.setdefault((zone.id, material.id, hours), {})
        dose = 0.0
        for slot in range(begin, begin + LONGEST):
            if slot >= self._last:
                return None
            rate = rates.get(slot)
            if rate is None:
                rate = rates[slot] = self._rate(zone, material, hours, slot)
            dose += rate
            if dose >= ENOUGH:
                return slot + 1
        return None

    def _rate(self, zone: Zone, material: Material, hours: tuple[float, ...], slot: int) -> float:
        """The share of the stage that `slot` brings: 0.25 h / τ, nothing in the cold or without weather."""
        air = self._weather.in_zone(zone, slot)
        if air is None:
            return 0.0
        floor = material.no_cure_below
        if floor is not None and air.temp < floor - TOLERANCE:
            return 0.0
        key = (material.id, hours, air.temp)
        if key not in self._by_temp:
            self._by_temp[key] = 0.25 / hours_to(material.temps, hours, air.temp)
        return self._by_temp[key]
