"""Rules between rows that need the same people, gear or air.

What has begun or is finished is as it is: rows that are all logged are never blamed among themselves.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict

from sequencer.checking.doings import Doing, Yard
from sequencer.checking.report import Report


def _latest(doings: list[Doing]) -> Doing:
    """The one to blame: of what is not logged, the last to start."""
    return max((doing for doing in doings if not doing.log), key=lambda doing: (doing.start, doing.id))


def check_people(yard: Yard, report: Report) -> None:
    """Nobody is in two places, and all hands at work together are no more than are on shift."""
    at_work: dict[int, list[Doing]] = defaultdict(list)
    for doing in yard.doings.values():
        if doing.hands and doing.log != "finished":
            for slot in doing.worked:
                if yard.staffed(doing, slot):
                    at_work[slot].append(doing)
    clashes: dict[tuple[str, tuple[str, ...]], list[int]] = defaultdict(list)
    for slot, doings in sorted(at_work.items()):
        if all(doing.log for doing in doings):
            continue
        counted = Counter(person for doing in doings for person in doing.who)
        twice = [person for person, times in counted.items() if times > 1]
        for person in twice:
            there = [doing for doing in doings if person in doing.who]
            if not all(doing.log for doing in there):
                clashes[person, tuple(doing.id for doing in there)].append(slot)
        if not twice and sum(doing.hands for doing in doings) > len(yard.shifts.there(slot)):
            clashes["", tuple(doing.id for doing in doings)].append(slot)
    for (person, names), slots in clashes.items():
        blamed = _latest([yard.doings[name] for name in names])
        others = ", ".join(name for name in names if name != blamed.id)
        if person:
            what = f"needs {person} {yard.clock.say_run(slots)}, who is at {others} then"
        else:
            here = len(yard.shifts.there(slots[0]))
            hands = sum(yard.doings[name].hands for name in names)
            with_others = f"with {others} {yard.clock.say_run(slots)}"
            what = f"takes {hands} pairs of hands together {with_others}, but {here} on shift"
        report.add("people", blamed.id, what)


def _hold(yard: Yard, doing: Doing, gear: str) -> tuple[int, float]:
    """How many units of `gear` are held by `doing`, and until which grid line the last of them."""
    units, until = 0, float(doing.start)
    for use in () if doing.keyed else doing.task.gear:
        if use.id == gear:
            release = yard.reaches(doing, use.until or "done")
            units += use.units
            until = max(until, math.inf if release is None else release)
    return units, until


def gear_clash(yard: Yard, doing: Doing) -> tuple[str, list[Doing]] | None:
    """The gear that at the start of `doing` would be short, and who else has it; None if there is enough."""
    for gear in dict.fromkeys(use.id for use in doing.task.gear):
        units, _ = _hold(yard, doing, gear)
        others = []
        for other in yard.doings.values():
            if other.id == doing.id or other.start > doing.start:
                continue
            theirs, until = _hold(yard, other, gear)
            if theirs and until > doing.start:
                units += theirs
                others.append(other)
        if units > yard.job.gears[gear].count:
            return gear, others
    return None


def check_gear(yard: Yard, report: Report) -> None:
    """No more of a piece of gear is in use than there is; the last to take it is found fault with."""
    for doing in yard.doings.values():
        if doing.log or doing.keyed:
            continue
        clash = gear_clash(yard, doing)
        if clash is None:
            continue
        gear, others = clash
        if any(other.start == doing.start and other.id > doing.id and not other.log for other in others):
            continue
        have = ", ".join(other.id for other in others) or "nobody else"
        when, count = yard.clock.say(doing.start), yard.job.gears[gear].count
        report.add("gear", doing.id, f"takes {gear} {when}, of which there is {count}, held by {have}")


def check_dust(yard: Yard, report: Report) -> None:
    """No dust from the start of a coat's work until it has set, in zones that share air."""
    coats = [doing for doing in yard.doings.values() if doing.material and not doing.waits]
    for dusty in yard.doings.values():
        if not dusty.dusty or dusty.zone is None or dusty.log == "finished":
            continue
        for coat in coats:
            if coat.id == dusty.id or (coat.log and dusty.log):
                continue
            if coat.zone is None or coat.zone.air_id != dusty.zone.air_id:
                continue
            sets = yard.reaches(coat, "set")
            until = math.inf if sets is None else sets
            dusted = [slot for slot in dusty.worked if coat.start <= slot < until]
            if dusted:
                run = yard.clock.say_run(dusted)
                still = f"sets {yard.clock.say(sets)}" if sets is not None else "never sets"
                report.add("dust", dusty.id, f"makes dust {run} in the air of {coat.id}, which {still}")
