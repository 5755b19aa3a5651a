"""Which levers could matter for a plan, and which of them bear on what sets its launch."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.job import Job
from sequencer.levers.coats import material_levers, two_coat_levers
from sequencer.levers.indoors import indoor_levers
from sequencer.levers.lever import Lever
from sequencer.levers.outlook import Outlook
from sequencer.levers.people import people_levers
from sequencer.levers.places import place_levers
from sequencer.levers.things import delivery_levers, gear_levers, lift_levers
from sequencer.planning.plan import Plan, Step

FINDERS = (
    place_levers,
    people_levers,
    two_coat_levers,
    gear_levers,
    material_levers,
    delivery_levers,
    lift_levers,
    indoor_levers,
)


def find_levers(job: Job, plan: Plan) -> tuple[Lever, ...]:
    """The levers that could matter from the plan's now to its launch; none once she is launched.

    job: the plan's own. Those that bear on what sets the launch come first, so that a search cut short tries them.
    """
    if job.tasks[job.job.finish].started is not None or job.tasks[job.job.finish].finished is not None:
        return ()
    out = Outlook(job, plan)
    found = {lever.id: lever for finder in FINDERS for lever in finder(out)}
    return tuple(sorted(found.values(), key=lambda lever: not bears_on(lever, plan)))


def bears_on(lever: Lever, plan: Plan) -> bool:
    """Whether a lever could shorten some of the hours of the path that sets a plan's launch."""
    return any(_shortens(lever, plan, step) for step in ahead(plan))


def ahead(plan: Plan) -> Iterator[Step]:
    """The steps of the path that sets the launch, from now on."""
    return (step for step in plan.steps if step.end > plan.now)


def _shortens(lever: Lever, plan: Plan, step: Step) -> bool:
    if step.cause not in lever.causes:
        return False
    row = plan.rows.get(step.row)
    if row is None or not lever.about:
        return not lever.days or _on_its_days(lever, plan, step)
    held = {row.zone, row.id, row.task.id, row.task.delivery, row.task.material, *(use.id for use in row.task.gear)}
    return bool(held & lever.about) or row.held.task in lever.about


def _on_its_days(lever: Lever, plan: Plan, step: Step) -> bool:
    begin, end = plan.moment(step.begin).date(), plan.moment(step.end - 1).date()
    return any(begin <= date <= end for _, date in lever.days)
