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
from sequencer.tui.text import cut, width_of
from sequencer.tui.todo import missed_price
from sequencer.tui.why import name

NAMED_FROM = 100
"""From this width on the boat's name joins."""
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
    return [_first(model, signs, width), _second(model, signs, width)]


def _first(model: Model, signs: Signs, width: int) -> Line:
    plan = model.plan
    said = Line()
    if plan is not None:
        said.add(f"{signs['launch']} ", "water bold")
        said.add(f"{day_month(plan.launched)} {clock(plan.launched)}", "ink bold")
        said.add(f"   {plan.nights} night{'' if plan.nights == 1 else 's'}", "ink")
        if plan.cost is not None and plan.job.yard is not None:
            said.add("   " + signs.own(money(plan.cost, plan.job.yard.currency)), "ink")
        said.add("   ")
    said.add(*_state(model))
    chance = _chance(model)
    if chance and said.width + len(chance) < width:
        said.add(chance, "ink")
    boat = model.job.job.boat if model.job is not None else ""
    if width >= NAMED_FROM and boat:
        text = cut(boat, width - said.width - 3, signs.more)
        said.add(" " * (width - said.width - width_of(text))).add(text, "pencil")
    return said


def _chance(model: Model) -> str:
    """How sure the launch is, and when it is sure enough to book, where that was asked."""
    odds = model.odds
    if odds is None or not model.answers.odds_over or not odds.launches:
        return ""
    likely, today = odds.launch_for(0.8), odds.by(odds.planned.date())
    booked = f"; 8 in 10 by {day_month(likely.moment)}" if likely is not None and today < 0.8 else ""
    return f"   {math.floor(100 * today + 1e-9)} in 100{booked}"


def _state(model: Model) -> tuple[str, str]:
    """How far the launch is to be trusted."""
    plan = model.plan
    if model.trouble is not None:
        old = "old plan; " if plan is not None else ""
        if isinstance(model.trouble, NoPlanError):
            return f"{old}no launch: see Holds", "bell bold"
        return f"{old}{model.trouble.title[:1].lower()}{model.trouble.title[1:]}", "bell bold"
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
    said = Line()
    if model.plan is not None and not model.plan.rows[model.plan.job.job.finish].finished:
        said = _shuts(model.plan, model.now, signs, width - len(now) - 2)
    return said.add(" " * max(0, width - said.width - len(now))).add(now, "ink")


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
