"""When a row is worked, and what makes its pauses."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import pairwise

import numpy as np

from sequencer.planning.bits import pieces
from sequencer.planning.masks import runs_of
from sequencer.planning.placing import Keyed
from sequencer.planning.problem import Item
from sequencer.planning.stops import Stops

PAUSED = ("off-shift", "people", "weather", "start", "people")
"""What makes a pause, in the contract's order. Where nothing of its own does: not gone on with before now, and from
now on behind other begun work that has its people (contract §3.3)."""


class Pauses:
    """Tells of one schedule when its rows are worked and why they pause."""

    def __init__(self, stops: Stops) -> None:
        self.problem = stops.problem
        self.schedule = stops.schedule
        self.usage = stops.usage
        self.suiting = stops.suiting

    def worked(self, item: Item) -> list[tuple[int, int]]:
        """The spans an item is worked: logged, or its course's."""
        if item.fixed is not None:
            return item.fixed.pieces
        if item.is_wait:
            return []
        start, end = self.schedule.starts[item.index], self.schedule.ends[item.index]
        return pieces(item.course.workable, start, end)

    def between(self, item: Item, worked: list[tuple[int, int]]) -> list[tuple[int, int, str]]:
        """The pauses of an item between the spans it is worked: (begin, end, cause)."""
        return _told(worked, partial(self._causes, item))

    def of_keying(self, keyed: Keyed, worked: list[tuple[int, int]]) -> list[tuple[int, int, str]]:
        """The pauses of a keying between the spans it is worked: (begin, end, cause)."""

        def causes(begin: int, end: int) -> list[tuple[str, int]]:
            # It starts only where hands are free for all of it: nobody is there, or it rains.
            nobody = self.problem.tables.hands[begin:end] == 0
            return runs_of(np.where(nobody, 0, 1), ("off-shift", "weather"))

        return _told(worked, causes)

    def _causes(self, item: Item, begin: int, end: int) -> list[tuple[str, int]]:
        """What stops an item in each slot of [begin, end): runs of (cause, slots)."""
        tables = self.problem.tables
        wants = item.hands > 0
        nobody = (tables.hands[begin:end] == 0) & wants
        short = ~self.suiting.staffed(item)[begin:end] | self._taken(item, begin, end)
        bad = ~self.suiting.fit(item)[begin:end]
        past = np.arange(begin, end) < self.problem.base
        return runs_of(np.select([nobody, short & wants, bad, past], [0, 1, 2, 3], 4), PAUSED)

    def _taken(self, item: Item, begin: int, end: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Slots of [begin, end), in which the item is not worked, in which others have its people."""
        usage = self.usage
        taken = np.zeros(end - begin, dtype=bool)
        first = max(begin, usage.base)
        part = usage.window(first, end)
        lacks = usage.on_shift[part] - usage.hands[part] < item.hands
        for person in item.who:
            lacks |= usage.people[person][part] > 0
        taken[first - begin : first - begin + len(lacks)] = lacks
        return taken


def _told(
    worked: list[tuple[int, int]], causes: Callable[[int, int], list[tuple[str, int]]]
) -> list[tuple[int, int, str]]:
    """The gaps between the spans worked: (begin, end, cause). causes: of a gap, its runs of (cause, slots)."""
    found = []
    for (_, begin), (end, _) in pairwise(worked):
        for cause, count in causes(begin, end):
            found.append((begin, begin + count, cause))
            begin += count
    return found
