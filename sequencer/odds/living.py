"""One future lived through as the owner would.

What he knows when: of the weather, the hours and the days a coat he starts must stay dry, as a forecast of a day or
two tells it; how long work takes, once it is done; when a delivery comes, once it is there; what is next, by the order
of his plan or by what can wait least. He starts what can be started, never leaves hands idle for work that may come,
goes on by whichever of the two orders serves him better, and holds a coat back where else the next would miss its
window; a coat that misses it is keyed.

So it comes close to a plan made anew every morning with the weather of the next two days, the hours of what has begun
and the deliveries that have come: on 36 futures of four random jobs with 30 and 60 tasks, job by job on average, from
0.6 days earlier to 0.4 later. The old order alone was up to 2.0 days later than that, and plans made with the whole
future known up to 1.6 days earlier than what is done here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sequencer.odds.future import FuturePlacer, FutureTables, future_placer
from sequencer.odds.ground import Ground
from sequencer.odds.results import NEVER
from sequencer.planning.placing import Schedule, hold_for
from sequencer.weather.hourly import Air

HOLDING_TURNS = 3
"""How often coats are held back further, each time for the windows still missed."""


@dataclass(frozen=True)
class Life:
    """How one future went.

    launch: slot, or NEVER. schedule, placer: how it came about (None: it never launched). order: which of the owner's
    orders served him best (-1: none).
    """

    launch: int
    placer: FuturePlacer
    schedule: Schedule | None
    order: int = -1


def live(
    ground: Ground,
    air: Air,
    work: NDArray[np.int64],
    due: dict[str, int],
    like: FutureTables | None = None,
    order: int = -1,
) -> Life:
    """Live through a future of `ground`: air outside, quarter hours by task, slots by delivery.

    like: tables of a future with the same air, or air as warm, to share what they have worked out. order: the one order
    to go by; -1 for whichever serves best.
    """
    placer = future_placer(ground, air, work, due, like)
    finish = placer.problem.finish
    best = Life(NEVER, placer, None)
    for number in range(3) if order < 0 else (order,):
        schedule = _by_order(ground, placer, number)
        if schedule is None or not schedule.complete:
            continue
        known = best.schedule
        worth = schedule.starts[finish], len(schedule.keyed)
        if known is None or worth < (known.starts[finish], len(known.keyed)):
            best = Life(schedule.starts[finish], placer, schedule, number)
    return best


def _by_order(ground: Ground, placer: FuturePlacer, number: int) -> Schedule | None:
    """The future by the plan's order (0), by what can wait least (1), or by the plan and its holds (2, if any)."""
    if number < 2:
        return _followed(placer, ground.latest_order if number else ground.plan_order)
    if ground.plan_holds is None:
        return None
    return placer.place(ground.plan_order, ground.plan_holds, None, dict(ground.given.keyings))


def _followed(placer: FuturePlacer, rank: Sequence[float]) -> Schedule:
    """The future by one order, with coats held back where a keying sets the launch, as far as that helps."""
    finish, items = placer.problem.finish, placer.problem.items
    holds: dict[int, int] = {}
    schedule = placer.place(rank)
    for _ in range(HOLDING_TURNS):
        if not schedule.complete or not _hangs_on_keying(placer, schedule):
            break
        more = dict(holds)
        for _, edge, start in schedule.missed:
            before = items[edge.before]
            if before.fixed is None and not before.is_wait:
                more[edge.before] = max(more.get(edge.before, 0), hold_for(edge, start))
        if more == holds:
            break
        held = placer.place(rank, more)
        if not held.complete or held.starts[finish] >= schedule.starts[finish]:
            break
        holds, schedule = more, held
    return schedule


def _hangs_on_keying(placer: FuturePlacer, schedule: Schedule) -> bool:
    """Whether a keying lies on a chain that sets the launch."""
    if not schedule.keyed:
        return False
    on_chain = _chain(placer, schedule)
    return any(
        keyed.after in on_chain and keyed.end == _moments(placer, schedule, keyed.after)[0] for keyed in schedule.keyed
    )


def chain(life: Life) -> tuple[set[int], set[int]]:
    """Items on a chain that sets the launch, back from it over all that let each go last; and those at its end."""
    if life.schedule is None:
        return set(), set()
    last = _moments(life.placer, life.schedule, life.placer.problem.finish)[1]
    return _chain(life.placer, life.schedule), last


def _chain(placer: FuturePlacer, schedule: Schedule) -> set[int]:
    found: set[int] = set()
    queue = [placer.problem.finish]
    while queue:
        index = queue.pop()
        if index not in found:
            found.add(index)
            queue += _moments(placer, schedule, index)[1]
    return found


def _moments(placer: FuturePlacer, schedule: Schedule, index: int) -> tuple[int, set[int]]:
    """When an item was let go last, and the items that did it; a keying stands for the coat keyed."""
    item = placer.problem.items[index]
    if item.fixed is not None:
        return item.release, set()
    moments = [(placer.opening(edge, schedule.ends[edge.before]), edge.before) for edge in item.edges]
    moments += [(keyed.end, keyed.before) for keyed in schedule.keyed if keyed.after == index]
    ready = max((moment for moment, _ in moments), default=0)
    # Bound by a delivery or a date later than all of them, it waits for nobody.
    return ready, {before for moment, before in moments if moment == ready and ready >= item.release}
