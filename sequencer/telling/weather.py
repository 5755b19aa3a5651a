"""Why the air does not suit a task. Temperatures and margins are rounded down, humidity and wind up."""

from __future__ import annotations

import math

import numpy as np

from sequencer.job import Apply, Zone
from sequencer.planning.plan import Plan, Row
from sequencer.planning.tables import Mask
from sequencer.telling.figures import clock, near_clock
from sequencer.weather.hourly import EPSILON, Air


def weather_reason(plan: Plan, row: Row, slot: int) -> str:
    """Why `row` could not start in `slot` for the weather; empty where nothing is found against it."""
    zone = plan.job.zones.get(row.zone)
    if zone is None or not 0 <= slot < plan.grid.length:
        return ""
    material = plan.job.materials.get(row.task.material or "") if not row.keys else None
    apply = material.apply if material is not None else None
    air = plan.problem.tables.air(zone)
    return _now(plan, row, apply, air, slot) or _ahead(plan, row, apply, zone, slot)


def _now(plan: Plan, row: Row, apply: Apply | None, air: Air, slot: int) -> str:
    """What is wrong with the air of one slot."""
    needs = row.task.needs
    if not air.known[slot]:
        return f"no weather is known for {near_clock(plan.moment(slot), plan.moment(slot))}"
    if (row.task.dry or row.keys) and air.rain[slot]:
        return f"rain till {_until(plan, ~air.rain, slot)}"
    if row.keys:
        return ""
    temp, over = float(air.temp_c[slot]), float(air.temp_c[slot] - air.dew_c[slot])
    lows = [v for v in (needs.min_temp, apply.min_temp if apply else None) if v is not None]
    highs = [v for v in (needs.max_temp, apply.max_temp if apply else None) if v is not None]
    if lows and temp < max(lows) - EPSILON:
        return f"too cold, {_down(temp)} °C, wants {max(lows):g}"
    if highs and temp > min(highs) + EPSILON:
        return f"too warm, {_up(temp)} °C, takes {min(highs):g}"
    margin, humid = (apply.above_dew, apply.max_humidity) if apply is not None else (None, None)
    if margin is not None and over < margin - EPSILON:
        return f"too damp, {_down(over)} °C over dew, wants {margin:g}"
    if humid is not None and air.humidity[slot] > humid + EPSILON:
        return f"too damp, humidity {_up(float(air.humidity[slot]))} %, takes {humid:g}"
    if needs.max_wind is not None and air.wind_kn[slot] > needs.max_wind + EPSILON:
        return f"wind {_up(float(air.wind_kn[slot]))} kn, takes {needs.max_wind:g}"
    return ""


def _ahead(plan: Plan, row: Row, apply: Apply | None, zone: Zone, slot: int) -> str:
    """What would catch the work, or the wet coat, if it started in `slot`."""
    task, tables = row.task, plan.problem.tables
    air = tables.air(zone)
    if task.one_go or row.keys:
        fit = tables.fit(zone, task.needs, task.dry or bool(row.keys), apply)
        at = _first(~fit, slot, slot + row.end - row.start)
        if at >= 0:
            since = near_clock(plan.moment(at), plan.moment(slot))
            return f"{_now(plan, row, apply, air, at)} would catch it from {since}"
    material = plan.job.materials.get(task.material or "")
    if material is None or row.keys or zone.shelter != "open" or material.dry_until == "none":
        return ""
    dry = row.stages.get(material.dry_until, row.end)
    at = _first(tables.wetted(zone), slot, slot + dry - row.start)
    if at < 0:
        return "it would not dry in time"
    what = "rain" if air.rain[at] else "dew" if air.known[at] else "weather not known"
    return f"{what} {near_clock(plan.moment(at), plan.moment(slot))} would reach it wet"


def _first(mask: Mask, begin: int, end: int) -> int:
    """The first slot of [begin, end) where `mask` is true; -1 where none is."""
    hits = np.flatnonzero(mask[begin:end])
    return begin + int(hits[0]) if len(hits) else -1


def _until(plan: Plan, dry: Mask, slot: int) -> str:
    """When `dry` is first true from `slot` on."""
    at = _first(dry, slot, len(dry))
    if at < 0:
        return "the end of what is known"
    begin, end = plan.moment(slot), plan.moment(at)
    return clock(end) if begin.date() == end.date() else near_clock(end, begin)


def _down(value: float) -> str:
    return f"{math.floor(value * 10 + 1e-6) / 10:g}"


def _up(value: float) -> str:
    return f"{math.ceil(value * 10 - 1e-6) / 10:g}"
