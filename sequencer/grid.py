"""The yard's clock and the grid of quarter hours.

A slot is a quarter hour, counted in true elapsed time from local midnight of the day the boat was hauled.
Slot k begins at ``grid.moment(k)``; a task that starts at slot s and ends at slot e works in [s, e).
"""

from __future__ import annotations

import datetime as dt
import math
from bisect import bisect_right
from functools import cached_property
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

SLOT_SECONDS = 900
PER_HOUR = 4
UTC = dt.UTC


def hours_to_slots(hours: float) -> int:
    """Hours rounded up to quarter hours, at least one (contract §1)."""
    return max(1, math.ceil(hours * PER_HOUR - 1e-9))


class Grid:
    """Quarter hours from local midnight of the haul-out day, `days` local days long.

    timezone: the yard's. hauled: as written in the job. days: how many local days the grid spans.
    """

    def __init__(self, timezone: ZoneInfo, hauled: dt.datetime | dt.date, days: int) -> None:
        self.timezone = timezone
        self.day0 = self._aware(hauled).astimezone(timezone).date()
        self.days = days
        self._epoch = self._midnight(self.day0)
        self.length = self.day_start(days)

    def same(self, other: Grid) -> bool:
        """Whether the other grid has the same lines."""
        return (self.timezone, self.day0, self.days) == (other.timezone, other.day0, other.days)

    def _aware(self, moment: dt.datetime | dt.date) -> dt.datetime:
        if not isinstance(moment, dt.datetime):
            return self._midnight(moment)
        return moment.replace(tzinfo=self.timezone) if moment.tzinfo is None else moment

    def _midnight(self, date: dt.date) -> dt.datetime:
        """The first moment of a local date, in UTC (where midnight is skipped, the clock's next moment)."""
        return dt.datetime.combine(date, dt.time(), self.timezone).astimezone(UTC)

    def slot(self, moment: dt.datetime | dt.date) -> int:
        """The first grid line at or after `moment` (contract §1); may lie outside the grid."""
        elapsed = self._aware(moment).astimezone(UTC) - self._epoch
        return -(-elapsed // dt.timedelta(seconds=SLOT_SECONDS))

    def moment(self, slot: int) -> dt.datetime:
        """The grid line as a datetime in the yard's zone, with its offset."""
        return (self._epoch + dt.timedelta(seconds=SLOT_SECONDS * slot)).astimezone(self.timezone)

    def day_start(self, day: int) -> int:
        """The slot at which local day `day` (0 = the haul-out day) begins."""
        if 0 <= day < len(self._day_starts):
            return self._day_starts[day]
        return self.slot(self.day0 + dt.timedelta(days=day))

    @cached_property
    def _day_starts(self) -> list[int]:
        return [self.slot(self.day0 + dt.timedelta(days=d)) for d in range(self.days + 1)]

    def day_of(self, slot: int) -> int:
        """The local day (0 = the haul-out day) in which `slot` begins."""
        if 0 <= slot < self.length:
            return bisect_right(self._day_starts, slot) - 1
        return (self.moment(slot).date() - self.day0).days

    def date(self, day: int) -> dt.date:
        """The local date of day number `day`."""
        return self.day0 + dt.timedelta(days=day)

    def at(self, day: int, minutes: int) -> int:
        """The grid line at or after a local time of day; minutes may run past 1440 into the next day."""
        date = self.date(day + minutes // 1440)
        clock = dt.time(minutes % 1440 // 60, minutes % 60)
        return self.slot(dt.datetime.combine(date, clock, self.timezone))

    @cached_property
    def day_index(self) -> NDArray[np.int32]:
        """Shape (length,): the local day of every slot."""
        sizes = np.diff(np.array(self._day_starts))
        return np.repeat(np.arange(self.days, dtype=np.int32), sizes)

    @cached_property
    def clock_minutes(self) -> NDArray[np.int32]:
        """Shape (length,): local minutes after midnight of every slot, as the clock on the wall shows."""
        plain = np.arange(0, 1440, 15, dtype=np.int32)
        days = []
        for begin, end in pairwise(self._day_starts):
            # A day of 96 quarter hours may still hold two clock changes; none is known since 1970.
            shown = [self.moment(s) for s in range(begin, end)] if end - begin != len(plain) else None
            days.append(plain if shown is None else np.array([m.hour * 60 + m.minute for m in shown], dtype=np.int32))
        return np.concatenate(days)
