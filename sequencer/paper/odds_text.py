"""How sure the date is, as plain text at 80 columns and as JSON."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sequencer.odds import Odds, Spread
from sequencer.paper.lines import folded
from sequencer.planning.plan import Plan
from sequencer.telling import day_clock, day_name, money
from sequencer.telling.figures import MONTHS

BAR = 36
CHANCES = (0.5, 0.8, 0.9)
"""The chances a date is told for."""
LEAST = 0.03
"""Shares below this are not told one by one."""

RISK_WORDS = {
    "rain": "rain",
    "cold": "cold",
    "damp": "damp",
    "wind": "wind",
    "hours": "work that takes longer",
    "delivery": "deliveries that come late",
}
"""How the risks of :data:`sequencer.odds.RISKS` are called."""


@dataclass(frozen=True)
class Day:
    """One date by which some are afloat. by, before: shares (0 to 1) by its end and by the date before it."""

    date: dt.date
    by: float
    before: float
    nights: int
    cost: float | None


def days_of(odds: Odds) -> list[Day]:
    """The dates on which futures launch, in order."""
    found: list[Day] = []
    for launch in odds.launches:
        date = launch.moment.date()
        if found and found[-1].date == date:
            found[-1] = Day(date, launch.by, found[-1].before, launch.nights, launch.cost)
        else:
            found.append(Day(date, launch.by, found[-1].by if found else 0.0, launch.nights, launch.cost))
    return found


def told_days(odds: Odds) -> list[Day]:
    """Those dates that add to the chance as it is told, in 100; the first and the last always."""
    days = days_of(odds)
    return [d for d in days if d in (days[0], days[-1]) or in_hundred(d.by) > in_hundred(d.before)]


def date_name(date: dt.date, near: dt.date) -> str:
    """``Fri 30`` in the month of `near`, else ``Tue 4 May``."""
    same = (date.year, date.month) == (near.year, near.month)
    return day_name(date) if same else f"{day_name(date)} {MONTHS[date.month - 1]}"


def in_hundred(share: float) -> int:
    """A chance in 100, rounded down against oneself; what is there at all is not told as none."""
    return math.floor(100 * share + 1e-9)


def booking(odds: Odds, chance: float = 0.8) -> str:
    """The sentence for the yard, or why there is none."""
    found = odds.launch_for(chance)
    said = f"{round(10 * chance)} in 10"
    if found is None:
        return (
            f"No date can be promised at {said}: {in_hundred(1 - odds.unplanned)} in 100 launch within the year at all."
        )
    return f"Book the lift for {day_clock(found.moment)}: {said}."


def other_dates(odds: Odds) -> str:
    """The dates for 5 and for 9 in 10, beside that of the booking."""
    told = [(chance, odds.date_for(chance)) for chance in CHANCES if chance != 0.8]
    said = [f"{round(10 * chance)} in 10 by {day_clock(moment)}" for chance, moment in told if moment is not None]
    return f"{'; '.join(said)}." if said else ""


def tries_words(odds: Odds, currency: str) -> str:
    """How many tries, how far off the shares may be, and what the stay costs on average."""
    give = math.ceil(2 * odds.error)
    said = f"{odds.runs:,} tries, give or take {give} in 100."
    if odds.mean_nights is not None:
        said += f" {odds.mean_nights:.1f} nights on average"
        said += f", {money(odds.mean_cost, currency)}." if odds.mean_cost is not None else "."
    early, late = odds.date_range(0.8)
    if early is not None and late is not None:
        told = [date_name(moment.date(), odds.planned) for moment in (early, late)]
        between = told[0] if told[0] == told[1] else " to ".join(told)
        said += f" With many more tries 8 in 10 would be {between}."
    return said


def money_words(odds: Odds, plan: Plan) -> list[str]:
    """What the stay costs: to the launch as planned, a night more, at 5 and 8 in 10, one more wet day."""
    yard = plan.job.yard
    if yard is None or plan.cost is None:
        return []
    so_far = f"So far {money(odds.now_cost, yard.currency)}; as" if odds.now_cost is not None else "As"
    said = [f"{so_far} planned {money(plan.cost, yard.currency)}; a night more {money(yard.night, yard.currency)}."]
    told = [(round(10 * c), money(at, yard.currency)) for c, at in _costs(odds.cost)]
    if told:
        more = "".join(f", {tenths} in 10 {cost}" for tenths, cost in told[1:])
        said.append(f"{told[0][0]} in 10 pay {told[0][1]} or less{more}.")
    if odds.wet_day is not None and odds.wet_day_nights is not None:
        costs = f"{odds.wet_day_nights:.1f} nights, {money(max(0.0, odds.wet_day), yard.currency)}"
        said.append(f"One more wet day before the launch costs {costs}, on average.")
    return said


def _costs(spread: Spread) -> Iterator[tuple[float, float]]:
    for chance, at in ((0.5, spread.at50), (0.8, spread.at80), (0.9, spread.at90)):
        if at is not None:
            yield chance, at


def risk_words(odds: Odds) -> str:
    """Which risk costs most days; empty where none costs any."""
    told = [f"{RISK_WORDS[name]} {days:.1f}" for name, days in odds.risks.items() if days >= 0.05]
    return f"Days the launch loses on average to: {', '.join(told)}." if told else ""


def setters(odds: Odds, most: int = 5) -> list[tuple[str, int]]:
    """The tasks the launch waited for last, with how many of 100 tries."""
    return [(name, in_hundred(share)) for name, share in odds.holds_last.items() if share >= LEAST][:most]


def odds_text(plan: Plan, odds: Odds, width: int = 80) -> str:
    """The sentence for the yard, the picture by date, money, what sets the launch, what is behind the doubt."""
    currency = plan.job.yard.currency if plan.job.yard is not None else ""
    lines = [booking(odds), *folded(other_dates(odds), width), ""]
    lines.append(f"{'afloat by':<13}{'':<{BAR}}  {'by then':<11}{'nights':>6}{'cost':>10}".rstrip())
    for day in told_days(odds):
        full, more = round(BAR * day.before), round(BAR * day.by)
        bar = "█" * full + "▒" * max(0, more - full)
        cost = money(day.cost, currency) if day.cost is not None else ""
        chance = f"{in_hundred(day.by):>3} in 100"
        lines.append(
            f" {date_name(day.date, odds.planned):<12}{bar:<{BAR}}  {chance:<11}{day.nights:>6}{cost:>10}".rstrip()
        )
    if odds.unplanned:
        lines.append(f" never within the year: {math.ceil(100 * odds.unplanned)} in 100")
    lines.append("")
    weather = f"{odds.weather}." if odds.weather else ""
    for words in (*money_words(odds, plan), risk_words(odds), weather, tries_words(odds, currency)):
        lines += folded(words, width) if words else ()
    if setters(odds):
        lines += ["", f"{'What sets the launch':<40}of 100"]
        lines += [f"  {name[:36]:<38}{share:>6}" for name, share in setters(odds)]
    return "\n".join(lines) + "\n"


def odds_json(plan: Plan, odds: Odds) -> dict[str, object]:
    """All of it for other programs. Shares from 0 to 1; moments ISO 8601 with offset; costs in the yard's currency."""

    def moment(chance: float) -> str | None:
        found = odds.date_for(chance)
        return None if found is None else found.isoformat()

    def spread(of: Spread) -> dict[str, float | None]:
        return {"5": of.at5, "50": of.at50, "80": of.at80, "90": of.at90}

    launches: list[dict[str, Any]] = [
        {"launch": at.moment.isoformat(), "tries": at.count, "by": at.by, "nights": at.nights, "cost": at.cost}
        for at in odds.launches
    ]
    return {
        "job": plan.job.job.title,
        "planned": odds.planned.isoformat(),
        "as_planned": odds.as_planned,
        "runs": odds.runs,
        "seed": odds.seed,
        "error": odds.error / 100,
        "dates": {f"{round(10 * chance)} in 10": moment(chance) for chance in CHANCES},
        "launches": launches,
        "unplanned": odds.unplanned,
        "nights": spread(odds.nights),
        "cost": spread(odds.cost),
        "mean_nights": odds.mean_nights,
        "mean_cost": odds.mean_cost,
        "night_cost": odds.night_cost,
        "now_cost": odds.now_cost,
        "wet_day": {"nights": odds.wet_day_nights, "cost": odds.wet_day},
        "sets_launch": dict(odds.sets_launch),
        "holds_last": dict(odds.holds_last),
        "risks": dict(odds.risks),
        "weather": odds.weather,
    }
