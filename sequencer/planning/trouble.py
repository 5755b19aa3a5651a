"""Why no plan exists: the task that cannot be placed, what bars it, and what to change."""

from __future__ import annotations

import datetime as dt

from sequencer.errors import Fault
from sequencer.planning.placing import Placer
from sequencer.planning.problem import Item
from sequencer.planning.search import Search

YEAR = "within a year"


def explain_no_plan(placer: Placer, search: Search) -> list[Fault]:
    """One fault a task that bars the way by itself, or else the one the placing got stuck at."""
    problem = placer.problem
    faults = [_barred(placer, item) for item in problem.items if item.fixed is None and not item.course.starts]
    if not faults:
        stuck = search.stuck if search.stuck >= 0 else placer.stuck_log
        if stuck < 0:
            stuck = problem.finish
        faults.append(_stuck(placer, problem.items[stuck]))
    return faults


def _barred(placer: Placer, item: Item) -> Fault:
    """A task that has no start at all, whatever the others do."""
    problem, task = placer.problem, item.task
    job, tables = problem.job, problem.tables
    where = f"task {item.id}"
    crew = len(job.crew)
    if item.hands > crew:
        return Fault(
            where, f"no launch {YEAR}: it needs {item.hands} hands, the crew is {crew}", "change hands or add crew"
        )
    staffed = tables.staffed(item.hands, task.who) if item.hands else None
    ahead = slice(problem.base, problem.length)
    if staffed is not None and not staffed[ahead].any():
        who = f", {' and '.join(task.who)} among them" if task.who else ""
        return Fault(
            where, f"no launch {YEAR}: its {item.hands} hands{who} are never on shift together", "change hours or hands"
        )
    zone = job.zones[task.zone] if task.zone else None
    if zone is not None:
        known = tables.air(zone).known[ahead]
        if not known.any() or not known[: 14 * 96].all():
            return Fault(
                where, f"no launch {YEAR}: {_missing_days(placer)}", "add days by hand or a normal for the month"
            )
        material = job.materials[task.material] if task.material else None
        fit = tables.fit(zone, task.needs, task.dry, material.apply if material else None)
        if not fit[ahead].any():
            return Fault(
                where,
                f"no launch {YEAR}: no hour's air in {zone.id} suits it",
                "change its limits, or shelter or heat the zone",
            )
    if task.slots and not problem.tables.starts_allowed(task.slots)[ahead].any():  # type: ignore[index]
        return Fault(where, f"no launch {YEAR}: its slots never come round", "change slots")
    if task.one_go:
        return Fault(
            where,
            f"no launch {YEAR}: {task.hours:g} h in one go fit no shift with fit weather and dry time after",
            "set one_go = false, longer hours, or shelter the zone",
        )
    return Fault(where, f"no launch {YEAR}: it finds no start", "change its hours, weather limits or slots")


def _stuck(placer: Placer, item: Item) -> Fault:
    problem = placer.problem
    # Where nothing is done in a zone, no weather is missed.
    missing = _missing_days(placer) if any(task.zone for task in placer.problem.job.task) else ""
    if missing:
        return Fault(f"task {item.id}", f"no launch {YEAR}: {missing}", "add days by hand or a normal for the month")
    return Fault(
        f"task {item.id}",
        f"no launch {YEAR}: no start fits it after what comes before it and beside what else is in the yard",
        "look at its hands, gear, slots and not_before" if problem.items else "",
    )


def _missing_days(placer: Placer) -> str:
    """Which days ahead have no weather, as a phrase; empty where all have."""
    tables, problem = placer.problem.tables, placer.problem
    known = tables.outside.known
    grid = tables.grid
    days = [
        d
        for d in range(grid.day_of(problem.base), grid.days)
        if not known[grid.day_start(d) : grid.day_start(d + 1)].any()
    ]
    if not days:
        return ""
    last = days[0]
    while last + 1 in days:
        last += 1
    return f"there is no weather from {_day(grid.date(days[0]))} to {_day(grid.date(last))}"


def _day(date: dt.date) -> str:
    return f"{date.day} {date:%B %Y}"
