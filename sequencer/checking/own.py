"""Rules a row keeps or breaks by itself: its hours, hands, air, pauses, earliest moments and log."""

from __future__ import annotations

from collections.abc import Iterable

from sequencer.checking.clock import quarters_of
from sequencer.checking.cure import LONGEST, TOLERANCE
from sequencer.checking.doings import Doing, Yard
from sequencer.checking.report import Report
from sequencer.checking.rows import Row


def check_log(yard: Yard, doing: Doing, row: Row, report: Report) -> None:
    """What is finished stands as logged; what is begun started as logged and goes on from now."""
    say = yard.clock.say
    if doing.log and row.start != doing.start:
        report.add("log", doing.id, f"starts {say(row.start)}, but was logged as started {say(doing.start)}")
    if doing.log == "finished":
        if row.end != doing.end:
            report.add("log", doing.id, f"ends {say(row.end)}, but was logged as finished {say(doing.end)}")
        outside = [slot for slot in doing.worked if not doing.start <= slot < doing.end]
        if outside:
            report.add("log", doing.id, f"is worked {yard.clock.say_run(outside)}, not when it was logged")
    elif doing.log == "started" and yard.now is not None:
        past = [slot for slot in doing.worked if slot < yard.now]
        if past:
            run = yard.clock.say_run(past)
            report.add("log", doing.id, f"is worked {run}, but what is begun goes on from {say(yard.now)}")


def check_earliest(yard: Yard, doing: Doing, report: Report) -> None:
    """Nothing new starts before the haul-out, now, its date, its delivery, or outside its slots."""
    if doing.log:
        return
    say, start, task = yard.clock.say, doing.start, doing.task
    if start < yard.hauled:
        report.add("hauled", doing.id, f"starts {say(start)}, before the haul-out {say(yard.hauled)}")
    elif start < yard.begin:
        report.add("now", doing.id, f"starts {say(start)}, before now, {say(yard.begin)}")
    if doing.keyed:
        return
    if task.not_before is not None and start < yard.clock.line(task.not_before):
        line = say(yard.clock.line(task.not_before))
        report.add("not-before", doing.id, f"starts {say(start)}, before {line}")
    if task.delivery is not None and start < yard.clock.line(yard.job.deliveries[task.delivery].due):
        due = say(yard.clock.line(yard.job.deliveries[task.delivery].due))
        report.add("delivery", doing.id, f"starts {say(start)}, before the delivery of {task.delivery} {due}")
    if not yard.shifts.may_start(task, start):
        report.add("slots", doing.id, f"starts {say(start)}, outside of its slots")


def right_quarters(yard: Yard, doing: Doing) -> set[int]:
    """How many quarter hours of work `doing` may have in the plan; several where that is open."""
    if doing.log != "started":
        return doing.quarters
    if doing.task.work_left is not None:
        return {quarters_of(doing.task.work_left)}
    whole = max(doing.quarters)
    if yard.now is None:
        return set(range(1, whole + 1))
    done = sum(doing.waits or yard.workable(doing, slot) for slot in range(doing.start, yard.now))
    return {max(1, whole - done)}


def check_wait(yard: Yard, doing: Doing, report: Report) -> None:
    """A wait lasts its hours, and nobody works at it."""
    if doing.worked:
        report.add("wait", doing.id, f"is worked {yard.clock.say_run(doing.worked)}, but it only waits")
    if doing.log == "started":
        if yard.now is None:
            return
        ends = {max(yard.now, doing.start) + left for left in right_quarters(yard, doing)}
    else:
        ends = {doing.start + quarters for quarters in doing.quarters}
    if doing.end not in ends:
        over, wait = yard.clock.say(min(ends)), doing.hours[0]
        report.add("wait", doing.id, f"ends {yard.clock.say(doing.end)}, but its {wait:g} h are over {over}")


def check_work(yard: Yard, doing: Doing, report: Report) -> None:
    """The pieces run from start to end and add up to the work, with no workable quarter hour left out."""
    clock, worked = yard.clock, doing.worked
    if not worked:
        report.add("pieces", doing.id, f"starts {clock.say(doing.start)}, but is worked in no piece")
        return
    first, last = worked[0], worked[-1]
    if not doing.log and first != doing.start:
        report.add("pieces", doing.id, f"starts {clock.say(doing.start)}, its first piece {clock.say(first)}")
    if doing.end != last + 1:
        report.add("pieces", doing.id, f"ends {clock.say(doing.end)}, its last piece {clock.say(last + 1)}")
    right = right_quarters(yard, doing)
    if len(worked) not in right:
        hours = " or ".join(f"{quarters / 4:g}" for quarters in sorted(right)[:2])
        took = f"is worked {len(worked) / 4:g} h from {clock.say(first)} on"
        report.add("work", doing.id, f"{took}, but its work is {hours} h")
    if doing.log and yard.now is not None:
        first = max(yard.now, doing.start)
    taken = set(worked)
    skipped = [slot for slot in range(first, last) if slot not in taken and yard.workable(doing, slot)]
    if doing.log == "started":
        skipped = [slot for slot in skipped if slot > worked[0] or not behind_begun(yard, doing, slot)]
    if skipped:
        run = clock.say_run(skipped)
        report.add("pause", doing.id, f"pauses {run}, when hands are on shift and the air suits")


def behind_begun(yard: Yard, doing: Doing, slot: int) -> bool:
    """Whether begun work that went on from `slot` would meet other begun work that takes its people.

    Nobody is in two places, so of two tasks begun by one person one waits until it can run to its end.
    """
    others = [d for d in yard.doings.values() if d.log == "started" and d.hands and d.id != doing.id]
    left = len(doing.worked)
    while left and slot < doing.worked[-1]:
        if yard.workable(doing, slot):
            beside = [other for other in others if slot in other.worked]
            taken = {person for other in beside for person in other.who}
            hands = doing.hands + sum(other.hands for other in beside)
            if beside and (hands > len(yard.shifts.there(slot)) or not taken.isdisjoint(doing.who)):
                return True
            left -= 1
        slot += 1
    return False


def check_hands(yard: Yard, doing: Doing, report: Report) -> None:
    """Every quarter hour worked has its hands on shift, those named among them."""
    short = [slot for slot in doing.worked if not yard.staffed(doing, slot)]
    if not short:
        return
    there = yard.shifts.there(short[0])
    missing = [person for person in doing.who if person not in there]
    need = f"{', '.join(missing)}" if missing else f"{doing.hands} pairs of hands"
    have = ", ".join(sorted(there)) or "nobody"
    run = yard.clock.say_run(short)
    report.add("people", doing.id, f"is worked {run} and needs {need}, but on shift is {have}")


def _runs_by_cause(yard: Yard, doing: Doing, slots: Iterable[int]) -> tuple[list[int], str]:
    """The slots whose air does not suit, and why the first does not."""
    bad = [slot for slot in slots if yard.unfit(doing, slot)]
    return bad, yard.unfit(doing, bad[0]) if bad else ""


def check_air(yard: Yard, doing: Doing, report: Report) -> None:
    """The air suits every quarter hour worked, and of a one-go task every one to its end, on one date."""
    clock = yard.clock
    bad, why = _runs_by_cause(yard, doing, doing.worked)
    if bad:
        report.add("weather", doing.id, f"is worked {clock.say_run(bad)}, when {why}")
    if not doing.one_go or doing.log:
        return
    if clock.date(doing.start) != clock.date(max(doing.start, doing.end - 1)):
        span = f"{clock.say(doing.start)} to {clock.say(doing.end)}"
        report.add("one-go", doing.id, f"runs from {span}, not on one date, but is to be done in one go")
    breaks = set(range(doing.start, doing.end)) - set(doing.worked)
    bad, why = _runs_by_cause(yard, doing, sorted(breaks))
    if bad:
        report.add("one-go", doing.id, f"is interrupted {clock.say_run(bad)}, when {why}")


def check_wet(yard: Yard, doing: Doing, report: Report) -> None:
    """In an open zone neither rain nor dew from the start of the work until ``dry_until``.

    Quarter hours during the work whose air is found fault with already are not told twice; where there is no
    weather, nobody can say it was wet.
    """
    material, zone = doing.material, doing.zone
    if material is None or zone is None or zone.shelter != "open" or material.dry_until == "none":
        return
    if doing.log or doing.waits:
        return
    until = yard.reaches(doing, material.dry_until)
    if until is None:
        until = doing.start + LONGEST
    wet, why = [], ""
    for slot in range(doing.start, until):
        air = yard.weather.in_zone(zone, slot)
        if air is None or (slot < doing.end and yard.unfit(doing, slot)):
            continue
        dew = air.temp - air.dew <= TOLERANCE
        if air.rain or dew:
            why = why or ("it rains" if air.rain else f"dew falls at {air.temp:.1f} °C")
            wet.append(slot)
    if wet:
        kept = f"it must stay dry until {material.dry_until}"
        report.add("wet", doing.id, f"gets wet {yard.clock.say_run(wet)}, when {why}, but {kept}")


def check_own(yard: Yard, doing: Doing, report: Report) -> None:
    """All the rules that `doing` keeps or breaks by itself, but for its log and the order of tasks."""
    check_earliest(yard, doing, report)
    if doing.log == "finished":
        return
    if doing.waits:
        check_wait(yard, doing, report)
        return
    check_work(yard, doing, report)
    check_hands(yard, doing, report)
    check_air(yard, doing, report)
    check_wet(yard, doing, report)
