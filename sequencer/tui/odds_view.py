"""How sure the date is, thought out: a tide rising date by date, cost, what sets the launch. No Textual here."""

from __future__ import annotations

from sequencer.odds import Odds
from sequencer.paper.odds_text import (
    Day,
    booking,
    date_name,
    in_hundred,
    money_words,
    other_dates,
    risk_words,
    setters,
    told_days,
    tries_words,
)
from sequencer.planning.plan import Plan
from sequencer.telling import money
from sequencer.tui.drawing import Line, line
from sequencer.tui.levers_view import NO_COST
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.scrolling import follow, more_words
from sequencer.tui.text import cut, pad, wrap

LEAST_DATES = 6
"""Dates shown however much there is to say below them."""

ROOMY = 30
"""Lines of a page from which on what sets the launch is a list, not a sentence."""

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
        head = [line(self._head(width), "ink bold")]
        head += [line(cut(self.signs.own(other_dates(self.odds)), width - 1, self.signs.more), "ink")]
        head += [self._columns(width)]
        room = max(3, min(len(self.days), height - len(head) - len(below)))
        self.top = follow(self.top, self.at, self.at + 1, room, len(self.days))
        self._lines = range(len(head), len(head) + min(room, len(self.days) - self.top))
        shown = range(self.top, min(len(self.days), self.top + room))
        # What is out of view is told in the empty line below.
        said = next((n for n, one in enumerate(below) if not one.plain), 0)
        below[said : said + 1] = [line(more_words(self.top, len(shown), len(self.days)), "pencil")]
        return [*head, *(self._day(number, width) for number in shown), *below][:height]

    def _nothing(self, width: int) -> list[Line]:
        trouble = self.model.answers.trouble
        if trouble is not None and self.model.answers.about is self.plan:
            said = [fault.sentence() for fault in trouble.faults]
            said.append("f names another file of past years, or none; u takes the last change back.")
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
        """What sets the launch, what is behind the doubt, money, where the weather is from; least last."""
        assert self.odds is not None
        assert self.plan is not None
        room = max(3, height - 3 - min(len(self.days), LEAST_DATES if height < ROOMY else 12))
        picture = self._setters() if height >= ROOMY else []
        words = [*money_words(self.odds, self.plan), f"{self.odds.weather}." if self.odds.weather else ""]
        words += [NO_COST] if self.plan.job.yard is None else []
        words = [risk_words(self.odds), *words, tries_words(self.odds, self._currency)]
        if height < ROOMY:
            words.insert(0, self._setters_in_words())
        told: list[Line] = []
        for said in words:
            parts = wrap(self.signs.own(said), width - 1, 3, self.signs.more) if said else []
            told += [line(part, "ink" if said == words[0] or height >= ROOMY else "pencil") for part in parts]
        return [*picture, line(), *told][:room]

    def _setters(self) -> list[Line]:
        assert self.odds is not None
        sets = setters(self.odds, 8)
        head = [line(), line("What sets the launch, of 100 tries", "ink bold")] if sets else []
        return [*head, *(line(f" {pad(name, 30, self.signs.more)}{share:>4}") for name, share in sets)]

    def _setters_in_words(self) -> str:
        assert self.odds is not None
        told = ", ".join(f"{name} {share}" for name, share in setters(self.odds, 3))
        return f"What sets the launch, of 100 tries: {told}." if told else ""
