"""Checks of time: load on what has not cured, windows that only just hold."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.cautions.doing import title_of
from sequencer.cautions.words import stated
from sequencer.job import Task
from sequencer.review.finding import Finding
from sequencer.review.picture import Picture
from sequencer.telling import clock, lasting, near_clock, windows
from sequencer.telling.windows import SHUTTING_SLOTS

LOADS = ("bolt", "bolts", "bolted", "hang", "mount", "mounted", "bolt it", "load test", "step the mast")
LOAD_STAGES = ("load", "cure")
"""Stages at which a laminate or a bond may carry; the first the material lists counts."""


def load_on_uncured(picture: Picture) -> Iterator[Finding]:
    """Bolts or weight on a laminate or bond that has not come so far."""
    for task in picture.ahead:
        word = stated(title_of(task), LOADS)
        if not word:
            continue
        short = [(coat, said) for coat in picture.job.task if (said := _carries(picture, coat, task))]
        if not short:
            continue
        yield Finding(
            f"load-uncured:{task.id}",
            task.id,
            f"{task.id} puts load on {'; '.join(f'{coat.id} {said}' for coat, said in short)}",
            "a bond loaded green creeps, and what has crept never comes back",
            "data sheets: load after a day at 20 to 25 °C, full cure in 5 to 7 days; each 10 °C less doubles it",
            _mend(picture, task, [coat for coat, _ in short]),
            f'the word "{word}" in its title, and the materials before it',
        )


def _mend(picture: Picture, task: Task, coats: list[Task]) -> str:
    """Wait for the stage that carries; where a material lists none, add it first."""
    bare = {coat.material or "" for coat in coats if "load" not in picture.job.materials[coat.material or ""].stages}
    links = ", ".join(f"{coat.id}@load" for coat in coats)
    added = f"add a stage load to {', '.join(sorted(bare))} from the data sheet, then " if bare else ""
    return f"{added}write {links} into after of {task.id}"


def _stage(picture: Picture, coat: Task) -> str:
    stages = picture.job.materials[coat.material or ""].stages
    return next((stage for stage in LOAD_STAGES if stage in stages), "load")


def _carries(picture: Picture, coat: Task, task: Task) -> str:
    """How far short `coat` is when `task` loads it; empty where it carries, or has nothing to do with it."""
    stuff = picture.stuff[coat.id]
    if stuff is None or not stuff.bonds or coat.id not in picture.ancestors[task.id]:
        return ""
    stage = _stage(picture, coat)
    if _waited_for(picture, coat, task, stage):
        return ""
    row, loaded = picture.row(coat), picture.row(task)
    if row is None or loaded is None or picture.plan is None:
        near = any(under.coat is coat for under in picture.under(task))
        return f"and does not wait until it carries ({stage})" if near else ""
    known = stage in picture.job.materials[coat.material or ""].stages
    if not known:
        near = any(under.coat is coat for under in picture.under(task))
        return "and its material says nothing of when it may carry" if near else ""
    carries = row.stages.get(stage)
    if carries is not None and carries <= loaded.start:
        return ""
    plan = picture.plan
    at = near_clock(plan.moment(carries), plan.launched) if carries is not None else "after the stay"
    return f"on {near_clock(plan.moment(loaded.start), plan.launched)}, and it comes to {stage} {at}"


def _waited_for(picture: Picture, coat: Task, task: Task, stage: str) -> bool:
    """Whether some link on the way to `task` waits for the coat to carry."""
    on_the_way = [*(picture.job.tasks[name] for name in picture.ancestors[task.id]), task]
    wanted = (stage, "cure")
    return any(link.task == coat.id and link.stage in wanted for one in on_the_way for link in one.after)


def window_only_just(picture: Picture) -> Iterator[Finding]:
    """A window the plan meets with two hours to spare or less."""
    plan = picture.plan
    if plan is None:
        return
    for window in windows(plan):
        if window.begun or window.keyed or not window.met or window.last < 0:
            continue
        start = plan.rows[window.after].start
        spare = window.last - start
        if spare > SHUTTING_SLOTS or start < plan.now:
            continue
        last = plan.moment(window.last)
        by = clock(last) if last.date() == plan.moment(start).date() else near_clock(last, plan.launched)
        yield Finding(
            f"window-tight:{window.after}+{window.before}",
            window.after,
            f"{window.after} meets the window of {window.before} with "
            f"{lasting(spare) if spare > 0 else 'nothing'} to spare: "
            f"planned {near_clock(plan.moment(start), plan.launched)}, last start {by}",
            "a late start, a shower or a cooler morning and it must be keyed first",
            "the plan, by the material's own table",
            f"start {window.before} earlier in the day, have more hands there, or plan a second day for both",
            f"the window {window.stage} of {window.before}",
        )
