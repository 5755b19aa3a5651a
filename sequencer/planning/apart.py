"""Dust and wet coats of one air in the solver's model: each pair one before the other, or the coat within a pause."""

from __future__ import annotations

from bisect import bisect_left

from ortools.sat.python import cp_model

from sequencer.planning.spans import Literal, Stretch, Work
from sequencer.planning.terms import Terms


def keep_out(terms: Terms, wet: Stretch, begin: int, until: int) -> None:
    """A wet stretch never meets [begin, until), which is settled."""
    before, after = terms.cp.new_bool_var(""), terms.cp.new_bool_var("")
    terms.cp.add(wet.until <= begin).only_enforce_if(before)
    terms.cp.add(wet.begin >= until).only_enforce_if(after)
    terms.cp.add_bool_or([before, after, *_absent(wet.present)])


def keep_apart(terms: Terms, wet: Stretch, dusty: Work, stop: cp_model.LinearExprT) -> None:
    """A wet stretch never meets a piece of dusty work that ends at `stop`.

    Most often one is done before the other begins. Work that stops for a while (rain, the only one who can do it
    away) may let a coat set meanwhile, where there is a pause long enough.
    """
    cp = terms.cp
    choices: list[Literal] = [*_absent(wet.present), *_absent(dusty.present)]
    starts = dusty.steps.values
    latest_stop = starts[-1] + dusty.size + max((b.gap for b in dusty.breaks), default=0)
    if latest_stop <= wet.pairs[0][0] or wet.pairs[-1][1] <= starts[0]:
        return
    if starts[0] + dusty.size <= wet.pairs[-1][0]:
        before = cp.new_bool_var("")
        cp.add(stop <= wet.begin).only_enforce_if(before)
        choices.append(before)
    if wet.pairs[0][1] <= starts[-1]:
        after = cp.new_bool_var("")
        cp.add(dusty.steps.var >= wet.until).only_enforce_if(after)
        choices.append(after)
    choices += _in_pauses(terms, wet, dusty)
    cp.add_bool_or(choices)


def _absent(present: Literal | None) -> list[Literal]:
    return [] if present is None else [~present]


def _in_pauses(terms: Terms, wet: Stretch, dusty: Work) -> list[Literal]:
    """Literals for the wet stretch within one of the holes the work may be broken up by, where it can fit at all."""
    found: list[Literal] = []
    holes = sorted({h for part in dusty.breaks for h in range(part.first, part.last + 1)})
    if dusty.holes is None or not holes:
        return found
    begins = [b for b, _ in wet.pairs]
    for hole in holes:
        begin, end = dusty.holes.begins[hole], dusty.holes.ends[hole]
        # The first stretch from the hole's begin on also ends first.
        at = bisect_left(begins, begin)
        if at < len(begins) and wet.pairs[at][1] <= end:
            within = terms.cp.new_bool_var("")
            terms.cp.add(wet.begin >= begin).only_enforce_if(within)
            terms.cp.add(wet.until <= end).only_enforce_if(within)
            across = [part.literal for part in dusty.breaks if part.first <= hole <= part.last]
            terms.cp.add_bool_or([*across, ~within])
            found.append(within)
    return found
