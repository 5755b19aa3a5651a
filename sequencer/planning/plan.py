"""The plan: when everything happens, what holds it, what it costs. What the paper and the screens read.

Slots are quarter hours on ``plan.grid``; ``plan.moment(slot)`` gives the yard's time.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

from sequencer.grid import PER_HOUR, Grid
from sequencer.job import Job, Task
from sequencer.planning.problem import Problem

CAUSES = (
    "work",
    "cure",
    "weather",
    "off-shift",
    "people",
    "gear",
    "dust",
    "delivery",
    "date",
    "slot",
    "wait",
    "start",
)
"""What can hold a task, and what the hours of the stay are put down to (contract §7)."""


@dataclass(frozen=True)
class Held:
    """What held a row to its start.

    cause: one of CAUSES. task, stage: what it came after last (empty where it came after nothing). ready: the slot
    at which that let it go. spans: what stopped it from ready to start, as (cause, slots) in time's order.
    by: rows that had the people, the gear or the air it wanted just before it started.
    """

    cause: str
    task: str = ""
    stage: str = ""
    ready: int = 0
    spans: tuple[tuple[str, int], ...] = ()
    by: tuple[str, ...] = ()


@dataclass(frozen=True)
class Row:
    """One task or keying as planned or as it happened; all moments are slots.

    pieces: spans worked. stages: when each stage of its material is reached, where that is within the grid.
    closes: when each of its windows closes. on_path: on a chain that sets the launch.
    task: the job's task; for a keying, the task it clears the way for, and `keys` names the coat keyed.
    """

    id: str
    task: Task
    zone: str
    start: int
    end: int
    pieces: tuple[tuple[int, int], ...]
    stages: dict[str, int]
    closes: dict[str, int]
    hands: int
    dusty: bool
    past: tuple[tuple[int, int], ...] = ()
    """Spans worked before now on what is begun and not finished; `pieces` tells the rest."""
    keys: str = ""
    finished: bool = False
    begun: bool = False
    on_path: bool = False
    explain: Callable[[], Held] = field(default=lambda: Held("start"), repr=False, compare=False)
    """What :attr:`held` asks, once: reasons are worked out for the rows somebody looks at."""
    play: Callable[[], int] = field(default=lambda: 0, repr=False, compare=False)
    """What :attr:`slack` asks, once."""

    @cached_property
    def held(self) -> Held:
        """What held the row to its start."""
        return self.explain()

    @cached_property
    def slack(self) -> int:
        """Slots it may start later and leave the launch where it is."""
        return self.play()

    @property
    def title(self) -> str:
        """What to call it on paper."""
        return f"Key {self.keys} for {self.task.name}" if self.keys else self.task.name

    @property
    def worked(self) -> int:
        """Slots worked."""
        return sum(end - begin for begin, end in self.pieces)


@dataclass(frozen=True)
class Step:
    """One span of the path that sets the launch: [begin, end) went to `cause`, at or before row `row`."""

    begin: int
    end: int
    cause: str
    row: str


@dataclass(frozen=True)
class Plan:
    """A whole plan. Frozen: every change makes a new one.

    rows: by id, in order of start. launch, bound: slots; no plan launches before `bound`, and `proved` says that
    the launch is the bound. steps: the stay split along the path, from hauled to launch. searched: seconds spent.
    """

    job: Job
    problem: Problem
    rows: dict[str, Row]
    launch: int
    bound: int
    proved: bool
    steps: tuple[Step, ...]
    searched: float = 0.0
    stopped: bool = False
    """Whether the search was stopped by the clock or by hand before it could prove the launch or settle its ties."""

    @property
    def grid(self) -> Grid:
        """The grid its slots count on."""
        return self.problem.tables.grid

    @property
    def hauled(self) -> int:
        """The slot of the haul-out."""
        return self.grid.slot(self.job.job.hauled)

    @property
    def now(self) -> int:
        """The slot the plan goes on from."""
        return self.problem.base

    def moment(self, slot: int) -> dt.datetime:
        """A slot as the yard's time, with offset."""
        return self.grid.moment(slot)

    @property
    def launched(self) -> dt.datetime:
        """The launch as the yard's time."""
        return self.moment(self.launch)

    @property
    def nights(self) -> int:
        """Local midnights from hauled to launch."""
        return self.nights_until(self.launch)

    def nights_until(self, slot: int) -> int:
        """Local midnights from hauled to a slot."""
        return (self.moment(slot).date() - self.moment(self.hauled).date()).days

    @property
    def cost(self) -> float | None:
        """What the stay costs, in the yard's currency; None where the job has no yard."""
        return self.cost_of(self.nights)

    def cost_of(self, nights: int) -> float | None:
        """What a stay of `nights` costs; None where the job has no yard."""
        yard = self.job.yard
        return None if yard is None else yard.fixed + yard.night * max(0, nights - yard.free_nights)

    @property
    def stay(self) -> dict[str, int]:
        """Slots of the stay by cause, in the order of CAUSES; they add up to launch - hauled."""
        total = dict.fromkeys(CAUSES, 0)
        for step in self.steps:
            total[step.cause] += step.end - step.begin
        return {cause: slots for cause, slots in total.items() if slots}

    @property
    def path(self) -> list[str]:
        """Row ids on the chain that sets the launch, first to last."""
        return [row.id for row in self.rows.values() if row.on_path]

    @property
    def missed(self) -> list[Row]:
        """The keyings: a row for each missed window."""
        return [row for row in self.rows.values() if row.keys]


def hours(slots: int) -> float:
    """Slots as hours."""
    return slots / PER_HOUR
