"""A task's card: every line of it in the job file as a person reads it, and what the plan makes of it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from sequencer.cautions import cautions_for
from sequencer.grid import PER_HOUR, Grid, hours_to_slots
from sequencer.job import Job, Moment, Task
from sequencer.planning.plan import Plan, Row
from sequencer.telling import (
    best_window,
    day_clock,
    due_text,
    duration,
    hours_of,
    hours_text,
    lasting,
    near_clock,
    span_clock,
    why_row,
    window_words,
)

LAST_WORD = "Data sheets, the yard, local codes and licensed trades have the last word."
PIECES = 4
"""Spans of work named on a card; past that, the first and the last."""


@dataclass(frozen=True)
class Field:
    """One line of a card. key: the field of the job file it shows, empty for what the plan says.

    short: whether it may share a line with its neighbour.
    """

    label: str
    value: str
    key: str = ""
    short: bool = False


def card(job: Job, plan: Plan | None, task: Task, row: Row | None) -> list[Field]:
    """The card of `task`; `row` is where it lies in `plan`, None where there is no plan."""
    fields = [
        Field("where", _where(job, task), "zone", True),
        Field("hands", _hands(job, task), "hands", True),
        Field("wait" if task.wait is not None else "work", _work(task), "work", True),
        Field("material", _name(job.materials, task.material) or "none", "material", True),
        Field("after", ", ".join(str(link) for link in task.after) or "nothing", "after", True),
        Field("delivery", _delivery(job, plan, task), "delivery", True),
        Field("weather", _weather(task), "needs", True),
        Field("gear", _gear(job, task), "gear", True),
        *_rarer(task),
        *_planned(plan, row),
        Field("happened", _happened(job, task), "started"),
    ]
    cautions = "; ".join(caution.title.rstrip(".") for caution in cautions_for(job, task))
    if cautions:
        fields.append(Field("mind", f"{cautions}. {LAST_WORD}"))
    if task.part:
        fields.append(Field("part", task.part, "part"))
    if task.note:
        fields.append(Field("note", task.note, "note"))
    return fields


def key_card(plan: Plan, row: Row) -> list[Field]:
    """The card of a keying, which is in no job file."""
    window = next((w for w in [best_window(plan, row.keys)] if w is not None and w.keyed == row.id), None)
    return [
        Field("why", " ".join(window_words(plan, window)) if window else f"{row.keys}'s window is missed."),
        Field("where", row.zone, short=True),
        Field("hands", "1, dusty" if row.dusty else "1", short=True),
        *_planned(plan, row),
    ]


def _name(kind: dict[str, object] | object, ref: str | None) -> str:
    found = kind.get(ref) if isinstance(kind, dict) and ref else None
    return str(getattr(found, "name", ref or ""))


def _where(job: Job, task: Task) -> str:
    return _name(job.zones, task.zone) or "anywhere"


def _hands(job: Job, task: Task) -> str:
    if task.wait is not None or not task.hands:
        return "none"
    names = [_name(job.people, person) for person in task.who]
    if not names:
        return str(task.hands)
    listed = " and ".join(names)
    return f"{task.hands}, {listed}" if task.hands == len(names) else f"{task.hands}, {listed} among them"


def _work(task: Task) -> str:
    if task.work is None:
        return f"{hours_text(hours_to_slots(task.wait or 0))} that just pass"
    said = duration(hours_to_slots(task.work.likely))
    if task.work.low != task.work.high:
        said += f" ({task.work.low:g} to {task.work.high:g} h)"
    traits = [word for word, has in (("in one go", task.one_go), ("dusty", task.dusty)) if has]
    return ", ".join([said, *traits])


def _delivery(job: Job, plan: Plan | None, task: Task) -> str:
    if not task.delivery:
        return "none"
    name = _name(job.deliveries, task.delivery)
    if plan is not None and task.delivery in plan.job.deliveries:
        return f"{name}, {due_text(plan, task.delivery)}"
    return name


def _weather(task: Task) -> str:
    needs = task.needs
    said = ["dry"] if task.dry else []
    said += [f"wind to {needs.max_wind:g} kn"] if needs.max_wind is not None else []
    said += [f"from {needs.min_temp:g} °C"] if needs.min_temp is not None else []
    said += [f"to {needs.max_temp:g} °C"] if needs.max_temp is not None else []
    return ", ".join(said) or "any"


def _gear(job: Job, task: Task) -> str:
    said = []
    for use in task.gear:
        name = _name(job.gears, use.id)
        units = f"{use.units} of " if use.units > 1 else ""
        until = f" until {use.until}" if use.until else ""
        said.append(f"{units}{name}{until}")
    return ", ".join(said) or "none"


def _rarer(task: Task) -> list[Field]:
    """What few tasks have."""
    found = []
    if task.not_before is not None:
        found.append(Field("not before", _written(task.not_before), "not_before"))
    if task.slots:
        found.append(Field("starts in", hours_of(task.slots), "slots"))
    return found


def _written(moment: Moment) -> str:
    """A moment as the owner wrote it."""
    if isinstance(moment, dt.datetime):
        return day_clock(moment)
    return day_clock(dt.datetime.combine(moment, dt.time()))[: -len(" 00:00")]


def _planned(plan: Plan | None, row: Row | None) -> list[Field]:
    if plan is None or row is None:
        return [Field("planned", "not yet")]
    word = "was" if row.finished else "planned"
    fields = [Field(word, _pieces(plan, row))]
    fields += [Field("its coat", _coat(plan, row))] if row.stages else []
    if row.finished:
        return fields
    fields.append(Field("held by", why_row(plan, row)))
    return [*fields, Field("play", _play(plan, row))]


def _pieces(plan: Plan, row: Row) -> str:
    near, grid = plan.launched, plan.grid
    spans = row.pieces or ((row.start, row.end),)
    if len(spans) > PIECES:
        first, last = grid.moment(spans[0][0]), grid.moment(spans[-1][1])
        worked = sum(end - begin for begin, end in spans)
        return f"{near_clock(first, near)} to {near_clock(last, near)}, {lasting(worked)} in {len(spans)} pieces"
    said: list[str] = []
    day: dt.date | None = None
    for begin, end in spans:
        text = span_clock(grid.moment(begin), grid.moment(end), near)
        # The day is said once.
        said.append(text.split(" ")[-1] if grid.moment(begin).date() == day and "-" in text else text)
        day = grid.moment(begin).date()
    return ", ".join(said)


def _coat(plan: Plan, row: Row) -> str:
    said = [f"{name} {near_clock(plan.moment(slot), plan.launched)}" for name, slot in _by_time(row.stages)]
    return ", ".join(said)


def _by_time(stages: dict[str, int]) -> list[tuple[str, int]]:
    return sorted(stages.items(), key=lambda pair: pair[1])


def _play(plan: Plan, row: Row) -> str:
    if row.begun:
        return "it is under way"
    if not row.slack:
        return "none: it holds the launch" if row.on_path else "none"
    return f"{duration(row.slack)}, till {near_clock(plan.moment(row.start + row.slack), plan.launched)}"


def _happened(job: Job, task: Task) -> str:
    grid = Grid(job.job.timezone, job.job.hauled, 1)
    said = []
    for word, moment in (("started", task.started), ("finished", task.finished)):
        if moment is not None:
            said.append(f"{word} {near_clock(_aware(grid, moment), _aware(grid, job.job.hauled))}")
    if task.work_left is not None:
        said.append(f"{task.work_left:g} h left")
    for stage, moment in task.reached.items():
        said.append(f"{stage} {near_clock(_aware(grid, moment), _aware(grid, job.job.hauled))}")
    return ", ".join(said) or "nothing yet: j to jot"


def _aware(grid: Grid, moment: Moment) -> dt.datetime:
    """A moment of the file on the yard's clock."""
    if not isinstance(moment, dt.datetime):
        moment = dt.datetime.combine(moment, dt.time())
    return moment.replace(tzinfo=grid.timezone) if moment.tzinfo is None else moment.astimezone(grid.timezone)


def days_of_play(row: Row) -> bool:
    """Whether a row on the path has a day's play or more."""
    return row.slack >= 24 * PER_HOUR
