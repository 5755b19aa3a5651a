"""What all futures of a job share: its grid, its calendars, its network, compiled once as the plan has them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from sequencer.grid import Grid
from sequencer.job import Apply, Job, Material, Needs, Zone
from sequencer.job.links import DONE
from sequencer.planning.bound import latest_starts
from sequencer.planning.compiling import compile_problem
from sequencer.planning.placing import Placer
from sequencer.planning.plan import Plan
from sequencer.planning.planner import HORIZONS
from sequencer.planning.problem import Item, Problem
from sequencer.planning.tables import Mask, Tables
from sequencer.weather.files import HourlyRow
from sequencer.weather.hourly import Air, file_rows, told_air


@dataclass(frozen=True)
class Given:
    """A job and the plan its futures start from, in a form that other processes can be handed.

    first, days: the plan's grid. base, launch: slots, from when it is planned and the plan's launch. starts: by item,
    in the job's order, the slot the plan starts it. keyings: by later item and coat the slot the plan keys it.
    rows: the hours of the job's weather file, read once: whatever becomes of the file, all futures have the same.
    """

    job: Job
    first: dt.date
    days: int
    base: int
    launch: int
    starts: tuple[int, ...]
    keyings: tuple[tuple[tuple[int, int], int], ...] = ()
    rows: tuple[HourlyRow, ...] = ()

    @classmethod
    def of(cls, job: Job, plan: Plan) -> Given:
        """What futures need of a plan of `job`. Raises JobError where the weather file has faults."""
        index = {task.id: i for i, task in enumerate(job.task)}
        starts = tuple(plan.rows[task.id].start for task in job.task)
        keyings = tuple(((index[row.task.id], index[row.keys]), row.start) for row in plan.missed)
        return cls(job, plan.grid.day0, plan.grid.days, plan.now, plan.launch, starts, keyings, file_rows(job))

    def day_of(self, slot: int) -> int:
        """The local day of a slot."""
        return Grid(self.job.job.timezone, self.first, self.days).day_of(slot)


@dataclass(frozen=True)
class Kind:
    """What of a task's course is the same in every future; the numbers stand for keys of tables of one future.

    fit: its air at work. worked: that and its people. spoils: what would spoil it while wet (-1: nothing). dry_hours:
    hours until it is safe, None where that is the end of work. allowed: starts that lift slots allow.
    """

    zone: Zone | None
    material: Material | None
    needs: Needs
    dry: bool
    apply: Apply | None
    fit: int
    worked: int
    spoils: int
    dry_hours: tuple[float, ...] | None
    allowed: Mask | None


class Ground:
    """A job on a grid of `days` local days from the plan's first day.

    known: tables to take over from where they hold.
    """

    def __init__(self, given: Given, days: int, known: Tables | None = None) -> None:
        self.given = given
        self.job = given.job
        self.tables = _tables(given, days, known)
        self.grid: Grid = self.tables.grid
        self.base = given.base
        self.problem: Problem = compile_problem(given.job, self.tables, self.base)
        self.expected: Air = self.tables.outside
        self.day = np.append(self.grid.day_index, self.grid.days)
        self._numbers: dict[Hashable, int] = {}
        self.kinds = [self._kind(item) for item in self.problem.items]

    @property
    def length(self) -> int:
        """The last grid line."""
        return self.grid.length

    def _number(self, *key: Hashable) -> int:
        """A short number for what would be slow to compare in every future."""
        return self._numbers.setdefault(key, len(self._numbers))

    def _kind(self, item: Item) -> Kind:
        task = item.task
        zone = self.job.zones[task.zone] if task.zone else None
        material = self.job.materials[task.material] if task.material else None
        apply = material.apply if material is not None else None
        place = (zone.shelter, zone.heat_to) if zone is not None else None
        fit = self._number("fit", place, task.needs, task.dry, apply)
        spoils, dry_hours = -1, None
        if zone is not None and material is not None and zone.shelter == "open" and material.dry_until != "none":
            spoils = self._number("spoils", place)
            dry_hours = None if material.dry_until == DONE else material.stages[material.dry_until].opens
        return Kind(
            zone=zone,
            material=material,
            needs=task.needs,
            dry=task.dry,
            apply=apply,
            fit=fit,
            worked=self._number("worked", fit, task.hands, task.who, task.wait is None),
            spoils=spoils,
            dry_hours=dry_hours,
            allowed=self.tables.starts_allowed(task.slots),
        )

    @cached_property
    def longest_go(self) -> list[int]:
        """By item the most quarter hours its people offer on any one day from now on."""
        found: dict[tuple[int, tuple[str, ...]], int] = {}
        for item in self.problem.items:
            key = (item.hands, item.task.who)
            if key not in found:
                mask = self.tables.staffed(*key)[self.base :]
                days = self.grid.day_index[self.base :]
                found[key] = int(np.bincount(days[mask]).max()) if mask.any() else 0
        return [found[item.hands, item.task.who] for item in self.problem.items]

    @cached_property
    def plan_order(self) -> list[float]:
        """By item its place in the plan's order."""
        return [float(start) for start in self.given.starts]

    @cached_property
    def latest_order(self) -> list[float]:
        """By item the last start from which the plan's launch could still be met, were everything as planned."""
        return [float(last) for last in latest_starts(Placer(self.problem), self.given.launch)]

    @cached_property
    def plan_holds(self) -> dict[int, int] | None:
        """Starts by item where the plan's launch hangs on coats held back on purpose; None where its order will do."""
        placer = Placer(self.problem)
        placed = placer.place(self.plan_order)
        if placed.complete and placed.starts[self.problem.finish] <= self.given.launch:
            return None
        return {i: self.given.starts[i] for i in placer.free if not self.problem.items[i].is_wait}


def _tables(given: Given, days: int, known: Tables | None) -> Tables:
    """Tables over the air as given; what `known` has worked out is taken over where its air is the same."""
    made = Tables(given.job, days, given.first)
    told = made.__dict__["told"] = told_air(given.job, made.grid, given.rows)
    if known is not None and known.grid.same(made.grid) and _same_air(known.outside, made.outside):
        made = Tables(given.job, days, given.first, known)
        made.__dict__["told"] = told
    return made


def _same_air(one: Air, other: Air) -> bool:
    columns = ((getattr(one, f.name), getattr(other, f.name)) for f in fields(Air))
    return all(np.array_equal(a, b, equal_nan=a.dtype.kind == "f") for a, b in columns)


SPARE_DAYS = 12
"""Days a launch must lie ahead of a grid's end to be trusted: near it, starts are lost whose dry time the grid cuts
off. A coat in the open that needs longer to dry meets rain or dew before."""


def short_days(given: Given) -> int:
    """Days of grid on which nearly all futures launch; the others get longer ones, up to :func:`long_days`."""
    base, launch = given.day_of(given.base), given.day_of(given.launch)
    wanted = launch + max(20, (launch - base) // 2) + SPARE_DAYS
    # The plan's own grid has its tables at hand.
    return min(long_days(given), given.days if wanted <= given.days <= wanted + 7 else wanted)


def long_days(given: Given) -> int:
    """Days of the grid on which a job must be planned."""
    return max(0, given.day_of(given.base)) + HORIZONS[-1]
