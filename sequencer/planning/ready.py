"""What let each row go: of all it came after, what was ready last."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.job.links import DONE
from sequencer.planning.placing import Keyed, Placer, Schedule
from sequencer.planning.problem import Item

EVER = -(1 << 60)
"""A slot before all others."""


@dataclass(frozen=True)
class Ready:
    """When a row was let go: the slot, and by what: an item's index and stage, or a keying. -1: by nothing."""

    slot: int
    before: int = -1
    stage: str = ""
    keyed: Keyed | None = None


class Readiness:
    """Tells of one schedule what let its rows go."""

    def __init__(self, placer: Placer, schedule: Schedule) -> None:
        self.placer = placer
        self.problem = placer.problem
        self.schedule = schedule
        self._of_item: dict[int, Ready] = {}
        self._keyed_of: dict[int, list[Keyed]] = {}
        for keyed in schedule.keyed:
            self._keyed_of.setdefault(keyed.after, []).append(keyed)

    def of_item(self, item: Item) -> Ready:
        """What an item came after last. Ties go to the one listed first."""
        found = self._of_item.get(item.index)
        if found is None:
            found = self._of_item[item.index] = self._last_before(item)
        return found

    def _last_before(self, item: Item) -> Ready:
        best = Ready(EVER)
        for edge in item.edges:
            moment = self.placer.opening(edge, self.schedule.ends[edge.before])
            if moment > best.slot and moment <= max(self.schedule.starts[item.index], moment if item.fixed else 0):
                best = Ready(moment, edge.before, edge.stage)
        for keyed in self.keyed_of(item.index):
            if keyed.end >= best.slot:
                best = Ready(keyed.end, -1, DONE, keyed)
        if best.before < 0 and best.keyed is None:
            return Ready(self.problem.base)
        return best

    def keyed_of(self, index: int) -> list[Keyed]:
        """The keyings ahead of an item."""
        return self._keyed_of.get(index, [])

    def of_key(self, keyed: Keyed) -> Ready:
        """What a keying came after: the coat sanded, or just done."""
        before = self.problem.items[keyed.before]
        material = self.problem.job.materials[before.task.material or ""]
        stage = "sand" if "sand" in material.stages else DONE
        return Ready(self.problem.stage_moment(before, stage, self.schedule.ends[keyed.before]), keyed.before, stage)
