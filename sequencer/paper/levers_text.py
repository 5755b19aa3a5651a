"""What was tried to buy a night, as plain text at 80 columns and as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from sequencer.errors import one_line
from sequencer.levers import Trials, Tried
from sequencer.paper.lines import cells, folded
from sequencer.planning.plan import Plan
from sequencer.telling import column_clock, money

NAME = 30
"""Cells of the column of names; longer ones go on in the line below."""

NOTHING = "nothing: "

CLOSING = "Tried by the rules of the job alone: your data sheets, the yard and the people asked have the last word."


def levers_text(trials: Trials, width: int = 80) -> str:
    """What saves nights, ranked, each with its reason; then what saves nothing, by reason."""
    late = any(tried.late is not None for tried in trials.tried)
    shown = [tried for tried in trials.tried if tried.nights]
    lines = [_columns("tried for real, from now", "launch", "nights", "8 in 10" if late else "", *_MONEY)]
    lines.append(_columns(" as planned", _launch(trials.before, trials.before)))
    for number, tried in enumerate(shown, 1):
        lines += _row(tried, number, late)
    if not any(tried.nights > 0 for tried in shown):
        lines.append(" nothing that was tried saves a night")
    lines.append("")
    for number, tried in enumerate(shown, 1):
        lines += folded(f"{_capital(tried.reason)}.", width, f"{number:>2}  ", "    ")
        lines += folded(f"Mind: {tried.mind}.", width, "    ", "    ") if tried.mind else ()
    lines += ["", *_nothing(trials, width)] if len(shown) < len(trials.tried) else ()
    lines += ["", *(line for note in _notes(trials, shown) for line in folded(note, width))]
    return "\n".join(line.rstrip() for line in lines) + "\n"


_MONEY = ("saved", "price", "kept")


def _columns(
    name: str, launch: str, nights: str = "", late: str = "", saved: str = "", price: str = "", kept: str = ""
) -> str:
    """One line of the table; wide letters of a name take two cells."""
    lead = name + " " * (NAME + 4 - cells(name))
    return f"{lead}{launch:<13}{nights:>6}{late:>8}{saved:>7}{price:>6}{kept:>6}".rstrip()


def _launch(plan: Plan, before: Plan) -> str:
    return column_clock(plan.launched, before.launched)


def _row(tried: Tried, number: int, late: bool) -> Iterator[str]:
    first, *more = folded(tried.name, NAME)
    at_eight = "" if not late else str(tried.late_nights) if tried.late_nights is not None else "-"
    figures = (tried.nights_words, at_eight, *_money(tried))
    yield _columns(f"{number:>2} {first}", _launch(tried.plan, tried.before), *figures)
    yield from (f"   {line}" for line in more)


def _money(tried: Tried) -> tuple[str, str, str]:
    """Saved, price, kept; savings round down and prices up."""
    yard = tried.plan.job.yard
    if tried.saved is None or yard is None:
        return "", "", ""
    price = "?" if tried.price is None else money(tried.price, yard.currency) if tried.price else "-"
    kept = "?" if tried.kept is None else _floor(tried.kept, yard.currency)
    return _floor(tried.saved, yard.currency), price, kept


def _floor(amount: float, currency: str) -> str:
    whole = math.floor(amount + 1e-9)
    return f"-{money(-whole, currency)}" if whole < 0 else money(whole, currency)


def _nothing(trials: Trials, width: int) -> Iterator[str]:
    """What saves no night, by its reason."""
    by_reason: dict[str, list[Tried]] = {}
    for tried in trials.tried:
        if not tried.nights:
            by_reason.setdefault(tried.reason, []).append(tried)
    yield "SAVES NO NIGHT"
    for reason, group in by_reason.items():
        yield from folded(f"{'; '.join(_names(group))}.", width, "- ", "  ")
        yield from folded(f"{_capital(reason.removeprefix(NOTHING))}.", width, "  ", "  ")


def _names(group: list[Tried]) -> list[str]:
    """The names, somebody's days told as one: ``Wil on Thu 15, Fri 16``."""
    found: dict[str, list[str]] = {}
    for tried in group:
        who, on, day = tried.name.partition(" on ")
        one_day = on and len(tried.levers) == 1 and tried.levers[0].kind == "day"
        found.setdefault(f"{who}{on}" if one_day else tried.name, []).append(day if one_day else "")
    return [name + ", ".join(days) if any(days) else name for name, days in found.items()]


def _notes(trials: Trials, shown: list[Tried]) -> Iterator[str]:
    """What the marks mean, what was not tried, and the last word."""
    if not trials.before.proved:
        yield "The launch as planned is not proved: a ? after nights is a saving as found, not a certain one."
    if any(tried.nights_words.endswith("+") for tried in shown):
        yield "A + after nights: at least so many; more is not ruled out."
    if any(tried.late is not None for tried in shown):
        yield "8 in 10: nights saved on the day by which 8 in 10 tries of the weather and the work are afloat."
    if any(tried.price is None and tried.saved is not None for tried in shown):
        yield "A ? under price: nobody has said what it costs."
    if trials.paired and not any(len(tried.levers) > 1 for tried in trials.tried):
        yield f"{trials.paired} pairs tried: none saves more nights than one alone."
    if trials.left:
        yield f"Not tried, the time was up: {'; '.join(lever.name for lever in trials.left)}."
    for lever, why in trials.refused:
        yield f"Gives no plan: {lever.name}. {one_line(why)}"
    yield CLOSING


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# -- JSON --------------------------------------------------------------------------------


def levers_json(trials: Trials) -> dict[str, Any]:
    """All that was tried as one JSON-ready object; times ISO 8601 with offset, money in the yard's currency."""
    before = trials.before
    yard = before.job.yard
    found: dict[str, Any] = {
        "job": before.job.job.title,
        "launch": before.launched.isoformat(),
        "nights": before.nights,
        "proved": before.proved,
        "levers": [_object(tried) for tried in trials.tried],
        "pairs_tried": trials.paired,
        "not_tried": [lever.id for lever in trials.left],
        "no_plan": [{"id": lever.id, "why": why} for lever, why in trials.refused],
    }
    return found if yard is None else {**found, "currency": yard.currency}


def _object(tried: Tried) -> dict[str, Any]:
    found: dict[str, Any] = {
        "id": tried.id,
        "name": tried.name,
        "kinds": [lever.kind for lever in tried.levers],
        "launch": tried.launch.isoformat(),
        "proved": tried.plan.proved,
        "nights_saved": tried.nights,
        "nights_certain": tried.certain,
        "nights_not_ruled_out": tried.most,
        "hours_sooner": tried.sooner,
        "saved": None if tried.saved is None else round(tried.saved, 2),
        "price": tried.price,
        "kept": None if tried.kept is None else round(tried.kept, 2),
        "reason": tried.reason,
        "mind": tried.mind,
    }
    if tried.late is not None and tried.before_late is not None:
        found |= {
            "launch_8_in_10": tried.late.isoformat(),
            "planned_8_in_10": tried.before_late.isoformat(),
            "nights_saved_8_in_10": tried.late_nights,
        }
    return found
