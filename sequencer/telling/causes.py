"""Why a row starts when it does, in a line: its cause by a plain name, and what exactly it waits for."""

from __future__ import annotations

from sequencer.grid import PER_HOUR
from sequencer.planning.plan import Plan, Row
from sequencer.telling.figures import hours_text
from sequencer.telling.waits import TELLERS, called, when

NAMES = {
    "work": "work",
    "cure": "cure",
    "weather": "weather",
    "off-shift": "nobody on shift",
    "people": "hands short",
    "gear": "gear in use",
    "dust": "dust and wet coats",
    "delivery": "delivery",
    "date": "not before its date",
    "slot": "lift not open",
    "wait": "drying and waiting",
    "start": "not begun",
}
"""The causes of the contract by the names the owner reads."""

STAGE_WORDS = {
    "set": "has set",
    "recoat": "takes the next coat",
    "sand": "can be sanded",
    "immerse": "may be wetted",
    "cure": "is cured",
}
"""What it means that a coat has come to a stage."""


def cause_name(cause: str) -> str:
    """The plain name of a cause."""
    return NAMES.get(cause, cause)


def stage_words(stage: str) -> str:
    """``can be sanded``; stages of the owner's own by their name."""
    return STAGE_WORDS.get(stage, f"reaches {stage}")


def why_row(plan: Plan, row: Row) -> str:
    """Why `row` starts when it does: ``hands short: Wil is next here Wed 21 09:00``."""
    if row.finished or row.begun:
        return f"as it happened: begun {when(plan, row.start)}"
    held = row.held
    if held.spans:
        cause = main_cause(row)[0]
        own_hours = cause == "slot" and row.id != plan.job.job.finish
        return f"{'its own hours' if own_hours else cause_name(cause)}: {waits_for(plan, row)[1]}"
    before = plan.rows.get(held.task)
    if before is None:
        return "nothing: it may start at once"
    if held.cause == "cure":
        return f"cure: {before.id} {stage_words(held.stage)} {when(plan, held.ready)}"
    return f"{cause_name(held.cause)}: {called(before)} is over {when(plan, held.ready)}"


def waits_for(plan: Plan, row: Row) -> tuple[str, str]:
    """What a held row waits for and why that is no sooner: ``two pairs of hands``, ``Wil is next here …``."""
    cause, at = main_cause(row)
    if cause not in TELLERS:
        return "its start", f"it could go from {when(plan, row.held.ready)} and was not begun"
    what, why = TELLERS[cause](plan, row, at)
    return (what, f"{why}; it starts {when(plan, row.start)}") if at < row.start else (what, why)


def main_cause(row: Row) -> tuple[str, int]:
    """What a held row is best said to wait for, and the slot at which that ends.

    Mostly what held it last. But the night after days of rain is not the reason, nor is the morning on which
    work starts when a delivery took the fortnight before.
    """
    totals: dict[str, int] = {}
    ends: dict[str, int] = {}
    at = row.start - sum(slots for _, slots in row.held.spans)
    for cause, slots in row.held.spans:
        at += slots
        totals[cause], ends[cause] = totals.get(cause, 0) + slots, at
    last = row.held.cause
    others = {c: n for c, n in totals.items() if c not in ("off-shift", "cure", "start", last)}
    if others:
        most = max(others, key=lambda cause: others[cause])
        needed = PER_HOUR if last == "off-shift" else sum(totals.values()) / 2
        if others[most] >= needed and (last == "off-shift" or most in ("delivery", "date")):
            return most, ends[most]
    return last, row.start


def split_of(plan: Plan, row: Row) -> str:
    """Where the hours from ready to start went: ``47.25 h nobody on shift, 29 h hands short``; empty where none."""
    totals: dict[str, int] = {}
    for cause, slots in row.held.spans:
        totals[cause] = totals.get(cause, 0) + slots
    names = NAMES | {"cure": "held back"}
    parts = sorted(totals.items(), key=lambda part: -part[1])
    return ", ".join(f"{hours_text(slots)} {names.get(cause, cause)}" for cause, slots in parts)
