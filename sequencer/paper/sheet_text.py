"""The sheet as plain text, for a phone and a printer: narrow, no colour, a box to tick before each check."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sequencer.paper.lines import cells, folded
from sequencer.paper.sheet import Sheet, SheetTask

IN = "    "
NARROWEST = 24
"""Below this nothing fits; a smaller width is taken as this."""


def sheet_text(sheet: Sheet, width: int = 60) -> str:
    """The sheet in lines of at most `width` cells (24 at least), ending in a line feed."""
    width = max(NARROWEST, width)
    lines = [*_head(sheet, width), ""]
    lines += _block("TO DO" if sheet.tasks else "TO DO: nothing", (), width)
    for task in sheet.tasks:
        lines += _task(task, width)
    lines += _block("KEEP OFF", sheet.keep_off, width)
    lines += _block("TODAY", (f"{event.clock} {event.said}" for event in sheet.windows), width)
    lines += _block("KEEP DRY", sheet.dry, width)
    lines += _block("LEAVE", sheet.leave, width)
    lines += _block("TOMORROW", sheet.tomorrow, width)
    lines += _block("MIND", (one.said for one in sheet.cautions), width)
    lines += ["", *folded(sheet.closing, width)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _head(sheet: Sheet, width: int) -> Iterator[str]:
    lead = f"{sheet.day}, for {sheet.person}" if sheet.person else sheet.day
    room = width - cells(sheet.boat)
    if sheet.boat and cells(lead) + 2 <= room:
        yield lead + " " * (room - cells(lead)) + sheet.boat
    else:
        yield from folded(lead, width)
        yield from folded(sheet.boat, width) if sheet.boat else ()
    yield from folded(sheet.title, width)
    yield from folded(sheet.headline, width)
    yield from folded(f"Air {sheet.sky}", width, later=IN)
    yield from folded(f"Here {'; '.join(sheet.here) or 'nobody'}", width, later=IN)


def _block(title: str, told: Iterable[str], width: int) -> Iterator[str]:
    """A heading and its lines; nothing where there are no lines, unless the heading is for what follows."""
    listed = list(told)
    if not listed and not title.startswith("TO DO"):
        return
    if not title.startswith("TO DO"):
        yield ""
    yield title
    for one in listed:
        yield from folded(one, width, "- ", "  ")


def _task(task: SheetTask, width: int) -> Iterator[str]:
    lead = f"{task.number:>2}  "
    yield ""
    yield from folded(f"{task.times}: {task.title}" + (" (done)" if task.done else ""), width, lead, IN)
    if task.done:
        return
    facts = (task.place, task.who, f"{task.hours} h", task.goes_on)
    yield from folded("; ".join(part for part in facts if part), width, IN, IN)
    if task.gear:
        yield from folded(f"gear: {', '.join(task.gear)}", width, IN, f"{IN}  ")
    if task.mix is not None:
        limits = f": {task.mix.limits}" if task.mix.limits else ""
        yield from folded(f"mix: {task.mix.name}{limits}", width, IN, f"{IN}  ")
        if task.mix.note:
            yield from folded(task.mix.note, width, f"{IN}  ", f"{IN}  ")
    for check in task.checks:
        yield from folded(check, width, f"{IN}[ ] ", f"{IN}    ")
    if task.by:
        yield from folded(task.by, width, f"{IN}{'!' if task.shuts else ' '} ", f"{IN}  ")
    if task.note:
        yield from folded(task.note, width, IN, IN)
