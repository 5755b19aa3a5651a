"""A job as the checks look at it: what comes before what, what lies under each coat, what each material is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import networkx as nx

from sequencer.cautions.doing import title_of
from sequencer.cautions.stuff import Stuff, stuff_in
from sequencer.cautions.words import found
from sequencer.job import Job, Task
from sequencer.job.links import DONE
from sequencer.network import graph_of
from sequencer.planning.plan import Plan, Row

WASHES = ("wash", "washed", "washing", "wipe", "wiped", "wiping", "scrub", "rinse", "rinsed", "peel", "peel ply")
"""Words of work, or of peel ply, that takes blush off."""


@dataclass(frozen=True)
class Under:
    """A coat under another. stage: the stage of it that is waited for. between: what is done between the two."""

    coat: Task
    stage: str
    between: tuple[Task, ...]


class Picture:
    """One job, with its plan where there is one."""

    def __init__(self, job: Job, plan: Plan | None) -> None:
        self.job = job
        self.plan = plan
        self.graph = graph_of(job)
        self.stuff: dict[str, Stuff | None] = {task.id: stuff_in(job, task) for task in job.task}

    @cached_property
    def ancestors(self) -> dict[str, set[str]]:
        """By task everything it comes after."""
        return {name: nx.ancestors(self.graph, name) for name in self.graph}

    @property
    def finish(self) -> Task:
        """The task that ends the stay."""
        return self.job.tasks[self.job.job.finish]

    @property
    def ahead(self) -> Iterator[Task]:
        """Tasks not finished."""
        return (task for task in self.job.task if task.finished is None)

    def row(self, task: Task) -> Row | None:
        """The plan's row of a task."""
        return self.plan.rows.get(task.id) if self.plan is not None else None

    def after(self, task: Task) -> list[Task]:
        """Everything that comes after a task, in the file's order."""
        return [other for other in self.job.task if task.id in self.ancestors[other.id]]

    def ordered(self, one: Task, other: Task) -> bool:
        """Whether the links say which of two tasks comes first."""
        return one.id in self.ancestors[other.id] or other.id in self.ancestors[one.id]

    def family(self, task: Task) -> str:
        """The family of what a task lays; empty where it lays nothing, or nothing known."""
        stuff = self.stuff[task.id]
        return stuff.family if stuff is not None else ""

    def chemistry(self, task: Task) -> str:
        """The chemistry of what a task lays; empty where it lays nothing, or nothing known."""
        stuff = self.stuff[task.id]
        return stuff.chemistry if stuff is not None else ""

    def air(self, task: Task) -> str:
        """The air a task is worked in; empty without a zone."""
        zone = self.job.zones.get(task.zone or "")
        return zone.air_id if zone is not None else ""

    def words(self, task: Task) -> str:
        """Title, id and note."""
        return f"{title_of(task)}. {task.note}"

    def all_words(self, task: Task) -> str:
        """The same with the note of its material."""
        material = self.job.materials.get(task.material or "")
        return f"{self.words(task)}. {material.note if material is not None else ''}"

    def windowed(self, under: Under) -> bool:
        """Whether the next coat is held to a window of the one under it."""
        material = self.job.materials[under.coat.material or ""]
        return not under.between and under.stage in material.stages and material.stages[under.stage].closes is not None

    def prepared(self, upper: Task, under: Under) -> bool:
        """Whether the coat under another is sanded, washed or peeled before it, as far as the words tell."""
        said = [self.all_words(under.coat), self.all_words(upper), *(self.words(task) for task in under.between)]
        return any(task.dusty for task in under.between) or any(found(text, WASHES) for text in said)

    def under(self, task: Task) -> list[Under]:
        """The coats next under a task: laid in its place, or held to it by a window."""
        met = [one for one in self._met(task, (), set()) if one.coat.zone == task.zone or self.windowed(one)]
        # A coat that another of them lies over is waited for (to bear a load, say), not touched.
        covered = {name for one in met for name in self.ancestors[one.coat.id] if one.coat.zone == task.zone}
        met = [one for one in met if one.coat.id not in covered or self.windowed(one)]
        return sorted(met, key=lambda one: one.coat.id)

    def _met(self, task: Task, between: tuple[Task, ...], seen: set[str]) -> Iterator[Under]:
        for link in task.after:
            before = self.job.tasks[link.task]
            if before.material is not None:
                yield Under(before, link.stage or DONE, between)
            elif before.id not in seen:
                seen.add(before.id)
                yield from self._met(before, (before, *between), seen)
