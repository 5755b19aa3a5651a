"""The on-shift axis: the slots with somebody on shift, counted one after another, nights and breaks left out.

On it most work is one unbroken interval of fixed length, whatever the clock does meanwhile.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

import numpy as np

from sequencer.planning.problem import Problem


class Axis:
    """Positions on the axis for slots from the problem's base on.

    slots: by position its slot. hands: by position how many people are on shift.
    """

    def __init__(self, problem: Problem, whole: bool = False) -> None:
        """whole: keep the nights and breaks, for comparison."""
        hands = problem.tables.hands[problem.base :]
        at = np.arange(len(hands)) if whole else np.flatnonzero(hands > 0)
        self.slots: list[int] = (at + problem.base).tolist()
        self.hands: list[int] = hands[at].tolist()
        # Plain numbers to look up one, an array to look up many.
        self._floors = np.searchsorted(at + problem.base, np.arange(problem.base, problem.length + 2))
        self._floor: list[int] = self._floors.tolist()
        self.base = problem.base

    def first_from(self, slot: int) -> int:
        """The position of the first axis slot at or after `slot`."""
        index = slot - self.base
        if index < 0:
            return 0
        return self._floor[index] if index < len(self._floor) else len(self.slots)

    def firsts(self, slots: Sequence[int]) -> list[int]:
        """:meth:`first_from` of each of many slots."""
        index = np.clip(np.asarray(slots, dtype=np.int64) - self.base, 0, len(self._floor) - 1)
        found: list[int] = self._floors[index].tolist()
        return found

    def exact(self, slot: int) -> int:
        """The position of `slot`, which must be on the axis."""
        return bisect_left(self.slots, slot)
