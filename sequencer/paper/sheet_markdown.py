"""The sheet as Markdown (CommonMark, with task lists' boxes as plain text); the owner's words are escaped."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from sequencer.paper.sheet import Sheet, SheetTask

_MARKS = re.compile(r"([\\`*_{}\[\]#!|<>&~$@]|:(?=//)|(?<=www)\.)")
"""What means something anywhere in a line; any ASCII punctuation may be escaped (CommonMark 2.4)."""

_START = re.compile(r"^([-+=]|\d+(?=[.)]))")
"""What makes a list or a heading of a line it begins."""


def escaped(text: str) -> str:
    """`text` so that Markdown shows it letter for letter, on one line."""
    marked = _MARKS.sub(r"\\\1", " ".join(text.split()))
    return _START.sub(lambda m: f"\\{m[1]}" if m[1] in "-+=" else f"{m[1]}\\", marked)


def sheet_markdown(sheet: Sheet) -> str:
    """The sheet as one Markdown document."""
    who = f", for {escaped(sheet.person)}" if sheet.person else ""
    lines = [f"# {escaped(sheet.day)}{who}", ""]
    lines += [" · ".join(escaped(part) for part in (sheet.boat, sheet.title) if part), ""]
    lines += [f"**{escaped(sheet.headline)}**", ""]
    lines += [f"- Air: {escaped(sheet.sky)}", f"- Here: {escaped('; '.join(sheet.here) or 'nobody')}", ""]
    lines += ["## To do", ""] if sheet.tasks else ["## To do: nothing", ""]
    for task in sheet.tasks:
        lines += [*_task(task), ""]
    for title, told in _blocks(sheet):
        listed = [f"- {escaped(one)}" for one in told]
        lines += [f"## {title}", "", *listed, ""] if listed else []
    return "\n".join([*lines, f"*{escaped(sheet.closing)}*"]) + "\n"


def _task(task: SheetTask) -> Iterator[str]:
    yield f"### {task.number}\\. {task.times} {escaped(task.title)}{' (done)' if task.done else ''}"
    if task.done:
        return
    yield ""
    facts = (task.place, task.who, f"{task.hours} h", task.goes_on)
    yield f"- {escaped('; '.join(part for part in facts if part))}"
    if task.gear:
        yield f"- Gear: {escaped(', '.join(task.gear))}"
    if task.mix is not None:
        told = ". ".join(part for part in (task.mix.limits, task.mix.note) if part)
        yield f"- Mix: **{escaped(task.mix.name)}**{': ' if told else ''}{escaped(told)}"
    for check in task.checks:
        yield f"- [ ] {escaped(check)}"
    if task.by:
        yield f"- {'**' if task.shuts else ''}{escaped(task.by)}{'**' if task.shuts else ''}"
    if task.note:
        yield f"- {escaped(task.note)}"


def _blocks(sheet: Sheet) -> Iterator[tuple[str, Iterable[str]]]:
    yield "Keep off", sheet.keep_off
    yield "Opens and shuts today", [f"{event.clock} {event.said}" for event in sheet.windows]
    yield "Keep dry", sheet.dry
    yield "Leave", sheet.leave
    yield "Tomorrow", sheet.tomorrow
    yield "Mind", [one.said for one in sheet.cautions]
