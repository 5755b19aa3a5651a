"""What a plan's row stands for: a task or a keying, and all that the rules ask of it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Literal

from sequencer.checking.air import Weather
from sequencer.checking.clock import Clock, quarters_of
from sequencer.checking.cure import TOLERANCE, Cures
from sequencer.checking.people import Shifts
from sequencer.checking.rows import Row
from sequencer.job import Apply, Job, Link, Material, Needs, Task, Zone

Log = Literal["", "started", "finished"]


@dataclass(frozen=True)
class Doing:
    """One row of the plan and what it must keep to.

    start, end: grid lines, as logged where it has been logged. worked: the slots worked. hours: of work or
    wait (a keying may have several right answers). keyed: of a keying, the id of the coat it keys. log: what
    has happened.
    """

    id: str
    task: Task
    start: int
    end: int
    worked: tuple[int, ...]
    hours: tuple[float, ...]
    zone: Zone | None = None
    hands: int = 0
    who: tuple[str, ...] = ()
    material: Material | None = None
    needs: Needs = field(default_factory=Needs)
    apply: Apply = field(default_factory=Apply)
    dry: bool = False
    dusty: bool = False
    one_go: bool = False
    waits: bool = False
    keyed: str = ""
    log: Log = ""

    @property
    def quarters(self) -> set[int]:
        """How many quarter hours it may take, before anything of it is done."""
        return {quarters_of(hours) for hours in self.hours}


def worked_slots(row: Row) -> tuple[int, ...]:
    """The slots inside the row's pieces."""
    return tuple(slot for begin, end in row.pieces for slot in range(begin, end))


def doing_of_task(job: Job, task: Task, row: Row, clock: Clock) -> Doing:
    """The doing of a task's own row; what the log says of its start and end goes before what the row says."""
    start, end = row.start, row.end
    log: Log = "finished" if task.finished else "started" if task.started else ""
    if task.finished is not None:
        end = clock.line(task.finished)
        start = end
    if task.started is not None:
        start = clock.line(task.started)
    material = job.materials.get(task.material) if task.material else None
    return Doing(
        row.id,
        task,
        start,
        end,
        worked_slots(row),
        (task.hours,),
        zone=job.zones.get(task.zone) if task.zone else None,
        hands=task.people,
        who=task.who,
        material=material,
        needs=task.needs,
        apply=material.apply if material else Apply(),
        dry=task.dry,
        dusty=task.dusty,
        one_go=task.one_go and task.wait is None,
        waits=task.wait is not None,
        log=log,
    )


def windows(job: Job, task: Task) -> list[Link]:
    """The links of `task` whose stage closes."""
    found = []
    for link in task.after:
        before = job.tasks.get(link.task)
        material = job.materials.get(before.material) if before and before.material else None
        if material and link.stage in material.stages and material.stages[link.stage].closes:
            found.append(link)
    return found


def doing_of_keying(job: Job, task: Task, before: Task, row: Row) -> Doing | None:
    """The doing of a row ``TASK/key/PREDECESSOR``, or None where there is no window between the two.

    Where several windows of one coat lead to one task, any of their keyings will do.
    """
    material = job.materials[before.material] if before.material else None
    links = [link for link in windows(job, task) if link.task == before.id]
    if material is None or not links:
        return None
    misses = [material.stages[link.stage].if_missed for link in links]
    return Doing(
        row.id,
        task,
        row.start,
        row.end,
        worked_slots(row),
        tuple(miss.work for miss in misses),
        zone=job.zones.get(before.zone) if before.zone else None,
        hands=1,
        dry=True,
        dusty=all(miss.dust for miss in misses),
        keyed=before.id,
    )


class Yard:
    """The job, its clock, air, cures and people, and the plan's rows: all that a rule may ask.

    now: grid line before which nothing new may start, None where nobody said. begin: the earliest of a plan.
    """

    def __init__(self, job: Job, clock: Clock, doings: list[Doing], now: dt.date | dt.datetime | None) -> None:
        self.job, self.clock = job, clock
        self.doings = {doing.id: doing for doing in doings}
        self.weather = Weather(job, clock)
        self.cures = Cures(self.weather)
        self.hauled = clock.line(job.job.hauled)
        self.now = None if now is None else clock.line(now)
        self.begin = self.hauled if self.now is None else max(self.hauled, self.now)
        seen = [self.begin, self.hauled]
        for doing in doings:
            seen += [doing.start, doing.end, *doing.worked[:1], *doing.worked[-1:]]
        self.shifts = Shifts(job, clock, min(seen), max(seen))

    def reaches(self, doing: Doing, stage: str) -> int | None:
        """The grid line at which the material of `doing` reaches `stage`; None where it never does."""
        if stage in doing.task.reached and not doing.keyed:
            return self.clock.line(doing.task.reached[stage])
        if doing.material is None or doing.zone is None or stage not in doing.material.stages:
            return doing.end
        return self.cures.opens(doing.zone, doing.material, stage, doing.end)

    def closes(self, doing: Doing, stage: str) -> int | None:
        """The grid line at which the window of `stage` closes, from the start of the work; None if never."""
        if doing.material is None or doing.zone is None:
            return None
        return self.cures.closes(doing.zone, doing.material, stage, doing.start)

    def staffed(self, doing: Doing, slot: int) -> bool:
        """Whether the hands that `doing` needs are on shift in `slot`, those named among them."""
        there = self.shifts.there(slot)
        return len(there) >= doing.hands and there.issuperset(doing.who)

    def unfit(self, doing: Doing, slot: int) -> str:
        """Why the air of `slot` does not suit the work of `doing`; empty where it does."""
        if doing.zone is None or doing.waits:
            return ""
        air = self.weather.in_zone(doing.zone, slot)
        if air is None:
            return "there is no weather for it"
        if doing.dry and air.rain:
            return "it rains"
        for limit in (doing.needs, doing.apply):
            if limit.min_temp is not None and air.temp < limit.min_temp - TOLERANCE:
                return f"{air.temp:.1f} °C is under {limit.min_temp:g} °C"
            if limit.max_temp is not None and air.temp > limit.max_temp + TOLERANCE:
                return f"{air.temp:.1f} °C is over {limit.max_temp:g} °C"
        if doing.needs.max_wind is not None and air.wind > doing.needs.max_wind + TOLERANCE:
            return f"{air.wind:.0f} kn of wind is over {doing.needs.max_wind:g} kn"
        most, margin = doing.apply.max_humidity, doing.apply.above_dew
        if most is not None and air.humidity > most + TOLERANCE:
            return f"{air.humidity:.0f} % humidity is over {most:g} %"
        if margin is not None and air.temp - air.dew < margin - TOLERANCE:
            return f"{air.temp - air.dew:.1f} °C above the dew point is under {margin:g} °C"
        return ""

    def workable(self, doing: Doing, slot: int) -> bool:
        """Whether the own calendar of `doing` lets it be worked in `slot`: hands on shift, air that suits."""
        return self.staffed(doing, slot) and not self.unfit(doing, slot)
