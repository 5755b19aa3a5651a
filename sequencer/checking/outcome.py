"""What the plan says of itself: launch, stages, nights, cost, the stay's ledger, bound, path, slack."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from sequencer.checking.doings import Doing, Yard
from sequencer.checking.report import Report
from sequencer.checking.rows import Row, exact_line

CAUSES = (
    "work",
    "cure",
    "weather",
    "off-shift",
    "people",
    "gear",
    "dust",
    "delivery",
    "date",
    "slot",
    "wait",
    "start",
)
"""What may hold a task, or take hours of the stay."""

HOUR_TOLERANCE = 1e-6
MONEY_TOLERANCE = 0.0051
"""Half a hundredth of the currency, for a total rounded to hundredths, and a little for binary fractions."""

Rows = dict[str, Row | None]


def _number(value: object) -> float | None:
    """`value` as a number of sensible size, None where it is none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if abs(value) < 1e15 else None


def check_launch(yard: Yard, plan: Mapping[str, Any], report: Report) -> int | None:
    """The launch is the start of the finish; returns its grid line, None without a finish in the plan."""
    finish = yard.doings.get(yard.job.job.finish)
    said = exact_line(plan.get("launch"), yard.clock)
    if said is None:
        report.add("shape", "", f"has no ISO 8601 time as launch: {plan.get('launch')!r}")
    elif finish is not None and said != finish.start:
        start = yard.clock.say(finish.start)
        report.add("launch", "", f"says the launch is {plan['launch']}, but {finish.id} starts {start}")
    return None if finish is None else finish.start


def _right_stages(yard: Yard, doing: Doing) -> dict[str, int | None]:
    right: dict[str, int | None] = {"done": doing.end}
    for name, stage in doing.material.stages.items() if doing.material else ():
        right[name] = yard.reaches(doing, name)
        if stage.closes is not None:
            right.setdefault(f"{name}_closes", yard.closes(doing, name))
    return right


def check_stages(yard: Yard, doing: Doing, row: Row, launch: int | None, report: Report) -> None:
    """The stages a row lists are those of its material, at the moments the cure gives them.

    A stage may be left out, or null, where it is not reached by the launch; ``done`` may be left out.
    """
    listed = row.raw.get("stages")
    if listed is None:
        return
    if not isinstance(listed, Mapping):
        report.add("shape", doing.id, f"has stages that are no table: {listed!r}")
        return
    right, say = _right_stages(yard, doing), yard.clock.say
    for name in sorted(set(map(str, listed)) - set(right)):
        report.add("stages", doing.id, f"lists {name}, which its material has not ({', '.join(right)})")
    for name, line in right.items():
        value = listed.get(name)
        if value is None:
            if name != "done" and line is not None and launch is not None and line <= launch:
                report.add("stages", doing.id, f"leaves out {name}, reached {say(line)}")
            continue
        exact = exact_line(value, yard.clock)
        if exact is not None and name in doing.task.reached:
            exact = math.ceil(exact)
        if exact is None or exact != line:
            truth = say(line) if line is not None else "never"
            report.add("stages", doing.id, f"says {name} is {value}, but it is {truth}")


def check_nights(yard: Yard, plan: Mapping[str, Any], launch: int | None, report: Report) -> None:
    """Nights are the local midnights from the haul-out to the launch, and the cost follows from them.

    A haul-out or a launch on the stroke of midnight may count that midnight or not.
    """
    if launch is None:
        return
    hauled = math.floor(yard.clock.quarters(yard.job.job.hauled))
    first, last = yard.clock.date(hauled), yard.clock.date(launch)
    nights = (last - first).days
    right = {nights}
    if yard.clock.wall(first, 0) == hauled:
        right.add(nights + 1)
    if yard.clock.wall(last, 0) == launch:
        right |= {count - 1 for count in right if count > 0}
    if plan.get("nights") is not None and _number(plan["nights"]) not in right:
        span = f"from {yard.clock.say(hauled)} to {yard.clock.say(launch)}"
        report.add("nights", "", f"says {plan['nights']!r} nights, but {span} there are {nights}")
    if plan.get("cost") is not None:
        _check_cost(yard, plan["cost"], right, report)


def _check_cost(yard: Yard, cost: object, nights: set[int], report: Report) -> None:
    pay = yard.job.yard
    total = _number(cost.get("total")) if isinstance(cost, Mapping) else None
    if total is None or not isinstance(cost, Mapping):
        report.add("cost", "", f"has a cost without a total: {cost!r}")
        return
    paid = [max(0, count - pay.free_nights) if pay else 0 for count in sorted(nights)]
    right = [pay.fixed + pay.night * count if pay else 0.0 for count in paid]
    if all(abs(total - value) > MONEY_TOLERANCE for value in right):
        report.add("cost", "", f"says {total:.2f} in all, but {min(nights)} nights cost {right[0]:.2f}")
    currency = cost.get("currency")
    if pay and currency and currency != pay.currency:
        report.add("cost", "", f"counts the cost in {currency!r}, but the yard asks {pay.currency!r}")


def check_stay(yard: Yard, plan: Mapping[str, Any], launch: int | None, report: Report) -> None:
    """The ledger uses only listed causes, no negative hours, and adds up to the stay exactly."""
    stay = plan.get("stay")
    if stay is None:
        return
    if not isinstance(stay, list) or not all(isinstance(entry, Mapping) for entry in stay):
        report.add("shape", "", f"has a stay that is no list of tables: {stay!r}")
        return
    total = 0.0
    for entry in stay:
        hours = _number(entry.get("hours"))
        if entry.get("cause") not in CAUSES:
            report.add("stay", "", f"counts hours to {entry.get('cause')!r}, none of {', '.join(CAUSES)}")
        if hours is None or hours < 0:
            report.add("stay", "", f"counts {entry.get('hours')!r} hours to {entry.get('cause')!r}")
        total += hours or 0.0
    if launch is None:
        return
    # A haul-out between two grid lines: its own moment and the grid line it counts from will both do.
    right = {(launch - yard.clock.quarters(yard.job.job.hauled)) / 4, (launch - yard.hauled) / 4}
    if all(abs(total - hours) > HOUR_TOLERANCE for hours in right):
        span = f"from {yard.clock.say(yard.hauled)} to the launch {yard.clock.say(launch)}"
        report.add("stay", "", f"accounts for {total:g} h, but {span} are {min(right):g} h")


def check_bound(yard: Yard, plan: Mapping[str, Any], launch: int | None, report: Report) -> None:
    """No launch is ruled out that the plan itself has, and a proved launch is the bound."""
    value = plan.get("no_earlier_than")
    if plan.get("proved") is not None and not isinstance(plan["proved"], bool):
        report.add("shape", "", f"has proved neither true nor false: {plan['proved']!r}")
    if value is None or launch is None:
        return
    bound = exact_line(value, yard.clock)
    if bound is None:
        report.add("shape", "", f"has no ISO 8601 time as no_earlier_than: {value!r}")
    elif bound > launch:
        report.add("bound", "", f"rules out a launch before {value}, but launches {yard.clock.say(launch)}")
    elif plan.get("proved") is True and bound != launch:
        report.add("bound", "", f"is called proved, but rules out only what is before {value}")


def _check_holder(yard: Yard, rows: Rows, name: str, held: Mapping[str, Any], report: Report) -> str | None:
    """The task that `name` is held by, if any and if it is in the plan."""
    if held.get("cause") not in CAUSES:
        report.add("path", name, f"is held by {held.get('cause')!r}, which is none of {', '.join(CAUSES)}")
    task, stage = held.get("task"), held.get("stage")
    if task is None:
        return None
    if not isinstance(task, str) or rows.get(task) is None:
        report.add("path", name, f"is held by {task!r}, which is no row of the plan")
        return None
    doing = yard.doings.get(task)
    if stage is not None and doing is not None and str(stage) not in _right_stages(yard, doing):
        report.add("path", name, f"is held by {task} reaching {stage!r}, which is no stage of it")
    return task


def check_path(yard: Yard, rows: Rows, report: Report) -> None:
    """The finish is on the path, and so is every row met on the way back from it along ``held_by``."""
    holders: dict[str, str | None] = {}
    for name, row in rows.items():
        held = row.raw.get("held_by") if row else None
        if isinstance(held, Mapping):
            holders[name] = _check_holder(yard, rows, name, held, report)
        elif held is not None:
            report.add("shape", name, f"has held_by that is no table: {held!r}")
    if not any(row and "on_path" in row.raw for row in rows.values()):
        return
    at: str | None = yard.job.job.finish
    seen: set[str] = set()
    while at is not None and (row := rows.get(at)) is not None:
        if at in seen:
            report.add("path", at, "is held by itself along held_by, so the path never gets back to its start")
            return
        seen.add(at)
        if row.raw.get("on_path") is not True:
            what = f"and its start {yard.clock.say(row.start)} set the launch, but it is not on_path"
            report.add("path", at, what)
        at = holders.get(at)


def check_slack(rows: Rows, report: Report) -> None:
    """Slack is a number of hours and never negative."""
    for name, row in rows.items():
        value = row.raw.get("slack_hours") if row else None
        if value is None:
            continue
        hours = _number(value)
        if hours is None or hours < 0:
            report.add("slack", name, f"has {value!r} hours of slack")
