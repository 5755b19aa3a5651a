"""Levers of things: a second of some gear, an earlier delivery, another day of the lift's."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import combinations

from sequencer.errors import one_line
from sequencer.job import Delivery, Gear, Hours, Task
from sequencer.job.pen import Value
from sequencer.job.writing import SetField
from sequencer.levers.changes import MoreHours
from sequencer.levers.lever import Lever
from sequencer.levers.outlook import Outlook, waits
from sequencer.network import ancestors, graph_of
from sequencer.telling import day_name
from sequencer.telling.figures import MONTHS, WEEKDAYS

FULL_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

SOONER_DAYS = 3
"""Days a delivery is asked to come sooner where the job gives no earliest date for it."""


# -- gear --------------------------------------------------------------------------------


def gear_levers(out: Outlook) -> Iterator[Lever]:
    """One more of each gear that two tasks may want at a time."""
    for gear in out.job.gear:
        if _wanted_twice(out, gear):
            name = f"a second {_small(gear)}" if gear.count == 1 else f"one more {_small(gear)}"
            yield Lever(
                id=f"gear:{gear.id}",
                kind="gear",
                name=name,
                change=SetField("gear", gear.id, "count", gear.count + 1),
                against=f"the {_small(gear)}",
                causes=frozenset(("gear",)),
                about=frozenset((gear.id,)),
            )


def _small(gear: Gear) -> str:
    name = one_line(gear.name, 30)
    name = name[4:] if name.lower().startswith("the ") else name
    return name[:1].lower() + name[1:]


def _wanted_twice(out: Outlook, gear: Gear) -> bool:
    """Whether tasks that need not follow each other want more of it than there is."""
    users = [(task, use) for task in _holders(out) for use in task.gear if use.id == gear.id]
    if sum(use.units for _, use in users) <= gear.count:
        return False
    graph = graph_of(out.job)
    before = {task.id: ancestors(graph, task.id) for task, _ in users}
    return any(
        # What comes after the other may still find it held: until a stage.
        one.until or other.until or (a.id not in before[b.id] and b.id not in before[a.id])
        for (a, one), (b, other) in combinations(users, 2)
    )


def _holders(out: Outlook) -> list[Task]:
    """Tasks to do, and those done whose gear may still be held until a stage."""
    done = [task for task in out.job.task if task.finished is not None and any(use.until for use in task.gear)]
    now = out.plan.now
    held = [t for t in done if any(out.plan.rows[t.id].stages.get(u.until or "", now + 1) > now for u in t.gear)]
    return [*out.todo, *held]


# -- deliveries --------------------------------------------------------------------------


def delivery_levers(out: Outlook) -> Iterator[Lever]:
    """Each delivery still to come, at the earliest the job says, or a few days sooner."""
    for delivery in out.job.delivery:
        due = out.plan.moment(out.grid.slot(delivery.due))
        wanted = any(task.delivery == delivery.id for task in out.fresh)
        early = _earliest(out, delivery, due.date())
        if wanted and early < due.date() and due > out.now:
            what = one_line(delivery.id, 30)
            yield Lever(
                id=f"delivery:{delivery.id}",
                kind="delivery",
                name=f"{what} here by {day_name(early)} {MONTHS[early.month - 1]}",
                change=SetField("delivery", delivery.id, "due", early),
                against=f"the {what}",
                causes=frozenset(("delivery",)),
                about=frozenset((delivery.id,)),
                mind="the odds keep its earliest and latest dates" if delivery.range is not None else "",
            )


def _earliest(out: Outlook, delivery: Delivery, due: dt.date) -> dt.date:
    """The first date it is asked for, tomorrow at the soonest."""
    if delivery.range is None:
        return max(out.tomorrow, due - dt.timedelta(days=SOONER_DAYS))
    # A moment within a day counts from the next day: the work may not find it there in the morning.
    first = out.grid.slot(delivery.range[0])
    day = out.grid.day_of(first)
    date = out.grid.date(day if out.grid.day_start(day) == first else day + 1)
    return max(out.tomorrow, date)


# -- the lift ----------------------------------------------------------------------------


def lift_levers(out: Outlook) -> Iterator[Lever]:
    """Each weekday the lift, or another thing with hours of its own, does not work."""
    for task in out.fresh:
        is_lift = task.id == out.finish.id
        if not task.slots or not (is_lift or _waits_for_slot(out, task)):
            continue
        days = set().union(*(line.days for line in task.slots if line.days is not None))
        line = next((line for line in task.slots if line.days is not None), task.slots[0])
        for day in (5, 6, 0, 1, 2, 3, 4):
            if day not in days and any(d.weekday() == day for d in out.dates()):
                yield _another_day(task, line, day, is_lift)


def _waits_for_slot(out: Outlook, task: Task) -> bool:
    return any(cause == "slot" for _, _, cause in waits(out.plan.rows[task.id]))


def _another_day(task: Task, line: Hours, day: int, is_lift: bool) -> Lever:
    name = f"{FULL_WEEKDAYS[day]} lift" if is_lift else f"{one_line(task.id, 30)} on {FULL_WEEKDAYS[day]}s"
    at: dict[str, Value] = {"days": WEEKDAYS[day], "from": _clock(line.start), "to": _clock(line.end)}
    return Lever(
        id=f"lift:{task.id}:{WEEKDAYS[day].lower()}",
        kind="lift",
        name=name,
        change=MoreHours("task", task.id, (at,), name),
        against="the lift" if is_lift else "its hours",
        causes=frozenset(("slot",)),
        about=frozenset((task.id,)),
    )


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"
