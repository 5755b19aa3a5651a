"""Why a lever helps, or why it does not: one sentence without a full stop."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from sequencer.job import Crew
from sequencer.levers.lever import Lever
from sequencer.levers.people import called as name_of
from sequencer.moved import compare
from sequencer.planning.plan import Plan, Row
from sequencer.telling import called, hours_text, launch_sentences, near_clock, stage_words, waits_for
from sequencer.telling.causes import main_cause
from sequencer.telling.sentences import chain


class Hold(NamedTuple):
    """What holds a launch where effort pays: the sentence of the Holds page, the row, what it waits for."""

    said: str
    row: Row
    awaits: str
    people: frozenset[str]


class Why:
    """Tells it of levers tried on one job. before: the best plan known without any."""

    def __init__(self, before: Plan) -> None:
        self.before = before
        self.hold = hold_of(before)

    def reason(self, levers: tuple[Lever, ...], plan: Plan) -> str:
        """Of one lever, or of some together, and the plan they gave."""
        before = self.before
        if plan.launch > before.launch:
            why = compare(before, plan).why
            return f"it costs time: {why}" if why else "it costs time"
        if plan.launch == before.launch:
            lead = "nothing" if plan.proved else "nothing found, though not ruled out"
            return f"{lead}: {self._nothing(levers, plan)}"
        gained = self._gained(levers, plan)
        if plan.nights < before.nights:
            return gained
        return f"no night, only {hours_text(before.launch - plan.launch)} sooner: {gained}"

    # -- where it gains --------------------------------------------------------------------------------------

    def _gained(self, levers: tuple[Lever, ...], plan: Plan) -> str:
        """What each lever does first, then the row that gains most by it."""
        firsts = {row.id: row for lever in levers if (row := self._first(lever, plan)) is not None}
        rows = sorted(firsts.values(), key=lambda row: plan.rows[row.id].start)
        told = " and ".join(self._moved(row, plan) for row in rows)
        turn = self._turn(plan)
        if turn is None or turn.id in firsts:
            return told or "she is ready sooner"
        if not rows:
            return self._moved(turn, plan)
        # What came sooner before the lever did anything is no consequence of it.
        later = plan.rows[turn.id].start >= plan.rows[rows[0].id].start
        return f"{told}, so {self._moved(turn, plan)}" if later else told

    def _first(self, lever: Lever, plan: Plan) -> Row | None:
        """The first row that a lever bears on and that comes sooner, of those that set either launch."""
        on_path = {row.id for way in (self.before, plan) for row in way.rows.values() if row.on_path}
        touched = self._touched(lever, plan)
        for name, row in plan.rows.items():
            old = self.before.rows.get(name)
            if old is not None and name in on_path and not row.finished and touched(row) and _gain(old, row) > 0:
                return old
        return None

    def _touched(self, lever: Lever, plan: Plan) -> Callable[[Row], bool]:
        """Whether a row has to do with a lever: work in hours that are new, or what it is about."""
        if lever.kind in ("day", "weekends", "longer", "coats"):
            new, old = plan.problem.tables.hands, self.before.problem.tables.hands
            return lambda row: any(bool((new[b:e] > old[b:e]).any()) for b, e in row.pieces)
        return lambda row: bool(_ids(row, self.before) & lever.about)

    def _turn(self, plan: Plan) -> Row | None:
        """The row of the old path that gains most on the one before it."""
        best: Row | None = None
        most = gain = 0
        for row in reversed(list(chain(self.before))):
            new = plan.rows.get(row.id)
            if new is None or row.finished or row.id == self.before.job.job.finish:
                continue
            mine = _gain(row, new)
            if mine - gain > most:
                most, best = mine - gain, row
            gain = mine
        return best

    def _moved(self, row: Row, plan: Plan) -> str:
        """``fit-pod starts Sun 18 09:00, not Wed 21 09:00, when Wil is here``."""
        new = plan.rows[row.id]
        if row.begun or new.start >= row.start:
            return f"{called(row)} is done {self._when(plan, new.end)}, not {self._when(self.before, row.end)}"
        if row.id == self.before.job.job.finish:
            return f"she goes in {self._when(plan, new.start)}, not {self._when(self.before, row.start)}"
        at, was = self._when(plan, new.start), self._when(self.before, row.start)
        return f"{called(row)} starts {at}, not {was}{self._because(row)}"

    def _when(self, plan: Plan, slot: int) -> str:
        return near_clock(plan.moment(slot), self.before.launched)

    def _because(self, row: Row) -> str:
        """What it waits for without the lever."""
        if row.held.spans and main_cause(row)[0] != "off-shift":
            return f" (it waited for {_awaits(self.before, row)[0]})"
        if row.held.cause == "cure" and row.held.task:
            return f" ({row.held.task} {stage_words(row.held.stage)} later without it)"
        return ""

    # -- where it gains nothing ------------------------------------------------------------------------------

    def _nothing(self, levers: tuple[Lever, ...], plan: Plan) -> str:
        """What holds the launch, and that it is not what the lever is against."""
        if self.hold is None:
            return "it saves no hour of what holds her"
        row, what = self.hold.row, self.hold.awaits
        who = "she" if row.id == self.before.job.job.finish else called(row)
        people = {person for lever in levers for person, _ in lever.days}
        dates = [date for lever in levers for _, date in lever.days]
        ready = self.before.moment(row.held.ready)
        if dates and max(dates) < ready.date():
            return f"{who} waits for {what}, and is not ready before {self._when(self.before, row.held.ready)}"
        same = people & self.hold.people if self.hold.people else main_cause(row)[0] in levers[0].causes
        if not same:
            return f"{who} waits for {what}, not for {' or '.join(dict.fromkeys(v.against for v in levers))}"
        still = hold_of(plan)
        return f"even so {still.said}" if still is not None else f"{who} waits for {what} all the same"


def hold_of(plan: Plan) -> Hold | None:
    """What holds a launch where effort pays; None where nothing on its path waits."""
    said = next((s for s in launch_sentences(plan) if s.pays and s.kind == "wait"), None)
    if said is None:
        return None
    row = plan.rows[said.row]
    return Hold(said.text, row, *_awaits(plan, row))


def _awaits(plan: Plan, row: Row) -> tuple[str, frozenset[str]]:
    """What a row waits for, and the people by whom it is if it is people: ``Wil``, or ``two pairs of hands``."""
    missing = list(_missing(plan, row)) if main_cause(row)[0] == "people" and not row.keys else []
    if missing:
        return " and ".join(map(name_of, missing)), frozenset(p.id for p in missing)
    return waits_for(plan, row)[0], frozenset()


def _missing(plan: Plan, row: Row) -> Iterator[Crew]:
    """Whom a row names who is not there in most of the hours it waits for people."""
    short: list[int] = []
    at = row.start - sum(slots for _, slots in row.held.spans)
    for cause, slots in row.held.spans:
        short += range(at, at + slots) if cause == "people" else ()
        at += slots
    for name in row.task.who:
        there = plan.problem.tables.shifts[name][short]
        if 2 * int(there.sum()) < len(short):
            yield plan.job.people[name]


def _gain(old: Row, new: Row) -> int:
    """Slots a row comes sooner: its start, or its end where that is all that moves."""
    return old.end - new.end if old.begun or new.start >= old.start else old.start - new.start


def _ids(row: Row, before: Plan) -> set[str | None]:
    """All that a row has to do with, by the job as it is: a place may be another with the lever."""
    task = before.job.tasks[row.task.id]
    return {task.zone, row.id, task.delivery, task.material, *(use.id for use in task.gear)}
