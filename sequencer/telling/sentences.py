"""What holds the launch, told backwards: a sentence for each wait, each cure and each task on the path."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from sequencer.grid import PER_HOUR
from sequencer.job.links import DONE
from sequencer.planning.plan import Plan, Row
from sequencer.telling.causes import cause_name, main_cause, stage_words, waits_for
from sequencer.telling.figures import day_clock, hours_text, lasting, near_clock, span_clock
from sequencer.telling.waits import TELLERS, called, hours_of

BREAK_SLOTS = 24 * PER_HOUR
"""Play worth a line of its own: a day. Below that a wet morning eats it."""

TELLING_PAUSE = PER_HOUR + 1
"""Pauses longer than lunch are told."""


@dataclass(frozen=True)
class Sentence:
    """One sentence of the launch told backwards.

    row: the row it is about; what let a row go is told of the row before it. kind: ``wait``, ``release``,
    ``pause`` or ``log``. slack_break: slots of play that everything from here back has, where that changes; None
    where it goes on as before. pays: whether this is where effort pays, the wait that takes up the play.
    """

    row: str
    text: str
    slack_break: int | None = None
    kind: str = "release"
    pays: bool = False


def headline(plan: Plan) -> str:
    """``She launches Fri 23 Apr 09:00. Proved: nothing earlier is possible``."""
    launch = f"She launches {day_clock(plan.launched)}"
    if plan.proved:
        return f"{launch}. Proved: nothing earlier is possible"
    return f"{launch}, as found so far. Not ruled out: {day_clock(plan.moment(plan.bound))}"


def launch_sentences(plan: Plan) -> list[Sentence]:
    """What holds the launch, from the launch back to the haul-out; each follows from the one below it."""
    found: list[Sentence] = []
    play: int | None = None
    # What let a row go is told of the row before it, and stands with that row's own sentences.
    release: list[Sentence] = []
    for row in chain(plan):
        told = [*release, *_told(plan, row)]
        release = _release_of(plan, row)
        if told and not _logged(row):
            now_play = _run_play(plan, row)
            if (play is None and now_play) or (play is not None and (play == 0) != (now_play == 0)):
                told[0] = replace(told[0], slack_break=now_play or row.slack)
            play = now_play
        found += told
    return _marked(plan, found)


def chain(plan: Plan) -> Iterator[Row]:
    """The rows that set the launch, from the launch back."""
    name: str = plan.job.job.finish
    seen: set[str] = set()
    while name in plan.rows and name not in seen:
        seen.add(name)
        row = plan.rows[name]
        yield row
        name = row.held.task


def break_text(slots: int) -> str:
    """What stands in the line where the play changes."""
    if slots >= BREAK_SLOTS:
        return f"from here back, {hours_text(slots)} of play"
    return f"from here back, only {hours_text(slots)} of play"


def _logged(row: Row) -> bool:
    return row.finished or row.begun


def _run_play(plan: Plan, row: Row) -> int:
    """The least play of the stretch of the chain that begins at `row`, going back; 0 for less than a day."""
    least = 0
    for other in _from(plan, row):
        if _logged(other) or other.slack < BREAK_SLOTS:
            break
        least = min(least, other.slack) if least else other.slack
    return least


def _from(plan: Plan, row: Row) -> Iterator[Row]:
    going = False
    for other in chain(plan):
        going = going or other is row
        if going:
            yield other


def _marked(plan: Plan, found: list[Sentence]) -> list[Sentence]:
    """Mark where effort pays: of the waits above the first line of play (or of all), the longest."""
    breaks = [i for i, s in enumerate(found) if (s.slack_break or 0) >= BREAK_SLOTS and i > 0]
    above = range(breaks[0]) if breaks else range(len(found))
    waits = [i for i in above if _waited(plan, found[i])] or list(above[-1:])
    if waits:
        at = max(waits, key=lambda i: (_waited(plan, found[i]), i))
        found[at] = replace(found[at], pays=True)
    return found


def _waited(plan: Plan, sentence: Sentence) -> int:
    """Slots of a wait that someone could do something about."""
    if sentence.kind != "wait":
        return 0
    spans = plan.rows[sentence.row].held.spans
    return sum(slots for cause, slots in spans if cause not in ("off-shift", "cure"))


# -- one row -----------------------------------------------------------------------------


def _told(plan: Plan, row: Row) -> Iterator[Sentence]:
    """What a row did itself, the latest first: its pauses, what it waited for, or how it stands in the log."""
    if _logged(row):
        yield Sentence(row.id, _as_logged(plan, row), kind="log")
    else:
        pauses = _pauses(plan, row)
        if pauses:
            yield Sentence(row.id, pauses, kind="pause")
        if row.held.spans:
            is_launch = row.id == plan.job.job.finish
            yield Sentence(row.id, _launch(plan, row) if is_launch else _wait(plan, row), kind="wait")
    if row.held.task not in plan.rows:
        yield Sentence(row.id, _root(plan, row), kind="log" if _logged(row) else "release")


def _release_of(plan: Plan, row: Row) -> list[Sentence]:
    """What let a row go, told of the row before it; nothing for what stands in the log."""
    before = plan.rows.get(row.held.task)
    return [] if before is None or _logged(row) else [Sentence(before.id, _release(plan, row, before))]


def _launch(plan: Plan, row: Row) -> str:
    """Why the launch itself is no earlier."""
    near = plan.launched
    ready = near_clock(plan.moment(row.held.ready), near)
    before = plan.rows.get(row.held.task)
    was = f"{called(before)} was ready {ready}" if before is not None else f"she was ready {ready}"
    if row.held.cause == "slot":
        return f"the lift works {hours_of(row.task.slots)}, and {was}"
    what, why = waits_for(plan, row)
    return f"{row.id} waits for {what}: {why}; {was}"


def _wait(plan: Plan, row: Row) -> str:
    """What it waited for once what comes before it had let it go."""
    waited = hours_text(sum(slots for _, slots in row.held.spans))
    what, why = waits_for(plan, row)
    if main_cause(row)[0] == "cure":
        return f"{called(row)} is {why}, {waited}"
    if any(cause == "cure" for cause, _ in row.held.spans):
        back = TELLERS["cure"](plan, row, row.start)[1]
        return f"{called(row)} is {back}, then waits for {what}: {why}"
    return f"{called(row)} waits for {what}: {why}, {waited} in all"


def _release(plan: Plan, row: Row, before: Row) -> str:
    """What let a row go: a coat come to its stage, or work done."""
    near = plan.launched
    when = near_clock(plan.moment(row.held.ready), near)
    if row.held.stage not in ("", DONE):
        laid = row.held.ready - before.end
        return f"{before.id} {stage_words(row.held.stage)} {when}, {hours_text(laid)} after it is on"
    if before.task.wait is not None and not before.keys:
        passing = hours_text(before.end - before.start)
        return f"{called(row)} follows {before.id}: {passing} that just pass, over {when}"
    if before.keys:
        return f"{called(row)} comes after {called(before)}, whose window was missed: done {when}"
    return f"{called(row)} follows {before.id}, done {when}"


def _root(plan: Plan, row: Row) -> str:
    """Where the chain ends."""
    hauled = near_clock(plan.moment(plan.hauled), plan.launched)
    return f"nothing comes before {called(row)}: she was hauled {hauled}"


def _as_logged(plan: Plan, row: Row) -> str:
    """A row of the log."""
    near = plan.launched
    verb = "passed" if row.task.wait is not None else "was done" if row.finished else "is under way,"
    return f"{row.id} {verb} {span_clock(plan.moment(row.start), plan.moment(row.end), near)}"


def _pauses(plan: Plan, row: Row) -> str:
    """What stopped a row once begun, where more than a lunch hour went; empty where nothing did."""
    gone: dict[str, int] = {}
    for step in plan.steps:
        if step.row == row.id and step.begin >= row.start and step.end <= row.end and step.cause != "work":
            gone[step.cause] = gone.get(step.cause, 0) + step.end - step.begin
    if sum(gone.values()) < TELLING_PAUSE or row.task.wait is not None:
        return ""
    near = plan.launched
    why = ", ".join(f"{hours_text(slots)} {cause_name(cause)}" for cause, slots in gone.items())
    begun, done = near_clock(plan.moment(row.start), near), near_clock(plan.moment(row.end), near)
    return f"{called(row)} is {lasting(row.worked)} of work from {begun}, done {done}: {why} between"
