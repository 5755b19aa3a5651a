"""What is curing at this minute: how far along, and how long to the next stage."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from sequencer.planning.plan import Plan, Row
from sequencer.telling import stage_words
from sequencer.tui.clocktext import ahead, now_slot, when
from sequencer.tui.coats import coats_of
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.text import cut, pad

NAME = 16
BAR = 12


@dataclass(frozen=True)
class Curing:
    """One coat that has not come to its last stage. stage: the next; minutes: to it; along: 0 to 1 of the way there."""

    row: Row
    stage: str
    at: dt.datetime
    minutes: float
    along: float


def curing_now(plan: Plan, now: dt.datetime) -> list[Curing]:
    """Every coat whose work is done and whose next stage is still to come, soonest first.

    A coat that another covers, or that nobody waits for any more, is left out. Progress is by the clock, from the end
    of its work, or the stage before, to the stage as the hours' temperatures give it.
    """
    slot, coats, found = now_slot(plan, now), coats_of(plan), []
    for row in plan.rows.values():
        if row.keys or not row.task.material or row.end > slot or coats.gone(row) <= slot:
            continue
        coming = [(at, name) for name, at in row.stages.items() if plan.moment(at) > now and at < plan.problem.length]
        if not coming:
            continue
        at, name = min(coming)
        begun = max([row.end, *(s for s in row.stages.values() if plan.moment(s) <= now and s >= row.end)])
        moment, start = plan.moment(at), plan.moment(begun)
        whole = (moment - start).total_seconds() / 60
        left = (moment - now).total_seconds() / 60
        found.append(Curing(row, name, moment, left, max(0.0, min(1.0, 1 - left / whole)) if whole else 1.0))
    return sorted(found, key=lambda curing: (curing.minutes, curing.row.id))


def now_lines(plan: Plan, now: dt.datetime, width: int, room: int, signs: Signs) -> list[Line]:
    """A line a coat, in at most `room` lines; none where nothing cures."""
    found = curing_now(plan, now)
    shown = found if len(found) <= room else found[: room - 1]
    lines = [_line(curing, now, width, signs) for curing in shown]
    if len(shown) < len(found) and room:
        lines.append(line(f" {len(found) - len(shown)} more are curing", "pencil"))
    return lines


def _line(curing: Curing, now: dt.datetime, width: int, signs: Signs) -> Line:
    done = int(curing.along * BAR)
    drawn = line(" ").add(pad(curing.row.id, NAME, signs.more), "ink bold").add(" ")
    drawn.add(signs["cured"] * done, "resin bold").add(signs["wet"] * (BAR - done), "resin").add("  ")
    said = f"{stage_words(curing.stage)} {ahead(curing.minutes)}, {when(curing.at, now.date())}"
    return drawn.add(cut(said, width - drawn.width - 1, signs.more), "ink")
