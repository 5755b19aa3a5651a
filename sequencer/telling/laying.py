"""By when a coat must be begun today so that what follows it still meets its window."""

from __future__ import annotations

from bisect import bisect_left

from sequencer.planning.plan import Plan, Row
from sequencer.planning.problem import Edge, Item


def last_start_for_next(plan: Plan, row: Row) -> tuple[int, str] | None:
    """The last start of a coat on its planned day that still lets the next one meet its window, and that one's id.

    None where nothing that follows has a window, or any start that day would do.
    """
    item = next((one for one in plan.problem.items if one.id == row.id), None)
    if item is None:
        return None
    best: tuple[int, str] | None = None
    for number, edge in plan.problem.followers[item.index]:
        follower = plan.problem.items[number]
        done = plan.rows[follower.id].finished or f"{follower.id}/key/{row.id}" in plan.rows
        if edge.closes is None or edge.stage not in row.closes or done:
            continue
        last = _last_for(plan, row, item, follower, edge)
        if last is not None and (best is None or last < best[0]):
            best = (last, follower.id)
    return best


def _last_for(plan: Plan, row: Row, item: Item, follower: Item, edge: Edge) -> int | None:
    course, wanted = item.course, follower.course.starts
    night = plan.grid.day_start(plan.grid.day_of(row.start) + 1)
    first, end = bisect_left(course.starts, row.start), bisect_left(course.starts, night)
    fits = []
    for at in range(first, end):
        opens = plan.problem.stage_moment(item, edge.stage, course.ends[at])
        near = bisect_left(wanted, opens)
        fits.append(near < len(wanted) and edge.closes is not None and wanted[near] <= edge.closes[course.starts[at]])
    if not fits or all(fits):
        return None
    return course.starts[first + fits.index(False) - 1] if fits[0] else None
