"""Levers of places: a tent over one, heat in one."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sequencer.errors import one_line
from sequencer.grid import PER_HOUR
from sequencer.job import Material, Task, Zone
from sequencer.job.links import DONE
from sequencer.job.writing import Change, CopyItem, SetField, Several, free_name
from sequencer.levers.lever import Lever
from sequencer.levers.outlook import Outlook

WARM_INSIDE = 20.0
"""°C to which an inside place is heated: the middle column of most data sheets; common practice, no source."""

WARM_TENT = 15.0
"""°C a heater holds under a tent in spring; common practice, no source."""

TRICKLE = 0.5
"""°C less than which heating is no lever."""


def place_levers(out: Outlook) -> Iterator[Lever]:
    """Tents and heat for places with work to do that the air there can hold up."""
    for zone in out.job.zone:
        tasks = [task for task in out.todo if task.zone == zone.id and task.wait is None]
        if zone.shelter == "open" and any(_weather_bound(out, task) for task in tasks) and _wetted(out, zone):
            yield _tent(out, zone)
        if any(_warmth_helps(task) for task in tasks):
            yield from _heat(out, zone)


def _name(zone: Zone) -> str:
    name = one_line(zone.name, 30)
    return name[:1].lower() + name[1:]


def _weather_bound(out: Outlook, task: Task) -> bool:
    """Whether rain or dew can hold up a task: at work, while it is wet, or where it must be keyed."""
    material = out.job.materials.get(task.material or "")
    return task.dry or (material is not None and material.dry_until != "none")


def _wetted(out: Outlook, zone: Zone) -> bool:
    """Whether it rains there, or dew falls, or nothing is known, at any time from now on."""
    air, now = out.tables.air(zone), out.plan.now
    return bool(air.rain[now:].any() or out.tables.wetted(zone)[now:].any())


def _tent(out: Outlook, zone: Zone) -> Lever:
    name = f"tent over the {_name(zone)}"
    changes: list[Change] = [SetField("zone", zone.id, "shelter", "covered"), *_kept_work(out, zone)]
    return Lever(
        id=f"cover:{zone.id}",
        kind="cover",
        name=name,
        change=Several(tuple(changes), name),
        against="rain or dew",
        causes=frozenset(("weather",)),
        about=frozenset((zone.id,)),
    )


def _kept_work(out: Outlook, zone: Zone) -> Iterator[Change]:
    """What is left of work begun there, as reckoned before: the place as it will be counts no hours of the past."""
    for item in out.plan.problem.items:
        task = item.task
        if task.zone == zone.id and item.fixed is not None and task.finished is None and task.work_left is None:
            yield SetField("task", task.id, "work_left", item.work / PER_HOUR)


# -- heat --------------------------------------------------------------------------------


def _warmth_helps(task: Task) -> bool:
    """Whether something cures there or wants it warm."""
    return task.material is not None or task.needs.min_temp is not None


def _heat(out: Outlook, zone: Zone) -> Iterator[Lever]:
    """Heat; an open place is tented for it. Never warmer than what is laid there may be worked at."""
    tented = zone.shelter == "open"
    target = WARM_TENT if zone.shelter != "inside" else WARM_INSIDE
    target = min([target, *_limits(out, zone)])
    air, span = out.tables.air(zone), slice(out.plan.now, out.plan.launch)
    colder = air.known[span] & (air.temp_c[span] < target - TRICKLE)
    if not colder.any() or (zone.heat_to is not None and zone.heat_to >= target):
        return
    warm = math.floor(target)
    name = f"{'tent and heat' if tented else 'heat'} to {warm} °C, {_name(zone)}"
    curing = _curing(out, zone)
    moved = [task for task in out.fresh if task.zone == zone.id and task.wait is None]
    changes = _new_place(out, zone, warm, moved) if curing else _warmed(zone.id, warm, tented)
    if curing and not moved:
        return
    if not curing:
        changes += _kept_work(out, zone)
    yield Lever(
        id=f"heat:{zone.id}",
        kind="heat",
        name=name,
        change=Several(tuple(changes), name),
        against="cold or damp",
        causes=frozenset(("weather", "cure")),
        about=frozenset((zone.id,)),
        mind="what cures there already is reckoned unheated, and its windows shut sooner in the warm" if curing else "",
    )


def _limits(out: Outlook, zone: Zone) -> Iterator[float]:
    """The highest temperatures at which what is still to be done there may be worked."""
    for task in out.todo:
        if task.zone == zone.id:
            material = out.job.materials.get(task.material or "")
            for limit in (task.needs.max_temp, material.apply.max_temp if material is not None else None):
                if limit is not None:
                    yield limit


def _warmed(zone: str, warm: float, tented: bool) -> list[Change]:
    changes: list[Change] = [SetField("zone", zone, "heat_to", warm)]
    return [*changes, SetField("zone", zone, "shelter", "covered")] if tented else changes


def _new_place(out: Outlook, zone: Zone, warm: float, moved: list[Task]) -> list[Change]:
    """A heated twin of a place for what is not begun.

    The file knows no "from now on": heat in the place itself would warm what was laid there in the cold, and its cure
    would come out sooner than it does.
    """
    new = free_name(f"{zone.id} heated", out.job.zones)
    title = f"{one_line(zone.name, 60)}, heated"
    return [
        CopyItem("zone", zone.id, new),
        SetField("zone", new, "title", title),
        SetField("zone", new, "air", zone.air_id),
        *_warmed(new, warm, zone.shelter == "open"),
        *(SetField("task", task.id, "zone", new) for task in moved),
    ]


def _curing(out: Outlook, zone: Zone) -> bool:
    """Whether something laid there, or being laid, has not reached all the stages that others wait for."""
    for task in out.job.task:
        material = out.job.materials.get(task.material or "")
        if task.zone != zone.id or material is None or (task.started is None and task.finished is None):
            continue
        row, now = out.plan.rows[task.id], out.plan.now
        awaited = _awaited(out, task, material)
        running = any(row.stages.get(s, out.grid.length) > now for s in awaited)
        if row.begun or running or any(row.closes.get(s, now) > now for s in awaited):
            return True
    return False


def _awaited(out: Outlook, task: Task, material: Material) -> set[str]:
    """The stages of a coat that count: that what is to do waits for, until which it holds gear, and that it is wet."""
    found = {link.stage for other in out.todo for link in other.after if link.task == task.id}
    if any(material.stages[s].closes is not None for s in found if s in material.stages):
        found.add("sand")
    found |= {use.until for use in task.gear if use.until is not None}
    return {stage for stage in {*found, "set"} if stage != DONE and stage in material.stages}
