"""What a plan says of where help could come in: what is still to do, what waits for whom, until the launch."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from sequencer.job import Crew, Job, Task
from sequencer.network import ancestors, graph_of
from sequencer.planning.plan import Plan, Row
from sequencer.planning.tables import Mask

LONGEST = 120
"""Days ahead that levers look, however late the launch is."""


class Outlook:
    """A plan of a job, looked at from its `now` to its launch."""

    def __init__(self, job: Job, plan: Plan) -> None:
        self.job, self.plan, self.grid = job, plan, plan.grid
        self.tables = plan.problem.tables
        self.now = plan.moment(plan.now)
        self.today, self.last = self.now.date(), plan.launched.date()

    @cached_property
    def todo(self) -> list[Task]:
        """Tasks the launch waits for that are not finished, those begun among them."""
        graph = graph_of(self.job)
        wanted = ancestors(graph, self.job.job.finish) | {self.job.job.finish}
        return [task for task in self.job.task if task.id in wanted and task.finished is None]

    @cached_property
    def fresh(self) -> list[Task]:
        """Of those, the ones not begun: what can still be laid elsewhere, with other stuff, by others."""
        return [task for task in self.todo if task.started is None]

    @property
    def finish(self) -> Task:
        """The task that ends the stay."""
        return self.job.tasks[self.job.job.finish]

    @cached_property
    def rows(self) -> list[Row]:
        """The rows of what is to do, keyings among them, those that set the launch first."""
        names = {task.id for task in self.todo}
        rows = [row for row in self.plan.rows.values() if row.task.id in names and not row.finished]
        return sorted(rows, key=lambda row: (not row.on_path, row.start, row.id))

    def dates(self, first: dt.date | None = None) -> list[dt.date]:
        """Local dates from `first` (left out: today) to the launch."""
        begin = first if first is not None else self.today
        count = min(LONGEST, (self.last - begin).days + 1)
        return [begin + dt.timedelta(days=k) for k in range(count)]

    @property
    def tomorrow(self) -> dt.date:
        """The first date none of whose hours are past."""
        return self.today + dt.timedelta(days=1)

    # -- who is there, and when somebody is missed ------------------------------------------------------------

    def there(self, person: str, date: dt.date) -> bool:
        """Whether somebody is on shift at all on a date."""
        day = (date - self.grid.day0).days
        begin, end = self.grid.day_start(day), self.grid.day_start(day + 1)
        return bool(self.tables.shifts[person][max(0, begin) : max(0, end)].any())

    def away(self, person: Crew, date: dt.date) -> bool:
        """Whether somebody has said that he can't come on a date."""
        return any(first <= date <= last for first, last in person.away)

    @cached_property
    def missed(self) -> Mask:
        """Slots in which some row waited, or paused, for people or because nobody was there."""
        return self._missed(self.rows)

    @cached_property
    def missed_on_path(self) -> Mask:
        """As above, of the rows that set the launch."""
        return self._missed([row for row in self.rows if row.on_path])

    def _missed(self, rows: Sequence[Row]) -> Mask:
        found = np.zeros(self.grid.length + 1, dtype=bool)
        for row in rows:
            for begin, end, cause in waits(row):
                if cause in ("people", "off-shift"):
                    found[max(0, begin) : max(0, end)] = True
            # What is begun pauses for its own calendar alone; where people are the reason, a shift would help.
            for (_, begin), (end, _) in zip(row.pieces, row.pieces[1:], strict=False):
                found[begin:end] = True
        return found

    def missed_between(self, date: dt.date, begin: int, end: int, path: bool = False) -> bool:
        """Whether that is so on a date between two times (minutes after midnight; past 1440: the next day)."""
        day = (date - self.grid.day0).days
        first, last = self.grid.at(day, begin), self.grid.at(day, end)
        mask = self.missed_on_path if path else self.missed
        return bool(mask[max(0, first, self.plan.now) : max(0, last)].any())


def waits(row: Row) -> Iterator[tuple[int, int, str]]:
    """The spans for which a row was stopped from starting, as (begin, end, cause)."""
    if row.finished or row.begun:
        return
    at = row.start - sum(slots for _, slots in row.held.spans)
    for cause, slots in row.held.spans:
        yield at, at + slots, cause
        at += slots
