"""The checker's own shifts and lift slots: weekdays and RFC 5545 recurrences laid out on the grid."""

from __future__ import annotations

import datetime as dt

from dateutil.rrule import rrulestr

from sequencer.checking.clock import Clock
from sequencer.job import Crew, Hours, Job, Task

ONE_DAY = dt.timedelta(days=1)


class Calendar:
    """On which dates a line of hours falls, and its spans on the grid."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._falls: dict[tuple[Hours, dt.date], bool] = {}

    def falls_on(self, hours: Hours, day: dt.date) -> bool:
        """Whether `hours` has a span that begins on `day`."""
        if hours.days is not None:
            return day.weekday() in hours.days
        key = (hours, day)
        if key not in self._falls:
            self._falls[key] = self._recurs(hours, day)
        return self._falls[key]

    def _recurs(self, hours: Hours, day: dt.date) -> bool:
        assert hours.rule is not None
        assert hours.since is not None
        # dateutil refuses an UNTIL in UTC beside a start without a zone, so it is minded here
        told = dict(part.split("=") for part in hours.rule.split(";"))
        until = told.pop("UNTIL", "")
        midnight = dt.datetime.combine(day, dt.time())
        rule = ";".join(f"{key}={value}" for key, value in told.items())
        found = rrulestr(rule, dtstart=dt.datetime.combine(hours.since, dt.time()))
        if not found.between(midnight, midnight, inc=True):
            return False
        if "T" not in until:
            return not until or f"{day:%Y%m%d}" <= until
        bound = dt.datetime.strptime(until.rstrip("Z"), "%Y%m%dT%H%M%S")
        begins = midnight + dt.timedelta(minutes=hours.start)
        if until.endswith("Z"):
            begins = begins.replace(tzinfo=self._clock.zone).astimezone(dt.UTC).replace(tzinfo=None)
        return begins <= bound

    def span(self, hours: Hours, day: dt.date) -> tuple[int, int]:
        """First and last grid line of the span of `hours` that begins on `day`; it may end past midnight."""
        end = hours.end if hours.end > hours.start else hours.end + 1440
        return self._clock.wall(day, hours.start), self._clock.wall(day, end)


class Shifts:
    """Who is there in each slot from `low` to `high`."""

    def __init__(self, job: Job, clock: Clock, low: int, high: int) -> None:
        self._clock = clock
        self._calendar = Calendar(clock)
        self._there: dict[int, set[str]] = {}
        day = clock.date(low) - ONE_DAY
        while day <= clock.date(high) + ONE_DAY:
            for person in job.crew:
                self._add_day(person, day)
            day += ONE_DAY

    def _add_day(self, person: Crew, day: dt.date) -> None:
        def away(date: dt.date) -> bool:
            return any(first <= date <= last for first, last in person.away)

        for hours in person.hours:
            if away(day) or not self._calendar.falls_on(hours, day):
                continue
            begin, end = self._calendar.span(hours, day)
            for slot in range(begin, end):
                if not away(self._clock.date(slot)):
                    self._there.setdefault(slot, set()).add(person.id)

    def there(self, slot: int) -> set[str]:
        """The ids of those on shift in `slot`."""
        return self._there.get(slot, set())

    def may_start(self, task: Task, line: int) -> bool:
        """Whether the task's ``slots`` (if any) let it start at grid line `line`; both ends are included."""
        if not task.slots:
            return True
        day = self._clock.date(line)
        for hours in task.slots:
            for first in (day - ONE_DAY, day):
                if self._calendar.falls_on(hours, first):
                    begin, end = self._calendar.span(hours, first)
                    if begin <= line <= end:
                        return True
        return False
