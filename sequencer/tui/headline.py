"""The two lines on top of every page: when she goes back in, and the next time to shut."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from sequencer.errors import NoPlanError
from sequencer.planning.plan import Plan
from sequencer.telling import clock, day_name, money
from sequencer.tui.clocktext import ahead, day_month, day_time, now_slot, when
from sequencer.tui.coats import Coats, coats_of
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.notice import title_of
from sequencer.tui.text import cut, width_of
from sequencer.tui.todo import missed_price
from sequencer.tui.why import name

NAMED_FROM = 100
"""From this width on the boat's name joins."""
GAPS = ("   ", "  ", " ")
"""Between the parts of the answer: as wide as leaves the chance its room."""
SOON_SLOTS = 2 * 96
"""A window that shuts later than this is news, not a warning."""


@dataclass(frozen=True)
class Shut:
    """The next last start: its slot, what must be on by then, and what happens else."""

    slot: int
    row: str
    otherwise: str


def headline(model: Model, width: int) -> list[Line]:
    """Both lines for a width."""
    signs = Signs(model.ascii)
    tight = max(GAPS, key=lambda gap: (_answer(model, signs, width, gap)[1], len(gap)))
    return [_named(_answer(model, signs, width, tight)[0], model, signs, width), _second(model, signs, width)]


def _answer(model: Model, signs: Signs, width: int, gap: str) -> tuple[Line, bool]:
    """Launch, nights, cost, proof and chance with `gap` between, and whether the chance has room."""
    plan = model.plan
    said = Line()
    if plan is not None:
        said.add(f"{signs['launch']} ", "water bold")
        said.add(f"{day_month(plan.launched)} {clock(plan.launched)}", "ink bold")
        said.add(f"{gap}{plan.nights} night{'' if plan.nights == 1 else 's'}", "ink")
        if plan.cost is not None and plan.job.yard is not None:
            said.add(gap + signs.own(money(plan.cost, plan.job.yard.currency)), "ink")
        said.add(gap)
    said.add(*_state(model))
    chances = [gap + chance for chance in _chances(model, "by then " if width >= NAMED_FROM else "")]
    found = next((chance for chance in chances if said.width + len(chance) <= width), "")
    return said.add(found, "ink"), bool(found) or not chances


def _named(said: Line, model: Model, signs: Signs, width: int) -> Line:
    """The line with the boat's name at its end, where the screen is wide."""
    boat = model.job.job.boat if model.job is not None else ""
    if width >= NAMED_FROM and boat:
        text = cut(boat, width - said.width - 3, signs.more)
        said.add(" " * (width - said.width - width_of(text))).add(text, "pencil")
    return said


def _chances(model: Model, lead: str) -> tuple[str, ...]:
    """How sure the launch is, after `lead`, and when it is sure enough to book, where that was asked; then in short."""
    odds = model.odds
    if odds is None or not model.answers.odds_over or not odds.launches:
        return ()
    likely, today = odds.launch_for(0.8), odds.by(odds.planned.date())
    booked = f"; 8 in 10 by {day_month(likely.moment)}" if likely is not None and today < 0.8 else ""
    sure = f"{lead}{math.floor(100 * today + 1e-9)} in 100"
    return sure + booked, sure


def _state(model: Model) -> tuple[str, str]:
    """How far the launch is to be trusted."""
    plan = model.plan
    if model.trouble is not None:
        old = "old plan; " if plan is not None else ""
        if isinstance(model.trouble, NoPlanError):
            return f"{old}no launch: see Holds", "bell bold"
        title = title_of(model.trouble)
        return f"{old}{title[:1].lower()}{title[1:]}", "bell bold"
    if plan is None:
        return ("looking…" if not model.ascii else "looking.."), "resin"
    if plan.proved:
        return "proved", "gate"
    bound = plan.moment(plan.bound)
    unproved = f"not before {_bound(plan, bound)} yet"
    more = (", looking…" if not model.ascii else ", looking..") if model.looking else ""
    return unproved + more, "resin"


def _bound(plan: Plan, bound: dt.datetime) -> str:
    """The bound by its day, or by the hour where it is the launch's own day."""
    if bound.date() == plan.launched.date():
        return clock(bound)
    return day_name(bound) if bound.month == plan.launched.month else day_month(bound)


def _second(model: Model, signs: Signs, width: int) -> Line:
    now = f"now {day_time(model.now)}" if model.now is not None else ""
    outside = f"{cut(model.outside, max(0, width - len(now) - 3), signs.more)}   " if model.outside else ""
    said = Line()
    if model.plan is not None and not model.plan.rows[model.plan.job.job.finish].finished:
        room = width - len(now) - width_of(outside) - 2
        said = _shuts(model.plan, model.now, signs, room)
        if said.width > room:
            said = Line()
    said.add(" " * max(0, width - said.width - width_of(outside) - len(now)))
    return said.add(outside, "bell bold").add(now, "ink")


def _shuts(plan: Plan, now: dt.datetime | None, signs: Signs, room: int) -> Line:
    """The next last start and what missing it costs."""
    slot = now_slot(plan, now)
    missed = next((r for r in plan.missed if plan.rows[r.keys].start <= slot < r.start), None)
    if missed is not None:
        key_it = when(plan.moment(missed.start), plan.moment(slot).date())
        text = f" {name(missed.task.id)} missed {name(missed.keys)}'s window: key it {key_it}"
        return line(signs["missed"], "bell reverse bold").add(cut(text, room, signs.more), "bell bold")
    shut = next_shut(plan, coats_of(plan), slot)
    if shut is None:
        return line(signs["open"], "gate").add(" no window is left to meet", "ink")
    moment = plan.moment(shut.slot)
    if shut.slot - slot > SOON_SLOTS:
        text = f" nothing shuts before {day_name(moment) if shut.slot - slot < 14 * 96 else day_month(moment)}"
        return line(signs["open"], "gate").add(cut(text, room, signs.more), "ink")
    left = (moment - (now or plan.moment(slot))).total_seconds() / 60
    text = f" {name(shut.row)} by {when(moment, plan.moment(slot).date())}, {ahead(left)}, or {shut.otherwise}"
    return line(signs["shutting"], "bell reverse bold").add(cut(text, room, signs.more), "bell bold")


def next_shut(plan: Plan, coats: Coats, slot: int) -> Shut | None:
    """The next time after which something must be keyed or waits for another day."""
    open_yet = [window for window in coats.windows if window.last >= slot and not window.keyed]
    found = [Shut(window.last, window.after, missed_price(plan, window)) for window in open_yet]
    tonight = plan.grid.day_start(plan.grid.day_of(slot) + 1)
    for row in plan.rows.values():
        if slot <= row.start < tonight and row.task.material and not row.keys:
            today = coats.latest_today(row)
            if today is not None:
                found.append(Shut(today[0], row.id, f"{name(today[1])} misses it"))
    return min(found, key=lambda s: s.slot, default=None)
