"""The box of the day under the stay: what to do today and the days after, and what holds her."""

from __future__ import annotations

import datetime as dt

import numpy as np

from sequencer.planning.plan import Plan
from sequencer.telling import clock, day_name
from sequencer.tui.clocktext import now_slot, when
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.stay_reading import holding
from sequencer.tui.text import cut, pad, wrap
from sequencer.tui.todo import DaySheet

TWO_COLUMNS = 100
RIGHT_WIDTH = 52


def today_box(plan: Plan, model: Model, signs: Signs, width: int, height: int) -> list[Line]:
    """The box in `height` lines: two columns side by side on a wide screen, one above the other on a narrow one."""
    today = plan.grid.day_of(max(0, now_slot(plan, model.now)))
    if width < TWO_COLUMNS:
        left = _left(plan, signs, today, width, height)
        return (left + ([line(), *_right(plan, signs, width)] if len(left) + 3 < height else []))[:height]
    left = _left(plan, signs, today, width - RIGHT_WIDTH - 2, height)
    right = _right(plan, signs, RIGHT_WIDTH)
    return [
        _beside(a, b, width - RIGHT_WIDTH) for a, b in zip(_filled(left, height), _filled(right, height), strict=True)
    ][: max(len(left), len(right))]


def _filled(lines: list[Line], height: int) -> list[Line]:
    return (lines + [line() for _ in range(height)])[:height]


def _beside(left: Line, right: Line, width: int) -> Line:
    found = Line(list(left.runs))
    found.add(" " * max(1, width - left.width), "ink")
    found.runs.extend(right.runs)
    return found


def weather_words(plan: Plan, index: int) -> str:
    """``7 to 14 °C, dry`` for a day outside."""
    begin, end = plan.grid.day_start(index), plan.grid.day_start(index + 1)
    air = plan.problem.tables.outside
    if not air.known[begin:end].any():
        return "no weather known"
    low, high = (int(np.floor(f(air.temp_c[begin:end]) + 1e-6)) for f in (np.nanmin, np.nanmax))
    wet = np.flatnonzero(air.rain[begin:end])
    rain = "dry"
    if len(wet):
        first, last = plan.moment(begin + int(wet[0])), plan.moment(begin + int(wet[-1]) + 1)
        rain = f"rain {clock(first)}-{clock(last) if last.date() == first.date() else '24:00'}"
    return f"{low} to {high} °C, {rain}"


def _left(plan: Plan, signs: Signs, today: int, width: int, height: int) -> list[Line]:
    """Today's list, then the next days' in short."""
    sheet = DaySheet(plan, today)
    head = f"TODAY {day_name(sheet.date)}"
    lines = [line(pad(head, 32), "ink bold").add(signs.own(weather_words(plan, today)), "ink")]
    for todo in sheet.todo:
        text = f"{sheet.time(todo)} {pad(todo.title, 16, signs.more)} {pad(sheet.place_in(todo, 13), 13, signs.more)} "
        text += f"{pad(signs.own(todo.hands), 12, signs.more)} {sheet.says(todo)}"
        lines.append(line(cut(text, width, signs.more)))
        if todo.by and todo.shuts:
            lines.append(line(cut(f"      {todo.by}", width, signs.more), "bell bold"))
    if len(lines) == 1:
        lines.append(line("nothing to do today", "pencil"))
    for row, reason in sheet.leave[:1]:
        lines.append(line(cut(f"leave {row.id}: {signs.own(reason)}", width, signs.more), "pencil"))
    coming = range(today + 1, min(today + 4, plan.grid.day_of(plan.launch) + 1))
    lines += [_short(plan, signs, index, width) for index in coming]
    return lines[:height]


def _short(plan: Plan, signs: Signs, index: int, width: int) -> Line:
    """A day to come in one line: who works on what."""
    sheet = DaySheet(plan, index)
    names = [todo.title for todo in sheet.todo]
    hands = plan.problem.tables.hands[sheet.begin : sheet.end]
    said = ", ".join(names) if names else "nobody" if not hands.any() else "nothing"
    date: dt.date = sheet.date
    head = day_name(date).upper()
    return line(pad(head, 7), "ink bold").add(cut(said, width - 7, signs.more), "ink")


def _right(plan: Plan, signs: Signs, width: int) -> list[Line]:
    """What holds her, from the launch back: the longest waits of the rest of the path."""
    lines = [line("WHAT HOLDS HER", "ink bold")]
    ahead = [s for s in plan.steps if s.end > plan.now and s.cause not in ("work", "off-shift", "slot", "start")]
    longest = sorted(ahead, key=lambda s: s.begin - s.end)[:4]
    for step in sorted(longest, key=lambda s: -s.end):
        begins = when(plan.moment(step.begin), plan.moment(plan.now).date())
        text = f"{begins}: {holding(plan, step).removeprefix('holds her: ')}"
        lines += [line(part) for part in wrap(text, width, 2, signs.more)]
    return lines
