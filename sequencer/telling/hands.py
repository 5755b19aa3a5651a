"""Who does what: a plan says how many hands and who must be among them; the rest is whoever is there and free."""

from __future__ import annotations

from itertools import pairwise

from sequencer.planning.plan import Plan, Row

Spans = list[tuple[int, int]]
Doers = dict[str, Spans]
"""By crew id, in the crew's order, the spans [begin, end) worked, slots."""


def hands_on(plan: Plan, begin: int, end: int) -> dict[str, Doers]:
    """By row id who works on it in [begin, end).

    Nobody is in two places, whoever is named is there, and who began a piece stays with it where that can be. Work
    in the past that had fewer people on shift than hands has the ones there were.
    """
    rows = [row for row in plan.rows.values() if row.hands]
    order = list(plan.job.people)
    found: dict[str, Doers] = {row.id: {} for row in rows}
    last: dict[str, tuple[str, ...]] = {}
    for b, e in _segments(plan, rows, begin, end):
        there = [name for name in order if plan.problem.tables.shifts[name][b]]
        active = [row for row in rows if any(first <= b < stop for first, stop in row.pieces)]
        for row_id, doers in _given(active, there, last).items():
            last[row_id] = doers
            for name in doers:
                _add(found[row_id].setdefault(name, []), b, e)
    return {name: {p: doers[p] for p in order if p in doers} for name, doers in found.items() if doers}


def _segments(plan: Plan, rows: list[Row], begin: int, end: int) -> list[tuple[int, int]]:
    """[begin, end) cut wherever a piece begins or ends, or somebody comes or goes."""
    cuts = {begin, end}
    for row in rows:
        cuts.update(slot for piece in row.pieces for slot in piece if begin < slot < end)
    for there in plan.problem.tables.shifts.values():
        cuts.update(slot for slot in range(begin + 1, end) if there[slot] != there[slot - 1])
    return list(pairwise(sorted(cuts)))


def _given(active: list[Row], there: list[str], last: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    """By row id who does it, for one moment: the named first, then the others by the largest matching there is."""
    named = {row.id: tuple(p for p in row.task.who if p in there) if not row.keys else () for row in active}
    taken = {name for names in named.values() for name in names}
    free = [name for name in there if name not in taken]
    holds: dict[str, str] = {}

    def seat(row: Row, seen: set[str]) -> bool:
        """Find somebody for one more pair of hands, sending others to other work if need be (Kuhn's algorithm)."""
        for name in sorted(free, key=lambda n: (n in holds, n not in last.get(row.id, ()))):
            if name in seen or holds.get(name) == row.id:
                continue
            seen.add(name)
            other = next((r for r in active if r.id == holds.get(name)), None)
            if other is None or seat(other, seen):
                holds[name] = row.id
                return True
        return False

    for row in sorted(active, key=lambda r: r.id not in last):
        for _ in range(row.hands - len(named[row.id])):
            seat(row, set())
    return {row.id: (*named[row.id], *(n for n in free if holds.get(n) == row.id)) for row in active}


def _add(spans: Spans, begin: int, end: int) -> None:
    if spans and spans[-1][1] == begin:
        spans[-1] = (spans[-1][0], end)
    else:
        spans.append((begin, end))
