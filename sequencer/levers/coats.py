"""Levers of coats: two of them on one day, and a quicker material in place of a slow one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from sequencer.cure import hours_to_stage
from sequencer.errors import one_line
from sequencer.job import Crew, Material, Task
from sequencer.job.links import DONE, Link
from sequencer.job.pen import Value
from sequencer.job.writing import Change, SetField, Several
from sequencer.levers.changes import MoreHours
from sequencer.levers.lever import Lever
from sequencer.levers.outlook import Outlook
from sequencer.levers.people import SHORTAGE, called, is_regular
from sequencer.planning.plan import Row
from sequencer.telling import day_name
from sequencer.telling.figures import MONTHS
from sequencer.weather.hourly import EPSILON

LATEST_COAT = 22 * 60
"""Minutes after midnight by which a second coat must be on; nobody lays one after ten at night."""


DUSK = 19 * 60
"""Minutes after midnight past which it may be too dark to see a wet edge."""

COLDEST = -273.0
"""°C below which anything stands still: stands for no limit."""


# -- two coats on one day ----------------------------------------------------------------


def two_coat_levers(out: Outlook) -> Iterator[Lever]:
    """Somebody staying long enough for the next coat, where the one before takes it the same evening."""
    for task in out.fresh:
        for link in task.after:
            before = out.plan.rows.get(link.task)
            if task.material is None or before is None or before.task.material is None or link.stage == DONE:
                continue
            found = _evening(out, before, out.plan.rows[task.id], link)
            if found is not None:
                yield found


def _evening(out: Outlook, before: Row, after: Row, link: Link) -> Lever | None:
    """The evening on which `before` takes `after`, if somebody who is there that day need only stay on."""
    ready = before.stages.get(link.stage, out.grid.length)
    if not out.plan.now <= ready < after.start:
        return None
    day = out.grid.day_of(ready)
    date = out.grid.date(day)
    if out.plan.moment(after.start).date() == date or out.plan.moment(before.end).date() != date:
        return None
    people = _stayers(out, after.task, date)
    leaves = min((_leaves(out, p.id, day) for p in people), default=-1)
    until = max(leaves, ready) + sum(e - b for b, e in after.pieces)
    end = out.plan.moment(until)
    if leaves < 0 or until <= leaves or end.date() != date or end.hour * 60 + end.minute > LATEST_COAT:
        return None
    return _staying(out, people, day, until, (before.id, after.id))


def _stayers(out: Outlook, task: Task, date: dt.date) -> list[Crew]:
    """Who would lay it: those it names, else whoever is there that day, the ones always there first."""
    there = [p for p in out.job.crew if out.there(p.id, date)]
    named = [p for p in there if p.id in task.who]
    others = sorted((p for p in there if p.id not in task.who), key=lambda p: not is_regular(p))
    found = [*named, *others][: task.people]
    return found if len(found) == task.people and len(named) == len(task.who) else []


def _leaves(out: Outlook, person: str, day: int) -> int:
    """The slot at which somebody leaves for good on a local day."""
    begin, end = out.grid.day_start(day), out.grid.day_start(day + 1)
    there = np.flatnonzero(out.tables.shifts[person][begin:end])
    return begin + int(there[-1]) + 1 if len(there) else -1


def _staying(out: Outlook, people: list[Crew], day: int, until: int, coats: tuple[str, str]) -> Lever:
    date, end = out.grid.date(day), out.plan.moment(until)
    clock = f"{end:%H:%M}"
    name = f"{coats[0]} and {coats[1]} both on {day_name(date)}, till {clock}"
    changes: list[Change] = []
    for person in people:
        leaves = out.plan.moment(_leaves(out, person.id, day))
        line: dict[str, Value] = {"rule": "FREQ=DAILY;COUNT=1", "since": date, "from": f"{leaves:%H:%M}", "to": clock}
        said = f"{called(person)} till {clock} on {day_name(date)} {MONTHS[date.month - 1]}"
        changes.append(MoreHours("crew", person.id, (line,), said))
    return Lever(
        id=f"coats:{coats[0]}:{coats[1]}:{date.isoformat()}",
        kind="coats",
        name=name,
        change=changes[0] if len(changes) == 1 else Several(tuple(changes)),
        against="a longer evening",
        causes=SHORTAGE,
        about=frozenset(coats),
        price=0.0,
        mind="there must be light to lay it by" if end.hour * 60 + end.minute > DUSK else "",
    )


# -- a quicker material ------------------------------------------------------------------


def material_levers(out: Outlook) -> Iterator[Lever]:
    """For each material still to be laid, each other with the same stages that is quicker."""
    for slow in out.job.material:
        tasks = [task for task in out.fresh if task.material == slow.id]
        for quick in out.job.material if tasks else ():
            if _serves(quick, slow) and _quicker(out, quick, slow, tasks):
                yield _swap(quick, slow, tasks)


def _serves(quick: Material, slow: Material) -> bool:
    """Whether one may stand for the other: another material with just the same stages."""
    return quick.id != slow.id and quick.stages.keys() == slow.stages.keys()


def _quicker(out: Outlook, quick: Material, slow: Material, tasks: list[Task]) -> bool:
    """Whether it comes to no stage that counts later, and to one sooner or in colder air."""
    ids = {task.id for task in tasks}
    stages = {link.stage for task in out.todo for link in task.after if link.task in ids}
    stages |= {use.until for task in tasks for use in task.gear if use.until is not None}
    gains = np.concatenate([_gain(quick, slow, stage) for stage in {*stages, "set"} & slow.stages.keys()])
    colder = (quick.no_cure_below or COLDEST) < (slow.no_cure_below or COLDEST)
    return bool((gains >= -EPSILON).all()) and (colder or bool((gains > EPSILON).any()))


def _gain(quick: Material, slow: Material, stage: str) -> NDArray[np.float64]:
    """Hours that one reaches a stage before the other, at each temperature of their tables."""
    temps = np.array(sorted({*quick.temps, *slow.temps}), dtype=np.float64)
    one, other = (hours_to_stage(m.temps, m.stages[stage].opens, temps) for m in (quick, slow))
    return other - one


def _swap(quick: Material, slow: Material, tasks: list[Task]) -> Lever:
    new, old = one_line(quick.id, 30), one_line(slow.id, 30)
    name = f"{new} for {old}"
    return Lever(
        id=f"material:{slow.id}:{quick.id}",
        kind="material",
        name=name,
        change=Several(tuple(SetField("task", task.id, "material", quick.id) for task in tasks), name),
        against="the cure",
        causes=frozenset(("cure",)),
        about=frozenset((slow.id, *(task.id for task in tasks))),
        mind=f"only where {new} may be used as {old} is",
    )
