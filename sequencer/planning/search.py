"""A plan at once, then better ones: several orders, then changes to the best order, holds and keyings among them."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from sequencer.planning.bound import earliest_starts, latest_starts
from sequencer.planning.placing import Placer, Schedule, hold_for

Score = tuple[int, int, int]
"""Launch slot, windows missed, and the sum of all starts: less is better, in that order."""


@dataclass
class Found:
    """A schedule with the order and holds that make it."""

    schedule: Schedule
    score: Score
    rank: list[int]
    holds: dict[int, int]


class Search:
    """Looks for the earliest launch of one problem. Seeded: the same calls in the same order find the same.

    best: the best found so far, None where nothing could be placed yet.
    """

    def __init__(self, placer: Placer, seed: int = 1) -> None:
        self.placer = placer
        self.problem = placer.problem
        self.random = random.Random(seed)
        self.best: Found | None = None
        self.stuck = -1
        self.decodes = 0
        self.earliest = earliest_starts(placer)

    def score(self, schedule: Schedule) -> Score:
        """How good a complete schedule is."""
        return schedule.starts[self.problem.finish], len(schedule.keyed), sum(schedule.starts)

    def simple_orders(self) -> list[list[int]]:
        """Orders a whiteboard would give: as listed, first come, latest start first, longest way to go first."""
        n = len(self.problem.items)
        position = [0] * n
        for place, i in enumerate(self.problem.order):
            position[i] = place
        orders = [position]
        if self.earliest is not None:
            starts, _ = self.earliest
            orders.append([starts[i] * n + position[i] for i in range(n)])
            latest = latest_starts(self.placer, starts[self.problem.finish] + 14 * 96)
            orders.append([latest[i] * n + position[i] for i in range(n)])
            orders.append([(latest[i] + starts[i]) * n + position[i] for i in range(n)])
            orders.append([(latest[i] - starts[i]) * n + position[i] for i in range(n)])
        return orders

    def first(self) -> Found | None:
        """The best of the simple orders."""
        for rank in self.simple_orders():
            self.try_order(rank, {})
        return self.best

    def try_order(self, rank: list[int], holds: dict[int, int], latest: list[int] | None = None) -> Found | None:
        """Place by `rank` and `holds`; then, where windows are missed, with the earlier coats held back."""
        found = self._place(rank, holds, latest)
        if found is None:
            return None
        for _ in range(4):
            if not found.schedule.missed:
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

    def _place(self, rank: list[int], holds: dict[int, int], latest: list[int] | None) -> Found | None:
        self.decodes += 1
        schedule = self.placer.place(rank, holds, latest)
        if not schedule.complete:
            if self.best is None:
                self.stuck = schedule.stuck
            return None
        found = Found(schedule, self.score(schedule), rank, holds)
        if self.best is None or found.score < self.best.score:
            self.best = found
        return found

    def improve(self, tries: int, stop: Callable[[], bool], enough: int, better: Callable[[Found], None]) -> None:
        """Change the best order `tries` times, until `stop` says so or the launch is at `enough`."""
        if self.best is None:
            return
        current, idle = self.best, 0
        latest = self._worth(current, 0)
        for _ in range(tries):
            if current.score[0] <= enough or stop():
                return
            known = self.best
            rank, holds = self._change(current)
            found = self.try_order(rank, holds, latest)
            if self.best is not known:
                if self.best.score[0] < known.score[0]:
                    better(self.best)
                current, idle = self.best, 0
                latest = self._worth(current, 0)
            elif found is not None and found.score[:2] <= current.score[:2]:
                current = found
            idle += 1
            if idle in (200, 400):
                current, idle = self.best, idle % 400
                latest = self._worth(current, 96 if idle else 0)

    def _worth(self, found: Found, more: int) -> list[int]:
        """Last starts by item for a launch no later than that found, or `more` slots later."""
        return latest_starts(self.placer, found.score[0] + more)

    def polish(self, tries: int, stop: Callable[[], bool]) -> None:
        """The launch kept: fewer missed windows, then earlier starts."""
        if self.best is None:
            return
        self._lift_holds(stop)
        launch = self.best.score[0]
        latest = self._worth(self.best, 0)
        for _ in range(tries):
            if stop():
                return
            rank, holds = self._change(self.best)
            self.try_order(rank, holds, latest)
        assert self.best.score[0] <= launch

    def _lift_holds(self, stop: Callable[[], bool]) -> None:
        """Lift every hold that the best plan does as well or better without, the earliest first."""
        assert self.best is not None
        for i in sorted(self.best.holds, key=lambda i: (self.best.holds[i] if self.best else 0, i)):
            if stop():
                return
            holds = {j: slot for j, slot in self.best.holds.items() if j != i}
            found = self._place(self.best.rank, holds, None)
            if found is not None and found.score <= self.best.score:
                self.best = found

    def take(self, starts: list[int]) -> Found | None:
        """A solution from elsewhere, as start slots by item; None where the placing can't follow it to a better plan.

        Placed in order of start with every item held to its start, it comes out as it was given.
        """
        holds = {i: starts[i] for i in self.placer.free if starts[i] >= 0}
        rank = [s if s >= 0 else self.problem.length for s in starts]
        known = self.best
        found = self._place(rank, holds, None)
        return found if found is not None and self.best is not known else None

    def _change(self, found: Found) -> tuple[list[int], dict[int, int]]:
        """A neighbour: some items moved in the order their starts give, or a hold set or lifted."""
        rng = self.random
        items = self.placer.free
        starts = found.schedule.starts
        by_start = sorted(items, key=lambda i: (starts[i], found.rank[i]))
        holds = dict(found.holds)
        if holds and rng.random() < 0.3:
            del holds[rng.choice(sorted(holds))]
        if found.schedule.missed and rng.random() < 0.3:
            _, edge, start = rng.choice(found.schedule.missed)
            if self.problem.items[edge.before].fixed is None:
                holds[edge.before] = hold_for(edge, start)
        for _ in range(rng.choice((1, 1, 1, 2, 3))):
            a = rng.randrange(len(by_start))
            item = by_start.pop(a)
            reach = max(2, len(items) // 4)
            by_start.insert(max(0, min(len(by_start), a + rng.randint(-reach, reach))), item)
        rank = [0] * len(self.problem.items)
        for place, i in enumerate(by_start):
            rank[i] = place
        return rank, holds
