"""Moments no plan can beat: one pass forward without limits on people, gear and air, and its mirror backward.

Every task's end and stages only come later when its start does, so the forward pass gives true earliest starts,
and the backward pass, for a wanted launch, the last start from which that launch can still be met.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from sequencer.planning.placing import Placer, latest_end


def earliest_starts(placer: Placer) -> tuple[list[int], list[int]] | None:
    """Earliest (starts, ends) by item, all else left aside; None where some item has no start at all."""
    problem = placer.problem
    starts, ends = placer.start0[:], placer.end0[:]
    ready = placer.release0[:]
    for i in problem.order:
        item = problem.items[i]
        if item.fixed is None:
            at = bisect_left(item.course.starts, ready[i])
            if at == len(item.course.starts):
                return None
            starts[i], ends[i] = item.course.starts[at], item.course.ends[at]
        if ends[i] < 0:
            return None
        for j, opens in placer.live_followers[i]:
            ready[j] = max(ready[j], ends[i] if opens is None else opens[ends[i]])
    return starts, ends


def latest_starts(placer: Placer, launch: int, ready: int | None = None) -> list[int]:
    """By item the last start from which a launch at or before `launch` can be met; -1 where none can.

    ready: the slot by which all is to be ready for it, where that is sooner than the launch.
    Items the launch does not wait for may start as late as the grid allows.
    """
    problem = placer.problem
    length = problem.length
    latest = [length] * len(problem.items)
    for i in reversed(problem.order):
        item = problem.items[i]
        if item.fixed is not None:
            continue
        until = length
        for j, opens in placer.live_followers[i]:
            by = latest[j] if ready is None or j != problem.finish else min(latest[j], ready)
            until = min(until, latest_end(opens, by))
        course = item.course
        at = bisect_right(course.ends, until)
        if i == problem.finish:
            at = min(at, bisect_right(course.starts, launch))
        latest[i] = course.starts[at - 1] if at else -1
    return latest
