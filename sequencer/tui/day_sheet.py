"""The sheet of a day as lines: to do, to leave, tonight. Each knows which row of the sheet it belongs to."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.text import cut, pad, width_of, wrap
from sequencer.tui.todo import DaySheet, Todo

WIDE = 100
NAME, PLACE, HANDS = 12, 12, 10
INDENT = "    "
NAME_WIDE, PLACE_WIDE, HANDS_WIDE = 18, 18, 16


@dataclass(frozen=True)
class Entry:
    """One line of the sheet; item: the row of the sheet it belongs to, -1 for headings."""

    line: Line
    item: int = -1


def sheet_lines(sheet: DaySheet, signs: Signs, width: int, here: int, notes: bool) -> list[Entry]:
    """The sheet's lines for a width. here: the item one stands on, -1 for none. notes: the owner's notes too."""
    todo = sheet.todo
    entries = [Entry(line("TO DO" if todo else "TO DO   nothing", "ink bold"))]
    for item, one in enumerate(todo):
        drawn = _todo_lines(sheet, one, item, signs, width, item == here)
        if notes and one.row.task.note and not one.row.finished and not one.row.keys:
            parts = wrap(one.row.task.note, width - len(INDENT) - 7, 2, signs.more)
            leads = ["note   ", "       "]
            drawn += [line(f"{INDENT}{lead}{part}", "pencil") for lead, part in zip(leads, parts, strict=False)]
        entries += [Entry(one_line, item) for one_line in drawn]
    for number, (row, why) in enumerate(sheet.leave):
        item = len(todo) + number
        left = line("LEAVE  " if number == 0 else "       ", "ink bold")
        left.add(signs["here"] if item == here else " ", "ink bold")
        entries.append(Entry(left.add(cut(f"{row.id}: {signs.own(why)}", width - 8, signs.more)), item))
    for number, said in enumerate(sheet.tonight):
        lead = "TONIGHT " if number == 0 else "        "
        entries.append(Entry(line(lead, "ink bold").add(cut(signs.own(said), width - 8, signs.more))))
    return entries


def _todo_lines(sheet: DaySheet, todo: Todo, item: int, signs: Signs, width: int, here: bool) -> list[Line]:
    """One thing to do: when, what, where, who, how long, of what; the check; by when."""
    wide = width >= WIDE
    name, place, hands = (NAME_WIDE, PLACE_WIDE, HANDS_WIDE) if wide else (NAME, PLACE, HANDS)
    done = todo.row.finished
    role = "pencil" if done else "ink"
    first = line(signs["here"] if here else " ", "ink bold")
    first.add(f"{item + 1:>2} {sheet.time(todo)}  ", role)
    first.add(pad(todo.title, name, signs.more) + " ", f"{role} bold{' reverse' if here else ''}")
    where = pad(sheet.place_in(todo, place), place, signs.more)
    rest = f"{where} {pad(signs.own(todo.hands), hands, signs.more)} {sheet.says(todo)}"
    title = todo.row.task.title if not todo.row.keys else ""
    about = "done" if done else todo.material
    tail = ", ".join(part for part in (title, about) if part) if wide else about or title
    first.add(cut(f"{rest}  {tail}", width - first.width, signs.more), role)
    return [first, *_more_lines(todo, signs, width)]


def _more_lines(todo: Todo, signs: Signs, width: int) -> list[Line]:
    """The check and the last start, on one line where both fit."""
    lead = f"{INDENT}check  "
    lines: list[Line] = []
    said = signs.own(todo.check)
    # A window far from shutting is told only where there is room for it.
    by = f"{signs['shutting']} {todo.by}" if todo.shuts else todo.by if width >= WIDE else ""
    role = "bell bold" if todo.shuts else "ink"
    if said and by:
        for room in (max(width_of(said), 40), width_of(said)):
            if len(lead) + room + 2 + width_of(by) <= width:
                return [line(f"{lead}{pad(said, room)}  ").add(by, role)]
    if said:
        parts = wrap(said, width - len(lead), 2, signs.more)
        lines += [line(f"{' ' * len(lead) if n else lead}{part}") for n, part in enumerate(parts)]
    if by:
        lines += [line(f"{INDENT}{part}", role) for part in wrap(by, width - len(INDENT), 2, signs.more)]
    return lines
