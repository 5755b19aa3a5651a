"""Plans made quarter hour by quarter hour with no hands left idle that are needed.

Whatever may start is started, the most urgent first; hands with nothing to do wait for the next thing that may, as long
as the hours left still hold the work left. Where they don't, or something comes too late for the launch aimed at, it
goes back a step; after some steps it begins anew in another order, in which what came too late is more urgent (squeaky
wheels: Joslin and Clements, Journal of Artificial Intelligence Research 10, 1999, 353-373, from memory). Where hardly
an hour may be left idle few orders do; often they are found so in a moment, where bettering a plan comes to them late.
In a larger job few orders made from nothing are better than the plan in hand: there most attempts keep its work up to
some slot, and most aim at being ready only some hours sooner.
Counted in steps, so that the same calls in the same order find the same.
"""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Callable, Sequence

from sequencer.planning.attempt import Attempt, Keys
from sequencer.planning.goal import Goal, goal_of
from sequencer.planning.orders import Found, worth
from sequencer.planning.placing import Placer, Schedule

STEPS = 150
"""Steps of one attempt: enough to lay each item of the largest job tried, and for some going back."""

EARLY, EARLY_LARGER = 1.5, 0.25
"""The launch aimed at is drawn from those not ruled out, the early ones sooner: a draw to this power; in a larger job
the late ones."""

SOONER_SHARE = 0.6
"""Attempts in a larger job that aim at being ready sooner than the plan in hand, whatever the lift's hours."""

SOONER = 24.0
"""By how many slots, in the mean."""

KEPT_SHARE = 0.6
"""Attempts in a larger job that keep the work of the plan in hand up to some slot."""

KEPT_LONG = 0.7
"""That slot is drawn from now to where something comes too late, late ones sooner: a draw to this power."""

SAME_ORDER_SHARE = 0.5
"""How many of those go on in much the same order."""

SPREAD = 60.0
"""Slots by which the order of an attempt strays at most from what is most urgent."""

FORGOTTEN = 0.9
"""What is left after each attempt of how much more urgent the ones before have made something."""

KEYED_SHARE = 0.5
"""Attempts in which a window may be missed and keyed, of all: keying takes hours that are then missing."""


class Filling:
    """Attempts on one problem, each with what the ones before have taught.

    launches: slots at which she may launch. larger: whether most attempts go on from the plan in hand.
    """

    def __init__(self, placer: Placer, launches: Sequence[int], larger: bool, seed: int = 1) -> None:
        self.placer = placer
        self.launches = launches
        self.larger = larger
        self.random = random.Random(seed)
        self.late: dict[int, float] = {}
        """By item how much more urgent it is than its last start says, in slots."""
        self._goals: dict[int, Goal] = {}
        self._begun = False

    def attempt(self, first: int, hand: Found, stop: Callable[[], bool]) -> tuple[list[int], Keys] | None:
        """One attempt at a launch from slot `first` on and before that of the plan in hand, or at being ready for that
        sooner: start slots by item, -1 where it lays none, and starts of keyings by later item and coat; None where
        nothing came of it.
        """
        aim = self._aim(first, hand)
        if aim is None:
            return None
        goal = self._goal(*aim)
        known = hand.schedule if self._in(KEPT_SHARE) else None
        since = self._since(goal, known) if known is not None else 0
        order = self._order(goal, known.starts if known is not None and self._in(SAME_ORDER_SHARE) else None)
        keying = self.random.random() < KEYED_SHARE
        attempt = Attempt(self.placer, goal, order, keying, self.late, STEPS, stop)
        done = attempt.go(known, since)
        for item in self.late:
            self.late[item] *= FORGOTTEN
        return (attempt.starts, attempt.keys) if done else None

    def _in(self, share: float) -> bool:
        """Whether an attempt is one of this share of those in a larger job."""
        return self.larger and self.random.random() < share

    def _aim(self, first: int, hand: Found) -> tuple[int, int | None] | None:
        """The launch aimed at, and the slot by which all is to be ready for it; None where there is none."""
        best = hand.score[0]
        slots = self.launches[bisect_left(self.launches, first) : bisect_left(self.launches, best)]
        if not slots:
            return None
        if self._in(SOONER_SHARE):
            ready = worth(self.placer, hand)[1] - 1 - int(self.random.expovariate(1 / SOONER))
            if ready >= first:
                return best, ready
        early = EARLY_LARGER if self.larger else EARLY
        return slots[int(len(slots) * self.random.random() ** early)], None

    def _goal(self, launch: int, ready: int | None) -> Goal:
        if ready is not None:
            return goal_of(self.placer, launch, ready)
        if launch not in self._goals:
            self._goals[launch] = goal_of(self.placer, launch)
        return self._goals[launch]

    def _since(self, goal: Goal, known: Schedule) -> int:
        """The slot up to which work is kept as it lies, at most up to the first that comes too late."""
        base = self.placer.problem.base
        late = [known.starts[i] for i in goal.needed if known.starts[i] > goal.latest[i]]
        most = min(late, default=known.starts[self.placer.problem.finish])
        return base + int((most - base) * self.random.random() ** KEPT_LONG)

    def _order(self, goal: Goal, like: Sequence[int] | None) -> dict[int, float]:
        """By item needed, the least the most urgent. like: starts that it is to be much like."""
        spread = SPREAD * self.random.random() if self._begun else 0.0
        self._begun = True
        base = goal.latest if like is None else like
        order = {i: base[i] - self.late.get(i, 0.0) + self.random.gauss(0, spread) for i in goal.needed}
        if like is None:
            self._before_what_follows(order, goal)
        return order

    def _before_what_follows(self, order: dict[int, float], goal: Goal) -> None:
        """Make what an urgent item waits for as urgent as that."""
        for i in reversed(goal.needed):
            for j, _ in self.placer.live_followers[i]:
                if j in order:
                    order[i] = min(order[i], order[j] - (goal.latest[j] - goal.latest[i]))
