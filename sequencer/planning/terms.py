"""The words the solver's model is written in: starts with their order literals, work on the axis, steps, spans.

- An item that needs hands has its start as a position on the on-shift axis; one that needs none, as a slot.
- Work that lies unbroken on the axis is one interval; a start that would be broken up (rain, a person missing) is
  a literal of its own with its pieces as fixed intervals.
- "Not before a stage" is a step function of the earlier start, told by literals start >= v and, where the function
  runs parallel to the start, by one linear constraint a stretch.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.planning.axis import Axis
from sequencer.planning.problem import Problem
from sequencer.planning.tables import Course, pieces

MOST_BROKEN = 2_000
"""Starts that would be broken up, told one by one in the model; past that it allows too much."""

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


@dataclass
class Work:
    """One piece of work in the model: its start, its pieces on the axis, its last position by start.

    present: literal for optional work (a keying), None where it must be. spans: intervals on the axis with hands.
    """

    steps: Steps
    course: Course
    on_axis: bool
    starts: list[int]
    ends: list[int]
    spans: list[cp_model.IntervalVar]
    size: int


class Terms:
    """Makes work, steps and spans in one CP-SAT model (`cp`) of one problem on one axis."""

    def __init__(self, problem: Problem, axis: Axis) -> None:
        self.problem = problem
        self.axis = axis
        self.cp = cp_model.CpModel()

    def work(
        self,
        course: Course,
        starts: list[int],
        ends: list[int],
        size: int,
        on_axis: bool,
        present: BoolVar | None,
        name: str,
    ) -> Work:
        """One piece of work with these feasible starts and ends, `size` slots at it; `present` where it is optional."""
        axis = self.axis
        if not on_axis:
            steps = Steps(self.cp, starts, name)
            return Work(steps, course, False, starts, ends, [], size)
        positions = [axis.exact(s) for s in starts]
        work = Work(Steps(self.cp, positions, name), course, True, starts, ends, [], size)
        broken = [
            k for k, p in enumerate(positions) if p + size > len(axis.slots) or axis.slots[p + size - 1] + 1 != ends[k]
        ]
        work.spans += self._spans(work, broken, present, axis.exact)
        return work

    def whole_spans(self, work: Work) -> list[cp_model.IntervalVar]:
        """The pieces of work that needs nobody, on slots; none where it is broken up too often to tell."""
        broken = [k for k, (s, e) in enumerate(zip(work.starts, work.ends, strict=True)) if e - s != work.size]
        if len(broken) > MOST_BROKEN:
            return []
        return self._spans(work, broken, None, int)

    def _spans(
        self, work: Work, broken: list[int], present: BoolVar | None, place: Callable[[int], int]
    ) -> list[cp_model.IntervalVar]:
        """The pieces of work as intervals; broken: its starts, by number, from which it is broken up."""
        steps, size = work.steps, work.size
        if not broken:
            return [self._span(steps, size, present)]
        spans = []
        broken_lits: list[Literal] = []
        for k in broken:
            lit = self.cp.new_bool_var("")
            self.cp.add(steps.var == steps.values[k]).only_enforce_if(lit)
            broken_lits.append(lit)
            for begin, end in pieces(work.course.workable, work.starts[k], work.ends[k]):
                first, last = place(begin), place(end - 1) + 1
                spans.append(self.cp.new_optional_fixed_size_interval_var(first, last - first, lit, ""))
        whole = self.cp.new_bool_var("")
        choices: list[Literal] = [*broken_lits, whole]
        if present is None:
            self.cp.add_exactly_one(choices)
        else:
            self.cp.add_exactly_one([*choices, ~present])
        kept = sorted(set(steps.values) - {steps.values[k] for k in broken})
        if kept:
            domain = cp_model.Domain.from_values(kept)
            self.cp.add_linear_expression_in_domain(steps.var, domain).only_enforce_if(whole)
            spans.append(self.cp.new_optional_fixed_size_interval_var(steps.var, size, whole, ""))
        else:
            self.cp.add(whole == 0)
        return spans

    def _span(self, steps: Steps, size: int, present: BoolVar | None) -> cp_model.IntervalVar:
        if present is None:
            return self.cp.new_fixed_size_interval_var(steps.var, size, "")
        return self.cp.new_optional_fixed_size_interval_var(steps.var, size, present, "")

    def place_of(self, work: Work, slot: int) -> int:
        """A moment as the least value the start of `work` may take from it on."""
        return self.axis.first_from(slot) if work.on_axis else slot

    def at_least(self, later: Work, earlier: Work, moments: Sequence[int], enforce: Sequence[Literal] = ()) -> None:
        """later.start not before moments[k] (a slot) where `earlier` starts at its k-th start."""
        targets = [self.place_of(later, m) for m in moments]
        self._steps_up(later.steps.var, later.steps.values[0], earlier.steps, targets, enforce)

    def _steps_up(
        self, var: cp_model.IntVar, least: int, steps: Steps, targets: Sequence[int], enforce: Sequence[Literal]
    ) -> None:
        """var >= targets[k] where steps.var is its k-th value; targets rise."""
        values = steps.values
        at = 0
        while at < len(values):
            # A stretch where the target runs parallel to the start needs one constraint.
            run = at
            while run + 1 < len(values) and targets[run + 1] - values[run + 1] == targets[at] - values[at]:
                run += 1
            if targets[run] > least:
                if run - at >= 2:
                    lits: list[Literal] = [*enforce]
                    if at > 0:
                        lits.append(self._known(steps.ge(values[at])))
                    if run + 1 < len(values):
                        lits.append(~self._known(steps.ge(values[run + 1])))
                    self.cp.add(var >= steps.var + (targets[at] - values[at])).only_enforce_if(lits)
                    if run + 1 < len(values):
                        lit = steps.ge(values[run + 1])
                        assert lit is not None
                        self.cp.add(var >= targets[run]).only_enforce_if([*enforce, lit])
                else:
                    for k in range(at, run + 1):
                        if targets[k] > least and (k == 0 or targets[k] > targets[k - 1]):
                            lit = steps.ge(values[k])
                            self.cp.add(var >= targets[k]).only_enforce_if(
                                [*enforce, *([lit] if lit is not None else [])]
                            )
            at = run + 1

    @staticmethod
    def _known(literal: BoolVar | None) -> BoolVar:
        assert literal is not None
        return literal

    def at_most(self, later: Work, earlier: Work, moments: Sequence[int], enforce: Sequence[Literal]) -> None:
        """later.start not after moments[k] where `earlier` starts at its k-th start; moments rise."""
        values = earlier.steps.values
        limits = [self.last_of(later, m) for m in moments]
        most = later.steps.values[-1]
        for k, limit in enumerate(limits):
            if limit >= most or (k + 1 < len(limits) and limits[k + 1] == limit):
                continue
            lits: list[Literal] = list(enforce)
            if k + 1 < len(values):
                lits.append(~self._known(earlier.steps.ge(values[k + 1])))
            self.cp.add(later.steps.var <= limit).only_enforce_if(lits)

    def last_of(self, work: Work, slot: int) -> int:
        """A moment as the greatest value the start of `work` may take up to it."""
        return self.axis.first_from(slot + 1) - 1 if work.on_axis else slot

    def fixed_spans(self, mask: int) -> list[cp_model.IntervalVar]:
        """The runs of a bit set, counted from the problem's base, as fixed intervals on the axis."""
        spans = []
        base = self.problem.base
        for begin, end in pieces(mask, 0, mask.bit_length()):
            first, last = self.axis.first_from(begin + base), self.axis.first_from(end + base)
            if last > first:
                spans.append(self.cp.new_fixed_size_interval_var(first, last - first, ""))
        return spans

    def _real(self, work: Work) -> cp_model.IntVar:
        """The start of `work` as a slot."""
        if not work.on_axis:
            return work.steps.var
        slot = self.cp.new_int_var_from_domain(cp_model.Domain.from_values(work.starts), "")
        at = 0
        values = work.steps.values
        while at < len(values):
            run = at
            while run + 1 < len(values) and work.starts[run + 1] - values[run + 1] == work.starts[at] - values[at]:
                run += 1
            lits: list[Literal] = []
            if at > 0:
                lits.append(self._known(work.steps.ge(values[at])))
            if run + 1 < len(values):
                lits.append(~self._known(work.steps.ge(values[run + 1])))
            self.cp.add(slot == work.steps.var + (work.starts[at] - values[at])).only_enforce_if(lits)
            at = run + 1
        return slot

    def _until(self, work: Work, moments: Sequence[int], real: bool) -> cp_model.IntVar:
        """A variable at or after moments[k] where `work` starts at its k-th start; slots if real, else positions."""
        place: Callable[[int], int] = (lambda m: m) if real else self.axis.first_from
        targets = [place(min(m, self.problem.length)) for m in moments]
        end = self.cp.new_int_var(targets[0], targets[-1], "")
        self._steps_up(end, targets[0], work.steps, targets, ())
        return end

    def spread(self, work: Work, moments: Sequence[int], real: bool) -> cp_model.IntervalVar:
        """The interval from the start of `work` to a moment that follows from it."""
        start = self._real(work) if real else work.steps.var
        values = work.starts if real else work.steps.values
        place: Callable[[int], int] = (lambda m: m) if real else self.axis.first_from
        sizes = {place(min(m, self.problem.length)) - v for m, v in zip(moments, values, strict=True)}
        if len(sizes) == 1:
            return self.cp.new_fixed_size_interval_var(start, sizes.pop(), "")
        end = self._until(work, moments, real)
        size = self.cp.new_int_var(0, self.problem.length, "")
        return self.cp.new_interval_var(start, size, end, "")

    def cover(self, work: Work, moments: Sequence[int]) -> cp_model.IntervalVar:
        """The interval on the axis of work that needs no hands, from its start to a moment that follows from it.

        Its begin may lie before the true one and its end after it, never inside: what must keep clear of it does.
        """
        first = self.axis.first_from
        begin = self.cp.new_int_var(first(work.starts[0]), first(work.starts[-1]), "")
        values = work.steps.values
        for k, start in enumerate(work.starts):
            enforce = [~self._known(work.steps.ge(values[k + 1]))] if k + 1 < len(values) else []
            if k + 1 == len(values) or first(work.starts[k + 1]) != first(start):
                self.cp.add(begin <= first(start)).only_enforce_if(enforce)
        end = self._until(work, moments, False)
        # A night's wetness covers nothing on the axis; as an empty interval it would still part what lies round it.
        some = self.cp.new_bool_var("")
        nothing = [v for v, s, m in zip(values, work.starts, moments, strict=True) if first(m) <= first(s)]
        if nothing:
            domain = cp_model.Domain.from_values(nothing)
            self.cp.add_linear_expression_in_domain(work.steps.var, domain).only_enforce_if(~some)
        else:
            self.cp.add(some == 1)
        size = self.cp.new_int_var(0, len(self.axis.slots) + 1, "")
        return self.cp.new_optional_interval_var(begin, size, end, some, "")

    def mask_spans(self, mask: int, real: bool) -> list[cp_model.IntervalVar]:
        """As :meth:`fixed_spans`, over slots where `real`."""
        if not real:
            return self.fixed_spans(mask)
        base = self.problem.base
        return [self.cp.new_fixed_size_interval_var(b + base, e - b, "") for b, e in pieces(mask, 0, mask.bit_length())]
