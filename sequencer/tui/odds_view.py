"""How sure the date is, thought out: a tide rising date by date, cost, what sets the launch. No Textual here."""

from __future__ import annotations

from sequencer.odds import Odds
from sequencer.paper.odds_text import (
    Day,
    booking,
    date_name,
    in_hundred,
    money_words,
    risk_words,
    setters,
    told_days,
    tries_words,
)
from sequencer.planning.plan import Plan
from sequencer.telling import money
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.scrolling import follow
from sequencer.tui.text import cut, pad, wrap

TAIL = 32
"""Cells of the table beside the tide."""
NAME = 11


class OddsView:
    """The Odds page for one model. at: the date stood on; top: the first shown."""

    def __init__(self, model: Model, at: int | None = None, top: int = 0) -> None:
        self.model = model
        self.signs = Signs(model.ascii)
        self.plan: Plan | None = model.plan
        self.odds: Odds | None = model.odds
        self.days: list[Day] = told_days(self.odds) if self.odds is not None else []
        self.at = self._start() if at is None else max(0, min(at, len(self.days) - 1))
        self.top = top
        self._lines = range(0)

    def _start(self) -> int:
        """The date for 8 in 10."""
        return next((n for n, day in enumerate(self.days) if day.by >= 0.8), 0)

    @property
    def row(self) -> str:
        """The task that sets the launch most often: what enter opens."""
        told = setters(self.odds, 1) if self.odds is not None else []
        return told[0][0] if told else ""

    def move(self, by: int) -> bool:
        """Stand on another date; whether there is one."""
        to = max(0, min(len(self.days) - 1, self.at + by)) if self.days else 0
        moved, self.at = to != self.at, to
        return moved

    def at_line(self, y: int) -> int | None:
        """The date drawn on a line."""
        return self.top + y - self._lines.start if y in self._lines else None

    # -- drawing ----------------------------------------------------------------------------------------------

    def draw(self, width: int, height: int) -> list[Line]:
        """The page, `width` by `height` cells."""
        self._lines = range(0)
        if self.plan is None or self.odds is None or not self.odds.runs:
            return self._nothing(width)
        below = self._below(width, height)
        head = [line(self._head(width), "ink bold"), self._columns(width)]
        room = max(3, min(len(self.days), height - len(head) - len(below)))
        self.top = follow(self.top, self.at, self.at + 1, room, len(self.days))
        self._lines = range(len(head), len(head) + min(room, len(self.days) - self.top))
        shown = range(self.top, min(len(self.days), self.top + room))
        return [*head, *(self._day(number, width) for number in shown), *below][:height]

    def _nothing(self, width: int) -> list[Line]:
        trouble = self.model.answers.trouble
        if trouble is not None and self.model.answers.about is self.plan:
            said = [fault.sentence() for fault in trouble.faults]
        elif self.plan is None:
            said = ["There is no plan yet."]
        else:
            said = ["Trying how it may go: weather, hours, deliveries, many times over…"]
        return [line(part) for words in said for part in wrap(self.signs.own(words), width - 1, 4, self.signs.more)]

    def _head(self, width: int) -> str:
        assert self.odds is not None
        more = "" if self.model.answers.odds_over else f"  {self.odds.runs} of {self.odds.wanted} tries so far"
        return cut(f"{booking(self.odds)}{more}", width - 1, self.signs.more)

    def _columns(self, width: int) -> Line:
        bar = self._bar_cells(width)
        return line(f"{pad('  afloat by', NAME + bar + 2)}{'by then':<13}{'nights':>6}{'cost':>10}", "pencil")

    def _bar_cells(self, width: int) -> int:
        return max(4, min(60, width - TAIL - NAME - 3))

    def _day(self, number: int, width: int) -> Line:
        assert self.plan is not None
        day, here = self.days[number], number == self.at
        bar = self._bar_cells(width)
        full = round(bar * day.before)
        more = max(0, round(bar * day.by) - full)
        made = line(self.signs["here"] if here else " ", "ink bold reverse" if here else "ink")
        role = "ink bold" if here else "ink"
        made.add(pad(date_name(day.date, self.plan.launched), NAME), role)
        made.add(self.signs["afloat"] * full, "water").add(self.signs["work"] * more, "water bold")
        made.add(" " * (bar - full - more + 2))
        cost = money(day.cost, self._currency) if day.cost is not None else ""
        chance = f"{in_hundred(day.by):>3} in 100"
        return made.add(f"{chance:<13}{day.nights:>6}{self.signs.own(cost):>10}", role)

    @property
    def _currency(self) -> str:
        assert self.plan is not None
        return self.plan.job.yard.currency if self.plan.job.yard is not None else ""

    def _below(self, width: int, height: int) -> list[Line]:
        """Money, tries, what sets the launch, what is behind the doubt; least last where there is no room."""
        assert self.odds is not None
        assert self.plan is not None
        room = max(3, height - 2 - min(len(self.days), 9))
        told: list[Line] = []
        words = [risk_words(self.odds), *money_words(self.odds, self.plan), tries_words(self.odds, self._currency)]
        for number, said in enumerate(words):
            parts = wrap(self.signs.own(said), width - 1, 3, self.signs.more) if said else []
            told += [line(part, "ink" if number == 0 else "pencil") for part in parts]
        sets = setters(self.odds, 3 if height < 30 else 8)
        picture = [line("What sets the launch, of 100 tries", "ink bold")] if sets else []
        picture += [line(f" {pad(name, 30, self.signs.more)}{share:>4}") for name, share in sets]
        return [line(), *picture, line(), *told][:room]
