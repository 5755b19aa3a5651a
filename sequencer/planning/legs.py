"""Plans laid a leg at a time: some days of work are laid, what comes after them only by its stages and by its hours.

For the days of a leg the solver is told everything. Work that starts after them takes nobody's hands, no gear and no
air, but must come in time for the launch aimed at, and fit into the hours left from each shift on. So the solver sees
what must not be put off and settles a leg within a second, where the whole takes it minutes. The first half of the leg
then stays as it lies, and the next one begins (relax and fix, rolling forward: Pochet and Wolsey, Production Planning
by Mixed Integer Programming, 2006, from memory). Most often all is asked to come a day or more sooner than the launch
needs, so that what is left for the end is not tied by its cures. Once few items are left they are asked for as a whole.
Where there is no such leg the one before is laid anew, as far as this one went; where what is left can't be laid, any
of those before. Where there is no first leg, whatever the windows, there is no launch.
Counted in questions of counted effort: the same passage, left to its end, comes to the same.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from sequencer.planning import bounded, proof
from sequencer.planning.aims import Aim
from sequencer.planning.axis import Axis
from sequencer.planning.bound import latest_starts
from sequencer.planning.goal import goal_of
from sequencer.planning.placing import Placer

LONG, STAYS = 400, 160
"""Slots on shift of a leg, and of those the first ones, that stay as they lie."""

REST = 45
"""Items with work up to which what is left is asked for as a whole too: of jobs that small most have an answer soon."""

LEG_EFFORT, REST_EFFORTS = 2.0, (0.3, 0.3, 1.0)
"""What a leg and the rest are given, by the solver's own count of effort (some seconds): most that have an answer have
it soon."""

SOONER = (0, 96, 96, 288)
"""By how many slots sooner all is asked to come than the launch needs."""

MOST_ASKED = 15
"""Questions of one passage: past that another launch or other luck is worth more."""


@dataclass
class Laid:
    """How far a passage has come: starts by item, of all that starts before the position on shift `until`."""

    until: int
    starts: dict[int, int]


class Passage:
    """One way at the launch of `aim`, which gets the answer.

    earliest: earliest starts by item. stop: polled.
    """

    def __init__(self, placer: Placer, earliest: Sequence[int], axis: Axis, aim: Aim, stop: Callable[[], bool]) -> None:
        self.placer, self.earliest, self.axis, self.aim, self.stop = placer, earliest, axis, aim, stop
        self.random = Random(aim.seed)
        self.first, self.last = bounded.bounds_ready(placer, earliest, aim.first, aim.last)
        self.finish = placer.problem.finish
        self.wanted = placer.before_launch.intersection(placer.free) - {self.finish}
        self.workers = {i for i in self.wanted if placer.problem.items[i].hands}
        self.end = axis.first_from(goal_of(placer, self.last[self.finish], aim.last).end)
        self.sooner = self.random.choice(SOONER)
        self.laid = [Laid(0, {})]
        self.far = 0
        """How far the next leg must go at least: one that went no farther has led nowhere."""

    def go(self, until: float) -> None:
        """Lay leg after leg until the aim has its answer, till the moment `until` (monotonic seconds) at most."""
        if any(self.last[i] < self.first[i] for i in self.wanted):
            self.aim.none, self.aim.keyless = True, False
            return
        for _ in range(MOST_ASKED):
            if self.aim.none or self.aim.starts is not None:
                return
            left = until - time.monotonic()
            if left <= 0 or self.stop():
                self.aim.cut = True
                return
            self._on(left)

    def _on(self, seconds: float) -> None:
        """Lay the rest, or one more leg, or go back."""
        laid = self.laid[-1]
        if len(self.workers.difference(laid.starts)) <= REST:
            began = time.monotonic()
            rest = self._asked(laid, None, self.last, seconds)
            if rest.starts is not None:
                self._found(rest)
            elif rest.none and len(self.laid) == 1:
                self.sooner = 0
                self._let_go()
            elif rest.none:
                self._back()
            if rest.starts is not None or rest.none or rest.cut:
                return
            seconds -= time.monotonic() - began
        self._leg(laid, seconds)

    def _leg(self, laid: Laid, seconds: float) -> None:
        """Lay one more leg, or go back where there is none."""
        until = max(laid.until + LONG, self.far)
        leg = self._asked(laid, bounded.Leg(until, self.end), self._sooner(), seconds)
        if leg.starts is not None and until >= self.end:
            self._found(leg)
        elif leg.starts is not None:
            stays = laid.until + STAYS
            starts = {i: leg.starts[i] for i in self.wanted if self.axis.first_from(leg.starts[i]) < stays}
            self.laid.append(Laid(stays, starts))
        elif leg.none and len(self.laid) > 1:
            self.far = until
            self.laid.pop()
        elif leg.none:
            self._let_go()
        else:
            self._back()

    def _found(self, answer: Aim) -> None:
        """Take over a plan of all there is."""
        self.aim.starts, self.aim.keys = answer.starts, answer.keys

    def _back(self) -> None:
        """Back to any of the legs before."""
        del self.laid[self.random.randrange(1, max(2, len(self.laid))) :]
        self.far = 0

    def _let_go(self) -> None:
        """Where there is no first leg: ask for less, and say so where there is nothing to let go of."""
        self.far = 0
        if self.sooner:
            self.sooner = 0
        elif self.aim.keyless:
            self.aim.keyless, self.sooner = False, self.random.choice(SOONER)
        else:
            self.aim.none = True

    def _sooner(self) -> list[int]:
        """Last starts by item, so much sooner where that can be asked."""
        tight = latest_starts(self.placer, self.last[self.finish], self.aim.last - self.sooner)
        last = [t if f <= t < late else late for f, t, late in zip(self.first, tight, self.last, strict=True)]
        last[self.finish] = self.last[self.finish]
        return last

    def _asked(self, laid: Laid, leg: bounded.Leg | None, last: Sequence[int], seconds: float) -> Aim:
        """The answer to one question: a leg, or the rest."""
        first, last = list(self.first), list(last)
        for i, start in laid.starts.items():
            first[i] = last[i] = start
        effort = self.random.choice(REST_EFFORTS) if leg is None else LEG_EFFORT
        asked = Aim(self.aim.first, self.aim.last, self.random.randrange(1 << 16), effort)
        asked.between, asked.keyless, asked.leg = (first, last), self.aim.keyless, leg
        proof.reach(self.placer, self.earliest, asked, seconds, self.stop)
        return asked
