"""Who had it: the rows that kept people, gear or air from a task until just before it started."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.placing import Keyed, Schedule
from sequencer.planning.problem import Item, Problem

LOOK_BACK = 96
"""Slots after its end that dust is still named: the coat it held back may have had to wait for a shift."""

Has = Callable[[Item, Item, int], bool]
"""Whether an item had what another wanted just before a slot."""


class Holders:
    """Tells of one schedule which rows had what another waited for."""

    def __init__(self, problem: Problem, schedule: Schedule) -> None:
        self.problem = problem
        self.schedule = schedule
        self._has: dict[str, Has] = {"people": self._has_people, "gear": self._has_gear, "dust": self._has_air}

    @cached_property
    def _spans(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Starts and ends by item."""
        return np.array(self.schedule.starts), np.array(self.schedule.ends)

    def of(self, item: Item, cause: str, start: int) -> list[str]:
        """The ids of the rows that had the people, the gear or the air just before `start`; none for other causes."""
        has = self._has.get(cause)
        if has is None:
            return []
        starts, ends = self._spans
        begun = (starts < start) & (ends > self.problem.base)
        if cause == "people":
            begun &= ends >= start - 1
        others = (self.problem.items[i] for i in np.flatnonzero(begun).tolist() if i != item.index)
        keyed = (k for k in self.schedule.keyed if k.start < start and self._keying_has(k, item, cause, start))
        return [other.id for other in others if has(other, item, start)] + [
            self.problem.key_id(k.after, k.before) for k in keyed
        ]

    @staticmethod
    def _keying_has(keyed: Keyed, item: Item, cause: str, start: int) -> bool:
        """Whether a keying had what an item wanted: a pair of hands, nobody's by name, or the air, for its dust."""
        if keyed.after == item.index:
            return False
        if cause == "people":
            return keyed.end >= start - 1 and not _one_person(item)
        dusted = keyed.keying.dusty and keyed.keying.air == item.air and start <= keyed.end + LOOK_BACK
        return cause == "dust" and item.set_curve is not None and dusted

    @staticmethod
    def _has_people(other: Item, item: Item, _start: int) -> bool:
        return other.hands > 0 and (not _one_person(item) or not set(other.who).isdisjoint(item.who))

    def _has_gear(self, other: Item, item: Item, start: int) -> bool:
        end = self.schedule.ends[other.index]
        wanted = {hold.gear for hold in item.holds}
        had = (hold for hold in other.holds if hold.gear in wanted)
        return any((end if hold.until is None else hold.until[end]) >= start - 1 for hold in had)

    def _has_air(self, other: Item, item: Item, start: int) -> bool:
        if other.air != item.air:
            return False
        end = self.schedule.ends[other.index]
        wet = other.set_curve is not None and start <= other.set_curve[end] + 1
        return (item.dusty and wet) or (other.dusty and start <= end + LOOK_BACK)


def _one_person(item: Item) -> bool:
    """Whether it wants one person by name and nobody else."""
    return bool(item.who) and item.hands == 1
