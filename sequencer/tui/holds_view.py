"""What holds her, thought out: sentences back from the launch, and the stay's hours as bars. No Textual here."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.planning.plan import Plan
from sequencer.telling import (
    LedgerLine,
    Sentence,
    break_text,
    day_clock,
    launch_sentences,
    ledger,
    ledger_head,
    ledger_total,
    split_of,
)
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.scrolling import follow
from sequencer.tui.text import pad, width_of, wrap

LEAST_SENTENCES = 9
"""Lines kept for the sentences when the ledger is long."""

BAR_ROLES = {"work": "hull", "cure": "resin", "weather": "water", "people": "ink", "gear": "ink", "": "pencil"}
NAME_CELLS = 19
HOURS_CELLS = 11
WRAPPED = 6
"""Lines a sentence may take; longer ones are cut."""


@dataclass(frozen=True)
class Entry:
    """One sentence as drawn: its lines, and the line of play above it."""

    number: int
    lines: tuple[Line, ...]


class HoldsView:
    """The Holds page for one model. at: the sentence marked; top: the first line of sentences shown."""

    def __init__(self, model: Model, at: int | None = None, top: int = 0) -> None:
        self.model = model
        self.signs = Signs(model.ascii)
        self.plan: Plan | None = model.plan
        self.sentences: list[Sentence] = launch_sentences(model.plan) if model.plan is not None else []
        self.at = self._start() if at is None or at >= len(self.sentences) else at
        self.top = top
        self._places: list[int] = []

    def _start(self) -> int:
        """The sentence to begin at: of the row marked elsewhere, or else where effort pays."""
        mine = [i for i, s in enumerate(self.sentences) if s.row == self.model.marked]
        if mine:
            waits = [i for i in mine if self.sentences[i].kind == "wait"]
            return (waits or mine)[0]
        return next((i for i, s in enumerate(self.sentences) if s.pays), 0)

    @property
    def row(self) -> str:
        """The row of the sentence marked; empty where there is none."""
        return self.sentences[self.at].row if self.sentences else ""

    def move(self, by: int) -> bool:
        """Mark another sentence; whether that changed anything."""
        to = max(0, min(len(self.sentences) - 1, self.at + by)) if self.sentences else 0
        moved, self.at = to != self.at, to
        return moved

    def at_line(self, y: int) -> int | None:
        """The sentence drawn in line `y` of the last drawing; None where there is none."""
        found = self._places[y] if 0 <= y < len(self._places) else -1
        return found if found >= 0 else None

    # -- drawing ----------------------------------------------------------------------------------------------

    def draw(self, width: int, height: int) -> list[Line]:
        """The page, `width` by `height` cells."""
        self._places = []
        if self.plan is None:
            return self._without_plan(width)
        head = self._head(width)
        books = self._ledger(width, max(0, height - len(head) - LEAST_SENTENCES - 1))
        room = max(1, height - len(head) - len(books) - (1 if books else 0))
        told = self._told(width, room)
        self._places = [-1] * len(head) + self._places
        return [*head, *told, *([line()] if books else []), *books]

    def _without_plan(self, width: int) -> list[Line]:
        model = self.model
        if model.trouble is not None:
            said = [fault.sentence() for fault in model.trouble.faults]
            lines = [line(f"{model.trouble.title}.", "bell bold"), line()]
            for sentence in said:
                lines += [line(part) for part in wrap(sentence, width - 1, WRAPPED, self.signs.more)]
            return lines
        if model.looking:
            return [line("Looking for the earliest launch."), line("What holds her is told as soon as there is one.")]
        return [
            line("Nothing holds her yet: there is no plan.", "ink bold"),
            line("Write down what is to be done on Tasks (t, then n)."),
        ]

    def _head(self, width: int) -> list[Line]:
        plan, model = self.plan, self.model
        assert plan is not None
        lines: list[Line] = []
        if model.trouble is not None:
            old = f"The last change has no plan: {model.trouble.faults[0].sentence()} Below is the plan before it."
            lines += [line(part, "bell bold") for part in wrap(old, width - 1, 3, self.signs.more)]
        launch = day_clock(plan.launched)
        if plan.proved:
            said = f"She launches {launch}, because"
        elif model.looking:
            said = f"Best so far {launch}, still looking, because"
        else:
            said = f"Best found {launch}; not ruled out {day_clock(plan.moment(plan.bound))}. Because"
        return [*lines, line(pad(said, width - 1, self.signs.more), "ink bold")]

    def _told(self, width: int, room: int) -> list[Line]:
        """The sentences that fit into `room` lines around the one marked."""
        lines: list[Line] = []
        places: list[int] = []
        first = last = 0
        for number, sentence in enumerate(self.sentences):
            made = self._sentence(number, sentence, width)
            if number == self.at:
                first, last = len(lines), len(lines) + len(made)
            lines += made
            places += [number] * len(made)
        if len(lines) <= room:
            self.top, self._places = 0, places
            return lines
        shown = max(1, room - 1)
        self.top = follow(self.top, first, last, shown, len(lines))
        end = self.top + shown
        self._places = places[self.top : end]
        hidden = len(self.sentences) - 1 - (places[end - 1] if end <= len(places) else 0)
        return [*lines[self.top : end], self._more(hidden, width)]

    def _more(self, hidden: int, width: int) -> Line:
        if hidden <= 0:
            return line()
        back = self.sentences[-1].row
        return line(pad(f"     {hidden} more, back to {back}", width - 1, self.signs.more), "pencil")

    def _sentence(self, number: int, sentence: Sentence, width: int) -> list[Line]:
        here = number == self.at
        digits = len(str(len(self.sentences)))
        hang = digits + 2
        role = "ink bold" if here else "pencil" if sentence.kind == "log" else "ink"
        made: list[Line] = []
        if sentence.slack_break is not None:
            made.append(self._break(sentence.slack_break, width, hang))
        for part, text in enumerate(wrap(self.signs.own(sentence.text), width - hang - 1, WRAPPED, self.signs.more)):
            start = f"{number + 1:>{digits}} " if part == 0 else " " * (digits + 1)
            mark = self.signs["here"] if here and part == 0 else " "
            made.append(line(mark, "ink bold reverse" if here and part == 0 else role).add(f"{start}{text}", role))
        for text, sub in self._under(number, sentence):
            parts = wrap(self.signs.own(text), width - hang - 1, WRAPPED, self.signs.more)
            made += [line(" " * hang + part, sub) for part in parts]
        return made

    def _under(self, number: int, sentence: Sentence) -> list[tuple[str, str]]:
        """What stands below a sentence: where effort pays, and for the one marked where its wait went."""
        under = []
        if sentence.pays:
            under.append(("Effort pays here: l tries what would help.", "gate bold"))
        if number == self.at and sentence.kind == "wait" and self.plan is not None:
            split = split_of(self.plan, self.plan.rows[sentence.row])
            # A single cause is in the sentence already.
            if "," in split:
                under.append((f"Of those, {split}.", "pencil"))
        return under

    def _break(self, slots: int, width: int, hang: int) -> Line:
        said = f" {break_text(slots)} "
        rule = self.signs["path"] if not self.signs.ascii else "-"
        side = max(2, (min(width, 72) - hang - width_of(said)) // 2)
        return line(" " * hang + rule * side + said + rule * side, "ink bold")

    # -- the ledger -------------------------------------------------------------------------------------------

    def _ledger(self, width: int, room: int) -> list[Line]:
        """The stay's hours by cause in at most `room` lines; they add up to the line below them."""
        plan = self.plan
        assert plan is not None
        if room < 3:
            return []
        books = fold(ledger(plan), room - 2)
        most = max((entry.slots for entry in books), default=1)
        space = max(1, width - NAME_CELLS - HOURS_CELLS - 3)
        head = line(pad(ledger_head(plan), width - 1, self.signs.more), "ink bold")
        lines = [head, *(self._bar(entry, most, space) for entry in books)]
        stay = _exact(plan.launch - plan.hauled)
        rest = ledger_total(plan).partition(", ")[2]
        last = f"{pad(' the stay', NAME_CELLS)}{stay:>{HOURS_CELLS}}  {self.signs.own(rest)}"
        return [*lines, line(pad(last, width - 1, self.signs.more), "ink bold")]

    def _bar(self, entry: LedgerLine, most: int, space: int) -> Line:
        length = max(1, round(entry.slots * space / max(1, most)))
        role = BAR_ROLES.get(entry.cause, "pencil")
        made = line(pad(f" {entry.name}", NAME_CELLS)).add(f"{_exact(entry.slots):>{HOURS_CELLS}}  ")
        return made.add(self.signs["work"] * length, role)


def _exact(slots: int) -> str:
    """Hours with two digits, so that a column adds up by eye."""
    return f"{slots / 4:.2f} h"


def fold(books: list[LedgerLine], room: int) -> list[LedgerLine]:
    """The ledger in at most `room` lines, the smallest put together, adding up as before."""
    if len(books) <= room or room < 1:
        return books
    kept, rest = books[: room - 1], books[room - 1 :]
    return [*kept, LedgerLine("", "the rest", sum(entry.slots for entry in rest))]
