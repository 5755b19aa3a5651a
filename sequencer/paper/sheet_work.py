"""One task of a day's sheet: when, who, with what, of what, and what to check before it is begun."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from sequencer.errors import one_line
from sequencer.grid import PER_HOUR
from sequencer.job import Apply
from sequencer.paper.sheet import Mix, SheetTask
from sequencer.planning.plan import Plan, Row
from sequencer.telling import clock, duration, lasting, near_clock, windows
from sequencer.telling.air_check import AirCheck, air_checks
from sequencer.telling.hands import Doers
from sequencer.telling.laying import last_start_for_next

Span = tuple[int, int]


@dataclass(frozen=True)
class Span24:
    """One local day of a plan: its date, and [begin, end) in slots."""

    plan: Plan
    date: dt.date
    begin: int
    end: int

    def when(self, slot: int) -> str:
        """The clock alone on the day itself (``24:00`` at its end), else with the day."""
        if slot == self.end:
            return "24:00"
        moment = self.plan.moment(slot)
        return clock(moment) if moment.date() == self.date else near_clock(moment, self.date)

    def spans(self, pieces: tuple[Span, ...] | list[Span]) -> list[Span]:
        """The parts of pieces that fall on the day."""
        cut = [(max(b, self.begin), min(e, self.end)) for b, e in pieces]
        return [(b, e) for b, e in cut if e > b]

    def clocks(self, spans: list[Span]) -> str:
        """``08:00-12:00, 13:00-15:00``."""
        return ", ".join(f"{self.when(b)}-{self.when(e)}" for b, e in spans)


def sheet_task(day: Span24, number: int, row: Row, doers: Doers) -> SheetTask:
    """What the sheet says of a row that is worked on the day."""
    plan, spans = day.plan, day.spans(row.pieces)
    by, shuts = ("", False) if row.finished or row.start < day.begin else _by(day, row)
    zone = plan.job.zones.get(row.zone)
    return SheetTask(
        number=number,
        id=one_line(row.id, 90),
        title=one_line(row.title, 160),
        times=day.clocks(spans),
        hours=duration(sum(e - b for b, e in spans)),
        place=one_line(zone.name, 60) if zone is not None else "",
        who=who_words(day, row, doers, spans),
        gear=_gear(day, row),
        mix=_mix(plan, row),
        checks=() if row.finished else tuple(_checks(day, row, spans)),
        by=by,
        shuts=shuts,
        goes_on=f"goes on till {day.when(row.end)}" if row.end > day.end else "",
        note=one_line(row.task.note, 400) if not row.keys else "",
        done=row.finished,
    )


def who_words(day: Span24, row: Row, doers: Doers, spans: list[Span]) -> str:
    """``You and Wil``; who is there for a part only has his hours; hands nobody was found for are counted."""
    if not row.hands:
        return "none of ours"
    people = day.plan.job.people
    told = [
        one_line(people[name].name, 40) + ("" if worked == spans else f" {day.clocks(worked)}")
        for name, worked in doers.items()
    ]
    if len(told) < row.hands:
        more = row.hands - len(told)
        told.append(f"{more} more pair{'s' if more > 1 else ''} of hands" if told else _hands(row.hands))
    if any(worked != spans for worked in doers.values()):
        return "; ".join(told)
    return " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)


def _hands(hands: int) -> str:
    return f"{hands} pair{'s' if hands > 1 else ''} of hands"


def _gear(day: Span24, row: Row) -> tuple[str, ...]:
    """What it takes, and how long it stays taken where that is longer than the work."""
    if row.keys:
        return ()
    told = []
    for use in row.task.gear:
        name = one_line(day.plan.job.gears[use.id].name, 60)
        many = f"{use.units} of {name}" if use.units > 1 else name
        until = row.stages.get(use.until or "")
        told.append(f"{many}, taken till {day.when(until)}" if until is not None and until > row.end else many)
    return tuple(told)


def _mix(plan: Plan, row: Row) -> Mix | None:
    if row.keys or not row.task.material:
        return None
    material = plan.job.materials[row.task.material]
    return Mix(one_line(material.name, 80), limits_words(material.apply), one_line(material.note, 300))


def limits_words(apply: Apply) -> str:
    """``8 to 30 °C, humidity at most 85 %, surface 3 °C over dew point``; empty where there are none."""
    told = []
    if apply.min_temp is not None and apply.max_temp is not None:
        told.append(f"{apply.min_temp:g} to {apply.max_temp:g} °C")
    elif apply.min_temp is not None:
        told.append(f"at least {apply.min_temp:g} °C")
    elif apply.max_temp is not None:
        told.append(f"at most {apply.max_temp:g} °C")
    if apply.max_humidity is not None:
        told.append(f"humidity at most {apply.max_humidity:g} %")
    if apply.above_dew is not None:
        told.append(f"surface {apply.above_dew:g} °C over dew point")
    return ", ".join(told)


# -- the check before starting ----------------------------------------------------------------------


def _checks(day: Span24, row: Row, spans: list[Span]) -> list[str]:
    told = [_air_words(check) for check in air_checks(day.plan, row, spans[0][0], spans[-1][1])]
    dust = _dust_words(day, row)
    return [*told, dust] if dust else told


def _air_words(check: AirCheck) -> str:
    """A limit as a line to tick off, with what the forecast has."""
    seen = check.seen
    if check.kind == "dew" and check.least is not None and check.dew_c is not None:
        surface = f"{math.ceil((check.dew_c + check.least) * 10) / 10:g}"
        return f"surface {surface} °C or more: {check.least:g} over a dew point of {check.dew_c} ({seen} seen)"
    if check.kind == "humidity":
        return f"humidity at most {check.most:g} % ({seen} seen)"
    if check.kind == "wind":
        return f"wind at most {check.most:g} kn ({seen} seen)"
    if check.kind == "rain":
        return "RAIN seen in these hours: don't begin" if seen else "dry, no rain coming (none seen)"
    if check.kind == "temp":
        least = f"at least {check.least:g}" if check.least is not None else ""
        most = f"at most {check.most:g}" if check.most is not None else ""
        return f"air {' and '.join(part for part in (least, most) if part)} °C ({seen} at the coldest seen)"
    return f"{check.said}: measure"


def _dust_words(day: Span24, row: Row) -> str:
    """Dust kept from what is wet: for a coat, swept and sealed off till it has set; for dusty work, over in time."""
    plan = day.plan
    zone = plan.job.zones.get(row.zone)
    if zone is None:
        return ""
    if row.task.material and not row.keys:
        till = row.stages.get("set")
        until = f" till {day.when(till)}" if till is not None else ""
        return f"dust swept, wiped and sealed off; none in this air{until}"
    if not row.dusty:
        return ""
    near = [r for r in plan.rows.values() if _same_air(plan, r, zone.air_id) and row.end <= r.start < day.end]
    coat = min((r for r in near if r.task.material and not r.keys), key=lambda r: r.start, default=None)
    swept = f"; swept up before {coat.id} at {day.when(coat.start)}" if coat is not None else ""
    return f"nothing wet lies in this air{swept}"


def _same_air(plan: Plan, row: Row, air: str) -> bool:
    zone = plan.job.zones.get(row.zone)
    return zone is not None and zone.air_id == air


# -- by when ----------------------------------------------------------------------------------------


def _by(day: Span24, row: Row) -> tuple[str, bool]:
    """The last start, what a later one costs, and whether that is a window shutting today."""
    plan = day.plan
    if row.keys:
        return "", False
    mine = [w for w in windows(plan) if w.after == row.id and not w.begun and not w.keyed and w.last >= 0]
    first = min(mine, key=lambda w: w.last, default=None)
    if first is not None and first.last < day.end:
        material = plan.job.materials[plan.rows[first.before].task.material or ""]
        work = math.ceil(material.stages[first.stage].if_missed.work * PER_HOUR - 1e-9)
        return f"on by {day.when(first.last)}, or {first.before} must be keyed: {lasting(work)}", True
    ahead = last_start_for_next(plan, row) if row.task.material else None
    if ahead is not None:
        return f"on by {day.when(ahead[0])}, or {ahead[1]} misses it: then leave it for another day", True
    return "", False
