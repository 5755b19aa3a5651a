"""The plan as tables: CSV for spreadsheets (RFC 4180), Markdown for reading (CommonMark with GFM tables)."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterable, Iterator, Sequence

from sequencer.errors import one_line
from sequencer.paper.sheet_markdown import escaped
from sequencer.planning.plan import Plan, Row, hours
from sequencer.telling import cause_name, day_clock, due_text, headline, hours_text, money, windows
from sequencer.telling.figures import clock

COLUMNS = (
    "id",
    "title",
    "place",
    "part",
    "start",
    "end",
    "work_hours",
    "hands",
    "who",
    "gear",
    "material",
    "after",
    "slack_hours",
    "on_path",
    "held_by",
    "state",
)
"""Columns of the CSV table; moments are the yard's clock as ``2027-04-12 10:00``, hours numbers."""

WORK = ("When", "Task", "Where", "Hands", "Of what", "Play", "Held by", "Sets the launch")

RUNS = "=+-@\t\r＝＋－＠"
"""What a spreadsheet takes for the beginning of a formula, wide letters among them (OWASP, "CSV Injection")."""

CLOSING = "Your data sheets, the yard's rules, local codes and licensed trades have the last word."


def plan_csv(plan: Plan) -> str:
    """The plan as CSV, a line a task or keying, by start; numbers stay numbers, no text is taken for a formula."""
    out = io.StringIO(newline="")
    table = csv.writer(out)
    table.writerow(COLUMNS)
    for row in plan.rows.values():
        table.writerow([_safe(cell) for cell in _cells(plan, row)])
    return out.getvalue()


def _cells(plan: Plan, row: Row) -> Iterator[str | float]:
    task = row.task
    wait = task.wait is not None and not row.keys
    yield row.id
    yield row.title
    yield plan.job.zones[row.zone].name if row.zone else ""
    yield task.part
    yield _moment(plan.moment(row.start))
    yield _moment(plan.moment(row.end))
    yield 0.0 if wait else hours(row.worked + sum(end - begin for begin, end in row.past))
    yield row.hands
    yield "" if row.keys else ", ".join(plan.job.people[name].name for name in task.who)
    yield "" if row.keys else ", ".join(plan.job.gears[use.id].name for use in task.gear)
    yield _material(plan, row)
    yield ", ".join(str(link) for link in task.after) if not row.keys else row.keys
    yield hours(row.slack)
    yield "yes" if row.on_path else "no"
    yield "" if row.finished or row.begun else cause_name(row.held.cause)
    yield "done" if row.finished else "begun" if row.begun else "planned"


def _safe(cell: str | float) -> str | float:
    """Text of one line; what a spreadsheet would run has an apostrophe before it. Whole numbers without a point."""
    if isinstance(cell, str):
        text = one_line(cell, 1000)
        return f"'{text}" if text.lstrip()[:1] in RUNS and text.strip() else text
    return int(cell) if cell == int(cell) else cell


def _moment(moment: dt.datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}"


def _material(plan: Plan, row: Row) -> str:
    return plan.job.materials[row.task.material].name if row.task.material and not row.keys else ""


def plan_markdown(plan: Plan) -> str:
    """The plan as one Markdown document: headline, the tasks, the windows ahead, deliveries."""
    job = plan.job.job
    lines = [f"# {escaped(one_line(', '.join(part for part in (job.title, job.boat) if part), 120))}", ""]
    lines += [f"**{escaped(headline(plan))}.**", "", escaped(_stay(plan)), ""]
    lines += ["## Work", "", *_table(WORK, _work(plan))]
    ahead = list(_windows(plan))
    if ahead:
        lines += ["", "## Windows that shut", "", *_table(("Last start", "Task", "On", "Open from", "Shut"), ahead)]
    if plan.job.delivery:
        lines += ["", "## Deliveries", "", *_table(("Due", "What", "For"), _deliveries(plan))]
    return "\n".join([*lines, "", f"*{escaped(CLOSING)}*"]) + "\n"


def _stay(plan: Plan) -> str:
    nights = f"{plan.nights} night{'s' if plan.nights != 1 else ''} on the stands"
    yard = plan.job.yard
    cost = f", {money(plan.cost, yard.currency)}" if plan.cost is not None and yard is not None else ""
    return f"{nights}{cost}, planned from {day_clock(plan.moment(plan.now))}."


def _table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    body = [f"| {' | '.join(escaped(one_line(cell, 300)) for cell in row)} |" for row in rows]
    return [f"| {' | '.join(headings)} |", f"|{'---|' * len(headings)}", *body]


def _work(plan: Plan) -> Iterator[Sequence[str]]:
    for row in plan.rows.values():
        name = f"{row.title} (done)" if row.finished else row.title
        yield (
            _span(plan.moment(row.start), plan.moment(row.end)),
            name,
            plan.job.zones[row.zone].name if row.zone else "",
            str(row.hands),
            _material(plan, row),
            "" if row.finished or row.begun else hours_text(row.slack),
            "" if row.finished or row.begun else cause_name(row.held.cause),
            "yes" if row.on_path else "",
        )


def _span(begin: dt.datetime, end: dt.datetime) -> str:
    return (
        f"{day_clock(begin)}-{clock(end)}" if begin.date() == end.date() else f"{day_clock(begin)} to {day_clock(end)}"
    )


def _windows(plan: Plan) -> Iterator[Sequence[str]]:
    for window in windows(plan):
        if window.begun:
            continue
        last = day_clock(plan.moment(window.last)) if window.last >= 0 else "no start fits"
        opens, closes = day_clock(plan.moment(window.opens)), day_clock(plan.moment(window.closes))
        yield "missed, key it" if window.keyed else last, window.after, window.before, opens, closes


def _deliveries(plan: Plan) -> Iterator[Sequence[str]]:
    for delivery in plan.job.delivery:
        wanted = [task.id for task in plan.job.task if task.delivery == delivery.id]
        yield due_text(plan, delivery.id), delivery.name, ", ".join(wanted)
