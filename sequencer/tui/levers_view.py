"""What would buy a night, thought out: each help tried for real, ranked by what is kept. No Textual here."""

from __future__ import annotations

import math

from sequencer.levers import Trials, Tried
from sequencer.telling import column_clock, money
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.scrolling import follow
from sequencer.tui.text import pad, wrap

TAIL = 14 + 7 + 8 + 7 + 8
"""Cells of launch, nights, saved, price and kept."""


class LeversView:
    """The Levers page for one model. at: the lever stood on; top: the first shown."""

    def __init__(self, model: Model, at: int = 0, top: int = 0) -> None:
        self.model = model
        self.signs = Signs(model.ascii)
        self.trials: Trials | None = model.trials
        self.tried: list[Tried] = list(self.trials.tried) if self.trials is not None else []
        self.at, self.top = max(0, min(at, len(self.tried) - 1)), top
        self._lines = range(0)

    @property
    def chosen(self) -> Tried | None:
        """The lever stood on."""
        return self.tried[self.at] if self.tried else None

    @property
    def row(self) -> str:
        """Levers are no rows of the plan."""
        return ""

    def move(self, by: int) -> bool:
        """Stand on another lever; whether there is one."""
        to = max(0, min(len(self.tried) - 1, self.at + by)) if self.tried else 0
        moved, self.at = to != self.at, to
        return moved

    def at_line(self, y: int) -> int | None:
        """The lever drawn on a line."""
        return self.top + y - self._lines.start if y in self._lines else None

    # -- drawing ----------------------------------------------------------------------------------------------

    def draw(self, width: int, height: int) -> list[Line]:
        """The page, `width` by `height` cells."""
        self._lines = range(0)
        if self.trials is None:
            return self._nothing(width)
        why = self._why(width)
        head = [self._columns(width), self._planned(width)]
        room = max(3, height - len(head) - len(why) - 1)
        self.top = follow(self.top, self.at, self.at + 1, room, len(self.tried))
        shown = range(self.top, min(len(self.tried), self.top + room))
        self._lines = range(len(head), len(head) + len(shown))
        lines = [*head, *(self._one(number, width) for number in shown)]
        return [*lines, line(), *why][:height]

    def _nothing(self, width: int) -> list[Line]:
        answers = self.model.answers
        if answers.trouble is not None and answers.about is self.model.plan:
            said = [fault.sentence() for fault in answers.trouble.faults]
        elif self.model.plan is None:
            said = ["There is no plan yet."]
        else:
            done, of = answers.tried
            so_far = f" {done} of {of} so far." if of else ""
            said = [f"Trying for real what may buy a night: tents, heat, hands, days, moulds…{so_far}"]
        return [line(part) for words in said for part in wrap(self.signs.own(words), width - 1, 4, self.signs.more)]

    def _columns(self, width: int) -> Line:
        names = f"{'launch':<14}{'nights':>7}{'saved':>8}{'price':>7}{'kept':>8}"
        return line(pad(" tried for real, from now", width - TAIL - 1) + names, "pencil")

    def _planned(self, width: int) -> Line:
        assert self.trials is not None
        before = self.trials.before
        return line(pad(" as planned", width - TAIL - 1)).add(column_clock(before.launched, before.launched))

    def _one(self, number: int, width: int) -> Line:
        assert self.trials is not None
        tried, here = self.tried[number], number == self.at
        made = line(self.signs["here"] if here else " ", "ink bold reverse" if here else "ink")
        role = "ink bold" if here else "ink" if tried.nights > 0 else "pencil"
        made.add(pad(tried.name, width - TAIL - 3, self.signs.more) + " ", role)
        launch = column_clock(tried.launch, self.trials.before.launched)
        saved, price, kept = self._money(tried)
        return made.add(f"{launch:<14}{tried.nights:>7}{saved:>8}{price:>7}{kept:>8}", role)

    def _money(self, tried: Tried) -> tuple[str, str, str]:
        """Saved, price and kept, rounded against oneself; ? where nobody has said a price."""
        assert self.trials is not None
        yard = self.trials.before.job.yard
        if yard is None:
            return "", "", ""
        saved = self._down(tried.saved or 0.0, yard.currency) if tried.nights else ""
        price = "?" if tried.price is None else money(tried.price, yard.currency) if tried.price else "-"
        kept = "" if not tried.nights else "?" if tried.kept is None else self._down(tried.kept, yard.currency)
        return saved, self.signs.own(price), kept

    def _down(self, amount: float, currency: str) -> str:
        sign = "-" if amount < 0 else ""
        return sign + self.signs.own(money(float(math.floor(abs(amount) + 1e-9)), currency))

    def _why(self, width: int) -> list[Line]:
        """Why the lever stood on does what it does, and what enter does."""
        assert self.trials is not None
        tried = self.chosen
        if tried is None:
            return [line("Nothing was found to try: nothing that could be bought holds her.")]
        reason = tried.reason[:1].upper() + tried.reason[1:]
        said = [(f"{reason}.", "ink"), (f"Mind: {tried.mind}." if tried.mind else "", "bell")]
        said.append(("enter takes it into the job and shows what moves; u puts it back.", "pencil"))
        if self.trials.left:
            said.append((f"Time was too short for {len(self.trials.left)} more.", "pencil"))
        made = []
        for words, role in said:
            made += [line(p, role) for p in wrap(self.signs.own(words), width - 1, 4, self.signs.more)] if words else []
        return made
