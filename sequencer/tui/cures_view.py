"""The tide table of coats, thought out: which, where the person stands, what the marked one asks. No Textual here."""

from __future__ import annotations

from sequencer.telling import day_clock, near_clock, stage_words, window_words
from sequencer.tui.clocktext import now_slot
from sequencer.tui.coat_hours import FINENESS, USUAL, CoatHours
from sequencer.tui.coat_table import Coat, CoatTable, coats_ahead
from sequencer.tui.coats import coats_of
from sequencer.tui.cures_now import now_lines
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.scrolling import follow
from sequencer.tui.text import pad, wrap

NAMES = 30
"""Cells a name beside the hours may take."""
TALL = 30
"""From this height on more coats are drawn by the hour."""
WRAPPED = 3
"""Lines a sentence may take."""


class CuresView:
    """The Cures page for one model. at: the coat stood on; shift: cells the hours are moved by."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.plan = model.plan
        self.signs = Signs(model.ascii)
        self.now = now_slot(model.plan, model.now) if model.plan is not None else 0
        self.coats: list[Coat] = coats_ahead(model.plan, self.now) if model.plan is not None else []
        self.top = 0
        self.shift = 0
        self.fine = USUAL
        self.at = self._start()
        self._table_lines = range(0)

    def follow(self, old: CuresView, answer: bool) -> None:
        """Stand where the person stood; answer: the model only answers their own move."""
        self.top, self.fine = old.top, old.fine
        marked = self.model.marked
        stays = answer or marked == old.model.marked or all(coat.row.id != marked for coat in self.coats)
        if stays and self.stand(old.row):
            self.shift = old.shift

    def _start(self) -> int:
        """The coat to begin at: the row marked elsewhere, or else the one whose window shuts next."""
        names = [coat.row.id for coat in self.coats]
        if self.model.marked in names:
            return names.index(self.model.marked)
        waiting = [
            (c.cells["last"], i) for i, c in enumerate(self.coats) if c.cells.get("last", self.now - 1) >= self.now
        ]
        return min(waiting)[1] if waiting else 0

    @property
    def row(self) -> str:
        """The coat stood on; empty where there is none."""
        return self.coats[self.at].row.id if self.coats else ""

    def stand(self, name: str) -> bool:
        """Stand on a coat by name; whether it is there."""
        at = next((i for i, coat in enumerate(self.coats) if coat.row.id == name), None)
        if at is not None:
            self.at = at
        return at is not None

    def move(self, by: int) -> bool:
        """Stand on another coat; whether that changed anything."""
        to = max(0, min(len(self.coats) - 1, self.at + by)) if self.coats else 0
        moved, self.at = to != self.at, to
        if moved:
            self.shift = 0
        return moved

    def hours(self, cells: int) -> None:
        """Move the hours drawn."""
        self.shift += cells

    def zoom(self, finer: int) -> None:
        """Finer or coarser hours."""
        self.fine = max(0, min(len(FINENESS) - 1, self.fine - finer))
        self.shift = 0

    def at_line(self, y: int) -> int | None:
        """The coat in line `y` of the table; None where there is none."""
        return self.top + y - self._table_lines.start if y in self._table_lines else None

    # -- drawing ----------------------------------------------------------------------------------------------

    def draw(self, width: int, height: int) -> list[Line]:
        """The page, `width` by `height` cells."""
        if self.plan is None or not self.coats:
            return self._nothing(width)
        told = self._told(width)
        drawn = self._drawn(7 if height >= TALL else 3, width)
        least = 3
        live = self._live(width, 6 if height >= TALL else 3)
        # The sentences give way before the table and the hours do.
        told = told[: max(2, height - least - len(drawn) - len(live) - 4)]
        table = max(least, height - len(told) - len(drawn) - len(live) - 4)
        table = min(table, len(self.coats))
        lines = self._table(width, table)
        lines += [*live, line(), *self._hours(width, drawn), line(), *told]
        return lines[:height]

    def _nothing(self, width: int) -> list[Line]:
        if self.plan is not None:
            return [
                line("Nothing cures, now or later.", "ink bold"),
                line("Coats are tasks with a material: Tasks (t) has them."),
            ]
        said = "Looking for the earliest launch." if self.model.looking else "There is no plan yet."
        return [line(pad(said, width - 1, self.signs.more), "ink bold")]

    def _table(self, width: int, room: int) -> list[Line]:
        assert self.plan is not None
        self.top = follow(self.top, self.at, self.at + 1, room, len(self.coats))
        self._table_lines = range(1, 1 + room)
        table = CoatTable(self.plan, self.now, width, self.signs)
        head = table.head()
        hidden = len(self.coats) - room
        if hidden > 0 and head.width + 2 <= width:
            above, below = self.top, hidden - self.top
            said = f"{above} above, {below} below"
            if head.width + len(said) <= width:
                head.add(said, "pencil")
        shown = range(self.top, self.top + room)
        return [head, *(table.draw(self.coats[at], at == self.at) for at in shown)]

    def _live(self, width: int, room: int) -> list[Line]:
        """What cures at this minute, under a line that says so."""
        if self.plan is None or self.model.now is None:
            return []
        found = now_lines(self.plan, self.model.now, width, room, self.signs)
        return [line(" curing now", "pencil bold"), *found] if found else []

    def _drawn(self, most: int, width: int) -> list[Coat]:
        """The coats drawn by the hour: the one stood on, what it lies on, what comes on it, then its neighbours."""
        here = self.coats[self.at]
        by_name = {coat.row.id: coat for coat in self.coats}
        assert self.plan is not None
        under = [by_name[link.task] for link in here.row.task.after if link.task in by_name]
        follow = coats_of(self.plan).after.get(here.row.id, [])
        over = [by_name[row.id] for row, _ in follow if row.id in by_name]
        begin = self.begin()
        end = begin + (width - NAMES) * FINENESS[self.fine]
        coats = coats_of(self.plan)
        shows = [coat for coat in self.coats if coat.row.start < end and coats.gone(coat.row) > begin]
        near = sorted(shows, key=lambda coat: abs(coat.row.start - here.row.start))
        chosen: list[Coat] = [here]
        for coat in [*over[:1], *under[:1], *over[1:], *under[1:], *(near if most > 3 else [])]:
            if coat not in chosen and len(chosen) < most:
                chosen.append(coat)
        return sorted(chosen, key=lambda coat: (coat.row.start, coat.row.id))

    def begin(self) -> int:
        """The first slot drawn: midnight before the coat is laid, or before now where it lies already."""
        assert self.plan is not None
        grid, row = self.plan.grid, self.coats[self.at].row
        moment = row.start if row.start >= self.now else max(row.start, min(self.now, row.end + 8 * 96))
        first = grid.day_start(grid.day_of(max(0, moment)))
        return max(0, first + self.shift * FINENESS[self.fine])

    def _hours(self, width: int, drawn: list[Coat]) -> list[Line]:
        assert self.plan is not None
        names = min(NAMES, max(8, max(len(coat.row.id) for coat in drawn) + 1), width // 4)
        picture = CoatHours(self.plan, self.begin(), FINENESS[self.fine], names, width, self.signs)
        here = self.coats[self.at]
        return [picture.clock(self.now), *(picture.draw(coat, coat is here) for coat in drawn)]

    def _told(self, width: int) -> list[Line]:
        """What the coat stood on asks: its windows in sentences, or what it waits for."""
        plan, coat = self.plan, self.coats[self.at]
        assert plan is not None
        said: list[tuple[str, str]] = []
        if coat.window is not None:
            words = window_words(plan, coat.window)
            said.append((words[0], "bell bold" if coat.bad else "ink"))
            said += [(text, "ink") for text in words[1:]]
        else:
            said.append((self._resting(coat), "ink"))
        others = self._others(coat)
        if others:
            said.append((others, "pencil"))
        lines = []
        for text, role in said:
            parts = wrap(self.signs.own(text), width - 1, WRAPPED, self.signs.more)
            lines += [line(part, role) for part in parts]
        return lines

    def _resting(self, coat: Coat) -> str:
        """A coat with no window to mind: how long to its next stage."""
        plan, row = self.plan, coat.row
        assert plan is not None
        ahead = sorted((slot, name) for name, slot in row.stages.items() if slot > max(self.now, row.end))
        if row.start > self.now:
            return f"{row.id} goes on {near_clock(plan.moment(row.start), plan.launched)}. Nothing on it has a window."
        if not ahead:
            return f"{row.id} has come to its last stage."
        slot, name = ahead[0]
        hours = -(-(slot - self.now) // 4)
        return f"{row.id} {stage_words(name)} in {hours} h, {day_clock(plan.moment(slot))}."

    def _others(self, coat: Coat) -> str:
        """What else waits for this coat."""
        plan = self.plan
        assert plan is not None
        follow = coats_of(plan).after.get(coat.row.id, [])
        after = coat.window.after if coat.window is not None else ""
        waiting = [
            f"{row.id} {near_clock(plan.moment(row.start), plan.launched)}"
            for row, _ in follow
            if row.id != after and row.start > self.now
        ]
        if not waiting:
            return ""
        return f"{'Also waiting' if after else 'Waiting'} for it: {', '.join(waiting)}."
