"""The words the solver's model is written in: starts with their order literals, work on the axis, steps, spans.

- An item that needs hands has its start as a position on the on-shift axis; one that needs none, as a slot.
- Work that lies unbroken on the axis is one interval; the starts from which the same holes break it up (rain, a person
  missing) share a literal and its pieces.
- "Not before a stage" is a step function of the earlier start, told by literals start >= v and, where the function
  runs parallel to the start, by one linear constraint a stretch.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from ortools.sat.python import cp_model

from sequencer.planning.axis import Axis
from sequencer.planning.bits import pieces, unbits
from sequencer.planning.problem import Problem
from sequencer.planning.spans import BoolVar, Break, Holes, Literal, Steps, Stretch, Work
from sequencer.planning.tables import Course


def parallel(values: Sequence[int], targets: Sequence[int]) -> Iterator[tuple[int, int]]:
    """The stretches (first, past the last) in which the targets rise as the values do."""
    gaps = np.asarray(targets, dtype=np.int64) - np.asarray(values, dtype=np.int64)
    return pairwise([0, *(np.flatnonzero(np.diff(gaps)) + 1).tolist(), len(values)])


class Terms:
    """Makes work, steps and spans in one CP-SAT model (`cp`) of one problem on one axis."""

    def __init__(self, problem: Problem, axis: Axis) -> None:
        self.problem = problem
        self.axis = axis
        self.cp = cp_model.CpModel()
        self._holes: dict[tuple[int, bool], Holes] = {}

    def work(
        self,
        course: Course,
        starts: list[int],
        ends: list[int],
        size: int,
        on_axis: bool,
        present: Literal | None,
        name: str,
        until: int | None = None,
    ) -> Work:
        """One piece of work with these feasible starts and ends, `size` slots at it; `present` where it is optional.

        until: the position from which on it is not told as work, as if it were absent where it starts there.
        """
        positions = self.axis.firsts(starts) if on_axis else starts
        work = Work(Steps(self.cp, positions, name), course, on_axis, starts, ends, size, present)
        if on_axis and (until is None or positions[0] < until):
            if until is not None and positions[-1] >= until:
                work.present = ~self._known(work.steps.ge(until))
            self.cut(work)
        return work

    def cut(self, work: Work) -> None:
        """Lay the work as intervals: whole, or in the pieces that the holes it meets leave of it."""
        stops = [at + 1 for at in self.axis.firsts([e - 1 for e in work.ends])] if work.on_axis else work.ends
        values, broken = work.steps.values, dict[tuple[int, int], list[int]]()
        holes = work.holes = self._holes_of(work)
        unbroken = np.subtract(stops, values) == work.size
        kept = [values[k] for k in np.flatnonzero(unbroken).tolist()]
        for k in np.flatnonzero(~unbroken).tolist():
            key = bisect_left(holes.begins, values[k]), bisect_left(holes.begins, stops[k]) - 1
            broken.setdefault(key, []).append(values[k])
        if not broken:
            work.spans = [self._span(work.steps, work.size, work.present)]
            return
        work.whole = self._one_of(work, kept)
        work.spans = [self._span(work.steps, work.size, work.whole)] if kept else []
        for (first, last), begins in broken.items():
            gap = sum(holes.ends[h] - holes.begins[h] for h in range(first, last + 1))
            part = Break(self._one_of(work, begins), first, last, gap)
            work.breaks.append(part)
            work.spans += self._parts(work, part)
        choices: list[Literal] = [work.whole, *(b.literal for b in work.breaks)]
        self.cp.add_exactly_one(choices if work.present is None else [*choices, ~work.present])

    def _one_of(self, work: Work, values: list[int]) -> BoolVar:
        """A literal that lets the start be one of these only."""
        literal = self.cp.new_bool_var("")
        if values:
            domain = cp_model.Domain.from_values(values)
            self.cp.add_linear_expression_in_domain(work.steps.var, domain).only_enforce_if(literal)
        else:
            self.cp.add(literal == 0)
        return literal

    def _parts(self, work: Work, part: Break) -> list[cp_model.IntervalVar]:
        """The pieces of broken work."""
        assert work.holes is not None
        start, holes, cp = work.steps.var, work.holes, self.cp
        first, again = holes.begins[part.first], holes.ends[part.last]
        spans = [cp.new_optional_interval_var(start, first - start, first, part.literal, "")]
        for hole in range(part.first, part.last):
            begin, end = holes.ends[hole], holes.begins[hole + 1]
            spans.append(cp.new_optional_fixed_size_interval_var(begin, end - begin, part.literal, ""))
        stop = start + (work.size + part.gap)
        return [*spans, cp.new_optional_interval_var(again, stop - again, stop, part.literal, "")]

    def _holes_of(self, work: Work) -> Holes:
        """Where work of this kind can't be worked, from the first position or slot to the last."""
        key = work.course.workable, work.on_axis
        found = self._holes.get(key)
        if found is None:
            size = self.problem.length + 2
            open_ = unbits(work.course.workable, size)
            shut = 1 - (open_[self.axis.slots] if work.on_axis else open_).astype(np.int64)
            edges = np.diff(np.concatenate(([0], shut, [0])))
            found = Holes(np.flatnonzero(edges == 1).tolist(), np.flatnonzero(edges == -1).tolist())
            self._holes[key] = found
        return found

    def stop_of(self, work: Work) -> cp_model.LinearExprT:
        """Where work ends, as its start counts; of broken work a variable."""
        whole = work.steps.var + work.size
        if not work.breaks:
            return whole
        values = work.steps.values
        stop = self.cp.new_int_var(values[0] + work.size, values[-1] + work.size + max(b.gap for b in work.breaks), "")
        assert work.whole is not None
        self.cp.add(stop == whole).only_enforce_if(work.whole)
        for part in work.breaks:
            self.cp.add(stop == whole + part.gap).only_enforce_if(part.literal)
        return stop

    def _span(self, steps: Steps, size: int, present: Literal | None) -> cp_model.IntervalVar:
        if present is None:
            return self.cp.new_fixed_size_interval_var(steps.var, size, "")
        return self.cp.new_optional_fixed_size_interval_var(steps.var, size, present, "")

    def place_of(self, work: Work, slot: int) -> int:
        """A moment as the least value the start of `work` may take from it on."""
        return self.axis.first_from(slot) if work.on_axis else slot

    def places_of(self, work: Work, slots: Sequence[int]) -> Sequence[int]:
        """:meth:`place_of` of each of many slots."""
        return self.axis.firsts(slots) if work.on_axis else slots

    def at_least(self, later: Work, earlier: Work, moments: Sequence[int], enforce: Sequence[Literal] = ()) -> None:
        """later.start not before moments[k] (a slot) where `earlier` starts at its k-th start."""
        targets = self.places_of(later, moments)
        self._steps_up(later.steps.var, later.steps.values[0], earlier.steps, targets, enforce)

    def not_before(self, var: cp_model.IntVar, like: Work, earlier: Work, moments: Sequence[int]) -> None:
        """var, that counts as the start of `like` does, not before moments[k] where `earlier` starts at its k-th."""
        self._steps_up(var, 0, earlier.steps, self.places_of(like, moments), ())

    def _steps_up(
        self, var: cp_model.IntVar, least: int, steps: Steps, targets: Sequence[int], enforce: Sequence[Literal]
    ) -> None:
        """var >= targets[k] where steps.var is its k-th value; targets rise."""
        values = steps.values
        for at, end in parallel(values, targets):
            # Where the target runs parallel to the start one constraint tells a whole stretch.
            if targets[end - 1] <= least:
                continue
            if end - at > 2:
                lits: list[Literal] = [*enforce]
                if at > 0:
                    lits.append(self._known(steps.ge(values[at])))
                if end < len(values):
                    lits.append(~self._known(steps.ge(values[end])))
                self.cp.add(var >= steps.var + (targets[at] - values[at])).only_enforce_if(lits)
                if end < len(values):
                    self.cp.add(var >= targets[end - 1]).only_enforce_if([*enforce, self._known(steps.ge(values[end]))])
                continue
            for k in range(at, end):
                if targets[k] > least and (k == 0 or targets[k] > targets[k - 1]):
                    lit = steps.ge(values[k])
                    self.cp.add(var >= targets[k]).only_enforce_if([*enforce, *([lit] if lit is not None else [])])

    @staticmethod
    def _known(literal: BoolVar | None) -> BoolVar:
        assert literal is not None
        return literal

    def at_most(self, later: Work, earlier: Work, moments: Sequence[int], enforce: Sequence[Literal]) -> None:
        """later.start not after moments[k] where `earlier` starts at its k-th start; moments rise."""
        values = earlier.steps.values
        limits = [at - 1 for at in self.places_of(later, [m + 1 for m in moments])]
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

    def mask_runs(self, mask: int, real: bool) -> list[tuple[int, int]]:
        """The runs of a bit set counted from the base, as (begin, end): slots where `real`, else positions."""
        base = self.problem.base
        runs = [(begin + base, end + base) for begin, end in pieces(mask, 0, mask.bit_length())]
        if real:
            return runs
        placed = [(self.axis.first_from(begin), self.axis.first_from(end)) for begin, end in runs]
        return [(begin, end) for begin, end in placed if end > begin]

    def _real(self, work: Work) -> cp_model.IntVar:
        """The start of `work` as a slot."""
        if not work.on_axis:
            return work.steps.var
        slot = self.cp.new_int_var_from_domain(cp_model.Domain.from_values(work.starts), "")
        values = work.steps.values
        for at, end in parallel(values, work.starts):
            lits: list[Literal] = []
            if at > 0:
                lits.append(self._known(work.steps.ge(values[at])))
            if end < len(values):
                lits.append(~self._known(work.steps.ge(values[end])))
            self.cp.add(slot == work.steps.var + (work.starts[at] - values[at])).only_enforce_if(lits)
        return slot

    def _until(self, work: Work, moments: Sequence[int], real: bool) -> cp_model.IntVar:
        """A variable at or after moments[k] where `work` starts at its k-th start; slots if real, else positions."""
        targets = self._within(moments, real)
        end = self.cp.new_int_var(targets[0], targets[-1], "")
        self._steps_up(end, targets[0], work.steps, targets, ())
        return end

    def _within(self, moments: Sequence[int], real: bool) -> list[int]:
        """The moments, none past the end: slots if real, else positions."""
        return [min(m, self.problem.length) for m in moments] if real else self.axis.firsts(moments)

    def spread(self, work: Work, moments: Sequence[int], real: bool) -> cp_model.IntervalVar:
        """The interval from the start of `work` to a moment that follows from it."""
        taken = self.stretch(work, moments, real)
        sizes = {until - begin for begin, until in taken.pairs}
        if len(sizes) == 1 and taken.present is None:
            return self.cp.new_fixed_size_interval_var(taken.begin, sizes.pop(), "")
        size = self.cp.new_int_var(0, self.problem.length, "")
        if taken.present is not None:
            return self.cp.new_optional_interval_var(taken.begin, size, taken.until, taken.present, "")
        return self.cp.new_interval_var(taken.begin, size, taken.until, "")

    def stretch(self, work: Work, moments: Sequence[int], real: bool) -> Stretch:
        """From the start of `work` to a moment that follows from it; slots if real, else positions."""
        start = self._real(work) if real else work.steps.var
        values = work.starts if real else work.steps.values
        pairs = list(zip(values, self._within(moments, real), strict=True))
        sizes = {until - begin for begin, until in pairs}
        until = start + sizes.pop() if len(sizes) == 1 else self._until(work, moments, real)
        return Stretch(start, until, work.present, pairs)

    def cover(self, work: Work, moments: Sequence[int]) -> Stretch:
        """The positions taken by work that needs no hands, from its start to a moment that follows from it.

        Its begin may lie before the true one and its end after it, never inside: what must keep clear of it does.
        """
        firsts = self.axis.firsts(work.starts)
        begin = self.cp.new_int_var(firsts[0], firsts[-1], "")
        values = work.steps.values
        for k, first in enumerate(firsts):
            enforce = [~self._known(work.steps.ge(values[k + 1]))] if k + 1 < len(values) else []
            if k + 1 == len(values) or firsts[k + 1] != first:
                self.cp.add(begin <= first).only_enforce_if(enforce)
        until = self._until(work, moments, False)
        # A night's wetness covers nothing on the axis.
        some = self.cp.new_bool_var("")
        pairs = list(zip(firsts, self._within(moments, False), strict=True))
        nothing = [v for v, (b, e) in zip(values, pairs, strict=True) if e <= b]
        if nothing:
            domain = cp_model.Domain.from_values(nothing)
            self.cp.add_linear_expression_in_domain(work.steps.var, domain).only_enforce_if(~some)
        else:
            self.cp.add(some == 1)
        return Stretch(begin, until, some, pairs)

    def mask_spans(self, mask: int, real: bool) -> list[cp_model.IntervalVar]:
        """The runs of a bit set as fixed intervals, over slots where `real`, else over positions."""
        return [self.cp.new_fixed_size_interval_var(b, e - b, "") for b, e in self.mask_runs(mask, real)]
