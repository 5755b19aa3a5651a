"""The grain of a job: where everything lasts whole multiples of some slots, she need launch at no others.

Pushed as far to the left as its order on the gear lets it, a plan starts everything where it may from the first, or
where something else ends: sums of what the work lasts (the semi-active schedules of resource-limited projects:
Sprecher, Kolisch and Drexl, European Journal of Operational Research 80, 1995, 94-102). So launches between the
multiples need no looking at.
"""

from __future__ import annotations

from math import gcd

from sequencer.planning.placing import Placer
from sequencer.planning.problem import Item


def launches(placer: Placer) -> list[int]:
    """The slots at which she could launch, without those at which no plan need: rising."""
    problem = placer.problem
    finish = problem.items[problem.finish]
    grain = _grain(placer, finish)
    starts = finish.course.starts
    return starts[problem.base - starts[0] :: grain] if grain > 1 else starts


def _grain(placer: Placer, finish: Item) -> int:
    """What all before the launch lasts and waits for is a multiple of, in slots; 1 where that can't be told."""
    problem, found = placer.problem, 0
    if finish.hands or any(item.fixed is not None for item in problem.items) or not _steady(finish, problem.base, 0):
        return 1
    for i in placer.before_launch - {problem.finish}:
        item = problem.items[i]
        plain = not item.hands and item.set_curve is None and all(h.until is None for h in item.holds)
        if not plain or not _steady(item, problem.base, item.work) or any(e.opens or e.closes for e in item.edges):
            return 1
        found = gcd(found, item.work, placer.release0[i] - problem.base)
    found = gcd(found, placer.release0[finish.index] - problem.base)
    return max(1, found)


def _steady(item: Item, base: int, work: int) -> bool:
    """Whether it may start in every slot from the first, and lasts as long from each (`work`, 0: however long)."""
    starts, ends = item.course.starts, item.course.ends
    every = bool(starts) and starts[0] <= base and len(starts) == starts[-1] - starts[0] + 1
    return every and (not work or all(end - start == work for start, end in zip(starts, ends, strict=True)))
