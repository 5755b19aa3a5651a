"""What the solver's model is put together from: starts with their order literals, work and its pieces, stretches."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from sequencer.planning.tables import Course

BoolVar = cp_model.IntVar
Literal = cp_model.LiteralT


class Steps:
    """A start variable with its order literals: ``ge(v)`` is true just where start >= v."""

    def __init__(self, model: cp_model.CpModel, values: Sequence[int], name: str) -> None:
        self.model = model
        self.values = list(values)
        self.var = model.new_int_var_from_domain(cp_model.Domain.from_values(self.values), name)
        self._ge: dict[int, BoolVar] = {}

    def ge(self, value: int) -> BoolVar | None:
        """A literal for start >= value; None where always true (a value past the domain is the caller's care)."""
        found = self._ge.get(value)
        if found is not None:
            return found
        if value <= self.values[0]:
            return None
        at = bisect_left(self.values, value)
        value = self.values[at] if at < len(self.values) else self.values[-1] + 1
        found = self._ge.get(value)
        if found is None:
            found = self._ge[value] = self.model.new_bool_var("")
            self.model.add(self.var >= value).only_enforce_if(found)
            self.model.add(self.var <= value - 1).only_enforce_if(~found)
        return found


@dataclass(frozen=True)
class Break:
    """Starts from which work is broken up by the same holes: it runs to the first, between them, and on after the last.

    literal: says the start is one of these. first, last: numbers of the holes. gap: how long the holes are together.
    """

    literal: BoolVar
    first: int
    last: int
    gap: int


@dataclass(frozen=True)
class Holes:
    """Where a kind of work can't be worked: begins and ends, rising, in positions or slots."""

    begins: list[int]
    ends: list[int]


@dataclass
class Work:
    """One piece of work in the model: its start, its pieces, what may break it up.

    present: literal for work that need not be (a keying; what may come after a leg), None for other. spans: intervals
    on the axis with hands. whole: literal for "not broken up", None where nothing can. holes: those `breaks` number.
    """

    steps: Steps
    course: Course
    on_axis: bool
    starts: list[int]
    ends: list[int]
    size: int
    present: Literal | None = None
    whole: BoolVar | None = None
    breaks: list[Break] = field(default_factory=list)
    holes: Holes | None = None
    spans: list[cp_model.IntervalVar] = field(default_factory=list)


@dataclass(frozen=True)
class Stretch:
    """Positions or slots taken from `begin` to before `until`.

    present: literal where it may be nothing. pairs: the (begin, until) that the start of the work allows.
    """

    begin: cp_model.LinearExprT
    until: cp_model.LinearExprT
    present: Literal | None
    pairs: list[tuple[int, int]]
