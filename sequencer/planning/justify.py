"""Pushing a schedule to the right: every item as late as it may for the same launch, around what already lies there.

Placed again in the order this gives, a schedule often launches earlier (double justification: Valls, Ballestín and
Quintanilla, European Journal of Operational Research 165, 2005, 375-386). Only the order is used, so windows may be
left aside here.
"""

from __future__ import annotations

from bisect import bisect_right

from sequencer.planning.placing import Placer, Schedule, latest_end
from sequencer.planning.problem import Item
from sequencer.planning.yard import Yard


def pushed_right(placer: Placer, schedule: Schedule) -> list[int]:
    """Start slots by item, each as late as the launch of `schedule` and what lies later let it."""
    problem = placer.problem
    yard = placer.yard0.copy()
    starts = schedule.starts[:]
    ends = schedule.ends
    for i in sorted(placer.free, key=lambda i: (-ends[i], -starts[i], i)):
        item = problem.items[i]
        last = starts[i] if i == problem.finish else problem.length
        until = problem.length
        for j, opens in placer.live_followers[i]:
            until = min(until, latest_end(opens, starts[j]))
        if until == problem.length and i != problem.finish:
            # Nothing comes after it: it has no last moment to be pushed to.
            until = ends[i]
        start, end = latest_fit(yard, item, until, last)
        if start < 0:
            start, end = starts[i], ends[i]
        starts[i] = start
        yard.put(item, start, end)
    return starts


def latest_fit(yard: Yard, item: Item, until: int, last: int) -> tuple[int, int]:
    """The last start at or before `last` with its end by `until` that fits, and its end; (-1, -1) where none does."""
    course = item.course
    starts, ends = course.starts, course.ends
    at = min(bisect_right(ends, until), bisect_right(starts, last)) - 1
    base = yard.problem.base
    scarce = yard.short[item.hands] if item.hands else 0
    while at >= 0:
        start, end = starts[at], ends[at]
        if scarce & 1 << end - 1 - base:
            # Nobody free in its last slot: go back to the last one before it with somebody, however far.
            reach = (1 << (end - 1 - base)) - 1
            at = min(at, bisect_right(ends, base + (~scarce & reach).bit_length())) - 1
            continue
        free_by = _clash(yard, item, start, end)
        if free_by is None:
            return start, end
        at = min(at, bisect_right(ends, free_by)) - 1
    return -1, -1


def _clash(yard: Yard, item: Item, start: int, end: int) -> int | None:
    """The last end at which the work would clear the first thing in its way; None where nothing is."""
    problem = yard.problem
    _, worked, wet_bits, held = problem.entry(item, start, end)
    clash = worked & yard.short[item.hands] if item.hands else 0
    for person in item.who:
        clash |= worked & yard.busy[person]
    if item.dusty:
        clash |= worked & yard.wet[item.air]
    if clash:
        return _first(clash, problem.base)
    if item.set_curve is not None:
        clash = wet_bits & yard.dust[item.air]
        if clash:
            return latest_end(item.set_curve, _first(clash, problem.base))
    for hold, span in zip(item.holds, held, strict=True):
        clash = span & yard.gear_short[hold.gear][hold.units]
        if clash:
            return latest_end(hold.until, _first(clash, problem.base))
    return None


def _first(clash: int, base: int) -> int:
    return base + (clash & -clash).bit_length() - 1
