"""What the tasks of the solver's model share: people, gear and air, each no more than there is of it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from sequencer.planning.apart import keep_apart, keep_out
from sequencer.planning.spans import Stretch, Work
from sequencer.planning.yard import units_free

if TYPE_CHECKING:
    from sequencer.planning.model import Model


MANY_SPANS = 100
"""Spans past which hands are told as a sum only, without reasoning on every pair."""


def limit_hands(model: Model) -> None:
    """No more hands at work than are on shift, and nobody in two places."""
    terms = model.terms
    users = [(w, model.problem.items[i]) for i, w in model.work.items() if w.on_axis]
    most = max(model.axis.hands, default=0)
    taken = _taken(model)
    intervals = [s for w, _ in users for s in w.spans] + [s for k in model.keys.values() for s in k.work.spans]
    demands = [item.hands for w, item in users for _ in w.spans] + [
        1 for k in model.keys.values() for _ in k.work.spans
    ]
    short = [most - h + t for h, t in zip(model.axis.hands, taken, strict=True)]
    end = max((w.steps.values[-1] + w.size for w, _ in users), default=0) + 64
    for begin, stop, value in _level_runs(short[:end]):
        if value > 0:
            intervals.append(terms.cp.new_fixed_size_interval_var(begin, stop - begin, ""))
            demands.append(min(value, most))
    model.many_spans = len(intervals) > MANY_SPANS
    if most == 1 and not model.many_spans:
        terms.cp.add_no_overlap(intervals)
    elif intervals:
        terms.cp.add_cumulative(intervals, demands, most)
    for person in range(len(model.problem.people)):
        named = [s for w, item in users if person in item.who for s in w.spans]
        busy = model.placer.yard0.busy[person]
        named += terms.mask_spans(busy, False)
        if len(named) > MANY_SPANS:
            terms.cp.add_cumulative(named, [1] * len(named), 1)
        elif len(named) > 1:
            terms.cp.add_no_overlap(named)


def _taken(model: Model) -> list[int]:
    """By axis position, hands already at work on what the log has begun."""
    problem, axis = model.problem, model.axis
    free = units_free(model.placer.yard0.short, problem.length - problem.base)
    at = np.array(axis.slots, dtype=np.int64) - problem.base
    taken: list[int] = (np.array(axis.hands, dtype=np.int64) - free[at]).tolist()
    return taken


def limit_shifts(model: Model, until: int | None = None) -> None:
    """What starts with a shift or after it, and all keying, must fit before the last moment at which any may end.

    until: by which position on shift all but the keying ends, where that is not to be told from the latest starts.

    It follows from the limit on hands, but not in a way the solver sees: where next to nobody may stand idle it then
    shares the work out among the shifts first (what must lie after a moment, as in the bound by hours).
    """
    axis, cp = model.axis, model.terms.cp
    finish = model.work[model.problem.finish]
    users = [(w, w.size * model.problem.items[i].hands) for i, w in model.work.items() if w.on_axis and w is not finish]
    done = axis.first_from(max((w.ends[-1] for w, _ in users), default=0)) if until is None else until
    # Keying for the launch itself may lie after all other work.
    last = max(done, axis.first_from(max((k.work.ends[-1] for k in model.keys.values()), default=0)))
    room = [0]
    for hands, taken in zip(axis.hands[:last][::-1], _taken(model)[:last][::-1], strict=True):
        room.append(room[-1] + hands - taken)
    room.reverse()
    keyed = sum(k.missed * k.work.size for k in model.keys.values())
    cp.add(sum(need for _, need in users) + keyed <= room[0])
    for shift in range(1, last):
        if axis.slots[shift] == axis.slots[shift - 1] + 1:
            continue
        settled = sum(need for w, need in users if w.steps.values[0] >= shift)
        later = [(w.steps.ge(shift), need) for w, need in users if w.steps.values[0] < shift <= w.steps.values[-1]]
        if settled + sum(need for _, need in later) > room[shift]:
            cp.add(sum(ge * need for ge, need in later if ge is not None) <= room[shift] - settled)


def limit_gear(model: Model) -> None:
    """Each piece of gear is held by no more than its count."""
    terms = model.terms
    for gear, count in enumerate(model.problem.gear_counts):
        users = [(i, h) for i in model.told for h in model.problem.items[i].holds if h.gear == gear]
        if len(users) < 1 or (sum(h.units for _, h in users) <= count and not model.placer.yard0.gear_short[gear][-1]):
            continue
        real = any(not model.work[i].on_axis for i, _ in users)
        intervals, demands = [], []
        for i, hold in users:
            work = model.work[i]
            moments = work.ends if hold.until is None else [hold.until[e] for e in work.ends]
            intervals.append(terms.spread(work, moments, real))
            demands.append(hold.units)
        levels = model.placer.yard0.gear_short[gear]
        for level in range(1, count + 1):
            # Slots with fewer than `level` units free: one unit taken for each level that is short.
            spans = terms.mask_spans(levels[level], real)
            intervals += spans
            demands += [1] * len(spans)
        if all(d + e > count for d, e in pairwise(sorted(demands)[:2])) and len(demands) > 1:
            terms.cp.add_no_overlap(intervals)
        else:
            terms.cp.add_cumulative(intervals, demands, count)


def limit_dust(model: Model) -> None:
    """Dusty pieces and wet coats of one air never meet."""
    terms = model.terms
    for air in range(len(model.problem.airs)):
        wet = [(i, w, _wet_until(model, i)) for i, w in model.told.items() if _is_wet(model, i, air)]
        here = [(i, w) for i, w in model.told.items() if _is_dusty(model, i, air)]
        dusty = [(i, w) for i, w in here if w.on_axis]
        dusty += [(-1, k.work) for k in model.keys.values() if k.keying.dusty and k.keying.air == air]
        covers = [(i, terms.stretch(w, u, False) if w.on_axis else terms.cover(w, u)) for i, w, u in wet]
        _keep_apart(model, covers, dusty, air, False)
        # Work that needs nobody makes its dust by night too: it is kept apart hour by hour.
        by_night = [(i, w) for i, w in here if not w.on_axis]
        for _, work in by_night:
            terms.cut(work)
        if by_night or model.placer.yard0.dust[air] & model.problem.short[-1]:
            _keep_apart(model, [(i, terms.stretch(w, u, True)) for i, w, u in wet], by_night, air, True)


def _keep_apart(
    model: Model, covers: list[tuple[int, Stretch]], dusty: list[tuple[int, Work]], air: int, real: bool
) -> None:
    """No dusty work meets a wet stretch, in the model or in the log; by item, in slots if real, else positions."""
    terms, yard = model.terms, model.placer.yard0
    for begin, until in terms.mask_runs(yard.dust[air], real):
        for _, cover in covers:
            keep_out(terms, cover, begin, until)
    covers = covers + [
        (-1, Stretch(begin, until, None, [(begin, until)])) for begin, until in terms.mask_runs(yard.wet[air], real)
    ]
    for j, work in dusty:
        stop = terms.stop_of(work)
        for i, cover in covers:
            if i != j or i < 0:
                keep_apart(terms, cover, work, stop)


def _wet_until(model: Model, i: int) -> list[int]:
    curve = model.problem.items[i].set_curve
    assert curve is not None
    return [curve[e] for e in model.work[i].ends]


def _is_wet(model: Model, i: int, air: int) -> bool:
    item = model.problem.items[i]
    return item.air == air and item.set_curve is not None


def _is_dusty(model: Model, i: int, air: int) -> bool:
    item = model.problem.items[i]
    return item.air == air and item.dusty


def _level_runs(values: Sequence[int]) -> list[tuple[int, int, int]]:
    """Runs of equal values as (begin, end, value)."""
    found = []
    begin = 0
    for at in range(1, len(values) + 1):
        if at == len(values) or values[at] != values[begin]:
            found.append((begin, at, values[begin]))
            begin = at
    return found
