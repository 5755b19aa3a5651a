"""Plans found and what they are worth; orders to place by: a whiteboard's, changed ones, what is kept of one."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sequencer.planning.bound import latest_starts
from sequencer.planning.placing import Placer, Schedule, hold_for
from sequencer.planning.problem import Item

DAY = 96
"""Slots."""

BACK = 30
"""Items back in the order that one is tied to at most."""

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


def worth(placer: Placer, found: Found) -> tuple[int, int, int]:
    """What a look betters: the launch slot, then the slot at which all is ready for it, then the slots of keying.

    Between two mornings of the lift nothing else tells a plan that is nearly in time for the earlier one.
    """
    schedule, problem = found.schedule, placer.problem
    waited = problem.items[problem.finish].edges
    ends = [(schedule.ends[edge.before], edge.opens) for edge in waited if problem.items[edge.before].fixed is None]
    ready = max((end if opens is None else opens[end] for end, opens in ends), default=0)
    return schedule.starts[problem.finish], ready, sum(k.keying.work for k in schedule.keyed)


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
        latest = latest_starts(placer, starts[problem.finish] + 14 * DAY)
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


def kept_orders(items: Sequence[Item], found: Found, kept: Sequence[int]) -> list[tuple[int, int]]:
    """Pairs of `kept` items of which the first ends before the second starts and shares hands or gear with it.

    Without those that follow from others.
    """
    starts, ends = found.schedule.starts, found.schedule.ends
    order = sorted(kept, key=lambda i: (starts[i], ends[i]))
    pairs = []
    for at, later in enumerate(order):
        tied: list[int] = []
        for earlier in reversed(order[max(0, at - BACK) : at]):
            if ends[earlier] > starts[later] or not _share(items[earlier], items[later]):
                continue
            if not any(ends[earlier] <= starts[k] and _share(items[earlier], items[k]) for k in tied):
                tied.append(earlier)
        pairs += [(earlier, later) for earlier in tied]
    return pairs


def _share(one: Item, other: Item) -> bool:
    """Whether two items want the same hands or gear."""
    return bool(one.hands and other.hands) or bool({h.gear for h in one.holds} & {h.gear for h in other.holds})
