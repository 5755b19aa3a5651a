"""What is needed when, as text, Markdown and JSON."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from sequencer.paper.lines import folded
from sequencer.paper.sheet_markdown import escaped
from sequencer.supplies import Supply
from sequencer.telling import day_clock, day_name
from sequencer.telling.figures import MONTHS

NOTHING = "Nothing more is needed: no work ahead wants a delivery or a material.\n"
CLOSING = "Days from order to delivery are calendar days; the job file has none, so they are as given here."

HEADINGS = ("Needed", "What", "For", "Due", "At the latest", "Lead, days", "Order by", "Holds the launch")


def supplies_text(found: Sequence[Supply], width: int = 80) -> str:
    """The list to read, lines of at most `width` cells: what is first needed first."""
    if not found:
        return NOTHING
    lines = ["What is first needed when" + ("; * holds the launch, or may" if any(map(_holds, found)) else ""), ""]
    for one in found:
        lines += [*_told(one, width), ""]
    if any(one.lead is not None for one in found):
        lines += folded(CLOSING, width)
    return "\n".join(lines).rstrip("\n") + "\n"


def _told(one: Supply, width: int) -> Iterator[str]:
    mark = "*" if _holds(one) else " "
    name = one.id if one.name == one.id else f"{one.id}, {one.name}"
    yield from folded(f"{day_clock(one.needed)}  {name}", width, f"{mark} ", "    ")
    yield from folded(f"for {', '.join(one.tasks)}", width, "    ", "      ")
    facts = [f"due {one.due_said}"] if one.due_said else []
    facts.append(f"may come till {day_clock(one.latest)} and the launch stays")
    if one.in_use:
        facts.append("in use already: see that there is enough")
    yield from folded("; ".join(facts), width, "    ", "      ")
    if one.order_by is not None and one.order_last is not None:
        lead = f"{one.lead} day{'s' if one.lead != 1 else ''} from the order"
        last = f", at the very latest {_date(one.order_last)}" if one.order_last > one.order_by else ""
        yield from folded(f"order by {_date(one.order_by)}{last}: {lead}", width, "    ", "      ")
    if _holds(one):
        yield "    HOLDS THE LAUNCH" if one.holds else "    MAY HOLD THE LAUNCH"
    for said in one.why:
        yield from folded(f"{said}.", width, "    ", "      ")


def _holds(one: Supply) -> str:
    return "yes" if one.holds else "may" if one.late else ""


def supplies_markdown(found: Sequence[Supply]) -> str:
    """The list as a Markdown document with one table (GFM)."""
    lines = ["# What is needed when", ""]
    if not found:
        return "\n".join([*lines, NOTHING])
    lines += [f"| {' | '.join(HEADINGS)} |", f"|{'---|' * len(HEADINGS)}"]
    for one in found:
        cells = (
            day_clock(one.needed),
            one.id if one.name == one.id else f"{one.id}: {one.name}",
            ", ".join(one.tasks),
            one.due_said,
            day_clock(one.latest),
            str(one.lead) if one.lead is not None else "",
            _date(one.order_by) if one.order_by is not None else "",
            _holds(one),
        )
        lines.append(f"| {' | '.join(escaped(cell) for cell in cells)} |")
    said = [f"- {escaped(f'{one.id}: {why}')}" for one in found for why in one.why]
    lines += ["", *said, ""] if said else [""]
    return "\n".join([*lines, f"*{escaped(CLOSING)}*"]) + "\n"


def supplies_json(found: Sequence[Supply]) -> list[dict[str, Any]]:
    """The list as JSON-ready objects, a field each of :class:`Supply`; moments ISO 8601, None where not known."""
    return [
        {
            "kind": one.kind,
            "id": one.id,
            "name": one.name,
            "tasks": list(one.tasks),
            "needed": one.needed.isoformat(),
            "latest": one.latest.isoformat(),
            "play_hours": one.play_hours,
            "due": one.due.isoformat() if one.due is not None else None,
            "lead_days": one.lead,
            "order_by": _iso(one.order_by),
            "order_last": _iso(one.order_last),
            "comes": _iso(one.comes),
            "holds_launch": one.holds,
            "late": one.late,
            "why": list(one.why),
            "in_use": one.in_use,
        }
        for one in found
    ]


def _iso(date: dt.date | None) -> str | None:
    return date.isoformat() if date is not None else None


def _date(date: dt.date) -> str:
    return f"{day_name(date)} {MONTHS[date.month - 1]} {date.year}"
