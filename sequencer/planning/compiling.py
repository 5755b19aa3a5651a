"""From a job to a problem: every task compiled against the tables, what has happened set fast."""

from __future__ import annotations

import datetime as dt

import numpy as np

from sequencer.grid import Grid, hours_to_slots
from sequencer.job import Job, Task, Zone
from sequencer.job.links import DONE
from sequencer.network import graph_of, order
from sequencer.planning.bits import bits, pieces
from sequencer.planning.problem import Edge, Entry, Fixed, Hold, Item, Keying, Problem, work_slots
from sequencer.planning.tables import Course, Mask, Tables

DRY_KEYING = "keying"


def first_moment(job: Job) -> dt.datetime | dt.date:
    """The earliest moment the grid must hold: the haul-out, or something logged before it."""
    day = Grid(job.job.timezone, job.job.hauled, 1)
    moments = [job.job.hauled]
    moments += [m for t in job.task for m in (t.started, t.finished) if m is not None]
    return min(moments, key=day.slot)


def base_slot(job: Job, grid: Grid, now: dt.datetime | dt.date | None, clock: dt.datetime | None) -> int:
    """The slot the plan starts from: `now`, else the job's, else the later of hauled and the clock."""
    hauled = grid.slot(job.job.hauled)
    moment = now if now is not None else job.job.now if job.job.now is not None else clock
    return hauled if moment is None else max(hauled, grid.slot(moment))


def compile_problem(job: Job, tables: Tables, base: int) -> Problem:
    """Compile `job` for planning from slot `base` on. Raises JobError where the weather file has faults."""
    names = [t.id for t in job.task]
    index = {name: i for i, name in enumerate(names)}
    airs = sorted({z.air_id for z in job.zone})
    people = [c.id for c in job.crew]
    gears = [g.id for g in job.gear]
    problem = Problem(
        job=job,
        tables=tables,
        base=base,
        items=[],
        finish=index[job.job.finish],
        order=[index[t] for t in order(graph_of(job))],
        followers=[[] for _ in names],
        airs=airs,
        people=people,
        gears=gears,
        gear_counts=[g.count for g in job.gear],
        short=[bits((tables.hands < h)[base:]) if base < tables.grid.length else 0 for h in range(len(people) + 1)],
    )
    compiler = _Compiler(problem, index)
    problem.items.extend(compiler.item(task) for task in job.task)
    for i in problem.order:
        compiler.link(problem.items[i])
    return problem


class _Compiler:
    """Compiles tasks one by one; split from the function so that each step reads on its own."""

    def __init__(self, problem: Problem, index: dict[str, int]) -> None:
        self.problem = problem
        self.tables = problem.tables
        self.grid = problem.tables.grid
        self.job = problem.job
        self.index = index
        self.memos: dict[tuple[object, ...], dict[int, Entry]] = {}
        self.air = {name: i for i, name in enumerate(problem.airs)}
        self.person = {name: i for i, name in enumerate(problem.people)}
        self.gear = {name: i for i, name in enumerate(problem.gears)}

    def item(self, task: Task) -> Item:
        """The item without its edges."""
        zone = self.job.zones[task.zone] if task.zone else None
        material = self.job.materials[task.material] if task.material else None
        set_curve = self.tables.opens(zone, material, "set") if zone and material else None
        item = Item(
            index=self.index[task.id],
            id=task.id,
            task=task,
            work=work_slots(task),
            hands=task.people,
            who=tuple(self.person[p] for p in task.who) if task.people else (),
            course=self.course(task, zone),
            air=self.air[zone.air_id] if zone else -1,
            dusty=task.dusty and zone is not None,
            set_curve=set_curve,
            holds=self.holds(task, zone),
            edges=(),
            release=self.release(task),
        )
        item.fixed = self.fixed(item)
        # What alike items take up from a start is the same, and is worked out once.
        curves = (item.set_curve, *(h.until for h in item.holds))
        alike = (id(item.course), item.hands == 0 and not item.dusty, *map(id, curves))
        item.memo = self.memos.setdefault(alike, {})
        return item

    def holds(self, task: Task, zone: Zone | None) -> tuple[Hold, ...]:
        """The gear the task holds, with units of one gear named twice added up."""
        held = []
        for use in task.gear:
            until = None
            if use.until is not None and use.until != DONE and zone and task.material:
                until = self.tables.opens(zone, self.job.materials[task.material], use.until)
            held.append(Hold(self.gear[use.id], use.units, until))
        return tuple(held)

    def release(self, task: Task) -> int:
        """The first slot the calendar, the deliveries and the dates allow."""
        moments = [self.problem.base]
        if task.delivery is not None:
            moments.append(self.grid.slot(self.job.deliveries[task.delivery].due))
        if task.not_before is not None:
            moments.append(self.grid.slot(task.not_before))
        return max(moments)

    def course(self, task: Task, zone: Zone | None) -> Course:
        """How the task runs from each start; shared between tasks that run alike."""
        place = (zone.shelter, zone.heat_to) if zone is not None else None
        material = self.job.materials[task.material] if task.material else None
        # A material by its content: another job, or the same after a change, may mean another by the same name.
        coat = material.model_dump_json() if material is not None else None
        where = (place, coat, task.one_go, task.dry, task.needs, task.slots)
        key = (task.hours, task.wait is None, task.hands, task.who, where)
        return self.tables.kept_course(key, lambda: self._course(task, zone))

    def _course(self, task: Task, zone: Zone | None) -> Course:
        tables = self.tables
        allowed = tables.starts_allowed(task.slots)
        material = self.job.materials[task.material] if task.material else None
        wet = self._wet(task, zone) if material is not None else None
        if task.wait is not None:
            always = np.ones(self.grid.length, dtype=bool)
            return tables.course(work_slots(task), always, None, False, wet, allowed)
        fit = tables.fit(zone, task.needs, task.dry, material.apply if material else None)
        workable = tables.staffed(task.hands, task.who) & fit
        return tables.course(work_slots(task), workable, fit, task.one_go, wet, allowed)

    def _wet(
        self, task: Task, zone: Zone | None
    ) -> tuple[Mask, np.ndarray[tuple[int], np.dtype[np.int64]] | None] | None:
        material = self.job.materials[task.material or ""]
        if zone is None or zone.shelter != "open" or material.dry_until == "none":
            return None
        if material.dry_until == DONE:
            return self.tables.wetted(zone), None
        hours = material.stages[material.dry_until].opens
        return self.tables.wetted(zone), self.tables.curve_array(zone, material, hours)

    def fixed(self, item: Item) -> Fixed | None:
        """What the log says of a task: finished, or begun (its end is set when all else is compiled)."""
        task = item.task
        if task.started is None and task.finished is None:
            return None
        reached = {stage: self.grid.slot(moment) for stage, moment in task.reached.items()}
        if task.finished is not None:
            end = self.grid.slot(task.finished)
            start = self.grid.slot(task.started) if task.started is not None else end
            worked = self._worked(item, start, end)
            return Fixed(start, end, worked, worked, reached)
        assert task.started is not None
        start = self.grid.slot(task.started)
        item.work = self._left(item, start)
        could = [] if item.is_wait else pieces(item.course.workable, start, max(start, self.problem.base))
        return Fixed(start, -1, could or self._worked(item, start, self.problem.base), [], reached)

    def _left(self, item: Item, start: int) -> int:
        """Quarter hours left of a task begun at `start` (contract §3.10)."""
        if item.task.work_left is not None:
            return hours_to_slots(item.task.work_left)
        base = self.problem.base
        span = ((1 << max(0, base - start)) - 1) << start
        could = (item.course.workable & span).bit_count()
        return max(1, item.work - could)

    def _worked(self, item: Item, start: int, end: int) -> list[tuple[int, int]]:
        """The spans of [start, end) with the hands it wants there, else with anybody there, else the whole."""
        if item.is_wait or end <= start:
            return []
        if item.hands == 0:
            return [(start, end)]
        wanted = self.tables.staffed(item.hands, item.task.who)[start:end]
        anybody = self.tables.hands[start:end] > 0
        spans = runs(wanted, start) or runs(anybody, start) or [(start, end)]
        # It was going on when it was finished, whoever's hours say otherwise.
        if spans[-1][1] < end and item.task.finished is not None:
            spans.append((end - 1, end))
        return spans

    def link(self, item: Item) -> None:
        """Give an item its edges; what has happened before it becomes part of its release."""
        edges: dict[tuple[int, str], Edge] = {}
        for link in item.task.after:
            before = self.problem.items[self.index[link.task]]
            edge = self.edge(before, link.stage)
            edges[(before.index, link.stage)] = edge
        item.edges = tuple(edges.values())
        for edge in item.edges:
            self.problem.followers[edge.before].append((item.index, edge))

    def edge(self, before: Item, stage: str) -> Edge:
        """The edge to an earlier item at a stage of its material."""
        task = before.task
        if stage == DONE or not task.zone or not task.material:
            return Edge(before.index, stage, None, None, None)
        zone, material = self.job.zones[task.zone], self.job.materials[task.material]
        closes = self.tables.closes(zone, material, stage)
        keying = self.keying(zone, task, stage) if closes is not None else None
        return Edge(before.index, stage, self.tables.opens(zone, material, stage), closes, keying)

    def keying(self, zone: Zone, task: Task, stage: str) -> Keying:
        """Keying the coat of `task`: one pair of hands, dry, where the coat is."""
        missed = self.job.materials[task.material or ""].stages[stage].if_missed
        work = hours_to_slots(missed.work)
        course = self.tables.kept_course(
            (DRY_KEYING, zone.shelter, zone.heat_to, work), lambda: self._keying_course(zone, work)
        )
        return Keying(work, missed.dust, self.air[zone.air_id], course)

    def _keying_course(self, zone: Zone, work: int) -> Course:
        air = self.tables.air(zone)
        workable = self.tables.staffed(1, ()) & air.known & ~air.rain
        return self.tables.course(work, workable, None, False, None, None)


def runs(mask: Mask, offset: int) -> list[tuple[int, int]]:
    """The runs of true in `mask` as (begin, end) slots, `offset` added."""
    padded = np.concatenate(([False], mask, [False]))
    edges = np.flatnonzero(padded[1:] != padded[:-1]) + offset
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
