"""Where the stay's hours went, as lines that add up exactly from hauled to launch."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.planning.plan import Plan
from sequencer.telling.causes import cause_name
from sequencer.telling.figures import day_clock, hours_text, money


@dataclass(frozen=True)
class LedgerLine:
    """One cause of the stay: its plain name, its slots."""

    cause: str
    name: str
    slots: int


def ledger(plan: Plan) -> list[LedgerLine]:
    """The stay by cause, the most first."""
    lines = [LedgerLine(cause, cause_name(cause), slots) for cause, slots in plan.stay.items()]
    return sorted(lines, key=lambda line: -line.slots)


def ledger_head(plan: Plan) -> str:
    """``Hauled Mon 5 Apr 10:00 to launch Fri 23 Apr 09:00``."""
    return f"Hauled {day_clock(plan.moment(plan.hauled))} to launch {day_clock(plan.launched)}"


def ledger_total(plan: Plan) -> str:
    """``431 h, 18 nights, £1,028``."""
    nights = f"{plan.nights} night{'s' if plan.nights != 1 else ''}"
    said = f"{hours_text(plan.launch - plan.hauled)}, {nights}"
    if plan.cost is None or plan.job.yard is None:
        return said
    return f"{said}, {money(plan.cost, plan.job.yard.currency)}"
