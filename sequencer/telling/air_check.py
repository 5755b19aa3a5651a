"""The check before starting: each limit of the air against the worst of the hours at work.

Temperatures and margins are rounded down, humidity and wind up.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from sequencer.planning.plan import Plan, Row
from sequencer.weather.hourly import Air

NEAR_CELSIUS = 3
"""A limit of heat is told when the hours come this near it."""


@dataclass(frozen=True)
class AirCheck:
    """One limit. kind: ``temp``, ``dew``, ``humidity``, ``wind``, ``rain`` or ``unknown``; said: the short form.

    least, most: the limits, None where there is none (°C, °C above the dew point, %, knots). seen: the worst of the
    hours, as the forecast has it, rounded against oneself. dew_c: the highest dew point of the hours, rounded up.
    """

    kind: str
    said: str
    least: float | None = None
    most: float | None = None
    seen: int | None = None
    dew_c: int | None = None


def air_checks(plan: Plan, row: Row, begin: int, end: int) -> list[AirCheck]:
    """What the air must be while `row` is worked in [begin, end), slots; empty where it asks nothing of it."""
    zone = plan.job.zones.get(row.zone)
    if zone is None or row.task.wait is not None:
        return []
    air, at = plan.problem.tables.air(zone), slice(begin, end)
    if not air.known[at].all():
        return [AirCheck("unknown", "no weather known for these hours")]
    found = [*_heat(plan, row, air, at), *_damp(plan, row, air, at)]
    needs = row.task.needs
    if needs.max_wind is not None and not row.keys:
        wind = math.ceil(float(air.wind_kn[at].max()) - 1e-6)
        found.append(AirCheck("wind", f"wind {wind} kn, at most {needs.max_wind:g}", most=needs.max_wind, seen=wind))
    if row.task.dry or row.keys:
        wet = bool(air.rain[at].any())
        found.append(AirCheck("rain", "RAIN" if wet else "dry", seen=int(wet)))
    return found


def _heat(plan: Plan, row: Row, air: Air, at: slice) -> list[AirCheck]:
    """The coldest of the hours and the least wanted; the warmest too where it comes near the most."""
    if row.keys:
        return []
    material = plan.job.materials[row.task.material] if row.task.material else None
    apply, needs = material.apply if material else None, row.task.needs
    low = _tightest(max, needs.min_temp, apply.min_temp if apply else None)
    high = _tightest(min, needs.max_temp, apply.max_temp if apply else None)
    if low is None and high is None:
        return []
    temps = air.temp_c[at]
    coldest, warmest = math.floor(float(temps.min()) + 1e-6), math.ceil(float(temps.max()) - 1e-6)
    said = f"{coldest} °C" + (f", wants {low:g}" if low is not None else "")
    if high is not None and warmest > high - NEAR_CELSIUS:
        said += f", to {warmest}, takes {high:g}"
    return [AirCheck("temp", said, low, high, coldest)]


def _damp(plan: Plan, row: Row, air: Air, at: slice) -> list[AirCheck]:
    """The margin over the dew point, and the humidity."""
    if row.keys or not row.task.material:
        return []
    apply, found = plan.job.materials[row.task.material].apply, []
    if apply.above_dew is not None:
        margin = math.floor(float((air.temp_c[at] - air.dew_c[at]).min()) + 1e-6)
        dew = math.ceil(float(air.dew_c[at].max()) - 1e-6)
        said = f"{margin} °C over dew, wants {apply.above_dew:g}"
        found.append(AirCheck("dew", said, least=apply.above_dew, seen=margin, dew_c=dew))
    if apply.max_humidity is not None:
        damp = math.ceil(float(air.humidity[at].max()) - 1e-6)
        said = f"humidity {damp} %, takes {apply.max_humidity:g}"
        found.append(AirCheck("humidity", said, most=apply.max_humidity, seen=damp))
    return found


def _tightest(pick: Callable[[list[float]], float], *values: float | None) -> float | None:
    known = [value for value in values if value is not None]
    return pick(known) if known else None
