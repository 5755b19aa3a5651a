"""Why each row starts when it does.

For every row: what it came after last and when that let it go (`ready`), for each slot from then to its start the
first thing, in the contract's order (§7), that stops it from starting there (`stops`), who had what it waited for
(`holders`), and what makes its pauses (`pauses`).
"""

from __future__ import annotations

from sequencer.job.links import DONE
from sequencer.planning.holders import Holders
from sequencer.planning.pauses import Pauses
from sequencer.planning.placing import Keyed, Placer, Schedule
from sequencer.planning.plan import Held
from sequencer.planning.problem import Item
from sequencer.planning.ready import Readiness, Ready
from sequencer.planning.stops import Stops
from sequencer.planning.usage import Usage


class Reasons:
    """Explains one schedule."""

    def __init__(self, placer: Placer, schedule: Schedule, usage: Usage) -> None:
        self.placer = placer
        self.problem = placer.problem
        self.schedule = schedule
        self.usage = usage
        self.ready = Readiness(placer, schedule)
        self.stops = Stops(schedule, usage, self.ready)
        self.pauses = Pauses(self.stops)
        self._holders = Holders(placer.problem, schedule)

    def held(self, item: Item, alone: bool = False) -> Held:
        """What held an item to its start. alone: few others are going to be asked about."""
        ready = self.ready.of_item(item)
        start = self.schedule.starts[item.index]
        task, stage = self._named(ready)
        gap = self.stops.of(item, alone)
        if gap:
            cause = gap[-1][0]
            return Held(cause, task, stage, ready.slot, tuple(gap), tuple(self._holders.of(item, cause, start)))
        return Held(self._released_by(ready), task, stage, ready.slot)

    def _released_by(self, ready: Ready) -> str:
        if ready.keyed is not None:
            return "work"
        if ready.before < 0:
            return "start"
        if ready.stage != DONE:
            return "cure"
        return "wait" if self.problem.items[ready.before].is_wait else "work"

    def _named(self, ready: Ready) -> tuple[str, str]:
        """The row and its stage that let an item go; empty where nothing did."""
        if ready.keyed is not None:
            return self.key_id(ready.keyed), DONE
        if ready.before < 0:
            return "", ""
        return self.problem.items[ready.before].id, ready.stage

    def key_id(self, keyed: Keyed) -> str:
        """The row id of a keying."""
        return self.problem.key_id(keyed.after, keyed.before)

    def held_key(self, keyed: Keyed) -> Held:
        """What held a keying to its start."""
        ready = self.ready.of_key(keyed)
        task = self.problem.items[ready.before].id
        gap = self.stops.of_keying(keyed, max(ready.slot, self.problem.base), keyed.start)
        cause = gap[-1][0] if gap else "cure" if ready.stage != DONE else "work"
        return Held(cause, task, ready.stage, ready.slot, tuple(gap))
