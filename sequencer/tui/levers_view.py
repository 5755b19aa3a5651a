"""What would buy a night, thought out: each help tried for real, ranked by what is kept. No Textual here."""

from __future__ import annotations

import math

from sequencer.levers import Trials, Tried
from sequencer.telling import column_clock, money
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.scrolling import follow, more_words
from sequencer.tui.text import owner_words, pad, width_of, wrap

TAIL = 13 + 7 + 8 + 7 + 7 + 8
"""Cells of launch, nights, nights at 8 in 10, saved, price and kept."""

NO_COST = "What a night costs is not told yet: space, then book, then yard."
"""Said where nothing can be counted in money."""


class LeversView:
    """The Levers page for one model. at: the lever stood on; top: the first shown."""

    def __init__(self, model: Model, at: int = 0, top: int = 0) -> None:
        self.model = model
        self.signs = Signs(model.ascii)
        self.trials: Trials | None = model.trials
        self.tried: list[Tried] = list(self.trials.tried) if self.trials is not None else []
        self.at, self.top = max(0, min(at, len(self.tried) - 1)), top
        self._lines = range(0)

    def follow(self, old: LeversView) -> None:
        """Stand on the lever stood on before, wherever it is now, as long as it is the same plan's."""
        if old.trials is None or self.trials is None or old.trials.before is not self.trials.before:
            return
        here = old.chosen.id if old.chosen is not None else ""
        self.at = next((n for n, tried in enumerate(self.tried) if tried.id == here), 0)
        self.top = old.top

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
        return [*lines, line(more_words(self.top, len(shown), len(self.tried)), "pencil"), *why][:height]

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
        names = f"{'launch':<13}{'nights':>7}{'8 in 10':>8}{'saved':>7}{'price':>7}{'kept':>8}"
        return line(pad(" tried for real, from now", width - TAIL - 1, self.signs.more) + names, "pencil")

    def _planned(self, width: int) -> Line:
        assert self.trials is not None
        before = self.trials.before
        drawn = line(pad(" as planned", width - TAIL - 1, self.signs.more)).add(
            f"{column_clock(before.launched, before.launched):<13}"
        )
        if before.job.yard is not None and len(self._sign) > 1:
            drawn.add(f"in {self._sign}".rjust(TAIL - 13), "pencil")
        return drawn

    @property
    def _sign(self) -> str:
        """What stands before an amount in the yard's currency; more than a letter has no room in the columns."""
        assert self.trials is not None
        yard = self.trials.before.job.yard
        return self.signs.own(money(0.0, yard.currency)).removesuffix("0").strip() if yard is not None else ""

    def _amount(self, amount: float, currency: str) -> str:
        told = self.signs.own(money(amount, currency))
        return told.removeprefix(self._sign).strip() if len(self._sign) > 1 else told

    def _one(self, number: int, width: int) -> Line:
        assert self.trials is not None
        tried, here = self.tried[number], number == self.at
        made = line(self.signs["here"] if here else " ", "ink bold reverse" if here else "ink")
        role = "ink bold" if here else "ink" if tried.nights > 0 else "pencil"
        made.add(pad(self._name(tried), width - TAIL - 3, self.signs.more) + " ", role)
        launch = column_clock(tried.launch, self.trials.before.launched)
        saved, price, kept = self._money(tried)
        figures = f"{tried.nights_words:>7}{self._late(tried):>8}{saved:>7}{price:>7}{kept:>8}"
        return made.add(f"{launch:<13}{figures}", role)

    def _name(self, tried: Tried) -> str:
        """What is tried, as this terminal can show it."""
        return self.signs.own(tried.name, owner_words(tried.before.job))

    def _late(self, tried: Tried) -> str:
        """Nights saved at 8 in 10; a mark while that is being asked."""
        if tried.late_nights is not None:
            return str(tried.late_nights)
        return self.signs.more if self.model.answers.asking == "levers" and tried.nights > 0 else ""

    def _money(self, tried: Tried) -> tuple[str, str, str]:
        """Saved, price and kept, rounded against oneself; ? where nobody has said a price."""
        assert self.trials is not None
        yard = self.trials.before.job.yard
        if yard is None:
            return "", "", ""
        saved = self._down(tried.saved or 0.0, yard.currency) if tried.nights else ""
        price = "?" if tried.price is None else self._amount(tried.price, yard.currency) if tried.price else "-"
        kept = "" if not tried.nights else "?" if tried.kept is None else self._down(tried.kept, yard.currency)
        return saved, price, kept

    def _down(self, amount: float, currency: str) -> str:
        sign = "-" if amount < 0 else ""
        whole = math.ceil(-amount - 1e-9) if amount < 0 else math.floor(amount + 1e-9)
        return sign + self._amount(float(whole), currency)

    def _price_words(self, tried: Tried) -> str:
        assert self.trials is not None
        if self.trials.before.job.yard is None:
            return ""
        return "e tells what it costs." if tried.price is None else "e changes what it costs."

    def _why(self, width: int) -> list[Line]:
        """Why the lever stood on does what it does, and what enter does."""
        assert self.trials is not None
        tried = self.chosen
        if tried is None:
            none = "Nothing was found to try: nothing that could be bought holds her."
            said = [(none, "ink"), (NO_COST if self.trials.before.job.yard is None else "", "pencil")]
            return [line(part, role) for words, role in said if words for part in wrap(words, width - 1, 3)]
        reason = tried.reason[:1].upper() + tried.reason[1:]
        name = self._name(tried)
        cut_off = width_of(name) > width - TAIL - 3
        said = [(f"{name[:1].upper()}{name[1:]}." if cut_off else "", "ink bold"), (f"{reason}.", "ink")]
        said.append((f"Mind: {tried.mind}." if tried.mind else "", "bell"))
        said.append((f"enter takes it into the job, u puts it back. {self._price_words(tried)}", "pencil"))
        if self.model.answers.trouble is not None:
            said += [(fault.sentence(), "bell") for fault in self.model.answers.trouble.faults[:2]]
        if self.trials.before.job.yard is None:
            said.append((NO_COST, "pencil"))
        if self.trials.left:
            said.append((f"Time was too short for {len(self.trials.left)} more.", "pencil"))
        made = []
        for words, role in said:
            made += [line(p, role) for p in wrap(self.signs.own(words), width - 1, 4, self.signs.more)] if words else []
        return made
