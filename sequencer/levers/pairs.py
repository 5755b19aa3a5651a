"""Which levers are worth trying two at a time."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from sequencer.levers.finding import bears_on
from sequencer.levers.lever import Lever, Tried, rank_key

BEST = 6
"""Single levers with a gain that are tried with each other, no two of one sort."""

IDLE = 4
"""Levers without a gain that are tried with each of those, where they bear on what sets the launch then."""

MOST_PAIRS = 30


def pairs(singles: Sequence[Tried]) -> list[tuple[Lever, Lever]]:
    """Pairs of the best levers, and of each with such as help against what holds the launch once it is pulled."""
    best = _one_of_a_sort([t for t in sorted(singles, key=rank_key) if t.plan.launch < t.before.launch], BEST)
    found = [(a.levers[0], b.levers[0]) for a, b in combinations(best, 2)]
    idle = [t for t in singles if t.plan.launch == t.before.launch]
    for one in best:
        near = [t for t in idle if bears_on(t.levers[0], one.plan)]
        found += [(one.levers[0], other.levers[0]) for other in _one_of_a_sort(near, IDLE)]
    if not best:
        near = [t for t in idle if bears_on(t.levers[0], t.before)]
        found += [(a.levers[0], b.levers[0]) for a, b in combinations(_one_of_a_sort(near, IDLE), 2)]
    return [pair for pair in dict.fromkeys(found) if not _overlap(*pair)][:MOST_PAIRS]


def _one_of_a_sort(tried: Sequence[Tried], most: int) -> list[Tried]:
    """The first of each sort: of a friend's days the best, not the best six."""
    sorts: dict[object, Tried] = {}
    for one in tried:
        sorts.setdefault(_sort(one.levers[0]), one)
    return list(sorts.values())[:most]


def _sort(lever: Lever) -> tuple[str, frozenset[str]]:
    return lever.kind, frozenset(person for person, _ in lever.days) if lever.days else lever.about


def _overlap(a: Lever, b: Lever) -> bool:
    """Whether one says nothing beside the other, or they would write the same fields."""
    if a.days and b.days:
        return a.days <= b.days or b.days <= a.days
    places = {a.kind, b.kind} <= {"cover", "heat"} or a.kind == b.kind or {a.kind, b.kind} == {"heat", "material"}
    return places and bool(a.about & b.about)
