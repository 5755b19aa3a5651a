"""How an earlier plan of much the same job lay, in the items and slots of a problem."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sequencer.planning.plan import Plan
from sequencer.planning.problem import Problem


@dataclass(frozen=True)
class Lay:
    """rank: by item its place in order. starts: by item where it lay, new ones left out. keys: by later item and coat
    where it was keyed. launch: when she was to launch. Slots of the problem's grid."""

    rank: list[float]
    starts: dict[int, int]
    keys: dict[tuple[int, int], int]
    launch: int


def lay(problem: Problem, like: Plan, first: Sequence[int]) -> Lay:
    """How the plan `like` lay. first: by item the slot that stands for what that plan does not know."""
    shift = problem.tables.grid.slot(like.moment(0))
    index = {item.id: item.index for item in problem.items}
    starts = {i: like.rows[name].start + shift for name, i in index.items() if name in like.rows}
    pairs = [(row, index.get(row.task.id), index.get(row.keys)) for row in like.missed]
    keys = {(a, b): row.start + shift for row, a, b in pairs if a is not None and b is not None}
    rank = [float(starts.get(i, slot)) for i, slot in enumerate(first)]
    return Lay(rank, starts, keys, like.launch + shift)
