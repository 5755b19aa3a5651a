"""Levers of indoor work: begun before the date or the outdoor job it was written to wait for."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.errors import one_line
from sequencer.job import Task
from sequencer.job.links import DONE
from sequencer.job.writing import SetField
from sequencer.levers.changes import Unlinked
from sequencer.levers.lever import Lever
from sequencer.levers.outlook import Outlook
from sequencer.telling import day_name


def indoor_levers(out: Outlook) -> Iterator[Lever]:
    """For each indoor task to do: without its date, and without the job elsewhere that it was held up by."""
    for task in out.fresh:
        zone = out.job.zones.get(task.zone or "")
        if zone is None or zone.shelter != "inside" or task.id == out.finish.id:
            continue
        if task.not_before is not None and out.grid.slot(task.not_before) > out.plan.now:
            yield _without_date(out, task)
        yield from _without_link(out, task)


def _without_date(out: Outlook, task: Task) -> Lever:
    assert task.not_before is not None
    date = out.plan.moment(out.grid.slot(task.not_before))
    name = f"{one_line(task.id, 30)} before {day_name(date)}"
    return Lever(
        id=f"indoors:{task.id}:date",
        kind="indoors",
        name=name,
        change=SetField("task", task.id, "not_before", None),
        against="its date",
        causes=frozenset(("date",)),
        about=frozenset((task.id,)),
        price=0.0,
        mind=f"only if nothing else keeps {one_line(task.id, 30)} until then",
    )


def _without_link(out: Outlook, task: Task) -> Iterator[Lever]:
    """Of the jobs elsewhere that it follows when they are just done, the one that let it go last.

    A link at a stage is a coat that must be hard first; that is never a choice.
    """
    held = out.plan.rows[task.id].held
    for link in task.after:
        before = out.job.tasks[link.task]
        elsewhere = before.zone != task.zone and before.finished is None
        if link.stage != DONE or link.task != held.task or not elsewhere or not _indoor_alone(task, before):
            continue
        name = f"{one_line(task.id, 30)} before {one_line(before.id, 30)}"
        yield Lever(
            id=f"indoors:{task.id}:{before.id}",
            kind="indoors",
            name=name,
            change=Unlinked(task.id, before.id, out.finish.id, f"{task.id} need not wait for {before.id}"),
            against=one_line(before.id, 30),
            causes=frozenset(("work", "wait")),
            about=frozenset((task.id, before.id)),
            price=0.0,
            mind=f"only if {one_line(task.id, 30)} can be done without {one_line(before.id, 30)}",
        )


def _indoor_alone(task: Task, before: Task) -> bool:
    """Whether the two share no coat: then their order may be a habit."""
    return task.material is None and before.material is None
