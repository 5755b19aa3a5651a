"""Why a row is not on at a given quarter hour; the words are those of :mod:`sequencer.telling`."""

from __future__ import annotations

from sequencer.planning.plan import Plan, Row
from sequencer.telling import stage_words, weather_reason
from sequencer.telling.waits import TELLERS
from sequencer.tui.clocktext import when
from sequencer.tui.text import cut

NAME_CELLS = 24
"""Names inside sentences are cut at this, so that the sentence still says something."""


def name(text: str) -> str:
    """An id or a title inside a sentence."""
    return cut(text, NAME_CELLS)


def wait_at(row: Row, slot: int) -> tuple[str, int]:
    """What stops `row` at `slot`, between the moment it was let go and its start, and until which slot that goes on.

    A cause that nights interrupt goes on to its last span. Before it was let go the cause is empty.
    """
    at = row.start - sum(count for _, count in row.held.spans)
    if slot < at:
        return "", at
    ends: dict[str, int] = {}
    found = ""
    for cause, count in row.held.spans:
        at += count
        ends[cause] = at
        if slot < at and not found:
            found = cause
            if cause == "off-shift":
                return cause, at
    return (found, ends[found]) if found else (row.held.cause, row.start)


def why_waiting(plan: Plan, row: Row, slot: int) -> str:
    """Why `row` is not on at `slot`, to be said after its name."""
    cause, at = wait_at(row, slot)
    if not cause or cause not in TELLERS:
        return _let_go(plan, row, slot)
    if cause == "weather":
        return weather_reason(plan, row, slot) or "the weather"
    what, why = TELLERS[cause](plan, row, at)
    if cause in ("off-shift", "cure"):
        return why
    return f"{what}; {why}"


def _let_go(plan: Plan, row: Row, slot: int) -> str:
    """What it comes after, and when that lets it go."""
    before = plan.rows.get(row.held.task)
    seen = plan.moment(slot).date()
    if before is None or row.held.ready > row.start:
        return f"it may go on {when(plan.moment(row.start), seen)}"
    ready = when(plan.moment(row.held.ready), seen)
    if row.held.stage in ("", "done"):
        return f"comes after {name(before.id)}, over {ready}"
    return f"{name(before.id)} {stage_words(row.held.stage)} {ready}"
