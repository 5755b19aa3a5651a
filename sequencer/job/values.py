"""Single values of the job file: clocks, spans, weekdays, recurrences, moments, time zones.

Each function takes what TOML gave and returns the value, or raises :class:`BadValueError`, whose sentence
lacks only its subject ("must be a time of day"): the reader puts the field's name before it.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from zoneinfo import ZoneInfo, available_timezones

from dateutil.rrule import rrulestr

from sequencer.job.wording import nearest, show

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_FULL_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})\Z", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}\Z", re.ASCII)

FIRST_YEAR, LAST_YEAR = 1970, 2100
"""Moments outside these years are slips of the pen, and time zone rules know little about them."""

_BOUNDS = ("FREQ", "UNTIL", "COUNT", "INTERVAL", "WKST", "BYSETPOS")
RULE_PARTS = frozenset((*_BOUNDS, "BYDAY", "BYWEEKNO", "BYMONTH", "BYMONTHDAY", "BYYEARDAY"))
"""The parts of an RFC 5545 recurrence that make sense for whole days."""

_CYCLES = 7600
"""Years, a multiple of the calendar's 400, by which a recurrence is moved to look for its first day.

dateutil looks as far as the year 9999: seconds for a rule that never falls, a tenth of one from that far on.
"""


class BadValueError(ValueError):
    """A value that cannot be taken.

    what: a sentence without its subject, such as ``must be text``; hint: what to do (may be empty).
    """

    def __init__(self, what: str, hint: str = "") -> None:
        self.what = what
        self.hint = hint
        super().__init__(f"{what}; {hint}" if hint else what)


def parse_clock(value: object) -> int:
    """``"08:30"`` (or a TOML local time) as minutes after midnight; ``"24:00"`` is 1440.

    Whole numbers pass, for code that has minutes already.
    """
    if isinstance(value, dt.time) and not value.second and not value.microsecond:
        return value.hour * 60 + value.minute
    if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= 1440:
        return value
    found = _CLOCK.match(value) if isinstance(value, str) else None
    if found:
        minutes = int(found[1]) * 60 + int(found[2])
        if int(found[2]) < 60 and minutes <= 1440:
            return minutes
    raise BadValueError(f"must be a time of day, not {show(value)}", 'write it like "08:30", up to "24:00"')


def parse_span(value: object) -> tuple[int, int]:
    """``"13:00/18:00"`` as minutes after midnight (begin, end), begin before end."""
    if isinstance(value, tuple):
        return value
    if isinstance(value, str) and value.count("/") == 1:
        first, last = value.split("/")
        begin, end = parse_clock(first.strip()), parse_clock(last.strip())
        if begin < end:
            return begin, end
    what = f"must be hours of a day, the first before the second, not {show(value)}"
    raise BadValueError(what, 'write them like "13:00/18:00"')


def _weekday(name: str) -> int | None:
    """0 for Monday; a name may be cut short after three letters."""
    found = [i for i, full in enumerate(_FULL_NAMES) if len(name) >= 3 and full.startswith(name.lower())]
    return found[0] if found else None


def parse_days(value: object) -> frozenset[int]:
    """``"Mon-Sat"`` or ``"Mon-Wed, Sat"`` as weekdays, 0 = Monday; a range may run past Sunday."""
    if isinstance(value, frozenset):
        return value
    hint = 'write weekdays like "Mon-Fri" or "Tue Thu"'
    listed = " ".join(value) if isinstance(value, list) and all(isinstance(v, str) for v in value) else value
    if not isinstance(listed, str) or not listed.strip(" ,"):
        raise BadValueError(f"must be weekdays, not {show(value)}", hint)
    days: set[int] = set()
    for word in re.split(r"[\s,]+", re.sub(r"\s*[-–]\s*", "-", listed.strip(" ,"))):
        first, dash, last = word.partition("-")
        begin, end = _weekday(first), _weekday(last if dash else first)
        if begin is None or end is None:
            raise BadValueError(f"must be weekdays, and {show(word)} is none", hint)
        days.update((begin + i) % 7 for i in range((end - begin) % 7 + 1))
    return frozenset(days)


def parse_rule(value: object) -> str:
    """An RFC 5545 recurrence of whole days, in capitals, with ``UNTIL`` as it was written.

    The first day belongs in ``since``, the hours in ``from`` and ``to``.
    """
    hint = 'write it like "FREQ=WEEKLY;INTERVAL=2;BYDAY=SA"'
    if not isinstance(value, str):
        raise BadValueError(f"must be a recurrence as in RFC 5545, not {show(value)}", hint)
    text = value.strip().upper().removeprefix("RRULE:").rstrip(";")
    if not re.fullmatch(r"[A-Z0-9=;,+:\-]{1,400}", text):
        raise BadValueError(f"must be a recurrence as in RFC 5545, not {show(value)}", hint)
    _check_parts([part.partition("=")[::2] for part in text.split(";")], hint)
    # An UNTIL in UTC clashes with a local first day in dateutil; whoever reckons the days minds it there.
    local = re.sub(r"(UNTIL=\d{8})(T\d{6}Z?)?(?=;|\Z)", r"\1T235959", text)
    try:
        rrulestr(local, dtstart=dt.datetime(2027, 1, 1))
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError, IndexError):
        raise BadValueError(f"must be a recurrence as in RFC 5545, and {show(value)} is none", hint) from None
    return text


def _check_parts(parts: Iterable[tuple[str, str]], hint: str) -> None:
    """Refuse what dateutil would take but a calendar of days cannot use, or that would never end."""
    seen: dict[str, str] = {}
    for key, amount in parts:
        if key in ("BYHOUR", "BYMINUTE", "BYSECOND", "DTSTART"):
            raise BadValueError(f"can't have {key}", "hours stand in from and to, the first day in since")
        if key not in RULE_PARTS or key in seen:
            reason = "twice" if key in seen else "that no recurrence has"
            raise BadValueError(f"has the part {show(key)} {reason}", hint)
        seen[key] = amount
        if key in ("INTERVAL", "COUNT") and not (re.fullmatch(r"\d{1,4}", amount) and int(amount) >= 1):
            raise BadValueError(f"has {key}={amount}", f"{key} is a whole number from 1 to 9999")
        if key == "UNTIL" and not re.fullmatch(r"(19|20|21)\d{6}(T([01]\d|2[0-3])([0-5]\d){2}Z?)?", amount):
            raise BadValueError(f"has UNTIL={amount}", "write the last day like UNTIL=20270531")
    if seen.get("FREQ") not in ("DAILY", "WEEKLY", "MONTHLY", "YEARLY"):
        raise BadValueError("must have FREQ=DAILY, WEEKLY, MONTHLY or YEARLY", hint)
    if "UNTIL" in seen and "COUNT" in seen:
        raise BadValueError("has both UNTIL and COUNT", "keep one of the two")


def ever_falls(rule: str, since: dt.date) -> bool:
    """Whether a recurrence from :func:`parse_rule`, counted from `since`, falls on any day, UNTIL aside."""
    endless = ";".join(part for part in rule.split(";") if not part.startswith(("UNTIL=", "COUNT=")))
    first = dt.datetime(since.year + _CYCLES, since.month, since.day)
    return next(iter(rrulestr(endless, dtstart=first)), None) is not None


def parse_moment(value: object) -> dt.datetime | dt.date:
    """A TOML date or datetime, or the same as an ISO 8601 string, within the years a plan can be made for."""
    moment = value
    if isinstance(value, str):
        text = value.strip()
        try:
            moment = dt.date.fromisoformat(text) if _DATE.match(text) else dt.datetime.fromisoformat(text)
        except ValueError:
            moment = None
    if not isinstance(moment, dt.date):
        what = f"must be a date or a moment, not {show(value)}"
        raise BadValueError(what, "write it like 2027-04-12 or 2027-04-12T10:00:00")
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise BadValueError(f"must lie in the years {FIRST_YEAR} to {LAST_YEAR}, not {show(value)}")
    return moment


def parse_date(value: object) -> dt.date:
    """As :func:`parse_moment`, the time of day left out."""
    moment = parse_moment(value)
    return moment.date() if isinstance(moment, dt.datetime) else moment


def parse_interval(value: object) -> tuple[dt.date, dt.date]:
    """An ISO 8601 date or interval of dates, as (first, last), both ends included."""
    if isinstance(value, tuple) and len(value) == 2:
        return value
    if isinstance(value, str):
        first, slash, last = value.partition("/")
        if _DATE.match(first.strip()) and (not slash or _DATE.match(last.strip())):
            begin = parse_date(first)
            end = parse_date(last) if slash else begin
            if begin <= end:
                return begin, end
            raise BadValueError(f"ends before it begins: {show(value)}", "write the first day before the slash")
    elif isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return parse_date(value), value
    raise BadValueError(
        f"must be a date or an interval of dates, not {show(value)}",
        'write it like "2027-04-22" or "2027-05-01/2027-05-03"',
    )


def parse_range(value: object) -> tuple[dt.datetime | dt.date, dt.datetime | dt.date]:
    """A list of two moments, earliest and latest."""
    if isinstance(value, list | tuple) and len(value) == 2:
        return parse_moment(value[0]), parse_moment(value[1])
    hint = 'write the earliest and the latest: ["2027-04-24", "2027-05-05"]'
    raise BadValueError(f"must be two dates, not {show(value)}", hint)


def parse_zone(value: object) -> ZoneInfo:
    """An IANA time zone by name."""
    if isinstance(value, ZoneInfo):
        return value
    if isinstance(value, str) and value.isprintable():
        try:
            return ZoneInfo(value)
        except (KeyError, ValueError, OSError):
            guess = nearest(value, sorted(available_timezones()))
            hint = f'did you mean "{guess}"?' if guess else 'write it like "Europe/London"'
            raise BadValueError(f"must be an IANA time zone, and {show(value)} is none", hint) from None
    what = f"must be the name of an IANA time zone, not {show(value)}"
    raise BadValueError(what, 'write it like "Europe/London"')


def instant(moment: dt.datetime | dt.date, timezone: dt.tzinfo) -> dt.datetime:
    """`moment` in UTC; without an offset it is local time, and a date is its local midnight."""
    if not isinstance(moment, dt.datetime):
        moment = dt.datetime.combine(moment, dt.time())
    local = moment.replace(tzinfo=timezone) if moment.tzinfo is None else moment
    return local.astimezone(dt.UTC)
