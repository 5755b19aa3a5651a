"""A plan as plain text: the launch and what it costs, then what holds it, then the days."""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Iterator

from sequencer.errors import one_line
from sequencer.planning.plan import Plan, Row
from sequencer.telling import (
    clock,
    count_hands,
    day_clock,
    headline,
    launch_sentences,
    money,
    near_clock,
    next_last_start,
)
from sequencer.telling.figures import MONTHS, WEEKDAYS, lasting

CLOSING = "Your own data sheet, the yard's rules and local codes have the last word."


def text_plan(plan: Plan, width: int = 96) -> str:
    """The plan to read: headline, money, the next window to mind, what holds her, and day by day what is done."""
    lines = [*_head(plan), "", *_holds(plan), ""]
    for date, rows in _days(plan):
        lines += [_day_title(plan, date), *(line for row in rows for line in _row_lines(plan, row, date)), ""]
    lines.append(CLOSING)
    return "\n".join(wrapped for line in lines for wrapped in _wrap(line, width)) + "\n"


def _wrap(line: str, width: int) -> list[str]:
    """A line broken at spaces to `width`, what follows set in under its last column; no word is lost."""
    if len(line) <= width:
        return [line]
    indent = 44 if line.startswith((" " * 40, "* ")) or line[2:4].isdigit() else len(line) - len(line.lstrip()) + 2
    return textwrap.wrap(line, width, subsequent_indent=" " * indent, break_on_hyphens=False) or [""]


def _head(plan: Plan) -> Iterator[str]:
    job = plan.job.job
    yield ", ".join(one_line(part, 60) for part in (job.title, job.boat) if part)
    yield f"{headline(plan)}."
    nights = f"{plan.nights} night{'s' if plan.nights != 1 else ''} on the stands"
    yard = plan.job.yard
    if plan.cost is not None and yard is not None:
        nights += f", {money(plan.cost, yard.currency)}"
    yield f"{nights}, planned from {day_clock(plan.moment(plan.now))}."
    window = next_last_start(plan, plan.now)
    if window is not None:
        by = near_clock(plan.moment(window.last), plan.moment(plan.now).date())
        yield f"Next to mind: {window.after} on by {by}, or {window.before} must be keyed."
    if plan.missed:
        yield f"Windows missed: {', '.join(f'{row.keys} for {row.task.id}' for row in plan.missed)}; each is keyed."


def _holds(plan: Plan) -> Iterator[str]:
    yield "What holds her, from the launch back:"
    said = launch_sentences(plan)
    for sentence in said[:6]:
        yield f"  {one_line(sentence.text, 200)}"
    if len(said) > 6:
        yield f"  and {len(said) - 6} more, back to the haul-out."


def _days(plan: Plan) -> Iterator[tuple[dt.date, list[Row]]]:
    """Each date from now on with rows that are worked, waited for or launched on it."""
    by_date: dict[dt.date, list[Row]] = {}
    for row in plan.rows.values():
        if row.finished:
            continue
        spans = row.pieces or ((row.start, row.start + 1),)
        for date in sorted({plan.moment(begin).date() for begin, _ in spans}):
            by_date.setdefault(date, []).append(row)
    for date in sorted(by_date):
        yield date, sorted(by_date[date], key=lambda row: (row.start, row.id))


def _day_title(plan: Plan, date: dt.date) -> str:
    return f"{WEEKDAYS[date.weekday()]} {date.day} {MONTHS[date.month - 1]} {date.year}"


def _row_lines(plan: Plan, row: Row, date: dt.date) -> Iterator[str]:
    spans = [(b, e) for b, e in row.pieces if plan.moment(b).date() == date]
    times = ", ".join(f"{clock(plan.moment(b))}-{clock(plan.moment(e))}" for b, e in spans)
    if not spans:
        times = f"{clock(plan.moment(row.start))} on" if row.end > row.start else clock(plan.moment(row.start))
    mark = "*" if row.on_path else " "
    facts = [one_line(row.title, 60)]
    if row.zone:
        facts.append(row.zone)
    if row.task.wait is not None and not row.keys:
        facts.append(f"{lasting(row.end - row.start)} pass, till {near_clock(plan.moment(row.end), date)}")
    else:
        facts.append(count_hands(row.hands) if row.hands else "no hands")
    yield f"{mark} {times:<24} {row.id:<14} {', '.join(facts)}"
    if row.end in {e for _, e in spans}:
        stages = [f"{name} {near_clock(plan.moment(slot), date)}" for name, slot in _coming(row)]
        if stages:
            yield f"{'':28}{'':14} {'; '.join(stages)}"


def _coming(row: Row) -> list[tuple[str, int]]:
    """The stages of a row, soonest first, with the closing of its windows."""
    told = list(row.stages.items()) + [(f"{name} closes", slot) for name, slot in row.closes.items()]
    return sorted(told, key=lambda pair: pair[1])
