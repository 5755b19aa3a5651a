"""How far each start may lie from the plan in hand, a question at a time: far only where it must.

With every start kept some days near the plan, the solver often sees at once that there is no earlier launch, and names
the few starts that can't all lie so near (an unsatisfiable core of assumptions: Een and Sorensson, Electronic Notes in
Theoretical Computer Science 89, 2003, 543-560, from memory). Those get twice the way, until nothing is plain any more.
Most of the plan then stays as it was, and what stands against the earlier launch moves as far as it has to.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from sequencer.planning import bounded, proof
from sequencer.planning.aims import Aim
from sequencer.planning.placing import Placer

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    from sequencer.planning.model import Model

PLAIN_EFFORT = 0.1
"""The solver's own count of effort for what is plain (a tenth of a second)."""

FARTHER = 2
"""How much farther the starts that clash may lie."""


class Nearness:
    """A model of launches by one slot in which each start may be asked to lie near a place.

    at: by item the slot it is to lie near.
    """

    def __init__(self, model: Model, at: Sequence[int]) -> None:
        self.model = model
        self.at = at
        self._near: dict[tuple[int, int], cp_model.IntVar] = {}

    def _literal(self, item: int, way: int) -> cp_model.IntVar:
        """Says that the item starts at most `way` slots from its place."""
        found = self._near.get((item, way))
        if found is None:
            cp, work = self.model.model, self.model.work[item]
            found = self._near[item, way] = cp.new_bool_var("")
            first, last = self.at[item] - way, self.at[item] + way
            cp.add(work.steps.var >= self.model.terms.place_of(work, first)).only_enforce_if(found)
            cp.add(work.steps.var <= self.model.terms.last_of(work, last)).only_enforce_if(found)
        return found

    def clash(self, ways: Mapping[int, int], seed: int, stop: Callable[[], bool]) -> list[int] | None:
        """Items that can't all lie so near, none of them where nothing can at all; None where it is not plain.

        ways: by item at most how many slots from its place.
        """
        from ortools.sat.python import cp_model

        items = {self._literal(item, way).index: item for item, way in ways.items()}
        self.model.model.clear_assumptions()
        self.model.model.add_assumptions([self._literal(item, way) for item, way in ways.items()])
        solver = proof.single(self.model, seed)
        solver.parameters.cp_model_presolve = False
        solver.parameters.cp_model_probing_level = 0
        solver.parameters.max_deterministic_time = PLAIN_EFFORT
        with proof.watched(solver, stop):
            status = solver.solve(self.model.model)
        if status != cp_model.INFEASIBLE:
            return None
        return [items[index] for index in solver.sufficient_assumptions_for_infeasibility()]


def give_way(placer: Placer, earliest: Sequence[int], aim: Aim, stop: Callable[[], bool]) -> None:
    """Widen the ways of the question `aim` until it is not plain that nothing lies so near; says so where nothing does.

    earliest: earliest starts by item. The question gets its first and last starts by item, none where its ways leave
    out nothing.
    """
    assert aim.at is not None
    try:
        model = bounded.model_ready(placer, earliest, aim.first, aim.last, aim.keyable, stop)
    except bounded.StoppedError:
        return
    if model is None:
        aim.none, aim.between = True, None
        return
    near, at = Nearness(model, aim.at), aim.at
    first, last = model.earliest, model.latest
    _begin(placer, aim)
    clash: list[int] | None = []
    while clash is not None:
        tied = {i: w for i, w in aim.ways.items() if at[i] - w > first[i] or at[i] + w < last[i]}
        clash = near.clash(tied, aim.seed, stop) if tied and not stop() else None
        if clash is not None and not clash:
            aim.none, aim.between = True, None
            return
        for item in clash or ():
            aim.ways[item] *= FARTHER
    aim.between = _kept_near(aim, first, last, tied) if tied else None


def stay_near(placer: Placer, earliest: Sequence[int], aim: Aim) -> None:
    """Keep each start of the question `aim` within its way, plain or not. earliest: earliest starts by item."""
    first, last = bounded.bounds_ready(placer, earliest, aim.first, aim.last)
    _begin(placer, aim)
    aim.between = _kept_near(aim, first, last, aim.ways)


def _begin(placer: Placer, aim: Aim) -> None:
    """Give each item that has no way yet the one that all have at first."""
    for item in placer.free:
        if item in placer.before_launch and item != placer.problem.finish:
            aim.ways.setdefault(item, aim.way)


def _kept_near(
    aim: Aim, first: Sequence[int], last: Sequence[int], ways: Mapping[int, int]
) -> tuple[list[int], list[int]]:
    """First and last starts by item, those of `ways` also within their way."""
    assert aim.at is not None
    lowest, highest = list(first), list(last)
    for item, way in ways.items():
        lowest[item], highest[item] = max(first[item], aim.at[item] - way), min(last[item], aim.at[item] + way)
    return lowest, highest
