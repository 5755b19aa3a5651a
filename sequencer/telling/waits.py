"""What a row waits for, one teller a cause: the person, coat, gear or hour, and why that is no sooner."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from sequencer.errors import one_line
from sequencer.job import Hours
from sequencer.planning.plan import Plan, Row
from sequencer.planning.tables import Mask
from sequencer.telling.figures import MONTHS, WEEKDAYS, clock, count_hands, day_name, hours_text, near_clock
from sequencer.telling.weather import weather_reason

Told = tuple[str, str]
"""What it waits for; why that is no sooner."""


def when(plan: Plan, slot: int) -> str:
    """A slot as a moment near the launch."""
    return near_clock(plan.moment(slot), plan.launched)


def clock_after(plan: Plan, begin: int, slot: int) -> str:
    """A slot by its clock alone on the day of `begin`."""
    moment = plan.moment(slot)
    return clock(moment) if moment.date() == plan.moment(begin).date() else when(plan, slot)


def called(row: Row) -> str:
    """What a sentence calls a row: its id, or ``keying barrier-3``."""
    return f"keying {row.keys}" if row.keys else row.id


def _off_shift(plan: Plan, row: Row, at: int) -> Told:
    there = plan.problem.tables.hands > 0
    if there[at - 1]:
        work = hours_text(row.worked)
        return "a longer shift", f"no shift before {when(plan, at)} has {work} in one go left"
    begin = _last_there(there, at) + 1
    return "someone on shift", f"nobody is here from {when(plan, begin)} to {clock_after(plan, begin, at)}"


def _people(plan: Plan, row: Row, at: int) -> Told:
    who = row.task.who if not row.keys else ()
    wanted = _person(plan, who[0]) if row.hands == 1 and who else count_hands(row.hands)
    missing = _missing(plan, row, who, at)
    if missing is not None:
        return wanted, missing
    freed = [r for r in plan.rows.values() if r is not row and any(e == at for _, e in r.pieces) and r.hands]
    if who and row.hands == len(who):
        freed = [r for r in freed if set(r.task.who) & set(who)] or freed
    if freed:
        last = max(freed, key=lambda r: (r.id in row.held.by, r.end, r.id))
        return wanted, f"{called(last)} has them until {when(plan, at)}"
    came = [p for p, there in plan.problem.tables.shifts.items() if there[at] and not there[at - 1]]
    if came:
        return wanted, f"{_next_here(_person(plan, came[0]))} {when(plan, at)}"
    return wanted, f"all are at other work, or gone too soon, until {when(plan, at)}"


def _next_here(name: str) -> str:
    return f"{name} {'are' if name.lower() == 'you' else 'is'} next here"


def _missing(plan: Plan, row: Row, who: tuple[str, ...], at: int) -> str | None:
    """Who was not there for most of the time hands were short; None where they were there and busy."""
    tables = plan.problem.tables
    short = _short_slots(row, at)
    absent = short[~tables.staffed(row.hands, who)[short]]
    if 2 * len(absent) < len(short) or at >= plan.grid.length:
        return None
    came = {p: there for p, there in tables.shifts.items() if there[at] and (not who or p in who)}
    came = came or {p: there for p, there in tables.shifts.items() if there[at]}
    if not came:
        return f"not enough are here until {when(plan, at)}"
    rare = max(came, key=lambda p: (int((~came[p][absent]).sum()), p in who))
    name, begin = _person(plan, rare), _since(came[rare], at)
    free = f", all free from {clock(plan.moment(at))}" if begin < at else ""
    return f"{_next_here(name)} {when(plan, begin)}{free}"


def _short_slots(row: Row, at: int) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """The slots up to `at` that were put down to people."""
    found, slot = [], row.start - sum(slots for _, slots in row.held.spans)
    for cause, slots in row.held.spans:
        if cause == "people" and slot < at:
            found.append(np.arange(slot, slot + slots, dtype=np.int64))
        slot += slots
    return np.concatenate(found) if found else np.array([at - 1], dtype=np.int64)


def _last_there(there: Mask, start: int) -> int:
    """The last slot before `start` in which somebody was there; -1 where none is known."""
    before = np.flatnonzero(there[:start])
    return int(before[-1]) if len(before) else -1


def _since(there: Mask, at: int) -> int:
    """When the presence that holds slot `at` began."""
    away = np.flatnonzero(~there[:at])
    return int(away[-1]) + 1 if len(away) else 0


def _person(plan: Plan, name: str) -> str:
    person = plan.job.people.get(name)
    return one_line(person.name, 60) if person is not None else name


def _weather(plan: Plan, row: Row, at: int) -> Told:
    why = weather_reason(plan, row, at - 1)
    if at < row.start:
        return "fit weather", why or f"none before {when(plan, at)}"
    return "fit weather", f"{why}; it may from {when(plan, at)}" if why else f"none before {when(plan, at)}"


def _gear(plan: Plan, row: Row, at: int) -> Told:
    mine = {use.id for use in row.task.gear}
    freed: list[tuple[int, Row, str]] = []
    for other in plan.rows.values():
        for use in other.task.gear:
            free = other.stages.get(use.until or "", other.end)
            if other is not row and not other.keys and use.id in mine and row.held.ready < free <= row.start:
                freed.append((free, other, use.id))
    if not freed:
        return "its gear", f"it is free from {when(plan, at)}"
    free, other, name = max(freed, key=lambda found: (found[0], found[1].id))
    gear = plan.job.gears.get(name)
    what = one_line(gear.name, 60) if gear is not None else name
    return what, f"{called(other)} has it until {when(plan, free)}"


def _dust(plan: Plan, row: Row, at: int) -> Told:
    zones = plan.job.zones
    air = zones[row.zone].air_id if row.zone in zones else ""
    near = [r for r in plan.rows.values() if r is not row and r.zone in zones and zones[r.zone].air_id == air]
    if row.dusty:
        wet = [r for r in near if row.held.ready < r.stages.get("set", 0) <= row.start]
        if wet:
            coat = max(wet, key=lambda r: r.stages["set"])
            return "the wet to set", f"no dust while {coat.id} is wet, till {when(plan, coat.stages['set'])}"
        return "the wet to set", f"a wet coat lies in the same air until {when(plan, at)}"
    dusty = [r for r in near if r.dusty and row.held.ready < r.end <= row.start]
    if dusty:
        last = max(dusty, key=lambda r: r.end)
        return "the dust to end", f"{called(last)} makes dust there, until {when(plan, last.end)}"
    return "the dust to end", f"dust in the same air until {when(plan, at)}"


def _delivery(plan: Plan, row: Row, at: int) -> Told:
    delivery = plan.job.deliveries.get(row.task.delivery or "")
    if delivery is None:
        return "a delivery", "it has not come"
    return one_line(delivery.name, 60), f"due {due_text(plan, row.task.delivery or '')}"


def due_text(plan: Plan, delivery: str) -> str:
    """When a delivery is due: ``Mon 26 Apr``, with the clock where one was given."""
    due = plan.moment(plan.grid.slot(plan.job.deliveries[delivery].due))
    at = f" {clock(due)}" if (due.hour, due.minute) != (0, 0) else ""
    return f"{day_name(due)} {MONTHS[due.month - 1]}{at}"


def _date(plan: Plan, row: Row, at: int) -> Told:
    return "its date", f"not before {when(plan, at)}, as written"


def _slot(plan: Plan, row: Row, at: int) -> Told:
    lift = "the lift" if row.id == plan.job.job.finish else "its hours"
    return lift, f"{hours_of(row.task.slots)}, next {when(plan, at)}"


def _held_back(plan: Plan, row: Row, at: int) -> Told:
    if row.keys:
        return "its start", f"it could go sooner, and is planned for {when(plan, at)}"
    nexts = [
        t.id
        for t in plan.job.task
        for link in t.after
        if link.task == row.id and link.stage in row.closes and t.id in plan.rows
    ]
    then = f"so that {nexts[0]} meets its window" if nexts else "so that the next coat meets its window"
    return "the next coat's window", f"held back on purpose {then}"


TELLERS: dict[str, Callable[[Plan, Row, int], Told]] = {
    "off-shift": _off_shift,
    "people": _people,
    "weather": _weather,
    "gear": _gear,
    "dust": _dust,
    "delivery": _delivery,
    "date": _date,
    "slot": _slot,
    "cure": _held_back,
}
"""By cause: tells what a row waited for up to a slot."""


def hours_of(lines: Iterable[Hours]) -> str:
    """``Mon-Fri 09:00-15:00``; a recurrence by its hours alone."""
    said = []
    for line in lines:
        days = _days(line.days) if line.days is not None else "on its days"
        said.append(f"{days} {_minutes(line.start)}-{_minutes(line.end)}")
    return " and ".join(said)


def _days(days: frozenset[int]) -> str:
    listed = sorted(days)
    if len(listed) > 2 and listed[-1] - listed[0] == len(listed) - 1:
        return f"{WEEKDAYS[listed[0]]}-{WEEKDAYS[listed[-1]]}"
    return ", ".join(WEEKDAYS[d] for d in listed)


def _minutes(minutes: int) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"
