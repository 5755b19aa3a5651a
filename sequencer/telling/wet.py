"""How long what is laid must stay dry, and whether rain or dew is seen till then."""

from __future__ import annotations

from sequencer.job.links import DONE
from sequencer.planning.plan import Plan, Row


def dry_until(plan: Plan, row: Row) -> int:
    """The slot until which rain, dew and dust must stay off `row`; its end where it lays nothing."""
    if not row.task.material or row.keys:
        return row.end
    length = plan.problem.length
    until = plan.job.materials[row.task.material].dry_until
    kept = row.end if until in (DONE, "none") else row.stages.get(until, length)
    return max(kept, row.stages.get("set", length))


def wet_from(plan: Plan, row: Row, begin: int, end: int) -> tuple[str, int] | None:
    """The first thing that would wet `row` in [begin, end), ``Rain`` or ``Dew``, and its slot; None for nothing."""
    zone = plan.job.zones[row.zone]
    if zone.shelter != "open":
        return None
    air, at = plan.problem.tables.air(zone), slice(begin, min(end, plan.grid.length))
    for what, mask in (("Rain", air.rain[at]), ("Dew", air.dewy[at])):
        wet = mask.nonzero()[0]
        if len(wet):
            return what, begin + int(wet[0])
    return None
