"""Plans made quarter hour by quarter hour with no hands left idle that are needed.

Whatever may start is started, the most urgent first; hands with nothing to do wait for the next thing that may, as long
as the hours left still hold the work left. Where they don't, or something comes too late for the launch aimed at, it
goes back a step; after some steps it begins anew in another order, in which what came too late is more urgent (squeaky
wheels: Joslin and Clements, Journal of Artificial Intelligence Research 10, 1999, 353-373, from memory). Where hardly
an hour may be left idle few orders do; often they are found so in a moment, where bettering a plan comes to them late.
Counted in steps, so that the same calls in the same order find the same.
"""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Callable, Sequence

from sequencer.planning.attempt import Attempt, Keys
from sequencer.planning.goal import Goal, goal_of
from sequencer.planning.placing import Placer

STEPS = 150
"""Steps of one attempt: enough to lay each item of the largest job tried, and for some going back."""

EARLY = 1.5
"""The launch aimed at is drawn from those not ruled out, the early ones sooner: a draw to this power."""

SPREAD = 60.0
"""Slots by which the order of an attempt strays at most from what is most urgent."""

FORGOTTEN = 0.9
"""What is left after each attempt of how much more urgent the ones before have made something."""

KEYED_SHARE = 0.5
"""Attempts in which a window may be missed and keyed, of all: keying takes hours that are then missing."""


class Filling:
    """Attempts on one problem, each with what the ones before have taught. launches: slots at which she may launch."""

    def __init__(self, placer: Placer, launches: Sequence[int], seed: int = 1) -> None:
        self.placer = placer
        self.launches = launches
        self.random = random.Random(seed)
        self.late: dict[int, float] = {}
        """By item how much more urgent it is than its last start says, in slots."""
        self._goals: dict[int, Goal] = {}
        self._begun = False

    def attempt(self, first: int, best: int, stop: Callable[[], bool]) -> tuple[list[int], Keys] | None:
        """One attempt at a launch from slot `first` on and before `best`: start slots by item, -1 where it lays none,
        and starts of keyings by later item and coat; None where nothing came of it.
        """
        slots = self.launches[bisect_left(self.launches, first) : bisect_left(self.launches, best)]
        if not slots:
            return None
        launch = slots[int(len(slots) * self.random.random() ** EARLY)]
        goal = self._goals.get(launch)
        if goal is None:
            goal = self._goals[launch] = goal_of(self.placer, launch)
        spread = SPREAD * self.random.random() if self._begun else 0.0
        self._begun = True
        order = {i: goal.latest[i] - self.late.get(i, 0.0) + self.random.gauss(0, spread) for i in goal.needed}
        self._before_what_follows(order, goal)
        keying = self.random.random() < KEYED_SHARE
        attempt = Attempt(self.placer, goal, order, keying, self.late, STEPS, stop)
        done = attempt.go()
        for item in self.late:
            self.late[item] *= FORGOTTEN
        return (attempt.starts, attempt.keys) if done else None

    def _before_what_follows(self, order: dict[int, float], goal: Goal) -> None:
        """Make what an urgent item waits for as urgent as that."""
        for i in reversed(goal.needed):
            for j, _ in self.placer.live_followers[i]:
                if j in order:
                    order[i] = min(order[i], order[j] - (goal.latest[j] - goal.latest[i]))
