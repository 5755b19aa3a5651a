"""The same problem for a general solver (OR-tools CP-SAT): starts on the on-shift axis, cures as steps.

- An item that needs hands has its start as a position on the on-shift axis; one that needs none, as a slot.
- Feasible starts (weather, wet time, slots, one-go) are the domain of the start, cut to what can still matter for
  a launch before the best known.
- Work that lies unbroken on the axis is one interval; a start that would be broken up (rain, a person missing) is
  a literal of its own with its pieces as fixed intervals. Hands are exact either way.
- "Not before a stage" is a step function of the earlier start, told by literals start >= v and, where the function
  runs parallel to the start, by one linear constraint a stretch.
- Each window is met, or missed and keyed: the solver's choice.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ortools.sat.python import cp_model

from sequencer.planning.axis import Axis
from sequencer.planning.placing import Placer
from sequencer.planning.problem import Edge, Item, Keying, Problem
from sequencer.planning.tables import Course, pieces

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


class Model:
    """The CP-SAT model of one problem for launches before a best known one.

    earliest, latest: by item the starts worth having; empty domains show as `hopeless`.
    """

    def __init__(
        self, placer: Placer, earliest: Sequence[int], latest: Sequence[int], axis: Axis | None = None
    ) -> None:
        self.placer = placer
        self.problem: Problem = placer.problem
        self.axis = axis if axis is not None else Axis(self.problem)
        self.model = cp_model.CpModel()
        self.earliest, self.latest = earliest, latest
        self.work: dict[int, Work] = {}
        self.keys: dict[tuple[int, int], tuple[Work, BoolVar]] = {}
        self.missed: list[BoolVar] = []
        """A literal for each coat and later task whose window may be missed."""
        self.hopeless = False
        self._build()

    # -- building ---------------------------------------------------------------------------------------------

    def _build(self) -> None:
        # What the launch does not wait for can be done after it: it only takes room, and is left out.
        self.wanted = [i for i in self.placer.free if i in self.placer.before_launch]
        for i in self.wanted:
            item = self.problem.items[i]
            starts, ends = self._window(item.course, self.earliest[i], self.latest[i])
            if not starts:
                self.hopeless = True
                return
            self.work[i] = self._work(item.course, starts, ends, item.work, item.hands > 0, None, item.id)
        for i in self.wanted:
            self._links(self.problem.items[i])
        self._hands()
        self._gear()
        self._dust()

    def aim_at_launch(self) -> None:
        """Ask for the earliest launch."""
        self.model.minimize(self.work[self.problem.finish].steps.var)

    def aim_at_windows(self) -> None:
        """Ask for the fewest missed windows, whatever the launch within the domains."""
        self.model.minimize(sum(self.missed))

    @staticmethod
    def _window(course: Course, first: int, last: int) -> tuple[list[int], list[int]]:
        low, high = bisect_left(course.starts, first), bisect_right(course.starts, last)
        return course.starts[low:high], course.ends[low:high]

    def _work(
        self,
        course: Course,
        starts: list[int],
        ends: list[int],
        size: int,
        on_axis: bool,
        present: BoolVar | None,
        name: str,
    ) -> Work:
        axis = self.axis
        if not on_axis:
            steps = Steps(self.model, starts, name)
            return Work(steps, course, False, starts, ends, [], size)
        positions = [axis.exact(s) for s in starts]
        steps = Steps(self.model, positions, name)
        work = Work(steps, course, True, starts, ends, [], size)
        broken = [
            k for k, p in enumerate(positions) if p + size > len(axis.slots) or axis.slots[p + size - 1] + 1 != ends[k]
        ]
        if not broken:
            work.spans.append(self._span(steps, size, present))
            return work
        broken_lits: list[Literal] = []
        for k in broken:
            lit = self.model.new_bool_var("")
            self.model.add(steps.var == positions[k]).only_enforce_if(lit)
            broken_lits.append(lit)
            for begin, end in pieces(course.workable, starts[k], ends[k]):
                first, last = axis.exact(begin), axis.exact(end - 1) + 1
                work.spans.append(self.model.new_optional_fixed_size_interval_var(first, last - first, lit, ""))
        whole = self.model.new_bool_var("")
        choices: list[Literal] = [*broken_lits, whole]
        if present is None:
            self.model.add_exactly_one(choices)
        else:
            self.model.add_exactly_one([*choices, ~present])
        kept = sorted(set(positions) - {positions[k] for k in broken})
        if kept:
            domain = cp_model.Domain.from_values(kept)
            self.model.add_linear_expression_in_domain(steps.var, domain).only_enforce_if(whole)
            work.spans.append(self.model.new_optional_fixed_size_interval_var(steps.var, size, whole, ""))
        else:
            self.model.add(whole == 0)
        return work

    def _span(self, steps: Steps, size: int, present: BoolVar | None) -> cp_model.IntervalVar:
        if present is None:
            return self.model.new_fixed_size_interval_var(steps.var, size, "")
        return self.model.new_optional_fixed_size_interval_var(steps.var, size, present, "")

    # -- links ------------------------------------------------------------------------------------------------

    def _place_of(self, work: Work, slot: int) -> int:
        """A moment as the least value the start of `work` may take from it on."""
        return self.axis.first_from(slot) if work.on_axis else slot

    def at_least(self, later: Work, earlier: Work, moments: Sequence[int], enforce: Sequence[Literal] = ()) -> None:
        """later.start not before moments[k] (a slot) where `earlier` starts at its k-th start."""
        targets = [self._place_of(later, m) for m in moments]
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
                    self.model.add(var >= steps.var + (targets[at] - values[at])).only_enforce_if(lits)
                    if run + 1 < len(values):
                        lit = steps.ge(values[run + 1])
                        assert lit is not None
                        self.model.add(var >= targets[run]).only_enforce_if([*enforce, lit])
                else:
                    for k in range(at, run + 1):
                        if targets[k] > least and (k == 0 or targets[k] > targets[k - 1]):
                            lit = steps.ge(values[k])
                            self.model.add(var >= targets[k]).only_enforce_if(
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
        limits = [self._last_of(later, m) for m in moments]
        most = later.steps.values[-1]
        for k, limit in enumerate(limits):
            if limit >= most or (k + 1 < len(limits) and limits[k + 1] == limit):
                continue
            lits: list[Literal] = list(enforce)
            if k + 1 < len(values):
                lits.append(~self._known(earlier.steps.ge(values[k + 1])))
            self.model.add(later.steps.var <= limit).only_enforce_if(lits)

    def _last_of(self, work: Work, slot: int) -> int:
        """A moment as the greatest value the start of `work` may take up to it."""
        return self.axis.first_from(slot + 1) - 1 if work.on_axis else slot

    def _links(self, item: Item) -> None:
        later = self.work[item.index]
        windows: dict[int, list[Edge]] = {}
        for edge in item.edges:
            before = self.problem.items[edge.before]
            if before.fixed is None:
                earlier = self.work[edge.before]
                moments = earlier.ends if edge.opens is None else [edge.opens[e] for e in earlier.ends]
                self.at_least(later, earlier, moments)
            if edge.closes is not None:
                windows.setdefault(edge.before, []).append(edge)
        for index, edges in windows.items():
            self._window_choice(item, index, edges)

    def _window_choice(self, item: Item, index: int, edges: list[Edge]) -> None:
        """Meet the windows to one earlier coat, or key it."""
        later, before = self.work[item.index], self.problem.items[index]
        earlier = self.work.get(index)
        last = later.starts[-1]
        first_start = earlier.starts[0] if earlier is not None else self.placer.start0[index]
        open_edges = [e for e in edges if last > self.placer.closing(e, first_start)]
        if not open_edges:
            return
        missed = self.model.new_bool_var("")
        self.missed.append(missed)
        for edge in open_edges:
            assert edge.closes is not None
            if earlier is None:
                limit = self._last_of(later, self.placer.closing(edge, first_start))
                self.model.add(later.steps.var <= limit).only_enforce_if(~missed)
            else:
                self.at_most(later, earlier, [edge.closes[s] for s in earlier.starts], [~missed])
        keying = max((e.keying for e in open_edges if e.keying), key=lambda k: k.work)
        self._keying(item, before, keying, missed)

    def _keying(self, item: Item, before: Item, keying: Keying, missed: BoolVar) -> None:
        later = self.work[item.index]
        earlier = self.work.get(before.index)
        sand = self._sanded(before, earlier)
        first, last = max(self.problem.base, sand[0]), later.starts[-1]
        low, high = bisect_left(keying.course.starts, first), bisect_right(keying.course.ends, last)
        starts, ends = keying.course.starts[low:high], keying.course.ends[low:high]
        if not starts:
            self.model.add(missed == 0)
            return
        key = self._work(keying.course, starts, ends, keying.work, True, missed, f"{item.id}/key/{before.id}")
        self.keys[(item.index, before.index)] = (key, missed)
        self.at_least(later, key, ends, [missed])
        if earlier is not None:
            self.at_least(key, earlier, sand, [missed])

    def _sanded(self, before: Item, earlier: Work | None) -> list[int]:
        """By start of the earlier coat, when it may be keyed; one moment where the log has settled it."""
        material = self.problem.job.materials[before.task.material or ""]
        stage = "sand" if "sand" in material.stages else "done"
        ends = earlier.ends if earlier is not None else [self.placer.end0[before.index]]
        return [self.problem.stage_moment(before, stage, e) for e in ends]

    # -- people, gear, air ------------------------------------------------------------------------------------

    def _hands(self) -> None:
        users = [(w, self.problem.items[i]) for i, w in self.work.items() if w.on_axis]
        most = max(self.axis.hands, default=0)
        taken = self._taken()
        intervals = [s for w, _ in users for s in w.spans] + [s for w, _ in self.keys.values() for s in w.spans]
        demands = [item.hands for w, item in users for _ in w.spans] + [
            1 for w, _ in self.keys.values() for _ in w.spans
        ]
        short = [most - h + t for h, t in zip(self.axis.hands, taken, strict=True)]
        end = max((w.steps.values[-1] + w.size for w, _ in users), default=0) + 64
        for begin, stop, value in _level_runs(short[:end]):
            if value > 0:
                intervals.append(self.model.new_fixed_size_interval_var(begin, stop - begin, ""))
                demands.append(min(value, most))
        if most == 1:
            self.model.add_no_overlap(intervals)
        elif intervals:
            self.model.add_cumulative(intervals, demands, most)
        for person in range(len(self.problem.people)):
            named = [s for w, item in users if person in item.who for s in w.spans]
            busy = self.placer.yard0.busy[person]
            named += self._fixed_spans(busy)
            if len(named) > 1:
                self.model.add_no_overlap(named)

    def _taken(self) -> list[int]:
        """By axis position, hands already at work on what the log has begun."""
        taken = [0] * len(self.axis.slots)
        base = self.problem.base
        for position, slot in enumerate(self.axis.slots):
            bit = slot - base
            free = 0
            for level in range(1, len(self.placer.yard0.short)):
                if not self.placer.yard0.short[level] >> bit & 1:
                    free = level
            if free == self.axis.hands[position] and not any(self.placer.yard0.busy):
                break
            taken[position] = self.axis.hands[position] - free
        return taken

    def _fixed_spans(self, mask: int) -> list[cp_model.IntervalVar]:
        spans = []
        base = self.problem.base
        for begin, end in pieces(mask, 0, mask.bit_length()):
            first, last = self.axis.first_from(begin + base), self.axis.first_from(end + base)
            if last > first:
                spans.append(self.model.new_fixed_size_interval_var(first, last - first, ""))
        return spans

    def _real(self, work: Work) -> cp_model.IntVar:
        """The start of `work` as a slot."""
        if not work.on_axis:
            return work.steps.var
        slot = self.model.new_int_var_from_domain(cp_model.Domain.from_values(work.starts), "")
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
            self.model.add(slot == work.steps.var + (work.starts[at] - values[at])).only_enforce_if(lits)
            at = run + 1
        return slot

    def _until(self, work: Work, moments: Sequence[int], real: bool) -> cp_model.IntVar:
        """A variable at or after moments[k] where `work` starts at its k-th start; slots if real, else positions."""
        place: Callable[[int], int] = (lambda m: m) if real else self.axis.first_from
        targets = [place(min(m, self.problem.length)) for m in moments]
        end = self.model.new_int_var(targets[0], targets[-1], "")
        self._steps_up(end, targets[0], work.steps, targets, ())
        return end

    def _spread(self, work: Work, moments: Sequence[int], real: bool) -> cp_model.IntervalVar:
        """The interval from the start of `work` to a moment that follows from it."""
        start = self._real(work) if real else work.steps.var
        values = work.starts if real else work.steps.values
        place: Callable[[int], int] = (lambda m: m) if real else self.axis.first_from
        sizes = {place(min(m, self.problem.length)) - v for m, v in zip(moments, values, strict=True)}
        if len(sizes) == 1:
            return self.model.new_fixed_size_interval_var(start, sizes.pop(), "")
        end = self._until(work, moments, real)
        size = self.model.new_int_var(0, self.problem.length, "")
        return self.model.new_interval_var(start, size, end, "")

    def _cover(self, work: Work, moments: Sequence[int]) -> cp_model.IntervalVar:
        """The interval on the axis of work that needs no hands, from its start to a moment that follows from it.

        Its begin may lie before the true one and its end after it, never inside: what must keep clear of it does.
        """
        first = self.axis.first_from
        begin = self.model.new_int_var(first(work.starts[0]), first(work.starts[-1]), "")
        values = work.steps.values
        for k, start in enumerate(work.starts):
            enforce = [~self._known(work.steps.ge(values[k + 1]))] if k + 1 < len(values) else []
            if k + 1 == len(values) or first(work.starts[k + 1]) != first(start):
                self.model.add(begin <= first(start)).only_enforce_if(enforce)
        end = self._until(work, moments, False)
        # A night's wetness covers nothing on the axis; as an empty interval it would still part what lies round it.
        some = self.model.new_bool_var("")
        nothing = [v for v, s, m in zip(values, work.starts, moments, strict=True) if first(m) <= first(s)]
        if nothing:
            domain = cp_model.Domain.from_values(nothing)
            self.model.add_linear_expression_in_domain(work.steps.var, domain).only_enforce_if(~some)
        else:
            self.model.add(some == 1)
        size = self.model.new_int_var(0, len(self.axis.slots) + 1, "")
        return self.model.new_optional_interval_var(begin, size, end, some, "")

    def _gear(self) -> None:
        for gear, count in enumerate(self.problem.gear_counts):
            users = [(i, h) for i in self.work for h in self.problem.items[i].holds if h.gear == gear]
            if len(users) < 1 or (
                sum(h.units for _, h in users) <= count and not self.placer.yard0.gear_short[gear][-1]
            ):
                continue
            real = any(not self.work[i].on_axis for i, _ in users)
            intervals, demands = [], []
            for i, hold in users:
                work = self.work[i]
                moments = work.ends if hold.until is None else [hold.until[e] for e in work.ends]
                intervals.append(self._spread(work, moments, real))
                demands.append(hold.units)
            levels = self.placer.yard0.gear_short[gear]
            for level in range(1, count + 1):
                # Slots with fewer than `level` units free: one unit taken for each level that is short.
                spans = self._mask_spans(levels[level], real)
                intervals += spans
                demands += [1] * len(spans)
            if all(d + e > count for d, e in pairwise(sorted(demands)[:2])) and len(demands) > 1:
                self.model.add_no_overlap(intervals)
            else:
                self.model.add_cumulative(intervals, demands, count)

    def _mask_spans(self, mask: int, real: bool) -> list[cp_model.IntervalVar]:
        if not real:
            return self._fixed_spans(mask)
        base = self.problem.base
        return [
            self.model.new_fixed_size_interval_var(b + base, e - b, "") for b, e in pieces(mask, 0, mask.bit_length())
        ]

    def _dust(self) -> None:
        """Dusty pieces and wet coats of one air never meet."""
        for air in range(len(self.problem.airs)):
            wet = [(i, self.work[i]) for i in self.work if self._is_wet(i, air)]
            dusty: list[tuple[int, list[cp_model.IntervalVar]]] = [
                (i, self._dust_spans(w)) for i, w in self.work.items() if self._is_dusty(i, air)
            ]
            dusty += [(-1, key.spans) for (_, b), (key, _) in self.keys.items() if self._key_dusty(b, air)]
            dust_log = self._fixed_spans(self.placer.yard0.dust[air])
            wet_log = self._fixed_spans(self.placer.yard0.wet[air])
            covers = []
            for i, work in wet:
                curve = self.problem.items[i].set_curve
                assert curve is not None
                until = [curve[e] for e in work.ends]
                covers.append((i, self._spread(work, until, False) if work.on_axis else self._cover(work, until)))
            for i, cover in covers:
                for span in dust_log:
                    self.model.add_no_overlap([cover, span])
                for j, spans in dusty:
                    if i != j:
                        for span in spans:
                            self.model.add_no_overlap([cover, span])
            for _, spans in dusty:
                for span in spans:
                    if wet_log:
                        for log in wet_log:
                            self.model.add_no_overlap([log, span])

    def _is_wet(self, i: int, air: int) -> bool:
        item = self.problem.items[i]
        return item.air == air and item.set_curve is not None

    def _is_dusty(self, i: int, air: int) -> bool:
        item = self.problem.items[i]
        return item.air == air and item.dusty and self.work[i].on_axis

    def _key_dusty(self, before: int, air: int) -> bool:
        item = self.problem.items[before]
        return item.air == air and any(
            e.keying is not None and e.keying.dusty
            for f in self.wanted
            for e in self.problem.items[f].edges
            if e.before == before
        )

    @staticmethod
    def _dust_spans(work: Work) -> list[cp_model.IntervalVar]:
        return work.spans

    # -- in and out -------------------------------------------------------------------------------------------

    def hint(self, starts: Sequence[int]) -> None:
        """Tell the solver a plan: start slots by item, where they lie in its domains."""
        for i, work in self.work.items():
            value = self.axis.exact(starts[i]) if work.on_axis else starts[i]
            self.model.add_hint(work.steps.var, value)

    def read(self, value: Callable[[cp_model.IntVar], int]) -> list[int]:
        """Start slots by item of a solution; what the log fixed stays as it is."""
        starts = self.placer.start0[:]
        for i, work in self.work.items():
            found = value(work.steps.var)
            starts[i] = self.axis.slots[found] if work.on_axis else found
        return starts

    def read_keys(self, value: Callable[[cp_model.IntVar], int]) -> dict[tuple[int, int], int]:
        """Start slots of a solution's keyings, by later item and coat."""
        return {
            pair: self.axis.slots[value(key.steps.var)] for pair, (key, missed) in self.keys.items() if value(missed)
        }

    def launch_slot(self, value: int) -> int:
        """A value of the objective as a slot."""
        work = self.work[self.problem.finish]
        return self.axis.slots[min(max(0, value), len(self.axis.slots) - 1)] if work.on_axis else value


def _level_runs(values: Sequence[int]) -> list[tuple[int, int, int]]:
    """Runs of equal values as (begin, end, value)."""
    found = []
    begin = 0
    for at in range(1, len(values) + 1):
        if at == len(values) or values[at] != values[begin]:
            found.append((begin, at, values[begin]))
            begin = at
    return found
