"""A plan at once, then better ones: several orders, then changes to the best orders, holds and keyings among them."""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence

from sequencer.planning.bound import earliest_starts, latest_starts
from sequencer.planning.following import lay
from sequencer.planning.justify import pushed_right
from sequencer.planning.orders import Found, Score, changed, simple_orders
from sequencer.planning.placing import Placer, Schedule, hold_for
from sequencer.planning.plan import Plan

POOL = 16
"""Good schedules kept as a start for changes."""

ALL_ORDERS_UP_TO = 100
"""Items up to which all simple orders are tried before the first plan is shown."""

LEEWAY = 3 * 96
"""Slots past the best launch within which a schedule is still worth finishing: justified, it may yet beat it."""


class Search:
    """Looks for the earliest launch of one problem. Seeded: the same calls in the same order find the same.

    best: the best found so far, None where nothing could be placed yet; followed: what the order of an earlier plan
    gave. stuck: the item that could not be placed.
    """

    def __init__(self, placer: Placer, seed: int = 1) -> None:
        self.placer = placer
        self.problem = placer.problem
        self.seed = seed
        self.random = random.Random(seed)
        self.best: Found | None = None
        self.stuck = -1
        self.earliest = earliest_starts(placer)
        self.followed: Found | None = None
        self._like: Plan | None = None
        self._begun = False
        self.pool: list[tuple[int, int, Found]] = []

    def reseed(self) -> None:
        """Go on as if nothing had been tried yet, so that what follows does not depend on how much was."""
        self.random = random.Random(self.seed)

    # -- one schedule -----------------------------------------------------------------------------------------

    def score(self, schedule: Schedule) -> Score:
        """How good a complete schedule is."""
        return schedule.starts[self.problem.finish], len(schedule.keyed), sum(schedule.starts)

    def _place(
        self,
        rank: list[float],
        holds: dict[int, int],
        latest: list[int] | None,
        keys: Mapping[tuple[int, int], int] | None = None,
    ) -> Found | None:
        schedule = self.placer.place(rank, holds, latest, keys)
        if not schedule.complete:
            if self.best is None:
                self.stuck = schedule.stuck
            return None
        found = Found(schedule, self.score(schedule), rank, holds, keys)
        if self.best is None or found.score < self.best.score:
            self.best = found
        return found

    def try_order(self, rank: list[float], holds: dict[int, int], latest: list[int] | None = None) -> Found | None:
        """Place by `rank` and `holds`; then, where windows are missed, with the earlier coats held back."""
        return self._windows_met(self._place(rank, holds, latest), latest)

    def _windows_met(self, found: Found | None, latest: list[int] | None) -> Found | None:
        for _ in range(4):
            if found is None or not found.schedule.missed:
                break
            better = self._hold(found, latest)
            if better is None or better.score >= found.score:
                break
            found = better
        return found

    def _hold(self, found: Found, latest: list[int] | None) -> Found | None:
        """The same order with the coats of missed windows held back until the windows are met."""
        holds = dict(found.holds)
        for _, edge, start in found.schedule.missed:
            before = self.problem.items[edge.before]
            if before.fixed is None and not before.is_wait:
                holds[edge.before] = max(holds.get(edge.before, 0), hold_for(edge, start))
        return self._place(found.rank, holds, latest) if holds != found.holds else None

    # -- at once ----------------------------------------------------------------------------------------------

    def follow(self, like: Plan) -> Found | None:
        """The order of an earlier plan on this problem. Kept aside: it must not sway the search itself."""
        if self._like is not like:
            own = self.best
            self._like, self.followed = like, self._follow(like)
            self.best = own
        return self.followed

    def _follow(self, like: Plan) -> Found | None:
        was = lay(self.problem, like, self.earliest[0] if self.earliest is not None else self.placer.start0)
        found = self._place(was.rank, {}, None)
        if found is None or found.score[0] > was.launch or len(found.schedule.missed) > len(like.missed):
            # Coats were held back, or the order alone does not tell how it lay: nothing sooner than it was.
            held = self._laid_as(was.starts, was.rank, was.keys)
            found = held if held is not None and (found is None or held.score < found.score) else found
        return self._windows_met(found, None) if len(self.problem.items) <= ALL_ORDERS_UP_TO else found

    def at_once(self) -> Found | None:
        """The first plan to show: the best of all simple orders, in a large job the first that gives one."""
        if len(self.problem.items) <= ALL_ORDERS_UP_TO:
            return self.first()
        orders = simple_orders(self.placer, self.earliest)
        for rank in [*orders[2:3], *orders]:
            if self.try_order(rank, {}) is not None:
                break
        return self.best

    def first(self, stop: Callable[[], bool] = lambda: False) -> Found | None:
        """The best of the simple orders, justified; fewer where `stop` says so and there is one."""
        if self._begun:
            return self.best
        self._begun = True
        for rank in simple_orders(self.placer, self.earliest):
            if self.best is not None and stop():
                return self.best
            found = self.try_order(rank, {})
            if found is not None and len(self.problem.items) <= ALL_ORDERS_UP_TO:
                self.justified(found)
        if self.best is not None:
            self.justified(self.best)
        return self.best

    # -- better -----------------------------------------------------------------------------------------------

    def improve(self, tries: int, stop: Callable[[], bool], enough: int, better: Callable[[Found], None]) -> int:
        """Make and justify `tries` schedules, until `stop` says so or the launch is at `enough`.

        better: called with each earlier launch. Returns how many were made.
        """
        if self.best is None:
            return 0
        target, worth = self._aims(self.best)
        for made in range(tries):
            if self.best.score[0] <= enough or stop():
                return made
            known = self.best
            rank, holds = self._new_order(target)
            found = self.try_order(rank, holds, worth)
            if found is not None:
                self._keep(self.justified(found, worth), target)
            if self.best.score[0] < known.score[0]:
                better(self.best)
                target, worth = self._aims(self.best)
                self.pool = [(f.score[0], self._lateness(f, target), f) for _, _, f in self.pool]
        return tries

    def _aims(self, best: Found) -> tuple[list[int], list[int]]:
        """Last starts by item for the next earlier launch the slots allow, and for a launch worth finishing."""
        launches = self.problem.items[self.problem.finish].course.starts
        at = max(0, bisect_left(launches, best.score[0]) - 1)
        aim = launches[at] if launches else best.score[0]
        return latest_starts(self.placer, aim), latest_starts(self.placer, best.score[0] + LEEWAY)

    def justified(self, found: Found, latest: list[int] | None = None) -> Found:
        """Pushed to the right and placed again, as long as that betters it."""
        while True:
            rank: list[float] = [*pushed_right(self.placer, found.schedule)]
            better = self.try_order(rank, {}, latest)
            if better is None or better.score >= found.score:
                return found
            found = better

    def _lateness(self, found: Found, target: list[int]) -> int:
        """How many slots items start past the last start for the launch aimed at, all added up."""
        starts = found.schedule.starts
        return sum(max(0, starts[i] - target[i]) for i in self.placer.free if i in self.placer.before_launch)

    def _keep(self, found: Found, target: list[int]) -> None:
        entry = (found.score[0], self._lateness(found, target), found)
        if any(entry[:2] == kept[:2] for kept in self.pool):
            return
        self.pool.append(entry)
        self.pool.sort(key=lambda kept: kept[:2])
        del self.pool[POOL:]

    def _new_order(self, target: list[int]) -> tuple[list[float], dict[int, int]]:
        """An order round the last starts, or a change to a good schedule."""
        rng = self.random
        if not self.pool or rng.random() < 0.35:
            spread = rng.choice((20, 60, 150, 300))
            return [last + rng.gauss(0, spread) for last in target], {}
        base = self.best if self.best is not None and rng.random() < 0.2 else rng.choice(self.pool)[2]
        return changed(self.placer, base, self.random, target)

    # -- the launch settled -----------------------------------------------------------------------------------

    def polish(self, tries: int, stop: Callable[[], bool]) -> None:
        """The launch kept: fewer missed windows, then earlier starts."""
        if self.best is None or not self.placer.free:
            return
        self._lift_holds(stop)
        latest = latest_starts(self.placer, self.best.score[0])
        for _ in range(tries):
            if stop():
                return
            rank, holds = changed(self.placer, self.best, self.random)
            self.try_order(rank, holds, latest)

    def _lift_holds(self, stop: Callable[[], bool]) -> None:
        """Lift every hold that the best plan does as well or better without, the earliest first."""
        assert self.best is not None
        for i in sorted(self.best.holds, key=lambda i: (self.best.holds[i] if self.best else 0, i)):
            if stop():
                return
            holds = {j: slot for j, slot in self.best.holds.items() if j != i}
            found = self._place(self.best.rank, holds, None, self.best.keys)
            if found is not None and found.score <= self.best.score:
                self.best = found

    def take(self, starts: Sequence[int], keys: Mapping[tuple[int, int], int] | None = None) -> Found | None:
        """A solution from elsewhere, as start slots by item; None where the placing can't make a better plan of it."""
        known = self.best
        found = self.laid(starts, keys)
        if found is not None:
            self.justified(found)
        return self.best if self.best is not known else None

    def laid(self, starts: Sequence[int], keys: Mapping[tuple[int, int], int] | None = None) -> Found | None:
        """A solution from elsewhere laid, whether or not it betters the best; None where the placing can't follow it.

        Placed in order of start with every item held to its start, it comes out as it was given, waits aside.
        """
        rank: list[float] = [s if s >= 0 else self.problem.length for s in starts]
        return self._laid_as({i: s for i, s in enumerate(starts) if s >= 0}, rank, keys)

    def _laid_as(
        self, known: Mapping[int, int], rank: list[float], keys: Mapping[tuple[int, int], int] | None
    ) -> Found | None:
        # A wait is never held: it starts as soon as it may, and what follows it only gains.
        items = self.problem.items
        holds = {i: known[i] for i in self.placer.free if i in known and not items[i].is_wait}
        return self._place(rank, holds, None, keys)
