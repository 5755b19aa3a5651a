"""The plan as a calendar (RFC 5545): work, windows that shut, the lift, deliveries, days to order.

What an event is about is in its UID, made from the job file's name: a second import finds the same events and moves
them. Moments are in the yard's zone, with its VTIMEZONE.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from icalendar import Alarm, Calendar, Event, Timezone

from sequencer.errors import Fault, UsageError, one_line
from sequencer.planning.plan import Plan, Row
from sequencer.supplies import Supply
from sequencer.telling import Window, count_hands, day_clock, window_words, windows

PRODUCT = "-//sequencer//haul-out plan//EN"

QUARTER = dt.timedelta(minutes=15)
BEFORE_SHUT = (dt.timedelta(hours=-12), dt.timedelta(hours=-2))
"""Alarms of a window before its last start: the evening or the morning before, and when it is about to shut."""
BEFORE_LIFT = (dt.timedelta(days=-1),)
ON_THE_DAY = (dt.timedelta(hours=9),)
"""The alarm of a day: at nine, counted from its midnight."""

_FAMILY = uuid.UUID("4b5ae0b4-6c0d-5a57-9d6a-3a6f2f0f6d11")
_LONG_AGO = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)


@dataclass(frozen=True)
class _Entry:
    """An event to be: what it is about (kind and key), when (moments, or dates for whole days), and what it says."""

    kind: str
    key: str
    begin: dt.date
    end: dt.date
    summary: str
    lines: tuple[str, ...] = ()
    alarms: tuple[dt.timedelta, ...] = ()
    busy: bool = False


def plan_calendar(
    plan: Plan,
    today: dt.datetime | dt.date | None = None,
    orders: Sequence[Supply] = (),
    before: str = "",
) -> str:
    """The plan as one iCalendar text, lines ended by CRLF.

    today: when it is made, else the moment the plan goes on from; a later one makes a later revision of each event.
    orders: supplies whose last day to order becomes a day of its own. before: the calendar of an earlier plan of the
    same job; what it has and this plan no longer has is carried on as cancelled, so that it goes from the importer's
    calendar too. Raises UsageError where `before` is no calendar.
    """
    stamp = _stamp(plan, today)
    entries = [*_work(plan), *_windows(plan), *_deliveries(plan), *_orders(orders)]
    events = {uid: _event(plan, uid, entry, stamp) for entry in entries if (uid := _uid(plan, entry))}
    events |= {uid: event for uid, event in _cancelled(before, stamp).items() if uid not in events}
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", one_line(plan.job.job.title, 120))
    calendar.add_component(_timezone(plan, entries))
    for event in events.values():
        calendar.add_component(event)
    text: str = calendar.to_ical().decode()
    return text


def _stamp(plan: Plan, today: dt.datetime | dt.date | None) -> dt.datetime:
    if today is None:
        return plan.moment(plan.now).astimezone(dt.UTC)
    if not isinstance(today, dt.datetime):
        today = dt.datetime.combine(today, dt.time())
    local = today.replace(tzinfo=plan.job.job.timezone) if today.tzinfo is None else today
    return local.astimezone(dt.UTC).replace(microsecond=0)


def _uid(plan: Plan, entry: _Entry) -> str:
    """The same for the same thing of the same file, whatever the plan has moved."""
    file = plan.job.path.name if plan.job.path is not None else plan.job.job.title
    return str(uuid.uuid5(_FAMILY, "\n".join((file, entry.kind, entry.key))))


def _timezone(plan: Plan, entries: Sequence[_Entry]) -> Timezone:
    """The yard's zone over the years of the events, whole years so that a slid plan has the same."""
    years = [year for entry in entries for year in (entry.begin.year, entry.end.year)] or [plan.launched.year]
    zone = plan.job.job.timezone
    return Timezone.from_tzinfo(zone, zone.key, dt.date(min(years) - 1, 1, 1), dt.date(max(years) + 2, 1, 1))


def _event(plan: Plan, uid: str, entry: _Entry, stamp: dt.datetime) -> Event:
    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", _revision(stamp))
    begin, end = entry.begin, entry.end
    if isinstance(begin, dt.datetime) and isinstance(end, dt.datetime) and (begin.fold or end.fold):
        # A local time that comes twice would be taken for its first.
        begin, end = begin.astimezone(dt.UTC), end.astimezone(dt.UTC)
    event.add("dtstart", begin)
    event.add("dtend", end)
    event.add("summary", entry.summary)
    event.add("categories", [entry.kind])
    event.add("transp", "OPAQUE" if entry.busy else "TRANSPARENT")
    boat = one_line(plan.job.job.boat, 80)
    lines = [line for line in (*entry.lines, boat) if line]
    if lines:
        event.add("description", "\n".join(lines))
    for before in entry.alarms:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("trigger", before)
        alarm.add("description", entry.summary)
        event.add_component(alarm)
    return event


def _revision(stamp: dt.datetime) -> int:
    """A number that grows with time, in minutes: what is made later counts, and nothing need be remembered."""
    return max(0, int((stamp - _LONG_AGO).total_seconds()) // 60)


# -- what there is to tell ---------------------------------------------------------------


def _work(plan: Plan) -> Iterator[_Entry]:
    """Each piece of work, and the lift; hours that just pass are nobody's appointment."""
    for row in plan.rows.values():
        lift = row.id == plan.job.job.finish
        spans = _joined((*row.past, *row.pieces))
        if lift and not spans:
            spans = [(row.start, row.start + 1)]
        title = one_line(row.title, 100)
        summary = f"Lift: {title}" if lift else title
        summary += " (done)" if row.finished else ""
        alarms = BEFORE_LIFT if lift and not row.finished else ()
        for number, (begin, end) in enumerate(spans):
            yield _Entry(
                "lift" if lift else "work",
                f"{row.id}\n{number}",
                plan.moment(begin),
                plan.moment(end),
                summary,
                _row_lines(plan, row, number, len(spans)),
                alarms if number == 0 else (),
                busy=row.hands > 0,
            )


def _joined(spans: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Spans in order, those that touch made one: what is done of a piece and what is left of it stay one event."""
    joined: list[tuple[int, int]] = []
    for begin, end in sorted(spans):
        if joined and begin <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(joined[-1][1], end)
        else:
            joined.append((begin, end))
    return joined


def _row_lines(plan: Plan, row: Row, number: int, count: int) -> tuple[str, ...]:
    said = [row.id if count == 1 else f"{row.id}, {number + 1} of {count}"]
    if row.zone:
        said.append(f"Where: {one_line(plan.job.zones[row.zone].name, 80)}")
    said.append(count_hands(row.hands).capitalize() if row.hands else "No hands")
    if not row.keys:
        task = row.task
        said += [f"Gear: {', '.join(plan.job.gears[use.id].name for use in task.gear)}"] if task.gear else []
        said += [f"Of: {plan.job.materials[task.material].name}"] if task.material else []
        said += [task.note] if task.note else []
    if number == count - 1:
        said += [f"{stage} {day_clock(plan.moment(slot))}" for stage, slot in row.stages.items()]
    return tuple(one_line(line, 400) for line in said)


def _windows(plan: Plan) -> Iterator[_Entry]:
    """Each window at its last start; the alarm goes with the next coat once that is on."""
    for window in windows(plan):
        at = window.last if window.last >= 0 and not window.keyed else window.closes
        moment = plan.moment(at)
        ahead = not window.begun and not window.keyed and at >= plan.now
        yield _Entry(
            "window",
            f"{window.after}\n{window.before}\n{window.stage}",
            moment,
            (moment.astimezone(dt.UTC) + QUARTER).astimezone(moment.tzinfo),
            _window_summary(window),
            tuple(one_line(said, 400) for said in window_words(plan, window)),
            BEFORE_SHUT if ahead else (),
        )


def _window_summary(window: Window) -> str:
    if window.begun:
        return f"{window.after} went on {window.before}"
    if window.keyed:
        return f"Window missed: key {window.before} for {window.after}"
    return f"Last start of {window.after} on {window.before}"


def _deliveries(plan: Plan) -> Iterator[_Entry]:
    for delivery in plan.job.delivery:
        wanted = [row.id for row in plan.rows.values() if row.task.delivery == delivery.id and not row.keys]
        lines = (f"For {', '.join(wanted)}",) if wanted else ()
        summary = f"Delivery: {one_line(delivery.name, 100)}"
        if isinstance(delivery.due, dt.datetime):
            moment = plan.moment(plan.grid.slot(delivery.due))
            end = (moment.astimezone(dt.UTC) + QUARTER).astimezone(moment.tzinfo)
            yield _Entry("delivery", delivery.id, moment, end, summary, lines)
        else:
            yield _Entry("delivery", delivery.id, delivery.due, delivery.due + dt.timedelta(days=1), summary, lines)


def _orders(found: Sequence[Supply]) -> Iterator[_Entry]:
    """The last day to order each thing in time for its first task."""
    for one in found:
        if one.order_by is not None and not one.in_use:
            lines = (f"First needed {day_clock(one.needed)} for {one.tasks[0]}", *(f"{why}." for why in one.why))
            summary = f"Order by today: {one.name}"
            after = one.order_by + dt.timedelta(days=1)
            yield _Entry("order", f"{one.kind}\n{one.id}", one.order_by, after, summary, lines, ON_THE_DAY)


# -- what an earlier plan had ------------------------------------------------------------


def _cancelled(before: str, stamp: dt.datetime) -> dict[str, Event]:
    """The events of an earlier calendar of ours by UID, each cancelled."""
    if not before.strip():
        return {}
    try:
        old = Calendar.from_ical(before)
    except (ValueError, KeyError, IndexError, TypeError):
        old = None
    if not isinstance(old, Calendar) or str(old.get("prodid", "")) != PRODUCT:
        raise UsageError([Fault("", "the earlier calendar is none of this tool's", "name one made with it, or none")])
    found: dict[str, Event] = {}
    for event in old.events:
        kept = Event()
        for name in ("uid", "dtstart", "dtend", "summary"):
            if name in event:
                kept[name] = event[name]
        kept.add("dtstamp", stamp)
        kept.add("sequence", _revision(stamp))
        kept.add("status", "CANCELLED")
        # Our own events hold nothing that a terminal would obey; one that does was put in by somebody else.
        if kept.to_ical().decode().replace("\r\n", "").isprintable():
            found[str(event.get("uid", ""))] = kept
    return found
