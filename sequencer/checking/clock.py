"""The checker's own clock: quarter hours counted from local midnight of the day the boat was hauled.

A *slot* is such a quarter hour by its number; the grid line of the same number is its beginning. Slots are
true elapsed quarter hours: a local day has 92 of them when the clock goes forward and 100 when it goes back.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from zoneinfo import ZoneInfo

QUARTER = 900
"""Seconds in a quarter hour."""

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
"""Names of their own, since strftime's follow the machine's language."""

Moment = dt.date | dt.datetime


class Clock:
    """Turns moments into grid lines and back.

    zone: the yard's time zone. hauled: when the boat came on the stands; a date means its midnight.
    """

    def __init__(self, zone: ZoneInfo, hauled: Moment) -> None:
        self.zone = zone
        self._local: dict[int, dt.datetime] = {}
        day = dt.datetime.fromtimestamp(self._seconds(hauled), zone).date()
        self._origin = self._seconds(day)

    def _seconds(self, moment: Moment) -> float:
        """Seconds of UTC; a moment without an offset is the yard's, a date is its local midnight."""
        if not isinstance(moment, dt.datetime):
            moment = dt.datetime(moment.year, moment.month, moment.day)
        if moment.tzinfo is None:
            moment = moment.replace(tzinfo=self.zone)
        return moment.timestamp()

    def quarters(self, moment: Moment) -> float:
        """Quarter hours from the origin of the grid to `moment`, not rounded."""
        return (self._seconds(moment) - self._origin) / QUARTER

    def line(self, moment: Moment) -> int:
        """The grid line from which `moment` counts: its own, or else the next one."""
        return int(-(-(self._seconds(moment) - self._origin) // QUARTER))

    def wall(self, day: dt.date, minutes: int) -> int:
        """The grid line of a wall clock time, `minutes` after midnight of `day` (1440: the next)."""
        days, rest = divmod(minutes, 1440)
        return self.line(dt.datetime.combine(day + dt.timedelta(days=days), dt.time(rest // 60, rest % 60)))

    def local(self, slot: int) -> dt.datetime:
        """The yard's date and time at the beginning of `slot`."""
        if slot not in self._local:
            self._local[slot] = dt.datetime.fromtimestamp(self._origin + slot * QUARTER, self.zone)
        return self._local[slot]

    def date(self, slot: int) -> dt.date:
        """The local date of `slot`."""
        return self.local(slot).date()

    def say(self, line: int) -> str:
        """A grid line in words: ``Mon 12 Apr 2027 10:00``."""
        at = self.local(line)
        return f"{DAYS[at.weekday()]} {at.day} {MONTHS[at.month - 1]} {at.year} {at.hour:02}:{at.minute:02}"

    def say_run(self, slots: Iterable[int]) -> str:
        """The first unbroken run of `slots` in words, and how many quarter hours there are besides."""
        ordered = sorted(slots)
        end = ordered[0]
        for slot in ordered:
            if slot > end:
                break
            end = slot + 1
        rest = len(ordered) - (end - ordered[0])
        more = f" and {rest} quarter hours more" if rest else ""
        return f"{self.say(ordered[0])} to {self.say(end)}{more}"


def quarters_of(hours: float) -> int:
    """`hours` as quarter hours, rounded up, at least one."""
    return max(1, int(-(-(hours * 4 - 1e-9) // 1)))
