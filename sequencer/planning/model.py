"""The same problem for a general solver (OR-tools CP-SAT): starts on the on-shift axis, cures as steps.

- Feasible starts (weather, wet time, slots, one-go) are the domain of the start, cut to what can still matter for
  a launch before the best known.
- How work lies on the axis and how stages follow from starts: :mod:`sequencer.planning.terms`.
- People, gear and air: :mod:`sequencer.planning.limits`.
- Each window is met, or missed and keyed: the solver's choice.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.planning.axis import Axis
from sequencer.planning.bounded import StoppedError
from sequencer.planning.limits import limit_dust, limit_gear, limit_hands
from sequencer.planning.placing import Placer
from sequencer.planning.problem import Edge, Item, Keying, Problem
from sequencer.planning.spans import BoolVar, Work
from sequencer.planning.tables import Course
from sequencer.planning.terms import Terms


@dataclass(frozen=True)
class Keys:
    """A keying that may be needed: its work in the model, the literal that says it is, and what it takes."""

    work: Work
    missed: BoolVar
    keying: Keying


class Model:
    """The CP-SAT model of one problem for launches before a best known one.

    earliest, latest: by item the starts worth having; empty domains show as `hopeless`. keyable: the later items and
    coats whose window may be missed, None for all. until: the position on shift from which on work that starts there
    takes no hands, gear or air: only its stages are told. None: there is none. stop: polled while the model is written.
    Raises StoppedError where it says so.
    """

    def __init__(
        self,
        placer: Placer,
        earliest: Sequence[int],
        latest: Sequence[int],
        axis: Axis | None = None,
        keyable: Container[tuple[int, int]] | None = None,
        until: int | None = None,
        stop: Callable[[], bool] = lambda: False,
    ) -> None:
        self.keyable = keyable
        self.until = until
        self.stop = stop
        self.placer = placer
        self.problem: Problem = placer.problem
        self.axis = axis if axis is not None else Axis(self.problem)
        self.terms = Terms(self.problem, self.axis)
        self.model = self.terms.cp
        self.earliest, self.latest = earliest, latest
        self.work: dict[int, Work] = {}
        self.told: dict[int, Work] = {}
        """Those whose gear and air are told, as hands are."""
        self.keys: dict[tuple[int, int], Keys] = {}
        self.missed: list[BoolVar] = []
        """A literal for each coat and later task whose window may be missed."""
        self.hopeless = False
        self.many_spans = False
        """Whether the hands have more spans than pairs can be reasoned about."""
        self._build()

    def _build(self) -> None:
        # What the launch does not wait for can be done after it: it only takes room, and is left out.
        self.wanted = [i for i in self.placer.free if i in self.placer.before_launch]
        for i in self.wanted:
            self._go_on()
            item = self.problem.items[i]
            starts, ends = self._window(item.course, self.earliest[i], self.latest[i])
            if not starts:
                self.hopeless = True
                return
            on_axis = item.hands > 0
            self.work[i] = self.terms.work(item.course, starts, ends, item.work, on_axis, None, item.id, self.until)
            if self.until is None or self.axis.first_from(starts[0]) < self.until:
                self.told[i] = self.work[i]
        for i in self.wanted:
            self._go_on()
            self._links(self.problem.items[i])
        for limit in (limit_hands, limit_gear, limit_dust):
            self._go_on()
            limit(self)

    def _go_on(self) -> None:
        if self.stop():
            raise StoppedError

    def aim_at_launch(self) -> None:
        """Ask for the earliest launch."""
        self.model.minimize(self.work[self.problem.finish].steps.var)

    def aim_at_windows(self) -> None:
        """Ask for the fewest missed windows, whatever the launch within the domains."""
        self.model.minimize(sum(self.missed))

    def aim_near(self, launch: int, ready: int, keying: int, weights: Mapping[int, int] | None, keyed: int = 0) -> None:
        """Ask for the earliest launch, then for all before it being ready soonest, then for the least keying.

        launch, ready (slots), keying (slots of it): no plan worse than these. weights: ask for the work as far forward
        as it goes instead, of those plans, each item by what a slot later counts, and a slot of keying as `keyed`.
        """
        finish = self.work[self.problem.finish]
        lightest = sum(k.missed * k.work.size for k in self.keys.values())
        whole = 1 + sum(k.work.size for k in self.keys.values())
        most = finish.steps.values[-1] + 1
        aim = (finish.steps.var * most + self._ready()) * whole + lightest
        value = self.axis.exact(launch) if finish.on_axis else launch
        # More keying than there may be must not weigh up a later launch.
        limit = (value * most + self.terms.place_of(finish, ready)) * whole + min(keying, whole - 1)
        self.model.add(aim <= limit)
        self.model.minimize(aim if weights is None else self._forward(weights, keyed))

    def _forward(self, weights: Mapping[int, int], keyed: int) -> cp_model.LinearExprT:
        """How late the work lies, each start by its weight, and what its keying counts."""
        late = [w.steps.var * weights[i] for i, w in self.work.items() if weights.get(i)]
        return sum([*late, *(k.missed * (keyed * k.work.size) for k in self.keys.values())])

    def _ready(self) -> cp_model.IntVar:
        """When all that the launch waits for is ready, the lift's hours left aside; as the launch's start counts."""
        finish = self.work[self.problem.finish]
        ready = self.model.new_int_var(0, finish.steps.values[-1], "")
        self.model.add(ready <= finish.steps.var)
        for edge in self.problem.items[self.problem.finish].edges:
            earlier = self.work.get(edge.before)
            if earlier is not None:
                self.terms.not_before(ready, finish, earlier, _opens(edge, earlier))
        return ready

    def keep_order(self, pairs: Sequence[tuple[int, int]]) -> None:
        """Of each pair of items the first ends before the second starts."""
        for i, j in pairs:
            earlier, later = self.work.get(i), self.work.get(j)
            if earlier is None or later is None:
                continue
            if earlier.on_axis and later.on_axis:
                self.model.add(later.steps.var >= self.terms.stop_of(earlier))
            else:
                self.terms.at_least(later, earlier, earlier.ends)

    @staticmethod
    def _window(course: Course, first: int, last: int) -> tuple[list[int], list[int]]:
        low, high = bisect_left(course.starts, first), bisect_right(course.starts, last)
        return course.starts[low:high], course.ends[low:high]

    def _links(self, item: Item) -> None:
        later = self.work[item.index]
        windows: dict[int, list[Edge]] = {}
        for edge in item.edges:
            before = self.problem.items[edge.before]
            if before.fixed is None:
                earlier = self.work[edge.before]
                self.terms.at_least(later, earlier, _opens(edge, earlier))
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
        may_miss = self.keyable is None or (item.index, index) in self.keyable
        missed = self.model.new_bool_var("") if may_miss else None
        met = [] if missed is None else [~missed]
        for edge in open_edges:
            assert edge.closes is not None
            if earlier is None:
                limit = self.terms.last_of(later, self.placer.closing(edge, first_start))
                self.model.add(later.steps.var <= limit).only_enforce_if(met)
            else:
                self.terms.at_most(later, earlier, [edge.closes[s] for s in earlier.starts], met)
        if missed is None:
            return
        self.missed.append(missed)
        # Where several windows lead here, the lightest keying that any of them asks for: the model may only err by
        # allowing too much, or its proofs would not hold.
        keying = min((e.keying for e in open_edges if e.keying), key=lambda k: (k.work, k.dusty))
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
        key = self.terms.work(
            keying.course, starts, ends, keying.work, True, missed, self.problem.key_id(item.index, before.index)
        )
        self.keys[(item.index, before.index)] = Keys(key, missed, keying)
        self.terms.at_least(later, key, ends, [missed])
        if earlier is not None:
            self.terms.at_least(key, earlier, sand, [missed])

    def _sanded(self, before: Item, earlier: Work | None) -> list[int]:
        """By start of the earlier coat, when it may be keyed; one moment where the log has settled it."""
        material = self.problem.job.materials[before.task.material or ""]
        stage = "sand" if "sand" in material.stages else "done"
        ends = earlier.ends if earlier is not None else [self.placer.end0[before.index]]
        return [self.problem.stage_moment(before, stage, e) for e in ends]

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
        return {pair: self.axis.slots[value(k.work.steps.var)] for pair, k in self.keys.items() if value(k.missed)}

    def launch_slot(self, value: int) -> int:
        """A value of the objective as a slot."""
        work = self.work[self.problem.finish]
        return self.axis.slots[min(max(0, value), len(self.axis.slots) - 1)] if work.on_axis else value


def _opens(edge: Edge, earlier: Work) -> list[int]:
    """By start of the earlier work, the moment its stage is reached."""
    return earlier.ends if edge.opens is None else [edge.opens[e] for e in earlier.ends]
