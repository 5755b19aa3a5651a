"""Whether a launch stays when tasks start later: the plan placed anew from the first of them on.

What comes before a task in the plan's order lies as planned whatever becomes of the task, so it is placed once for
all tasks. A placing in which many tasks start as late as each is thought to be able to shows it for all of them.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from operator import itemgetter

from sequencer.planning.bound import latest_starts
from sequencer.planning.placing import Placer, Placing, Schedule


class Pushing:
    """One schedule with some tasks pushed, all else kept to its order and to no earlier a start."""

    def __init__(self, placer: Placer, schedule: Schedule) -> None:
        self.placer = placer
        self.finish = placer.problem.finish
        self.rank = schedule.starts
        self.launch = schedule.starts[self.finish]
        items = placer.problem.items
        # A wait starts as soon as it may, and is never held.
        holds = {i: schedule.starts[i] for i in placer.free if not items[i].is_wait}
        keys = {(k.after, k.before): k.start for k in schedule.keyed}
        self.latest = latest_starts(placer, self.launch)
        nothing = placer.begin(self.rank, holds, keys)
        self._before: list[tuple[tuple[float, int], Placing]] = [((-1.0, -1), nothing)]
        """Placings of all that comes before an item in the plan's order, by that item's place in it, rising."""

    def _all_before(self, item: int) -> Placing:
        """All that comes before an item in the plan's order, placed; of the nearest that is known, what lacks added."""
        place = (self.rank[item], item)
        at = bisect_right(self._before, place, key=itemgetter(0))
        known, placing = self._before[at - 1]
        if known != place:
            placing = placing.copy()
            self.placer.go_on(placing, self.rank, self.latest, pause=item)
            self._before.insert(at, (place, placing))
        return placing

    def keeps_launch(self, held: Mapping[int, int]) -> bool:
        """Whether the launch stays with these items held to these starts."""
        first = min(held, key=lambda i: (self.rank[i], i))
        placing = self._all_before(first).copy()
        if not placing.schedule.complete:
            return False
        for i, start in held.items():
            placing.ready[i] = max(placing.ready[i], start)
        self.placer.go_on(placing, self.rank, self.latest)
        return placing.schedule.complete

    def all_kept(self, held: Mapping[int, int]) -> set[int]:
        """The items that may start so late: all at once, else half of them and the other half, down to each alone."""
        kept: set[int] = set()
        groups: list[Sequence[int]] = [sorted(held, key=lambda i: (self.rank[i], i))] if held else []
        while groups:
            group = groups.pop()
            if self.keeps_launch({i: held[i] for i in group}):
                kept.update(group)
            elif len(group) > 1:
                groups += [group[: len(group) // 2], group[len(group) // 2 :]]
        return kept
