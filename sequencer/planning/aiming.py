"""Launches aimed at: is there any plan that launches by this slot, or none? Two such questions side by side.

Asked for any plan by a given slot, the solver often finds one within seconds that it would not come to by bettering the
best plan step by step, just where hardly an hour may be left idle; and that there is none by an early slot is sooner
shown than for all slots up to the best (destructive bounds: Klein and Scholl, European Journal of Operational Research
112, 1999, 322-346). Some questions leave each start only some days round where it lies in the plan in hand, drawn
together to the slot aimed at, and farther only what stands against it (:mod:`sequencer.planning.giving`). In a larger
job many lay a plan leg by leg (:mod:`sequencer.planning.legs`), and the others also aim between the lift's slots, at
being ready some quarter hours sooner: by as many as fared well so far. How long a question takes differs from seed to
seed and from slot to slot, so each is given up soon, and another asked (heavy tails: Gomes, Selman and Kautz, AAAI
1998, 431-437, from memory). One thread of the solver a question.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from functools import partial

from sequencer.planning import giving, proof
from sequencer.planning.aims import Aim, Aims
from sequencer.planning.legs import Passage
from sequencer.planning.orders import Found, worth
from sequencer.planning.placing import Placer

WIDER = 1.5
"""How much farther all starts may lie where giving way was not enough."""

THREADS = 2

LOWEST_EVERY = 4
"""One question in so many keeps to the earliest slot; in a larger job only the first."""

Possible = Callable[[list[int], Mapping[tuple[int, int], int]], Found]
"""Takes a plan (start slots by item, of keyings by later item and coat); gives the plan in hand from then on."""

RuledOut = Callable[[int], int]
"""Takes the slot before which there is no launch; gives the first that is possible."""


class Aiming:
    """The questions asked of one problem.

    earliest: earliest starts by item. aims: what they are about, with the plan in hand.
    """

    def __init__(self, placer: Placer, earliest: Sequence[int], around: Found) -> None:
        self.placer = placer
        self.earliest = earliest
        self.aims = Aims(placer, around)
        self._answered: dict[tuple[int, int, int], Aim] = {}
        """By first and last slot and seed, whatever was not cut."""
        self._lock = threading.Lock()

    def ask(
        self,
        first: int,
        around: Found,
        seconds: float,
        stop: Callable[[], bool],
        possible: Possible,
        ruled_out: RuledOut,
    ) -> bool:
        """Ask for so long at most, until the best launch is the first possible. Whether an answer came.

        first: from which slot on a launch is not ruled out. around: the plan in hand.
        """
        aims = self.aims
        aims.first, aims.around = first, around
        known = first, worth(self.placer, around)
        until = time.monotonic() + seconds

        def over() -> bool:
            return aims.first >= aims.launch or time.monotonic() >= until or stop()

        def off(aim: Aim) -> bool:
            return over() or aims.moot(aim)

        def run(turn: int) -> None:
            while not over():
                with self._lock:
                    lowest = turn % LOWEST_EVERY == 0 if aims.small else turn == 0 and not aims.lowest_asked
                    aim = aims.lowest() if lowest else aims.anywhere()
                self.answer(aim, until, partial(off, aim))
                with self._lock:
                    self._told(aim, possible, ruled_out)
                turn += THREADS

        threads = [threading.Thread(target=run, args=[turn], daemon=True) for turn in range(THREADS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return (aims.first, worth(self.placer, aims.around)) != known

    def answer(self, aim: Aim, until: float, stop: Callable[[], bool]) -> None:
        """Answer one question, as far as the time goes; round the plan in hand ever farther while the answer is no."""
        if aim.by_legs:
            Passage(self.placer, self.earliest, self.aims.axis, aim, stop).go(until)
            return
        wider = 1.0
        if aim.at is not None and self.aims.small:
            giving.give_way(self.placer, self.earliest, aim, stop)
            wider = WIDER
        elif aim.at is not None:
            # The whole model takes a second to write; in most cases it is not plain that nothing lies so near.
            giving.stay_near(self.placer, self.earliest, aim)
        while True:
            if not aim.none:
                proof.reach(self.placer, self.earliest, aim, until - time.monotonic(), stop)
            if not aim.none or aim.nowhere or stop():
                return
            aim.none, aim.keyless = False, aim.keyless and aim.between is not None
            aim.ways = {item: round(wider * way) for item, way in aim.ways.items()}
            giving.give_way(self.placer, self.earliest, aim, stop)
            wider = WIDER

    def _keep(self, aim: Aim) -> None:
        if not aim.cut and aim.at is None and not aim.by_legs:
            self._answered[aim.first, aim.last, aim.seed] = aim

    def settled(self, launch: int, effort: float, stop: Callable[[], bool]) -> Aim | None:
        """The first answer to whether a launch at slot `launch` is possible, however often it was asked so far.

        effort: what that may take where it was not asked as often, at the usual pace. None where that is not enough, or
        `stop` says so.
        """
        again, effort = 0, effort * self.aims.pace
        while True:
            again += 1
            aim = self._answered.get((launch, launch, again))
            if aim is None:
                aim = self.aims.again(launch, launch, again)
                effort -= aim.effort
                if effort < 0:
                    return None
                proof.reach(self.placer, self.earliest, aim, math.inf, stop)
                self._keep(aim)
            if aim.starts is not None:
                return aim
            if aim.none or aim.cut:
                return None

    def _told(self, aim: Aim, possible: Possible, ruled_out: RuledOut) -> None:
        """Hand an answer on."""
        self._keep(aim)
        self.aims.fared(aim)
        if aim.nowhere:
            self.aims.first = ruled_out(aim.last + 1)
        elif aim.starts is not None and aim.keys is not None:
            self.aims.around = possible(aim.starts, aim.keys)
