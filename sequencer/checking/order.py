"""Rules between a task and what comes before it: links, windows and keyings, waits that start at once."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from sequencer.checking.clock import Clock
from sequencer.checking.doings import Doing, Yard, doing_of_keying, doing_of_task, windows
from sequencer.checking.report import Report
from sequencer.checking.rows import Row
from sequencer.checking.shared import gear_clash
from sequencer.job import Job, Link


def key_id(task: str, before: str) -> str:
    """The id of the row that keys the coat `before` for `task`."""
    return f"{task}/key/{before}"


def make_doings(job: Job, rows: dict[str, Row | None], clock: Clock, report: Report) -> list[Doing]:
    """The rows as doings; a missing task and a row that stands for nothing are found fault with."""
    for name in job.tasks:
        if name not in rows:
            report.add("tasks", name, "is in the job but not in the plan")
    doings = []
    for name, row in rows.items():
        later, _, before = name.partition("/key/")
        if name in job.tasks:
            doing = doing_of_task(job, job.tasks[name], row, clock) if row else None
        elif later in job.tasks and before in job.tasks:
            doing = doing_of_keying(job, job.tasks[later], job.tasks[before], row) if row else None
            if row and doing is None:
                when = clock.say(row.start)
                report.add("keying", name, f"is keyed {when}, but no window of {before} closes for {later}")
        else:
            report.add("tasks", name, "is in the plan but not in the job")
            continue
        if doing is not None:
            doings.append(doing)
    return doings


def check_after(yard: Yard, doing: Doing, report: Report) -> None:
    """A task starts once what it comes after is done, or has reached the stage asked for."""
    if doing.log or doing.keyed:
        return
    say = yard.clock.say
    for link in doing.task.after:
        before = yard.doings.get(link.task)
        if before is None:
            continue
        ready = yard.reaches(before, link.stage)
        if ready is None or doing.start < ready:
            when = "never reaches" if ready is None else f"only {say(ready)} reaches"
            report.add("after", doing.id, f"starts {say(doing.start)}, but {link.task} {when} {link.stage}")


def _missed(yard: Yard, doing: Doing, link: Link) -> int | None:
    """The closing that `doing` starts after; None where it meets the window or the coat is not planned."""
    before = yard.doings.get(link.task)
    closing = yard.closes(before, link.stage) if before else None
    return closing if closing is not None and doing.start > closing else None


def check_windows(yard: Yard, doing: Doing, rows: dict[str, Row | None], report: Report) -> None:
    """A missed window is keyed, in a row of its own; a window that is met is not."""
    if doing.keyed:
        return
    say = yard.clock.say
    links = windows(yard.job, doing.task)
    for before in dict.fromkeys(link.task for link in links):
        name = key_id(doing.id, before)
        missed = [link for link in links if link.task == before and _missed(yard, doing, link) is not None]
        if doing.log:
            if name in rows:
                report.add("keying", name, f"is planned, but {doing.id} has begun {say(doing.start)}")
        elif missed and name not in rows and not _free(yard, missed):
            closing = _missed(yard, doing, missed[0])
            assert closing is not None
            late = f"the {missed[0].stage} window of {before} closes {say(closing)} and no row {name} keys it"
            report.add("keying", doing.id, f"starts {say(doing.start)}, but {late}")
        elif not missed and name in rows and before in yard.doings:
            report.add("keying", name, f"is planned, but {doing.id} starts {say(doing.start)} within the window")


def _free(yard: Yard, missed: list[Link]) -> bool:
    """Whether missing these windows costs no keying: hours of nought for each."""
    stages = [yard.job.materials[yard.doings[link.task].task.material or ""].stages[link.stage] for link in missed]
    return all(stage.if_missed.work == 0 for stage in stages)


def check_keying(yard: Yard, doing: Doing, report: Report) -> None:
    """A keying waits until the coat can be sanded, and ends before the later task starts."""
    if not doing.keyed:
        return
    say = yard.clock.say
    before, later = yard.doings.get(doing.keyed), yard.doings.get(doing.task.id)
    if before is not None and before.material is not None:
        stage = "sand" if "sand" in before.material.stages else "done"
        ready = yard.reaches(before, stage)
        if ready is None or doing.start < ready:
            when = "never reaches" if ready is None else f"only {say(ready)} reaches"
            report.add("keying", doing.id, f"starts {say(doing.start)}, but {before.id} {when} {stage}")
    if later is not None and doing.end > later.start:
        report.add("keying", doing.id, f"ends {say(doing.end)}, after {later.id} starts {say(later.start)}")


def _begin_of_waits(yard: Yard) -> int:
    """The grid line waits count from; without a now, the latest that the plan can have meant."""
    if yard.now is not None:
        return yard.begin
    clock_now = yard.clock.line(dt.datetime.now(yard.clock.zone))
    first = min((doing.start for doing in yard.doings.values() if not doing.log), default=yard.hauled)
    return max(yard.hauled, min(clock_now, first))


def _earliest(yard: Yard, doing: Doing) -> int | None:
    """The first grid line at which `doing` may start, slots and gear aside; None where that is not known."""
    task = doing.task
    moments: list[int | None] = [_begin_of_waits(yard)]
    for link in task.after:
        before = yard.doings.get(link.task)
        moments.append(yard.reaches(before, link.stage) if before else None)
        keying = yard.doings.get(key_id(doing.id, link.task))
        if keying is not None:
            moments.append(keying.end)
    if task.not_before is not None:
        moments.append(yard.clock.line(task.not_before))
    if task.delivery is not None:
        moments.append(yard.clock.line(yard.job.deliveries[task.delivery].due))
    known = [moment for moment in moments if moment is not None]
    return max(known) if len(known) == len(moments) else None


def check_wait_start(yard: Yard, doing: Doing, report: Report) -> None:
    """A wait starts as soon as it may: at the first moment its slots and its gear allow."""
    if not doing.waits or doing.log:
        return
    earliest = _earliest(yard, doing)
    if earliest is None:
        return
    length = doing.end - doing.start
    for line in range(earliest, doing.start):
        sooner = replace(doing, start=line, end=line + length)
        if yard.shifts.may_start(doing.task, line) and not gear_clash(yard, sooner):
            say = yard.clock.say
            what = f"starts {say(doing.start)}, but a wait starts as soon as it may, {say(line)}"
            report.add("wait", doing.id, what)
            return
