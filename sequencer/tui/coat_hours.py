"""The hours of a few coats drawn cell by cell, and the clock above them."""

from __future__ import annotations

from sequencer.planning.plan import Plan
from sequencer.telling import day_name
from sequencer.tui.coat_table import Coat
from sequencer.tui.coats import coats_of
from sequencer.tui.drawing import Cells, Line
from sequencer.tui.marks import Signs, role_of
from sequencer.tui.text import cut

FINENESS = (1, 2, 4, 8, 16)
"""Slots a cell may cover."""
USUAL = 2
"""By the hour."""
FINE_WORDS = {
    1: "by the quarter hour",
    2: "by the half hour",
    4: "by the hour",
    8: "by two hours",
    16: "by four hours",
}
FIRST = ("shutting", "missed", "keying", "work", "dusty")
"""What shows in a cell whatever else is in it, in this order; of the rest, what lasts longest.

The last start comes before what is missed after it: it is what one looks for here.
"""


class CoatHours:
    """Draws spans of slots from `begin` on, `per` slots a cell, beside names of `names` cells."""

    def __init__(self, plan: Plan, begin: int, per: int, names: int, width: int, signs: Signs) -> None:
        self.plan, self.begin, self.per = plan, begin, per
        self.names, self.width, self.signs = names, width, signs
        self.room = max(1, width - names - 1)
        self._gone: dict[str, int] = {}

    @property
    def end(self) -> int:
        """The slot after the last cell."""
        return self.begin + self.room * self.per

    def clock(self, now: int) -> Line:
        """Days by name at midnight, 6, 12 and 18 between; now by its mark."""
        cells = Cells(self.width, "pencil")
        grid = self.plan.grid
        for day in range(grid.day_of(self.begin), grid.day_of(max(self.begin, self.end - 1)) + 1):
            self._put(cells, grid.at(day, 0), day_name(grid.date(day)), "ink bold")
            steps = (360, 720, 1080) if self.per <= 2 else (720,)
            for minutes in steps if self.per <= 8 else ():
                self._put(cells, grid.at(day, minutes), str(minutes // 60), "pencil")
        if self.begin <= now < self.end:
            cells.put(self._x(now), self.signs["now"], "ink bold")
        words = FINE_WORDS[self.per]
        if cells.free(self.width - len(words) - 1, self.width):
            cells.put(self.width - len(words), words, "pencil")
        return cells.line()

    def _put(self, cells: Cells, slot: int, text: str, role: str) -> None:
        x = self._x(slot)
        if slot >= self.begin and cells.free(x, x + len(text) + 1):
            cells.put(x, text, role)

    def _x(self, slot: int) -> int:
        return self.names + 1 + (slot - self.begin) // self.per

    def draw(self, coat: Coat, here: bool) -> Line:
        """One coat's hours. The one stood on is drawn as if left bare, to show what a missed window means."""
        cells = Cells(self.width)
        cells.put(0, self.signs["here"] if here else " ", "ink bold reverse" if here else None)
        cells.put(1, cut(coat.row.id, self.names - 1, self.signs.more), "ink bold" if here else "ink")
        last = -1
        for number in range(self.room):
            first = self.begin + number * self.per
            name = self._cell(coat, first, here)
            if name:
                cells.put(self.names + 1 + number, self.signs[name], role_of(name))
                last = number
            if not self._staffed(first):
                cells.tint(self.names + 1 + number, self.names + 2 + number, "dusk")
        self._tail(cells, coat, here, self.names + 2 + last)
        return cells.line()

    def _tail(self, cells: Cells, coat: Coat, here: bool, x: int) -> None:
        """A word after the last cell, where there is room."""
        if x <= self.names + 1:
            return
        if here and coat.window is not None:
            words = "if left bare"
        else:
            words = "then covered" if self._gone_of(coat) < self.plan.launch else "then afloat"
        if cells.free(x, x + len(words) + 1):
            cells.put(x + 1, words, "pencil")

    def _gone_of(self, coat: Coat) -> int:
        """When a coat no longer shows; asked for every cell."""
        if coat.row.id not in self._gone:
            self._gone[coat.row.id] = coats_of(self.plan).gone(coat.row)
        return self._gone[coat.row.id]

    def _staffed(self, first: int) -> bool:
        hands = self.plan.problem.tables.hands[max(0, first) : first + self.per]
        return bool(len(hands)) and bool((hands > 0).any())

    def _cell(self, coat: Coat, first: int, bare: bool) -> str:
        """The mark of one cell; empty where nothing shows."""
        found: dict[str, int] = {}
        for slot in range(first, first + self.per):
            name = self.state(coat, slot, bare)
            if name:
                found[name] = found.get(name, 0) + 1
        for name in FIRST:
            if name in found:
                return name
        return max(found, key=lambda name: found[name]) if found else ""

    def state(self, coat: Coat, slot: int, bare: bool) -> str:
        """The mark of a coat in one slot: before it is laid nothing, then its work, then how far it is."""
        row, window, coats = coat.row, coat.window, coats_of(self.plan)
        if slot < row.start or slot >= self.plan.problem.length:
            return ""
        if slot < row.end:
            worked = any(begin <= slot < end for begin, end in row.pieces) or not row.pieces
            return ("dusty" if row.dusty else "work") if worked else ""
        if slot >= self._gone_of(coat) and not (bare and window is not None and not window.keyed):
            return ""
        key = self.plan.rows.get(window.keyed) if window is not None else None
        if key is not None and any(begin <= slot < end for begin, end in key.pieces):
            return "keying"
        if window is None or key is not None or slot < window.opens:
            return coats.state(row, slot)
        if slot == window.last:
            return "shutting"
        return "open" if slot <= window.closes else "missed"
