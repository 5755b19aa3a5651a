"""Orders to place by: those a whiteboard would give, and changes to an order that was good."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass

from sequencer.planning.bound import latest_starts
from sequencer.planning.placing import Placer, Schedule, hold_for

Score = tuple[int, int, int]
"""Launch slot, windows missed, and the sum of all starts: less is better, in that order."""


@dataclass
class Found:
    """A schedule with the order and holds that make it."""

    schedule: Schedule
    score: Score
    rank: list[float]
    holds: dict[int, int]
    keys: Mapping[tuple[int, int], int] | None = None


def simple_orders(placer: Placer, earliest: tuple[list[int], list[int]] | None) -> list[list[float]]:
    """Orders a whiteboard would give: as listed, first come, latest start first, and between."""
    problem = placer.problem
    n = len(problem.items)
    position: list[float] = [0] * n
    for place, i in enumerate(problem.order):
        position[i] = place
    orders = [position]
    if earliest is not None:
        starts, _ = earliest
        latest = latest_starts(placer, starts[problem.finish] + 14 * 96)
        orders.append([starts[i] * n + position[i] for i in range(n)])
        orders.append([latest[i] * n + position[i] for i in range(n)])
        orders.append([(latest[i] + starts[i]) * n + position[i] for i in range(n)])
        orders.append([(latest[i] - starts[i]) * n + position[i] for i in range(n)])
    return orders


def changed(
    placer: Placer, found: Found, rng: random.Random, target: list[int] | None = None
) -> tuple[list[float], dict[int, int]]:
    """A neighbour: some items moved in the order their starts give, or a hold set or lifted."""
    starts = found.schedule.starts
    by_start = sorted(placer.free, key=lambda i: (starts[i], found.rank[i]))
    reach = max(2, len(by_start) // 3)
    for _ in range(rng.choice((1, 1, 2, 3, 5))):
        at = rng.randrange(len(by_start))
        step = rng.randint(-reach, reach)
        if target is not None and rng.random() < 0.5:
            late = [k for k, i in enumerate(by_start) if starts[i] > target[i]]
            if late:
                at, step = rng.choice(late), -rng.randint(1, reach)
        item = by_start.pop(at)
        by_start.insert(max(0, min(len(by_start), at + step)), item)
    rank: list[float] = [0.0] * len(placer.problem.items)
    for place, i in enumerate(by_start):
        rank[i] = place
    return rank, _changed_holds(placer, found, rng)


def _changed_holds(placer: Placer, found: Found, rng: random.Random) -> dict[int, int]:
    holds = dict(found.holds)
    if holds and rng.random() < 0.3:
        del holds[rng.choice(sorted(holds))]
    if found.schedule.missed and rng.random() < 0.3:
        _, edge, start = rng.choice(found.schedule.missed)
        if placer.problem.items[edge.before].fixed is None:
            holds[edge.before] = hold_for(edge, start)
    return holds
