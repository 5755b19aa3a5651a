"""Parts (what a delivery brings) and materials of a plan: when each is first needed and how late it may come."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sequencer.errors import Fault, UsageError, one_line
from sequencer.job import Delivery, Material
from sequencer.job.wording import listing, nearest
from sequencer.planning.plan import Plan, Row
from sequencer.supplies.lead import Lead
from sequencer.telling import day_clock, day_name, due_text
from sequencer.telling.causes import main_cause
from sequencer.telling.figures import MONTHS

PART, MATERIAL = "part", "material"


@dataclass(frozen=True)
class Supply:
    """One part or material; moments in the yard's zone.

    kind: ``part`` or ``material``. tasks: those that want it and have not begun, the first to start first.
    needed: when the first of them starts.
    latest: it may come so late and the launch stays, by the slack of that first task and up to the start of the next
    that wants it: sure, though more may be possible.
    due, due_said: when the file says a part comes, and that in words.
    lead: days from order to delivery. order_by, order_last: the last day to order for it to be there when needed, and
    at the latest. comes: when it would come if ordered today. None where no lead is known.
    holds: whether it holds the launch in the plan. late: whether a material, ordered today, would come later than is
    sure to leave the launch where it is. why: what these rest on, as sentences without a full stop.
    in_use: whether work with it has begun, so that there is some.
    """

    kind: str
    id: str
    name: str
    tasks: tuple[str, ...]
    needed: dt.datetime
    latest: dt.datetime
    due: dt.datetime | None = None
    due_said: str = ""
    lead: int | None = None
    order_by: dt.date | None = None
    order_last: dt.date | None = None
    comes: dt.date | None = None
    holds: bool = False
    late: bool = False
    why: tuple[str, ...] = ()
    in_use: bool = False

    @property
    def play_hours(self) -> float:
        """Hours from when it is due, or else first needed, to the latest it may come; none where it is later."""
        begin = self.due if self.due is not None else self.needed
        return max(0.0, (self.latest - begin).total_seconds() / 3600)


def supplies(plan: Plan, lead: Lead | None = None, today: dt.date | None = None) -> tuple[Supply, ...]:
    """Every part and material that work ahead needs, the first needed first.

    lead: lead times; today: the day of ordering, else the day the plan goes on from. Raises UsageError for lead times
    of things the job does not have.
    """
    lead = lead or Lead()
    _check_known(plan, lead)
    day = today or plan.moment(plan.now).date()
    found = [*_parts(plan, lead, day), *_materials(plan, lead, day)]
    return tuple(sorted(found, key=lambda one: (one.needed, one.kind != PART, one.id)))


def _check_known(plan: Plan, lead: Lead) -> None:
    known = [*plan.job.deliveries, *plan.job.materials]
    faults = []
    for name in lead.by_id:
        if name not in known:
            near = nearest(name, known)
            hint = f"did you mean {near}?" if near else f"there {'are' if known else 'is'} {listing(known) or 'none'}"
            faults.append(Fault("", f"there is no delivery or material {one_line(name, 40)}", hint))
    if faults:
        raise UsageError(faults)


def _parts(plan: Plan, lead: Lead, today: dt.date) -> Iterator[Supply]:
    for delivery in plan.job.delivery:
        rows = [row for row in plan.rows.values() if row.task.delivery == delivery.id and not row.keys]
        ahead = _ahead(rows)
        if ahead:
            due = plan.moment(plan.grid.slot(delivery.due))
            held = [row for row in ahead if _waits_for_it(row)]
            why = [_why_held(plan, held[0], delivery)] if held else []
            yield _supply(plan, PART, delivery, ahead, due, lead.of(delivery.id), today, why)


def _materials(plan: Plan, lead: Lead, today: dt.date) -> Iterator[Supply]:
    for material in plan.job.material:
        rows = [row for row in plan.rows.values() if row.task.material == material.id and not row.keys]
        ahead = _ahead(rows)
        if ahead:
            in_use = len(ahead) < len(rows)
            # What has been opened is there; what there is of it the file does not say.
            days = lead.of(material.id)
            yield _supply(plan, MATERIAL, material, ahead, None, days, today, [], in_use)


def _ahead(rows: Sequence[Row]) -> list[Row]:
    return sorted((row for row in rows if not (row.finished or row.begun)), key=lambda row: (row.start, row.id))


def _waits_for_it(row: Row) -> bool:
    """Whether a row on the chain that sets the launch waited for its delivery above all, and for no date after it."""
    causes = [cause for cause, _ in row.held.spans]
    if not row.on_path or main_cause(row)[0] != "delivery":
        return False
    return "delivery" not in causes or "date" not in causes[causes.index("delivery") :]


def _why_held(plan: Plan, row: Row, delivery: Delivery) -> str:
    begins, due = day_clock(plan.moment(row.start)), due_text(plan, delivery.id)
    return f"{row.id} waits for it, due {due}, and starts {begins}: that is on the chain that sets the launch"


def _supply(
    plan: Plan,
    kind: str,
    thing: Delivery | Material,
    ahead: Sequence[Row],
    due: dt.datetime | None,
    lead: int | None,
    today: dt.date,
    why: list[str],
    in_use: bool = False,
) -> Supply:
    needed, latest = plan.moment(ahead[0].start), plan.moment(_latest(ahead))
    days = None if lead is None else dt.timedelta(days=lead)
    order_by = None if days is None else needed.date() - days
    order_last = None if days is None else latest.date() - days
    comes = None if days is None else today + days
    asked = comes if not in_use else None
    said = _late(kind, today, needed, latest, asked) if asked is not None else []
    return Supply(
        kind=kind,
        id=thing.id,
        name=one_line(thing.name, 80),
        tasks=tuple(row.id for row in ahead),
        needed=needed,
        latest=latest,
        due=due,
        due_said=due_text(plan, thing.id) if kind == PART else "",
        lead=lead,
        order_by=order_by,
        order_last=order_last,
        comes=comes,
        holds=bool(why),
        late=asked is not None and kind == MATERIAL and asked > latest.date(),
        why=(*why, *said),
        in_use=in_use,
    )


def _latest(ahead: Sequence[Row]) -> int:
    """How late it may come for sure: slack is of one task alone, so the next that wants it must not slide too."""
    first = ahead[0]
    latest = first.start + first.slack
    return min(latest, ahead[1].start) if len(ahead) > 1 else latest


def _late(kind: str, today: dt.date, needed: dt.datetime, latest: dt.datetime, comes: dt.date) -> list[str]:
    """What ordering today would come to, where that is too late; a part that has a date may be ordered already."""
    if comes <= needed.date():
        return []
    not_ordered = "if it is not ordered yet, " if kind == PART else ""
    came = f"{not_ordered}ordered {_date(today)} it comes {_date(comes)}"
    after = (comes - needed.date()).days
    late = f"{after} day{'s' if after > 1 else ''} after it is first needed"
    if comes > latest.date():
        return [f"{came}, {late}, and the launch may have to wait for it"]
    return [f"{came}, {late}, and the launch can take that"]


def _date(date: dt.date) -> str:
    return f"{day_name(date)} {MONTHS[date.month - 1]}"
