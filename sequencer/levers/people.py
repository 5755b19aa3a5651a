"""Levers of people: a helper on a named day or every weekend, Sundays worked, longer days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence

from sequencer.errors import one_line
from sequencer.grid import PER_HOUR
from sequencer.job import Crew, Hours
from sequencer.job.pen import Value
from sequencer.job.writing import Several
from sequencer.levers.changes import MoreHours
from sequencer.levers.lever import Lever
from sequencer.levers.outlook import Outlook
from sequencer.telling import day_name
from sequencer.telling.figures import MONTHS

REGULAR_DAYS = 4
"""Weekdays a week from which somebody counts as always there, and not as a helper."""

MOST_DAYS = 12
"""Named days tried for each person; those on which what sets the launch waited for people come first."""

LONGER = 120
"""Minutes a longer day is longer."""

LATEST = 21 * 60
"""Minutes after midnight until which longer days last at most."""

RULE_DAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
WEEKEND = (5, 6)
SHORTAGE = frozenset(("people", "off-shift"))
Span = tuple[int, int]
"""Minutes after midnight, the second past 1440 where it is on the next day."""


def people_levers(out: Outlook) -> Iterator[Lever]:
    """All levers of people for what is still to do."""
    regular = [p for p in out.job.crew if is_regular(p)] or list(out.job.crew[:1])
    helpers = [p for p in out.job.crew if p not in regular]
    for person in regular:
        yield from _longer(out, person)
        yield from _weekends(out, person, f"{_weekend_name(out, person)}, {called(person)} alone")
        yield from (_day(out, [person], date) for date in _days(out, [person], out.dates()))
    for helper in helpers:
        yield from _weekends(out, helper, f"{called(helper)} every weekend")
        worked = [d for d in out.dates() if any(out.there(r.id, d) for r in regular)]
        yield from (_day(out, [helper], date) for date in _days(out, [helper], worked))
    if any(task.people > 1 for task in out.todo):
        yield from _together(out, regular, helpers)


def _together(out: Outlook, regular: Sequence[Crew], helpers: Sequence[Crew]) -> Iterator[Lever]:
    """Days on which nobody is there, with each who is always there and each helper."""
    empty = [d for d in out.dates() if not any(out.there(p.id, d) for p in (*regular, *helpers))]
    for first in regular:
        for helper in helpers:
            yield from (_day(out, [first, helper], date) for date in _days(out, [first, helper], empty))


def called(person: Crew) -> str:
    """What the lists call somebody: ``you``, else the name."""
    name = one_line(person.name, 30)
    return "you" if name.lower() == "you" else name


def is_regular(person: Crew) -> bool:
    """Whether somebody works most weekdays, by plain weekly lines."""
    days = set().union(*(line.days for line in person.hours if line.days is not None))
    return len(days) >= REGULAR_DAYS


def usual(person: Crew) -> list[Span]:
    """Somebody's hours on a day he works: of the weekday with most hours, else of the first recurrence."""
    by_day = {day: [line for line in person.hours if line.days and day in line.days] for day in range(7)}
    most = max(by_day, key=lambda day: (sum(e - b for b, e in map(_span, by_day[day])), -day))
    lines = by_day[most] or [line for line in person.hours if line.rule is not None][:1]
    return sorted(map(_span, lines))


def _span(line: Hours) -> Span:
    return line.start, line.end if line.end > line.start else line.end + 1440


# -- named days --------------------------------------------------------------------------


def _days(out: Outlook, people: Sequence[Crew], dates: Iterable[dt.date]) -> list[dt.date]:
    """Dates on which none of them is there, none has said no, and their hours were missed; not too many."""
    free = [d for d in dates if not any(out.there(p.id, d) or out.away(p, d) for p in people)]
    spans = usual(people[-1])
    missed = [d for d in free if any(out.missed_between(d, *span) for span in spans)]
    by_need = sorted(missed, key=lambda d: (not any(out.missed_between(d, *s, path=True) for s in spans), d))
    return sorted(by_need[:MOST_DAYS])


def _day(out: Outlook, people: Sequence[Crew], date: dt.date) -> Lever:
    """These people on one date, at their usual hours; of today only what is left of them."""
    on = day_name(date)
    names = [called(p) for p in people]
    alone = len(people) == 1
    name = f"{_capital(names[0])} on {on}" if alone else f"{on}, {names[0]} and {names[1]} both"
    changes = tuple(
        MoreHours(
            "crew",
            person.id,
            tuple(_named(date, span) for span in _left(out, date, usual(person))),
            f"{_capital(called(person))} on {on} {MONTHS[date.month - 1]}",
        )
        for person in people
    )
    return Lever(
        id=f"day:{'+'.join(p.id for p in people)}:{date.isoformat()}",
        kind="day",
        name=name,
        change=changes[0] if alone else Several(changes),
        against=" and ".join(names),
        causes=SHORTAGE,
        days=frozenset((p.id, date) for p in people),
        price=0.0,
    )


def _left(out: Outlook, date: dt.date, spans: Iterable[Span]) -> list[Span]:
    """What is left of spans of a date: of today from now on."""
    if date != out.today:
        return list(spans)
    begun = out.now.hour * 60 + out.now.minute
    return [(max(begin, begun), end) for begin, end in spans if end > begun]


def _named(date: dt.date, span: Span) -> Mapping[str, Value]:
    """A line of hours on one date."""
    return {"rule": "FREQ=DAILY;COUNT=1", "since": date, "from": _clock(span[0]), "to": _clock(span[1])}


def weekly(days: Iterable[int], since: dt.date, span: Span) -> Mapping[str, Value]:
    """A line of hours on weekdays (0 = Monday) from a date on, so that what is past stays as it was."""
    rule = f"FREQ=WEEKLY;BYDAY={','.join(RULE_DAYS[day] for day in sorted(days))}"
    return {"rule": rule, "since": since, "from": _clock(span[0]), "to": _clock(span[1])}


def _clock(minutes: int) -> str:
    """``08:30``; midnight at the end of a day is 24:00."""
    return f"{minutes // 60:02}:{minutes % 60:02}" if minutes <= 1440 else _clock(minutes - 1440)


# -- every week --------------------------------------------------------------------------


def _off_days(out: Outlook, person: Crew) -> list[dt.date]:
    """Weekend dates from tomorrow on on which somebody is not there and has not said no."""
    return [
        d
        for d in out.dates(out.tomorrow)
        if d.weekday() in WEEKEND and not out.there(person.id, d) and not out.away(person, d)
    ]


def _weekend_name(out: Outlook, person: Crew) -> str:
    days = {d.weekday() for d in _off_days(out, person)}
    return "Weekends" if len(days) > 1 else "Saturdays" if days == {WEEKEND[0]} else "Sundays"


def _weekends(out: Outlook, person: Crew, name: str) -> Iterator[Lever]:
    """Every weekend day somebody is not there; where that is only one it is a named day."""
    dates, spans = _off_days(out, person), usual(person)
    if len(dates) < 2 or not any(out.missed_between(d, *span) for d in dates for span in spans):
        return
    days = {d.weekday() for d in dates}
    lines = tuple(weekly(days, out.tomorrow, span) for span in spans)
    yield Lever(
        id=f"weekends:{person.id}",
        kind="weekends",
        name=name,
        change=MoreHours("crew", person.id, lines, name),
        against=called(person),
        causes=SHORTAGE,
        days=frozenset((person.id, d) for d in dates),
        price=0.0,
    )


def _longer(out: Outlook, person: Crew) -> Iterator[Lever]:
    """Two hours more in the evening of each day of the week's that somebody works."""
    spans = usual(person)
    days = set().union(*(line.days for line in person.hours if line.days is not None))
    if not spans or not days:
        return
    end = max(e for _, e in spans)
    until = min(end + LONGER, max(end, LATEST))
    # Lines may end at different times on different days: those that end later already are left as they are.
    days = {d for d in days if any(_span(line)[1] == end for line in person.hours if line.days and d in line.days)}
    dates = [d for d in out.dates(out.tomorrow) if d.weekday() in days and out.there(person.id, d)]
    if until - end < 60 // PER_HOUR or not any(out.missed_between(d, end, until) for d in dates):
        return
    name = f"{_capital(called(person))} till {_clock(until)} each day"
    yield Lever(
        id=f"longer:{person.id}",
        kind="longer",
        name=name,
        change=MoreHours("crew", person.id, (weekly(days, out.tomorrow, (end, until)),), name),
        against="longer days",
        causes=SHORTAGE,
        price=0.0,
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
