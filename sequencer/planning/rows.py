"""From a schedule to a plan: rows with their stages, slack and reasons."""

from __future__ import annotations

from bisect import bisect_left
from functools import cached_property, partial

from sequencer.planning.bits import pieces
from sequencer.planning.path import Path
from sequencer.planning.placing import Keyed, Placer, Schedule
from sequencer.planning.plan import Plan, Row
from sequencer.planning.problem import Item
from sequencer.planning.pushing import Pushing
from sequencer.planning.reasons import Reasons
from sequencer.planning.slack import Slack
from sequencer.planning.usage import Usage


def build_plan(
    placer: Placer, schedule: Schedule, bound: int, searched: float, final: bool, hurried: bool = False
) -> Plan:
    """The plan of a complete schedule. bound: a slot before which nothing launches. final: the search is over.

    hurried: the clock has cut short the settling of its ties.
    """
    problem = placer.problem
    usage = Usage(placer, schedule)
    reasons = Reasons(placer, schedule, usage)
    slack = LazySlack(placer, schedule, usage)
    path = Path(reasons)
    steps = path.steps()
    on_path = path.on_chains()
    rows = [_item_row(item, schedule, reasons, slack, item.id in on_path) for item in problem.items]
    rows += [_key_row(k, number, reasons, slack, on_path) for number, k in enumerate(schedule.keyed)]
    rows.sort(key=lambda row: (row.start, row.end, row.id))
    launch = schedule.starts[problem.finish]
    proved = launch <= bound
    return Plan(
        job=problem.job,
        problem=problem,
        rows={row.id: row for row in rows},
        launch=launch,
        bound=launch if proved else bound,
        proved=proved,
        steps=tuple(steps),
        searched=searched,
        stopped=hurried or (final and not proved),
    )


TRIED_UP_TO = 150
"""Items up to which slack is tried by placing the plan anew; past that the backward pass stands alone."""


class LazySlack:
    """Slack of one schedule, worked out when first asked for."""

    def __init__(self, placer: Placer, schedule: Schedule, usage: Usage) -> None:
        self.placer, self.schedule, self.usage = placer, schedule, usage

    @cached_property
    def _slack(self) -> Slack:
        return Slack(self.placer, self.schedule, self.usage)

    @cached_property
    def _pushing(self) -> Pushing:
        return Pushing(self.placer, self.schedule)

    @cached_property
    def _later(self) -> dict[int, int]:
        """Last starts by the backward pass, of the items to which it gives any slack; waits left out."""
        planned, latest = self.schedule.starts, self._slack.latest
        items = self.placer.problem.items
        return {i: latest[i] for i in self.placer.free if latest[i] > planned[i] and not items[i].is_wait}

    @cached_property
    def _confirmed(self) -> set[int]:
        """Items whose last start by the backward pass leaves the launch where it is, tried by placing."""
        return self._pushing.all_kept(self._later)

    def of_item(self, item: Item) -> int:
        """Slots an item may start later; none for what has happened.

        The backward pass pushes one task at a time; two pushed together may meet where only one can be. So the
        answer is tried, and lessened until it holds.
        """
        if item.fixed is not None:
            return 0
        start, last = self.schedule.starts[item.index], self._slack.latest[item.index]
        if last == start or item.is_wait or len(self.placer.problem.items) > TRIED_UP_TO:
            return last - start
        if item.index in self._confirmed:
            return last - start
        starts = item.course.starts
        low, high = bisect_left(starts, start), bisect_left(starts, last)
        while high - low > 1:
            middle = (low + high) // 2
            if self._pushing.keeps_launch({item.index: starts[middle]}):
                low = middle
            else:
                high = middle
        return starts[low] - start

    def of_key(self, number: int) -> int:
        """Slots a keying may start later."""
        return self._slack.keyed[number] - self.schedule.keyed[number].start


def _item_row(item: Item, schedule: Schedule, reasons: Reasons, slack: LazySlack, on_path: bool) -> Row:
    problem, task = reasons.problem, item.task
    start, end = schedule.starts[item.index], schedule.ends[item.index]
    stages: dict[str, int] = {}
    closes: dict[str, int] = {}
    if task.material and task.zone:
        zone, material = problem.job.zones[task.zone], problem.job.materials[task.material]
        for name in material.stages:
            moment = problem.stage_moment(item, name, end)
            if moment <= problem.length:
                stages[name] = moment
            curve = problem.tables.closes(zone, material, name)
            if curve is not None and curve[max(0, start)] <= problem.length:
                closes[name] = curve[max(0, start)]
    return Row(
        id=item.id,
        task=task,
        zone=task.zone or "",
        start=start,
        end=end,
        pieces=tuple(reasons.pauses.worked(item)),
        stages=stages,
        closes=closes,
        hands=item.hands,
        dusty=item.dusty,
        past=tuple(item.fixed.past) if item.fixed is not None and task.finished is None else (),
        finished=task.finished is not None,
        begun=item.fixed is not None and task.finished is None,
        on_path=on_path,
        explain=partial(reasons.held, item),
        play=partial(slack.of_item, item),
    )


def _key_row(keyed: Keyed, number: int, reasons: Reasons, slack: LazySlack, on_path: set[str]) -> Row:
    items = reasons.problem.items
    row_id = reasons.key_id(keyed)
    return Row(
        id=row_id,
        task=items[keyed.after].task,
        zone=items[keyed.before].task.zone or "",
        start=keyed.start,
        end=keyed.end,
        pieces=tuple(pieces(keyed.keying.course.workable, keyed.start, keyed.end)),
        stages={},
        closes={},
        hands=1,
        dusty=keyed.keying.dusty,
        keys=items[keyed.before].id,
        on_path=row_id in on_path,
        explain=partial(reasons.held_key, keyed),
        play=partial(slack.of_key, number),
    )
