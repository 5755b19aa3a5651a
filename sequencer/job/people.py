"""The people of the job file, and the lines that say on which days and at what hours something is open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Annotated

from pydantic import BeforeValidator, Field

from sequencer.job.tables import Clock, Flaw, Named, Table, checks
from sequencer.job.values import ever_falls, parse_date, parse_days, parse_interval, parse_rule


class Hours(Table):
    """One line of somebody's hours, or of the lift's: on which days, from when, to when.

    Exactly one of ``days`` (weekdays, 0 = Monday) and ``rule`` (an RFC 5545 recurrence, with ``since``).
    ``start`` and ``end`` are minutes after local midnight; an end at or before the start is past midnight.
    """

    days: Annotated[frozenset[int], BeforeValidator(parse_days)] | None = None
    rule: Annotated[str, BeforeValidator(parse_rule)] | None = None
    since: Annotated[dt.date, BeforeValidator(parse_date)] | None = None
    start: Clock = Field(alias="from")
    end: Clock = Field(alias="to")

    @checks("days", "rule", "since")
    def _on_days(self) -> Iterator[Flaw]:
        if self.days is None and self.rule is None:
            yield Flaw("days is missing", 'add days = "Mon-Fri", or a rule')
        elif self.days is not None and self.rule is not None:
            yield Flaw("days and rule both stand here", "keep one of the two")
        elif self.rule is None and self.since is not None:
            yield Flaw("since stands here without a rule", "take it out, or write a rule in place of days")
        elif self.rule is not None and self.since is None:
            yield Flaw("since is missing", "add the date the rule counts from")
        elif self.rule is not None and self.since is not None and not ever_falls(self.rule, self.since):
            yield Flaw(f"rule never falls on a day, counted from {self.since}", "mend the rule or since")

    @checks("start", "end")
    def _some_time(self) -> Iterator[Flaw]:
        if self.start == self.end:
            hint = "make to later; a time before from is on the next day"
            yield Flaw("from and to are the same time", hint)
        elif self.start == 1440:
            yield Flaw('from is "24:00"', 'write "00:00" and the day after')


class Crew(Named):
    """``[[crew]]``: a pair of hands, when they are there and when they are away (first and last day)."""

    hours: tuple[Hours, ...] = ()
    away: tuple[Annotated[tuple[dt.date, dt.date], BeforeValidator(parse_interval)], ...] = ()
