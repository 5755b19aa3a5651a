"""Checks of what keeps the sea out and the boat upright: openings, the slings, the stands, the lift."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.cautions.doing import ASHORE, FITTINGS, title_of
from sequencer.cautions.words import clauses_with, found, stated
from sequencer.job import Crew, Task
from sequencer.review.finding import PRACTICE, Finding
from sequencer.review.picture import Picture

BORES = ("bore", "drill", "cut out", "hole saw", "core out")
TAKEN = ("out", "off", "remove", "removed", "removal", "drop")
THROUGH = (
    "drive",
    "saildrive",
    "sterndrive",
    "shaft",
    "fitting",
    "skin fitting",
    "seacock",
    "transducer",
    "stern tube",
)
CLOSES = ("bond", "tab", "bed", "bedded", "hang", "plug", "plugged", "install", "glass over", "close", "closed", "fit")
MOVES = ("shift", "shifts", "shifted", "move", "moves", "moved", "moving")
LOOKS = ("look", "looked", "watch", "watched", "check", "checked", "leak", "leaks", "tight", "watertight", "dry")


def opens_hull(picture: Picture, task: Task) -> str:
    """The word in a task's title that says it opens the hull; empty where it does not."""
    zone = picture.job.zones.get(task.zone or "")
    if zone is not None and found(f"{zone.id} {zone.title}", ASHORE):
        return ""
    title = title_of(task)
    word = stated(title, BORES)
    if not word and stated(title, TAKEN):
        word = stated(title, THROUGH)
    return word


def closes_hull(picture: Picture, task: Task) -> bool:
    """Whether a task closes an opening: it beds, bonds or laminates in the boat."""
    zone = picture.job.zones.get(task.zone or "")
    if zone is not None and found(f"{zone.id} {zone.title}", ASHORE):
        return False
    stuff = picture.stuff[task.id]
    return (stuff is not None and (stuff.bonds or stuff.family == "sealant")) or bool(stated(title_of(task), CLOSES))


def left_open(picture: Picture) -> Iterator[Finding]:
    """An opened hull that nothing closes before the launch."""
    finish = picture.finish
    for task in picture.job.task:
        word = opens_hull(picture, task)
        if not word:
            continue
        closing = [t for t in picture.after(task) if t is not finish and closes_hull(picture, t)]
        if any(t.id in picture.ancestors[finish.id] for t in closing):
            continue
        late = f"; {closing[0].id} does, and {finish.id} does not wait for it" if closing else ""
        yield Finding(
            f"hull-open:{task.id}",
            task.id,
            f"{task.id} opens the hull, and nothing before {finish.id} closes it{late}",
            "she floods in the slings or sinks on her mooring",
            PRACTICE,
            f"add the task that closes it after {task.id}, and put it into after of {finish.id}",
            f'the word "{word}" in its title',
        )


def unwatched(picture: Picture) -> Iterator[Finding]:
    """Work on what keeps the sea out, and nobody looks in the slings."""
    wet = [t for t in picture.job.task if opens_hull(picture, t) or found(title_of(t), FITTINGS)]
    if not wet or any(clauses_with(picture.words(t), ("sling", "slings"), LOOKS) for t in picture.job.task):
        return
    names = ", ".join(t.id for t in wet[:4]) + (", ..." if len(wet) > 4 else "")
    finish = picture.finish
    yield Finding(
        f"no-look-in-slings:{finish.id}",
        finish.id,
        f"no task looks for leaks while she hangs in the slings, after {names}",
        "a leak found in the slings is lifted out again in minutes; found on the mooring it sinks her",
        PRACTICE,
        f"put it into {finish.id} (a note will do: watched in the slings), or make it a task with its time",
        "no title or note speaks of looking in the slings",
    )


def unbooked(picture: Picture) -> Iterator[Finding]:
    """A lift that may come at any hour."""
    finish = picture.finish
    if finish.finished is not None or finish.slots or finish.not_before is not None:
        return
    yield Finding(
        f"lift-not-booked:{finish.id}",
        finish.id,
        f"{finish.id} has no booking hours",
        "the plan lifts her in the middle of a night or on a Sunday, and the yard does not",
        PRACTICE,
        f"ask the yard for the lift's hours and give {finish.id} slots",
        "neither slots nor not_before is given",
    )


def _of_yard(person: Crew) -> bool:
    return bool(found(f"{person.id} {person.title} {person.note}", ("yard", "yard's")))


def shifts_stands(task: Task) -> bool:
    """Whether a task moves the stands."""
    title = title_of(task)
    return bool(found(title, ("stand", "stands", "props")) and stated(title, MOVES))


def stands_moved(picture: Picture) -> Iterator[Finding]:
    """Stands moved by other hands than the yard's."""
    for task in picture.ahead:
        yards = bool(task.who) and all(_of_yard(picture.job.people[p]) for p in task.who)
        if not shifts_stands(task) or not task.people or (yards and task.people == len(task.who)):
            continue
        yield Finding(
            f"stands-without-yard:{task.id}",
            task.id,
            f"{task.id} moves stands, and takes hands of yours",
            "stands only balance her: moved by whoever is there, she falls",
            "club and insurer lists: never move a stand yourself",
            "let the yard do it: hands = 0 with the yard's hours as slots, or who names the yard's hand alone",
            f"its title, and hands = {task.hands}",
        )


def pads_bare(picture: Picture) -> Iterator[Finding]:
    """Bottom paint, and the patches under the pads never get it."""
    coats = [t for t in picture.job.task if picture.family(t) == "antifouling"]
    if not coats or all(t.finished is not None for t in coats):
        return
    moves = {t.id for t in picture.job.task if shifts_stands(t)}
    if any(moves & picture.ancestors[t.id] for t in coats):
        return
    hung = (("sling", "slings", "lift"), ("paint", "painted", "pads", "patches", "antifouling"))
    if any(clauses_with(picture.words(t), *hung) for t in picture.job.task):
        return
    last = coats[-1]
    moved = sorted(moves)
    what = f"{moved[0]} moves the stands, and no coat follows" if moved else "no task moves the stands"
    yield Finding(
        f"pads-bare:{last.id}",
        last.id,
        f"the patches under the pads never get paint: {what}",
        "they grow weed and barnacles from the first week, and bare epoxy or gelcoat there takes up water",
        PRACTICE,
        "have the yard shift the stands once a coat takes it, and paint the patches after; or paint them in the slings",
        "titles with stands and shift or move; notes with slings and paint",
    )
