"""What a task does that can hurt somebody: from its fields, its material, and the words of its title.

Every doing comes with what it was read from, so that a sentence can say on what it rests.
"""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.cautions.stuff import Stuff, stuff_in
from sequencer.cautions.words import found, stated
from sequencer.job import Job, Task, Zone

ABOARD = ("cabin", "saloon", "helm", "cockpit", "deck", "coachroof", "forepeak", "engine room", "bilge", "lazarette")
ASHORE = ("bench", "shed", "workshop", "yard", "slip", "lift")
CRAMPED = ("inside the tank", "in the tank", "locker", "bilge", "lazarette", "forepeak", "engine room")

DEGREASE = ("degrease", "degreased", "solvent", "acetone", "thinner", "thinners", "stripper")
SPARKS = ("grind", "grinding", "grinder", "weld", "welding", "drill", "saw", "torch", "heat gun")
HEAVY = ("jack", "strop", "strops", "hoist", "crane", "tackle", "chain block", "engine hoist")
HANGING = ("hang", "drop", "lower", "hoist", "lift out", "drive out", "drive off", "engine out", "keel off")
ELECTRIC = ("battery", "batteries", "cable", "cables", "wire", "wiring", "isolator", "fuse", "charger", "inverter")
BATTERY = ("battery", "batteries")
LITHIUM = ("lithium", "lifepo4", "lfp", "li ion")
LEAD_ACID = ("lead acid", "agm", "gel battery", "gel batteries", "flooded")
HIGH = ("deck", "topsides", "topside", "mast", "coachroof", "rail", "ladder", "staging", "boot top", "stripe")
FITTINGS = ("seacock", "seacocks", "skin fitting", "through hull", "thru hull", "stern gland", "gland", "transducer")
FUEL = ("fuel", "diesel", "petrol", "tank out", "gas locker", "gas bottle")
STANDS = ("stand", "stands", "pads", "pad stood")
LIFTING = ("lift", "slings", "crane", "launch", "relaunch")
OLD_PAINT = ("antifouling", "antifoul", "bottom", "old paint", "pads stood")

Doings = dict[str, str]
"""By doing what it was read from: ``makes = "dust"``, ``the word "seacock" in its title``."""


def title_of(task: Task) -> str:
    """The words a task's doing is read from: its title and its id. A note warns and asides too much."""
    return f"{task.title} {task.id}"


def aboard(zone: Zone | None) -> bool:
    """Whether a zone is a room in the boat: inside, and no shed."""
    if zone is None:
        return False
    text = f"{zone.id} {zone.title}"
    return not found(text, ASHORE) and (bool(found(text, ABOARD)) or zone.shelter == "inside")


def doings_of(job: Job, task: Task) -> Doings:
    """What a task does, each with what it was read from; in the order of the catalogue of cautions."""
    if task.wait is not None:
        return {}
    zone = job.zones.get(task.zone or "")
    stuff = stuff_in(job, task)
    return dict([*_air(job, task, zone), *_coats(task, zone, stuff), *_loads(job, task), *_current(job, task, zone)])


def doings_of_keying(job: Job, coat: Task) -> Doings:
    """What keying an earlier coat does: it is sanded."""
    stuff = stuff_in(job, coat)
    kind = "antifouling-dust" if stuff is not None and stuff.family == "antifouling" else "dust"
    return {kind: f"the keying of {coat.id}", "mains": f"the keying of {coat.id}"}


def _word(word: str) -> str:
    return f'the word "{word}" in its title'


def _air(job: Job, task: Task, zone: Zone | None) -> Iterator[tuple[str, str]]:
    """Dust, solvent, closed spaces, heat."""
    title = title_of(task)
    if task.dusty:
        yield ("antifouling-dust" if found(title, OLD_PAINT) else "dust"), 'makes = "dust"'
        if any(link.stage in ("sand", "set", "recoat") for link in task.after):
            yield "green-dust", "it works on what was laid shortly before"
        yield "mains", 'makes = "dust"'
    solvent = stated(title, DEGREASE)
    stuff = stuff_in(job, task)
    if solvent or (stuff is not None and stuff.flammable):
        yield "solvent", _word(solvent) if solvent else f"its material, {stuff.name if stuff else ''}"
    cramped = stated(title, CRAMPED)
    if cramped or (aboard(zone) and (solvent or stuff is not None or task.dusty)):
        yield "closed-space", _word(cramped) if cramped else f"its place, {zone.name if zone else ''}"
    if zone is not None and zone.heat_to is not None:
        yield "heater", f"{zone.name} is heated"
    elif stated(title, ("heater",)):
        yield "heater", _word("heater")


def _coats(task: Task, zone: Zone | None, stuff: Stuff | None) -> Iterator[tuple[str, str]]:
    """Resins, catalysts, paints."""
    if stuff is None:
        return
    rests = f"its material, {stuff.name}"
    if stuff.chemistry == "epoxy":
        yield "epoxy", rests
    if stuff.family in ("resin", "filler"):
        yield "hot-pot", rests
    if stuff.chemistry == "styrene":
        yield "styrene", rests
        yield "peroxide", rests
    if stuff.family == "sealant":
        yield "sealant", rests
    elif stuff.chemistry == "polyurethane":
        yield "isocyanate", rests
    if stuff.family == "antifouling":
        yield "antifouling", rests


def _loads(job: Job, task: Task) -> Iterator[tuple[str, str]]:
    """What hangs, what stands, what lets the sea in."""
    title = title_of(task)
    if task.id == job.job.finish:
        yield "lift", "it ends the stay"
    elif word := stated(title, LIFTING):
        yield "lift", _word(word)
    if word := stated(title, STANDS):
        yield "stands", _word(word)
    used = " ".join(f"{use.id} {job.gears[use.id].title}" for use in task.gear if use.id in job.gears)
    if word := stated(title, HANGING):
        yield "heavy", _word(word)
    elif word := found(used, HEAVY):
        yield "heavy", f'the word "{word}" in its gear'
    if word := stated(title, FITTINGS):
        yield "fitting", _word(word)
    if word := stated(title, FUEL):
        yield "fuel", _word(word)


def _current(job: Job, task: Task, zone: Zone | None) -> Iterator[tuple[str, str]]:
    """Direct current, lithium, heights."""
    title = title_of(task)
    pod = found(title, ("pod", "motor", "drive")) and found(title, ("connect",))
    if word := stated(title, ELECTRIC) or ("connect" if pod else ""):
        yield "current", _word(word)
    said = f"{title} {task.note}"
    if word := stated(said, LITHIUM):
        yield "lithium", f'the word "{word}" in its title or note'
    elif (word := stated(title, BATTERY)) and not found(f"{said} {job.job.note}", (*LEAD_ACID, "tray", "trays")):
        yield "lithium", f"{_word(word)}, its kind is not said"
    if word := stated(title, HIGH):
        yield "height", _word(word)
    elif aboard(zone):
        yield "height", f"its place, {zone.name if zone else ''}"
