"""What happened, held against itself and against the clock: a log that contradicts itself plans nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from sequencer.errors import Fault
from sequencer.job.drafts import Entry
from sequencer.job.links import DONE
from sequencer.job.models import Job, Moment, Task
from sequencer.job.sketch import Sketch, sketch_of
from sequencer.job.values import instant
from sequencer.job.wording import show, shown

LONG_BEFORE = dt.timedelta(days=2 * 365)
"""What was logged so long before the haul-out has a slip of the pen in its year."""


class _Logged(NamedTuple):
    """One moment of the log: the field it stands in, how a sentence calls it, and when it was."""

    field: str
    words: str
    when: Moment


def log_faults(job: Job, now: Moment | None) -> list[Fault]:
    """The contradictions in a job's log, and what lies after `now` if that is given.

    now: the moment the plan starts from; local time where it has no offset.
    """
    sketch = sketch_of(job)
    return [fault for entry in sketch.task for fault in logged_wrongly(entry, sketch, now)]


def logged_wrongly(entry: Entry[Task], sketch: Sketch, now: Moment | None) -> Iterator[Fault]:
    """The contradictions in one task's log."""
    yield from _incomplete(entry)
    yield from _unknown_stages(entry, sketch)
    if sketch.timezone is not None:
        yield from _out_of_order(entry, sketch)
        yield from _long_before(entry, sketch)
        if now is not None:
            yield from _in_the_future(entry, sketch, now)


def _moments(task: Task) -> Iterator[_Logged]:
    if task.started is not None:
        yield _Logged("started", "started", task.started)
    if task.finished is not None:
        yield _Logged("finished", "finished", task.finished)
    for stage, when in task.reached.items():
        yield _Logged("reached", f"reached {shown(stage)}", when)


def _incomplete(entry: Entry[Task]) -> Iterator[Fault]:
    """A stage needs an end of work before it, and work is left only of what has started and not ended."""
    task = entry.table
    if task.reached and task.finished is None and entry.sure("finished"):
        hint = "add finished: stages count from the end of the work"
        yield Fault(f"{entry.place}, reached", "a stage is reached, and the work is not finished", hint)
    if task.work_left is None:
        return
    if task.finished is not None:
        what = "work is left, and the task is finished"
        yield Fault(f"{entry.place}, work_left", what, "keep one of the two")
    elif task.started is None and entry.sure("started"):
        hint = "add started, or change work itself"
        yield Fault(f"{entry.place}, work_left", "work is left, and the task has not started", hint)


def _unknown_stages(entry: Entry[Task], sketch: Sketch) -> Iterator[Fault]:
    for stage in entry.table.reached:
        where = f"{entry.place}, reached"
        if stage == DONE:
            yield Fault(where, "done is reached when the work is finished", "write finished instead")
        else:
            yield from sketch.stage_faults(where, f"reached {show(stage)}", stage, entry)


def _out_of_order(entry: Entry[Task], sketch: Sketch) -> Iterator[Fault]:
    """The start, the end and the stages must follow each other."""
    task, timezone = entry.table, sketch.timezone
    assert timezone is not None
    if task.finished is None:
        return
    end = instant(task.finished, timezone)
    if task.started is not None and end < instant(task.started, timezone):
        what = f"finished {show(task.finished)} is before started {show(task.started)}"
        timed = isinstance(task.finished, dt.datetime)
        hint = "mend one of the two" if timed else "give the hour: a date alone is its midnight"
        yield Fault(f"{entry.place}, finished", what, hint)
    for logged in _moments(task):
        if logged.field == "reached" and instant(logged.when, timezone) < end:
            what = f"{logged.words} {show(logged.when)} is before finished {show(task.finished)}"
            hint = "stages come after the end of the work; mend one of the two"
            yield Fault(f"{entry.place}, reached", what, hint)


def _long_before(entry: Entry[Task], sketch: Sketch) -> Iterator[Fault]:
    """What is done at home before the haul-out is done in the same year or two."""
    timezone, hauled = sketch.timezone, sketch.hauled
    if timezone is None or hauled is None:
        return
    for logged in _moments(entry.table):
        if instant(logged.when, timezone) < instant(hauled, timezone) - LONG_BEFORE:
            what = f"{logged.words} {show(logged.when)} is more than two years before she was hauled, {show(hauled)}"
            yield Fault(f"{entry.place}, {logged.field}", what, "mend the year of one of the two")


def _in_the_future(entry: Entry[Task], sketch: Sketch, now: Moment) -> Iterator[Fault]:
    timezone = sketch.timezone
    assert timezone is not None
    for logged in _moments(entry.table):
        if instant(logged.when, timezone) > instant(now, timezone):
            what = f"{logged.words} {show(logged.when)} is later than now, {show(now)}"
            hint = "what has not happened yet can't be logged; mend it, or plan from a later moment"
            yield Fault(f"{entry.place}, {logged.field}", what, hint)
