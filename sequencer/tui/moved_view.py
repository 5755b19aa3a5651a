"""What the last change did, thought out: the launch before and after, what slid, what came forward. No Textual here."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from sequencer.grid import PER_HOUR
from sequencer.job.record import Noted
from sequencer.moved import (
    Move,
    Moved,
    cause_sentences,
    compare,
    missed_sentences,
    row_names,
    today_sentences,
    window_sentences,
)
from sequencer.planning.plan import Plan
from sequencer.telling import clock, column_clock, day_clock, duration, money
from sequencer.telling.figures import MONTHS
from sequencer.tui.clocktext import day_time
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.notice import trouble_lines
from sequencer.tui.scrolling import follow
from sequencer.tui.text import cut, owner_words, pad, wrap

KIND_CELLS, NAME_CELLS, WHEN_CELLS, BY_CELLS = 11, 26, 14, 9
LONG_SLOTS = 72 * PER_HOUR
"""From here on a move is told in days."""


@dataclass(frozen=True)
class Entry:
    """A line one can stand on: its row of the plan (empty: none) and how it is drawn."""

    row: str
    drawn: tuple[Line, ...]


class MovedView:
    """The Moved page for one model. at: the entry stood on; top: the first line shown."""

    def __init__(self, model: Model, at: int = 0, top: int = 0) -> None:
        self.model = model
        self.signs = Signs(model.ascii)
        self.turn = model.turn
        self.at, self.top = at, top
        self.moved: Moved | None = None
        before, after = self.turn.before, model.plan
        if before is not None and after is not None and after is not before and model.trouble is None:
            self.moved = compare(before, after)
        self._entries: list[Entry] = []
        self._places: list[int] = []

    @property
    def row(self) -> str:
        """The row of the entry stood on; empty for none."""
        return self._entries[self.at].row if self.at < len(self._entries) else ""

    def move(self, by: int) -> bool:
        """Stand on another entry; whether there is one."""
        to = max(0, min(len(self._entries) - 1, self.at + by)) if self._entries else 0
        moved, self.at = to != self.at, to
        return moved

    def at_line(self, y: int) -> int | None:
        """The entry drawn on a line."""
        found = self._places[y] if 0 <= y < len(self._places) else -1
        return found if found >= 0 else None

    # -- drawing ----------------------------------------------------------------------------------------------

    def draw(self, width: int, height: int) -> list[Line]:
        """The page, `width` by `height` cells."""
        head = self._head(width)
        self._entries = self._all(width)
        self.at = max(0, min(self.at, len(self._entries) - 1))
        foot = self._foot(width)
        room = max(1, height - len(head) - len(foot))
        lines: list[Line] = []
        places: list[int] = []
        first, last = 0, 1
        for number, entry in enumerate(self._entries):
            if number == self.at:
                first, last = len(lines), len(lines) + len(entry.drawn)
            lines += self._marked(entry) if number == self.at else entry.drawn
            places += [number] * len(entry.drawn)
        self.top = follow(self.top, first, last, room, len(lines)) if len(lines) > room else 0
        self._places = [-1] * len(head) + places[self.top : self.top + room]
        return [*head, *lines[self.top : self.top + room], *foot]

    def _marked(self, entry: Entry) -> list[Line]:
        """An entry with the mark of where one stands."""
        first = entry.drawn[0]
        text = first.plain
        return [line(self.signs["here"], "ink bold reverse").add(text[1:], "ink bold"), *entry.drawn[1:]]

    def _head(self, width: int) -> list[Line]:
        turn, model = self.turn, self.model
        if not turn.words and model.trouble is not None:
            return trouble_lines(model.trouble, width - 1, self.signs)
        if not turn.words:
            said = "Nothing was changed yet since this was opened. What happens is jotted with j, from any page."
            return [*[line(part, "ink bold") for part in wrap(said, width - 1, 3, self.signs.more)], line()]
        lines = [line(part, "ink bold") for part in wrap(self._plain(turn.words), width - 1, 3, self.signs.more)]
        lines.append(line())
        if model.trouble is not None:
            for fault in model.trouble.faults[:4]:
                lines += [line(part, "bell bold") for part in wrap(fault.sentence(), width - 1, 4, self.signs.more)]
            lines += [line("The change is saved. The plan below the strip is the one before it."), line()]
        elif self.moved is not None:
            lines += [*self._launch(self.moved, width), line()]
        elif model.looking:
            lines += [line(self.signs.own("Looking for the new launch…"), "resin"), line()]
        return lines

    def _launch(self, moved: Moved, width: int) -> list[Line]:
        """The launch before, an arrow, the launch after, and what it costs."""
        was, now = day_clock(moved.before.launch), day_clock(moved.after.launch)
        if not moved.by:
            drawn = line(" launch     ").add(now, "ink bold").add("   stays")
        else:
            rule = "-" * 9 + ">" if self.signs.ascii else "─" * 9 + "►"
            drawn = line(" launch     ").add(was, "pencil").add(f"  {rule}  ", "water").add(now, "ink bold")
        bad = moved.by > 0
        if moved.nights:
            nights = abs(moved.nights)
            drawn.add(f"   {moved.nights:+d} night{'' if nights == 1 else 's'}", "bell bold" if bad else "gate bold")
        more = ""
        if moved.cost:
            more = f"{'+' if moved.cost > 0 else '-'}{money(abs(moved.cost), moved.after.currency)}"
        if more and drawn.width + len(more) + 3 <= width:
            drawn.add(f"   {self.signs.own(more)}", "bell bold" if bad else "gate bold")
            more = ""
        lines = [drawn]
        if more:
            lines.append(line(f" {'cost':<10} {self.signs.own(more)}", "ink bold"))
        return lines

    def _all(self, width: int) -> list[Entry]:
        """Windows and today first, then what slid and came forward, why, and what was done before."""
        found: list[Entry] = []
        moved, plan = self.moved, self.model.plan
        if moved is not None and plan is not None:
            found += [self._said(f"{self.signs['missed']} {t}", width, "bell bold") for t in missed_sentences(moved)]
            found += [self._said(text, width) for text in self._sentences(moved)]
            room = max(0, (width - KIND_CELLS - 2 * WHEN_CELLS - 9) - NAME_CELLS)
            names = NAME_CELLS + min(room, 14)
            if moved.slid or moved.forward:
                # With the line above, so that nobody comes to stand on it.
                above = found.pop() if found else Entry("", ())
                found.append(Entry(above.row, (*above.drawn, self._columns(names))))
            found += [self._move("slid", move, plan, names) for move in moved.slid]
            found += [self._move("forward", move, plan, names) for move in moved.forward]
            if not found:
                found.append(self._said("Nothing else moves.", width))
        journal = list(reversed(self.turn.done))
        if self.turn.words:
            journal = journal[1:] if journal and not journal[0].undone else journal
        if journal:
            found.append(Entry("", (line(), line(" done before", "pencil bold"))) if found else self._title())
            found += [self._note(note, width) for note in journal]
        return found

    def _title(self) -> Entry:
        return Entry("", (line(" what was done", "pencil bold"),))

    def _sentences(self, moved: Moved) -> list[str]:
        """What neither the head nor the columns show, but for what is missed."""
        said = [*cause_sentences(moved), *window_sentences(moved), *today_sentences(moved), *row_names(moved)]
        return said + self._unlinked(moved.new_rows)

    def _unlinked(self, new: tuple[str, ...]) -> list[str]:
        """New tasks that begin at once because nobody said what they wait for."""
        tasks = self.model.job.tasks if self.model.job is not None else {}
        free = [name for name in new if name in tasks and not tasks[name].after]
        if not free:
            return []
        many = len(free) > 1
        card = "their cards" if many else "its card"
        verb = "come" if many else "comes"
        return [f"{', '.join(free)} {verb} after nothing: if there is something to wait for, put it on {card}."]

    def _said(self, text: str, width: int, role: str = "ink") -> Entry:
        parts = wrap(self.signs.own(text), width - 2, 4, self.signs.more)
        return Entry(self._named(text), tuple(line(f" {part}", role) for part in parts))

    def _named(self, text: str) -> str:
        """The task a sentence begins with."""
        plan = self.model.plan
        name = text.removeprefix("Why: ").removeprefix(f"{self.signs['missed']} ").partition(" ")[0].rstrip(":,.")
        return name if plan is not None and name in plan.rows else ""

    def _columns(self, names: int) -> Line:
        """The heads over what slid and came forward."""
        head = line(f" {'':<10}{pad('task', names)}", "pencil")
        return head.add(f"{pad('was', WHEN_CELLS)}{pad('now', WHEN_CELLS)}{'by h:min':>{BY_CELLS}}", "pencil")

    def _move(self, kind: str, move: Move, plan: Plan, names: int) -> Entry:
        was, now = _both(move.before, move.after, plan.launched)
        mark = self.signs["holds"] if move.on_path else " "
        end = "ends " if move.what == "end" else ""
        drawn = line(f" {kind:<8}").add(mark, "ink bold").add(" ")
        drawn.add(pad(f"{end}{move.row}", names, self.signs.more))
        drawn.add(pad(was, WHEN_CELLS), "pencil")
        drawn.add(pad(now, WHEN_CELLS), "ink bold" if move.on_path else "ink")
        drawn.add(f"{_apart(move.by):>{BY_CELLS}}", "bell" if move.by > 0 else "gate")
        return Entry(move.row, (drawn,))

    def _plain(self, text: str) -> str:
        """Words of a change, the owner's among them, as this terminal can show them."""
        return self.signs.own(text, owner_words(self.model.job) if self.model.job is not None else "")

    def _note(self, note: Noted, width: int) -> Entry:
        words = f" {day_time(note.time)}  {note.words}" + (" (undone)" if note.undone else "")
        return Entry(
            "", (line(cut(self._plain(words), width - 1, self.signs.more), "pencil" if note.undone else "ink"),)
        )

    def _foot(self, width: int) -> list[Line]:
        turn = self.turn
        said = []
        if turn.undo:
            said.append(f"u takes back: {turn.undo}")
        if turn.redo:
            said.append(f"r does again: {turn.redo}")
        return [line(cut(self._plain(f" {words}"), width - 1, self.signs.more), "pencil") for words in said]


def _both(was: dt.datetime, now: dt.datetime, near: dt.date) -> tuple[str, str]:
    """Two moments in one form: both by the weekday, or both with the month."""
    told = column_clock(was, near), column_clock(now, near)
    if told[0][0].isdigit() == told[1][0].isdigit():
        return told
    return f"{was.day} {MONTHS[was.month - 1]} {clock(was)}", f"{now.day} {MONTHS[now.month - 1]} {clock(now)}"


def _apart(by: int) -> str:
    """How far it moved: ``26:30``; from three days on ``4 d 23 h``, hours rounded against the owner."""
    if abs(by) < LONG_SLOTS:
        return duration(by)
    hours = -(-by // PER_HOUR) if by > 0 else -by // PER_HOUR
    days, rest = divmod(hours, 24)
    return f"{'-' if by < 0 else ''}{days} d" + (f" {rest} h" if rest else "")
