"""The rules between tables of the job file: names that must exist, stages, gear, loops, dates.

Every rule looks only at fields that could be read (:meth:`Entry.sure`), so that no fault drags others
behind it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from sequencer.errors import Fault
from sequencer.job.drafts import Entry
from sequencer.job.links import Link
from sequencer.job.logbook import log_faults, logged_wrongly
from sequencer.job.models import Delivery, Job, Task
from sequencer.job.sketch import NAMED_KINDS, Sketch, sketch_of
from sequencer.job.values import instant
from sequencer.job.wording import listing, nearest, show, shown
from sequencer.network import MAX_LOOPS, find_loops, graph_from, spell

__all__ = ["cross_faults", "job_faults", "log_faults"]

_LOOP_SHOWN = 20
"""Tasks of a loop that a sentence spells out."""


def job_faults(job: Job) -> list[Fault]:
    """What a job, read or put together, breaks of the rules between its tables."""
    return list(cross_faults(sketch_of(job)))


def cross_faults(sketch: Sketch) -> Iterator[Fault]:
    """What the file breaks of the rules between its tables, as far as it could be read."""
    for kind in NAMED_KINDS:
        yield from _ids_once(kind, sketch.named(kind))
    yield from _finish(sketch)
    for delivery in sketch.delivery:
        yield from _range_in_order(delivery, sketch)
    for task in sketch.task:
        yield from _references(task, sketch)
        yield from _links(task, sketch)
        yield from _gear(task, sketch)
        yield from logged_wrongly(task, sketch, sketch.now)
    yield from _loops(sketch.task)


def _ids_once(kind: str, entries: Sequence[Entry[Any]]) -> Iterator[Fault]:
    for name, count in Counter(entry.id for entry in entries if entry.id).items():
        if count > 1:
            what = f"the id is used {count} times"
            yield Fault(f"{kind} {shown(name)}", what, "give each an id of its own")


def _unknown(where: str, kind: str, name: str, sketch: Sketch) -> Iterator[Fault]:
    """The fault, if it is one for sure, that nothing of a kind has this name."""
    names = sketch.names(kind)
    if names is None or name in names:
        return
    near = nearest(name, names)
    if near is None and any(not entry.id for entry in sketch.named(kind)):
        # It may well be one of those whose id is missing, and that is told already.
        return
    what = f"there is no {'one in crew' if kind == 'crew' else kind} called {show(name)}"
    if near is not None:
        yield Fault(where, what, f"did you mean {shown(near)}?")
    elif names:
        yield Fault(where, what, f"there {'is' if len(names) == 1 else 'are'} {listing(names)}")
    else:
        yield Fault(where, what, f"add a [[{kind}]] with that id")


def _finish(sketch: Sketch) -> Iterator[Fault]:
    if not sketch.task and "task" not in sketch.unread:
        hint = "add a [[task]] for each thing to do, the one that ends the stay among them"
        yield Fault("", "the file has no task", hint)
    elif sketch.head is not None and sketch.head.sure("finish"):
        yield from _unknown("job, finish", "task", sketch.head.table.finish, sketch)


def _range_in_order(entry: Entry[Delivery], sketch: Sketch) -> Iterator[Fault]:
    delivery, timezone = entry.table, sketch.timezone
    if timezone is None or delivery.range is None or not entry.sure("range"):
        return
    earliest, latest = (instant(moment, timezone) for moment in delivery.range)
    if latest < earliest:
        yield Fault(f"{entry.place}, range", "the latest comes before the earliest", "change them over")
    elif entry.sure("due") and not earliest <= instant(delivery.due, timezone) <= latest:
        yield Fault(f"{entry.place}, due", f"{delivery.due} lies outside its range", "mend due or range")


def _references(entry: Entry[Task], sketch: Sketch) -> Iterator[Fault]:
    """Zone, material, delivery, people and gear must be there."""
    task = entry.table
    wanted = [("zone", "zone", task.zone), ("material", "material", task.material)]
    wanted += [("delivery", "delivery", task.delivery)]
    wanted += [("who", "crew", name) for name in dict.fromkeys(task.who)]
    wanted += [("gear", "gear", name) for name in dict.fromkeys(use.id for use in task.gear)]
    for field, kind, name in wanted:
        if name is not None:
            yield from _unknown(f"{entry.place}, {field}", kind, name, sketch)


def _links(entry: Entry[Task], sketch: Sketch) -> Iterator[Fault]:
    """What a task comes after must be there, and have the stage."""
    where = f"{entry.place}, after"
    for link in dict.fromkeys(entry.table.after):
        before = sketch.tasks.get(link.task)
        if before is None:
            yield from _unknown(where, "task", link.task, sketch)
        else:
            yield from sketch.stage_faults(where, show(str(link)), link.stage, before)


def _gear(entry: Entry[Task], sketch: Sketch) -> Iterator[Fault]:
    """A task may hold no more than there is, and only until a stage of its own."""
    where = f"{entry.place}, gear"
    for use in entry.table.gear:
        count = sketch.counts.get(use.id, use.units)
        if use.units > count:
            what = f"{use.units} of {shown(use.id)} wanted, and there {'is' if count == 1 else 'are'} {count}"
            yield Fault(where, what, f"lower units, or raise the count of gear {shown(use.id)}")
        if use.until is not None:
            yield from sketch.stage_faults(where, f"until {show(use.until)}", use.until, entry)


def _loops(entries: Sequence[Entry[Task]]) -> Iterator[Fault]:
    """No task may, by whatever way, come after itself."""
    after: dict[str, Sequence[Link]] = {}
    for entry in entries:
        if entry.id:
            # Of an id used twice only the first counts: the other would close loops that are none.
            after.setdefault(entry.id, entry.table.after)
    loops = find_loops(graph_from(after))
    for loop in loops:
        where = f"task {shown(loop[0])}, after"
        if len(loop) == 1:
            yield Fault(where, "it comes after itself", "take it out of its own after")
            continue
        told = [shown(name) for name in loop[:_LOOP_SHOWN]]
        spelt = spell(told if len(loop) <= _LOOP_SHOWN else [*told, "…"])
        yield Fault(where, f"these tasks wait for each other: {spelt}", "take one of the links out")
    if len(loops) == MAX_LOOPS:
        yield Fault("", "there may be more loops than these", "mend these first")
