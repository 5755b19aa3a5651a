"""Checks of people and the air they breathe: alone, sparks and vapour, closed spaces, batteries and metal dust."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.cautions.doing import BATTERY, DEGREASE, SPARKS, aboard, title_of
from sequencer.cautions.words import found, stated
from sequencer.job import Task
from sequencer.review.finding import PRACTICE, Finding
from sequencer.review.picture import Picture

FOR_TWO = (
    "two to hold",
    "two to lift",
    "two of you",
    "takes two",
    "needs two",
    "two people",
    "two pairs of hands",
    "one inside",
    "one outside",
    "one below",
)
HANGS = ("hang", "drop", "lower", "drive out", "drive off", "engine out", "batteries in", "battery in")
HEAVY_THINGS = ("pod", "drive", "engine", "motor", "rudder", "keel", "battery", "batteries", "outboard", "shaft")
VENTED = (
    "ventilate",
    "ventilated",
    "ventilation",
    "hatch open",
    "hatches open",
    "fan",
    "blower",
    "extractor",
    "fresh air",
    "air",
    "open hatches",
    "windows open",
)
CONNECTS = ("in", "connect", "connected", "strapped", "install", "installed", "fit", "fitted", "hook up")
METAL = ("drill", "bore", "saw", "file", "cut", "grind", "tap")


def alone(picture: Picture) -> Iterator[Finding]:
    """One pair of hands on what takes two."""
    for task in picture.ahead:
        if task.people != 1:
            continue
        said = stated(task.note, FOR_TWO)
        hangs = stated(title_of(task), HANGS) if found(title_of(task), HEAVY_THINGS) else ""
        if not said and not hangs:
            continue
        yield Finding(
            f"alone:{task.id}",
            task.id,
            f"{task.id} is planned for one pair of hands",
            "it hangs, it is heavy, or it is held on one side and turned on the other: alone it falls, or you do",
            PRACTICE,
            "write hands = 2, and who if it must be somebody you know",
            f'the words "{said}" in its note' if said else f'the word "{hangs}" in its title',
        )


def sparks_by_solvent(picture: Picture) -> Iterator[Finding]:
    """A heater, or a tool that throws sparks, in the air of something that gives off solvent."""
    yield from _heated(picture)
    vapour = [t for t in picture.ahead if _solvent(picture, t)]
    sparks = [t for t in picture.ahead if t.wait is None and stated(title_of(t), SPARKS)]
    for wet, hot in ((w, h) for w in vapour for h in sparks if w.id != h.id):
        # Dust and a wet coat never meet in one plan ; what else throws sparks may.
        apart = wet.material is not None and hot.dusty
        if apart or not picture.air(wet) or picture.air(wet) != picture.air(hot) or not _together(picture, wet, hot):
            continue
        when = "at the same time by the plan" if picture.plan is not None else "and nothing keeps them apart in time"
        yield Finding(
            f"sparks-by-solvent:{wet.id}+{hot.id}",
            wet.id,
            f"{hot.id} throws sparks in the air of {wet.id}, {when}",
            "solvent vapour creeps along the ground and lights at a grinder metres away",
            "flash point of acetone -20 °C, from memory; data sheets of solvents and paints",
            f"put one after the other: {wet.id} into after of {hot.id}, or {hot.id} into after of {wet.id}",
            f"both are in {picture.air(wet)}; {_solvent(picture, wet)}",
        )


def _heated(picture: Picture) -> Iterator[Finding]:
    by_zone: dict[str, list[Task]] = {}
    for task in picture.ahead:
        zone = picture.job.zones.get(task.zone or "")
        if zone is not None and zone.heat_to is not None and _solvent(picture, task):
            by_zone.setdefault(zone.id, []).append(task)
    for name, tasks in by_zone.items():
        zone = picture.job.zones[name]
        if found(f"{zone.note} {' '.join(t.note for t in tasks)}", ("flameproof", "explosion proof", "heater outside")):
            continue
        yield Finding(
            f"heater-by-solvent:{name}",
            tasks[0].id,
            f"{', '.join(t.id for t in tasks)} give off solvent where a heater runs ({zone.name})",
            "a glowing element or a thermostat's spark lights the vapour; under a tent it can't get away",
            "data sheets of solvents and paints: keep from sources of ignition",
            "heat from outside through a duct, or switch off and air the place while it is laid and till it is dry; "
            "then say so in the zone's note (heater outside)",
            f"heat_to of {name}; {_solvent(picture, tasks[0])}",
        )


def _solvent(picture: Picture, task: Task) -> str:
    """What says that a task gives off solvent; empty where nothing does."""
    stuff = picture.stuff[task.id]
    if stuff is not None and stuff.flammable:
        return f"{task.id} lays {stuff.name}"
    word = stated(title_of(task), DEGREASE)
    return f'the word "{word}" in the title of {task.id}' if word else ""


def _together(picture: Picture, one: Task, other: Task) -> bool:
    """Whether two tasks are worked at once: by the plan, or else as far as the links say."""
    first, second = picture.row(one), picture.row(other)
    if first is None or second is None:
        return not picture.ordered(one, other)
    return any(b < d and c < e for b, e in first.pieces for c, d in second.pieces)


def closed_space(picture: Picture) -> Iterator[Finding]:
    """Resin, paint or solvent in a room of the boat, and not a word of air."""
    by_zone: dict[str, list[Task]] = {}
    for task in picture.ahead:
        zone = picture.job.zones.get(task.zone or "")
        if aboard(zone) and zone is not None and (task.material is not None or _solvent(picture, task)):
            by_zone.setdefault(zone.id, []).append(task)
    for name, tasks in by_zone.items():
        zone = picture.job.zones[name]
        if found(zone.note, VENTED) or all(found(picture.all_words(t), VENTED) for t in tasks):
            continue
        if any(found(t.note, VENTED) for t in picture.job.task if t.zone == name):
            continue
        yield Finding(
            f"closed-space:{name}",
            tasks[0].id,
            f"{', '.join(t.id for t in tasks)} give off vapour in {zone.name}, and nothing is said of air",
            "vapour collects low in a boat; it makes dizzy before it is smelt, and nobody hears you fall",
            "29 CFR 1915.12: oxygen 19.5 to 22 %, flammables below a tenth of what burns",
            "say how it is aired, in the zone's note: hatches open, a fan blowing in, somebody within call",
            "its place is inside the boat; no note there speaks of air, hatches or a fan",
        )


def batteries_before_dust(picture: Picture) -> Iterator[Finding]:
    """Batteries connected while metal is still to be drilled or ground beside them."""
    for task in picture.ahead:
        title = title_of(task)
        if not stated(title, BATTERY) or not stated(title, CONNECTS) or found(title, ("tray", "trays", "out")):
            continue
        late = [t for t in picture.ahead if t is not task and _metal(picture, t) and _not_over(picture, t, task)]
        late = [t for t in late if picture.air(t) == picture.air(task)]
        if not late:
            continue
        names = ", ".join(t.id for t in late)
        yield Finding(
            f"batteries-before-dust:{task.id}",
            task.id,
            f"{task.id} brings batteries in before {names}: the last drilling and grinding there",
            "swarf and metal dust bridge the posts: sparks, a fire, or a cell that fails months later",
            PRACTICE,
            f"put {names} into after of {task.id}, and vacuum before",
            f"the title of {task.id}; {late[0].id} makes dust or drills in the same air",
        )


def _metal(picture: Picture, task: Task) -> bool:
    return task.dusty or (task.wait is None and bool(stated(title_of(task), METAL)))


def _not_over(picture: Picture, dusty: Task, batteries: Task) -> bool:
    """Whether dusty work need not be over when the batteries come: by the links, and by the plan where there is one."""
    if dusty.id in picture.ancestors[batteries.id]:
        return False
    first, second = picture.row(dusty), picture.row(batteries)
    return first is None or second is None or first.end > second.start
