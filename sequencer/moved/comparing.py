"""Two plans side by side: what a change of the job did to the launch, the money, the windows and today.

Moments are the yard's time, each by its own plan; spans are quarter hours of true elapsed time.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from sequencer.grid import PER_HOUR, SLOT_SECONDS, UTC
from sequencer.planning.plan import Plan, Row
from sequencer.telling import called, cause_name, hours_text, near_clock, why_row, windows
from sequencer.telling.causes import main_cause

TIGHT_SLOTS = 24 * PER_HOUR
"""A window is tight when the last start is no more than a day after the planned one: a wet day closes it."""


@dataclass(frozen=True)
class Side:
    """One of the two plans in short. cost: in the yard's currency, None without a yard. bound: not ruled out."""

    launch: dt.datetime
    nights: int
    cost: float | None
    currency: str
    proved: bool
    bound: dt.datetime


@dataclass(frozen=True)
class Move:
    """One row that moved. what: ``start``, or ``end`` where only its end did, or where it had begun.

    by: slots, above zero when it slid, below when it came forward. on_path: sets the launch of the new plan.
    """

    row: str
    what: str
    before: dt.datetime
    after: dt.datetime
    by: int
    on_path: bool


@dataclass(frozen=True)
class Miss:
    """A window the new plan misses and the old one met: coat `before`, task `after`, keyed by row `key`.

    work: slots of keying, for one pair of hands. start: when it is keyed.
    """

    before: str
    after: str
    key: str
    work: int
    dusty: bool
    start: dt.datetime


@dataclass(frozen=True)
class Tight:
    """A window with a day or less to spare. planned, last: the planned and the last start; spare: slots between."""

    before: str
    after: str
    planned: dt.datetime
    last: dt.datetime
    spare: int


@dataclass(frozen=True)
class Today:
    """A task that is no longer today's, or has become so. start: when it is planned now, None where it is gone."""

    row: str
    start: dt.datetime | None


@dataclass(frozen=True)
class Moved:
    """What a change did. Rows of finished tasks and the launch's own row are in no list; lists in time's order.

    new_rows, gone_rows: tasks that only one of the plans has. gone_keyings: keyings no longer needed.
    tight: windows now tight that were not so before, or not as they are now. off_today, onto_today: by the local
    date of the new plan's now. why: one line without a full stop; empty where nothing moved.
    """

    before: Side
    after: Side
    slid: tuple[Move, ...]
    forward: tuple[Move, ...]
    new_rows: tuple[str, ...]
    gone_rows: tuple[str, ...]
    missed: tuple[Miss, ...]
    gone_keyings: tuple[str, ...]
    tight: tuple[Tight, ...]
    off_today: tuple[Today, ...]
    onto_today: tuple[Today, ...]
    why: str

    @property
    def by(self) -> int:
        """Slots the launch moved; above zero is later."""
        return _between(self.before.launch, self.after.launch)

    @property
    def nights(self) -> int:
        """Nights more on the stands; below zero: fewer."""
        return self.after.nights - self.before.nights

    @property
    def cost(self) -> float | None:
        """What the stay costs more; None where either has no cost, or they are in two currencies."""
        if self.before.cost is None or self.after.cost is None or self.before.currency != self.after.currency:
            return None
        return self.after.cost - self.before.cost

    @property
    def missed_work(self) -> int:
        """Slots of keying that the newly missed windows cost."""
        return sum(miss.work for miss in self.missed)

    @property
    def nothing(self) -> bool:
        """Whether the change moved nothing at all."""
        lists = (self.slid, self.forward, self.new_rows, self.gone_rows, self.missed, self.gone_keyings, self.tight)
        return not self.by and not self.cost and not any(lists)


def compare(before: Plan, after: Plan) -> Moved:
    """What changed from `before` to `after`, two plans of one stay. Never raises, whatever the jobs share."""
    moves = list(_moves(before, after))
    tasks = [{name for name, row in plan.rows.items() if not row.keys} for plan in (before, after)]
    keyed = {row.id for row in before.missed}
    return Moved(
        before=_side(before),
        after=_side(after),
        slid=tuple(move for move in moves if move.by > 0),
        forward=tuple(move for move in moves if move.by < 0),
        new_rows=tuple(name for name in after.rows if name in tasks[1] - tasks[0]),
        gone_rows=tuple(name for name in before.rows if name in tasks[0] - tasks[1]),
        missed=tuple(_misses(after, keyed)),
        # A keying that is done, or whose task has begun, was not saved by the change.
        gone_keyings=tuple(r.id for r in before.missed if r.id not in after.rows and _waiting(after, r.task.id)),
        tight=tuple(_tights(before, after)),
        off_today=tuple(_off_today(before, after)),
        onto_today=tuple(_onto_today(before, after)),
        why=_why(before, after, moves),
    )


def _side(plan: Plan) -> Side:
    currency = plan.job.yard.currency if plan.job.yard is not None else ""
    return Side(plan.launched, plan.nights, plan.cost, currency, plan.proved, plan.moment(plan.bound))


def _between(begin: dt.datetime, end: dt.datetime) -> int:
    """Slots from one moment to another, in true time: the clock may have changed between them."""
    return round((end.astimezone(UTC) - begin.astimezone(UTC)).total_seconds() / SLOT_SECONDS)


def _waiting(plan: Plan, name: str) -> bool:
    """Whether the plan has this row and it has not begun."""
    row = plan.rows.get(name)
    return row is not None and not row.begun and not row.finished


def _moves(before: Plan, after: Plan) -> Iterator[Move]:
    """Every row of both plans that moved and is not finished, in the order of its start in the new one."""
    for name, row in after.rows.items():
        old = before.rows.get(name)
        if old is None or row.finished or name == after.job.job.finish:
            continue
        starts, ends = ((before.moment(b), after.moment(a)) for b, a in ((old.start, row.start), (old.end, row.end)))
        # A start that is past is a fact of the log; what still moves is the end.
        if not row.begun and (by := _between(*starts)):
            yield Move(name, "start", *starts, by, row.on_path)
        elif by := _between(*ends):
            yield Move(name, "end", *ends, by, row.on_path)


def _misses(after: Plan, keyed: set[str]) -> Iterator[Miss]:
    for window in windows(after):
        if window.keyed and window.keyed not in keyed and not window.begun:
            key = after.rows[window.keyed]
            yield Miss(window.before, window.after, key.id, key.worked, key.dusty, after.moment(key.start))


def _tight_of(plan: Plan) -> Iterator[Tight]:
    for window in windows(plan):
        start = plan.rows[window.after].start
        if window.begun or window.keyed or window.last < 0 or not 0 <= window.last - start <= TIGHT_SLOTS:
            continue
        planned, last = plan.moment(start), plan.moment(window.last)
        yield Tight(window.before, window.after, planned, last, window.last - start)


def _tights(before: Plan, after: Plan) -> Iterator[Tight]:
    known = set(_tight_of(before))
    return (tight for tight in _tight_of(after) if tight not in known)


def _off_today(before: Plan, after: Plan) -> Iterator[Today]:
    """What the old plan would have begun today and the new one does not."""
    today = after.moment(after.now).date()
    for name, old in before.rows.items():
        row = after.rows.get(name)
        if old.begun or old.finished or before.moment(old.start).date() != today:
            continue
        if row is None:
            if not old.keys or _waiting(after, old.task.id):
                yield Today(name, None)
        elif not row.finished and not row.begun and after.moment(row.start).date() != today:
            yield Today(name, after.moment(row.start))


def _onto_today(before: Plan, after: Plan) -> Iterator[Today]:
    """What the new plan begins today and the old one did not."""
    today = after.moment(after.now).date()
    for name, row in after.rows.items():
        old = before.rows.get(name)
        was_today = old is not None and before.moment(old.start).date() == today
        if not row.begun and not row.finished and not was_today and after.moment(row.start).date() == today:
            yield Today(name, after.moment(row.start))


# -- why ---------------------------------------------------------------------------------


def _why(before: Plan, after: Plan, moves: list[Move]) -> str:
    """The first row on the new path that moved with the launch, and what holds it there."""
    by = _between(before.launched, after.launched)
    if by == 0:
        return "what slid has the play for it" if any(move.by > 0 for move in moves) else ""
    moved = {move.row: move for move in moves if move.on_path and (move.by > 0) == (by > 0)}
    news = [name for name in after.path if name not in before.rows and not after.rows[name].finished]
    told = [name for name in after.path if name in moved or name in news]
    finish = after.job.job.finish
    # What waits longer than before for weather, hands, gear or goods is the reason; the nights between are not.
    longer = next((name for name in told if by > 0 and _waits_longer(before, after, name)), "")
    # A coat held back to meet its window moved because of what comes after it: that is the row to tell.
    pushed = (name for name in told if all(cause != "cure" for cause, _ in after.rows[name].held.spans))
    name = longer or next(pushed, next(iter(told), finish if finish in after.rows else ""))
    if not name:
        return ""
    return _why_moved(after, after.rows[name], moved[name]) if name in moved else _why_new(after, after.rows[name])


def _waits_longer(before: Plan, after: Plan, name: str) -> bool:
    """Whether what a row is best said to wait for is no night and no window, and took less in the old plan."""
    row, old = after.rows[name], before.rows.get(name)
    cause = main_cause(row)[0] if row.held.spans and not row.begun else "off-shift"
    if cause in ("off-shift", "cure", "start"):
        return False
    waits = [sum(slots for c, slots in r.held.spans if c == cause) if r is not None else 0 for r in (old, row)]
    return waits[0] < waits[1]


def _why_new(after: Plan, row: Row) -> str:
    """Of a row only the new plan has, or of the launch itself."""
    shut = [window.closes for window in windows(after) if window.keyed == row.id]
    if not shut:
        return _held(after, row)
    at, closed = near_clock(after.moment(row.start), after.launched), near_clock(after.moment(shut[0]), after.launched)
    return f"{row.keys} must be keyed for {row.task.id}, {at}: its window shuts {closed}"


def _held(after: Plan, row: Row) -> str:
    return f"{called(row)}: {why_row(after, row).replace(': ', ', ', 1)}"


def _why_moved(after: Plan, row: Row, move: Move) -> str:
    if move.what == "start":
        return _held(after, row)
    paused: dict[str, int] = {}
    for step in after.steps:
        if step.row == row.id and step.begin >= row.start and step.cause not in ("work", "wait"):
            paused[step.cause] = paused.get(step.cause, 0) + step.end - step.begin
    most = max(paused, key=lambda cause: paused[cause], default="")
    pause = f", {hours_text(paused[most])} of it {cause_name(most)}" if most else ""
    return f"{row.id} goes on until {near_clock(move.after, after.launched)}{pause}"
