"""What happened on the stands, jotted into the job: begun, done, half done, a cure seen, rain, somebody away.

Moments are the yard's clock where they have no offset, and are written to the minute. Where the job itself says from
when to plan (`now`), that moves on with what is jotted after it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from sequencer.errors import Fault, JobError
from sequencer.job.book import Book
from sequencer.job.layout import LOG, place
from sequencer.job.pen import Value
from sequencer.job.saying import say_hours, say_moment
from sequencer.job.values import instant, parse_interval, parse_moment, parse_span
from sequencer.job.wording import shown

DAY_END = 1440
"""Midnight, in minutes after midnight."""


@dataclass(frozen=True)
class Started:
    """Work on a task has begun."""

    task: str
    at: dt.datetime

    def apply(self, book: Book) -> str:
        """Refused where it is finished."""
        _check_open(book, self.task)
        at = _jot(book, self.task, "started", self.at)
        return f"{shown(self.task)} started {say_moment(at)}"


@dataclass(frozen=True)
class Finished:
    """A task is done. started: when it began, where the log does not say and one knows."""

    task: str
    at: dt.datetime
    started: dt.datetime | None = None

    def apply(self, book: Book) -> str:
        """What was left of its work is done with it."""
        if self.started is not None:
            _jot(book, self.task, "started", self.started)
        at = _jot(book, self.task, "finished", self.at)
        book.put("task", self.task, "work_left", None)
        return f"{shown(self.task)} finished {say_moment(at)}"


@dataclass(frozen=True)
class HalfDone:
    """Work on a task stopped with `left` hours of it to do. started: when it began, where the log does not say."""

    task: str
    at: dt.datetime
    left: float
    started: dt.datetime | None = None

    def apply(self, book: Book) -> str:
        """Where nobody says when it began, it began then."""
        _check_open(book, self.task)
        at = _tell_now(book, self.at)
        if self.started is not None or "started" not in book.find("task", self.task):
            _jot(book, self.task, "started", self.started or self.at)
        book.put("task", self.task, "work_left", self.left)
        return f"{shown(self.task)} half done {say_moment(at)}, {say_hours(self.left)} left"


@dataclass(frozen=True)
class Reached:
    """A coat was seen to have reached a stage, sooner or later than reckoned (thumbnail, sanding)."""

    task: str
    stage: str
    at: dt.datetime

    def apply(self, book: Book) -> str:
        """Refused, by the file's own rules, where the work is not finished or there is no such stage."""
        at = _jot(book, self.task, f"reached.{self.stage}", self.at)
        return f"{shown(self.task)}: {shown(self.stage)} reached {say_moment(at)}"


@dataclass(frozen=True)
class Unlogged:
    """Nothing has happened to a task after all."""

    task: str

    def apply(self, book: Book) -> str:
        """Its log is taken out whole."""
        for name in LOG:
            book.put("task", self.task, name, None)
        return f"{shown(self.task)}: log taken out"


@dataclass(frozen=True)
class SetNow:
    """From when to plan, sooner or later than before; None: by the clock."""

    moment: dt.datetime | None

    def apply(self, book: Book) -> str:
        """Refused, by the file's own rules, where something was logged later."""
        if self.moment is None:
            book.put("job", "", "now", None)
            return "planned by the clock"
        at = yard_moment(self.moment, _timezone(book))
        book.put("job", "", "now", at)
        return f"planned from {say_moment(at)}"


@dataclass(frozen=True)
class DayByHand:
    """The weather of a day: low, high, dew or humidity, rain, wind as in the file; others it had stay."""

    date: dt.date
    values: Mapping[str, Value | None] = field(hash=False)

    def apply(self, book: Book) -> str:
        """A day that is not there is added, in its place among the days."""
        _put_day(book, self.date, self.values)
        return f"weather of {say_moment(self.date)} set by hand"


@dataclass(frozen=True)
class RainedOff:
    """Rain on a day from `since` (minutes after midnight) until midnight; what rained before stays.

    day: low, high, dew and wind of that day, needed where the file has no day of that date
    (:func:`sequencer.weather.daily.day_values`).
    """

    date: dt.date
    since: int = 0
    day: Mapping[str, Value | None] | None = field(default=None, hash=False)

    def apply(self, book: Book) -> str:
        """Refused where nothing is known of the day."""
        name = self.date.isoformat()
        known = dict(book.find("weather.day", name)) if name in book.names("weather.day") else dict(self.day or {})
        if not known:
            where = f"weather of {say_moment(self.date)}"
            raise JobError([Fault(where, "nothing is known of that day", "give its low, high and dew first")])
        spans = known.get("rain") or []
        before = [parse_span(span) for span in (spans if isinstance(spans, list | tuple) else [])]
        kept = [(begin, min(end, self.since)) for begin, end in before if begin < self.since]
        wet = _joined([*kept, (self.since, DAY_END)])
        _put_day(book, self.date, {**known, "rain": [f"{_clock(a)}/{_clock(b)}" for a, b in wet]})
        return f"{say_moment(self.date)} rained off" + (f" from {_clock(self.since)}" if self.since else "")


@dataclass(frozen=True)
class Away:
    """Somebody can't come, from the first day to the last, both included."""

    person: str
    first: dt.date
    last: dt.date | None = None

    def apply(self, book: Book) -> str:
        """Days that are told already are not told twice."""
        last = self.last or self.first
        if last < self.first:
            raise JobError([Fault(place("crew", self.person), "the last day is before the first", "change them over")])
        away = list(book.find("crew", self.person).get("away", []))
        if not any(first <= self.first and last <= end for first, end in map(parse_interval, away)):
            span = self.first.isoformat() if last == self.first else f"{self.first.isoformat()}/{last.isoformat()}"
            book.put("crew", self.person, "away", [*away, span])
        until = f" to {say_moment(last)}" if last != self.first else ""
        return f"{shown(self.person)} away {say_moment(self.first)}{until}"


def _check_open(book: Book, task: str) -> None:
    finished = book.find("task", task).get("finished")
    if finished is not None:
        what = f"it was finished {say_moment(parse_moment(finished))}"
        raise JobError([Fault(place("task", task), what, "take its log out first, or undo")])


def _jot(book: Book, task: str, field_name: str, moment: dt.datetime) -> dt.datetime:
    """Write a moment of the log; the moment as written."""
    book.find("task", task)
    at = _tell_now(book, moment)
    book.put("task", task, field_name, at)
    return at


def _tell_now(book: Book, moment: dt.datetime) -> dt.datetime:
    """The moment as the file has it, and the job's own `now` no earlier."""
    zone = _timezone(book)
    at = yard_moment(moment, zone)
    now = book.find("job").get("now")
    if now is not None and instant(parse_moment(now), zone) < instant(at, zone):
        book.put("job", "", "now", at)
    return at


def _timezone(book: Book) -> ZoneInfo:
    return ZoneInfo(str(book.find("job")["timezone"]))


def yard_moment(moment: dt.datetime, timezone: ZoneInfo) -> dt.datetime:
    """A moment to the minute on the yard's clock; with its offset only where the clock shows that time twice."""
    local = moment.replace(tzinfo=timezone) if moment.tzinfo is None else moment.astimezone(timezone)
    local = local.replace(second=0, microsecond=0)
    bare = local.replace(tzinfo=None, fold=0)
    if bare.replace(tzinfo=timezone).utcoffset() == local.utcoffset():
        return bare
    return local.replace(tzinfo=dt.timezone(local.utcoffset() or dt.timedelta()))


def _put_day(book: Book, date: dt.date, values: Mapping[str, Value | None]) -> None:
    name = date.isoformat()
    names = book.names("weather.day")
    if name not in names:
        before = [other for other in names if other < name]
        first = {"date": date, **{key: value for key, value in values.items() if key != "date"}}
        book.add("weather.day", first, max(before, default=""))
        return
    for key, value in values.items():
        if key != "date":
            book.put("weather.day", name, key, value)


def _joined(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Spans in order, those that touch made one."""
    joined: list[tuple[int, int]] = []
    for begin, end in sorted(spans):
        if joined and begin <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(joined[-1][1], end)
        else:
            joined.append((begin, end))
    return joined


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"
