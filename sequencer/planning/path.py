"""The chains that set the launch, followed back, and the ledger of the stay along the first of them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from sequencer.planning.bits import pieces
from sequencer.planning.placing import Keyed
from sequencer.planning.plan import Held, Step
from sequencer.planning.ready import Ready
from sequencer.planning.reasons import Reasons

UNTOLD, OFF_SHIFT = -1, -2
"""Slots of the stay no step covers: with somebody there, with nobody."""


class Path:
    """What sets the launch of the schedule that `reasons` explains. A node is an item's index or a keying."""

    def __init__(self, reasons: Reasons) -> None:
        self.reasons = reasons
        self.problem = reasons.problem
        self.placer = reasons.placer
        self.schedule = reasons.schedule

    def on_chains(self) -> set[str]:
        """Row ids on any chain that sets the launch: back from the finish over all that let a row go last."""
        found: set[str] = set()
        queue: list[int | Keyed] = [self.problem.finish]
        while queue:
            node = queue.pop()
            name = self.reasons.key_id(node) if isinstance(node, Keyed) else self.problem.items[node].id
            if name not in found:
                found.add(name)
                queue += self._let_go(node)
        return found

    def _let_go(self, node: int | Keyed) -> list[int | Keyed]:
        """Everything that let a row go at the same last moment."""
        if isinstance(node, Keyed):
            return [self.reasons.ready.of_key(node).before]
        item = self.problem.items[node]
        ready = self.reasons.ready.of_item(item)
        if ready.before < 0 and ready.keyed is None:
            return []
        ends = self.schedule.ends
        tied: list[int | Keyed] = [k for k in self.reasons.ready.keyed_of(node) if k.end == ready.slot]
        tied += [e.before for e in item.edges if self.placer.opening(e, ends[e.before]) == ready.slot]
        return tied

    def steps(self) -> list[Step]:
        """The stay from hauled to launch split along the first of the chains that set the launch."""
        problem = self.problem
        hauled = problem.tables.grid.slot(problem.job.job.hauled)
        steps: list[Step] = []
        node: int | Keyed = problem.finish
        upto = self.schedule.starts[problem.finish]
        while True:
            held, ready, start = self._at(node)
            name = self.reasons.key_id(node) if isinstance(node, Keyed) else problem.items[node].id
            if not held.task:
                steps.append(Step(hauled, start, "start", name))
                break
            self._spread(steps, held.spans, ready.slot, start, name)
            node = ready.keyed if ready.keyed is not None else ready.before
            upto = min(start, ready.slot)
            self._along(steps, node, upto)
        return self._laid_end_to_end(steps, hauled)

    def _laid_end_to_end(self, steps: list[Step], hauled: int) -> list[Step]:
        """The steps over each slot from hauled to launch just once, what is nearer the launch first.

        A log may contradict the graph or everybody's hours; what no step covers then goes to the hours nobody was
        there, or to `start`.
        """
        launch = self.schedule.starts[self.problem.finish]
        told = np.full(max(0, launch - hauled), UNTOLD)
        for number, step in enumerate(steps):
            part = told[max(0, step.begin - hauled) : max(0, step.end - hauled)]
            part[part == UNTOLD] = number
        nobody = self.problem.tables.hands[hauled:launch] == 0
        told[(told == UNTOLD) & nobody] = OFF_SHIFT
        row = self.problem.items[self.problem.finish].id
        found: list[Step] = []
        edges = [0, *(np.flatnonzero(np.diff(told)) + 1).tolist(), len(told)] if len(told) else [0]
        for begin, end in reversed(list(pairwise(edges))):
            number = int(told[begin])
            cause = steps[number].cause if number >= 0 else "start" if number == UNTOLD else "off-shift"
            row = steps[number].row if number >= 0 else row
            if found and (found[-1].cause, found[-1].row) == (cause, row):
                found[-1] = Step(hauled + begin, found[-1].end, cause, row)
            else:
                found.append(Step(hauled + begin, hauled + end, cause, row))
        return found[::-1]

    def _at(self, node: int | Keyed) -> tuple[Held, Ready, int]:
        if isinstance(node, Keyed):
            return self.reasons.held_key(node), self.reasons.ready.of_key(node), node.start
        item = self.problem.items[node]
        return self.reasons.held(item, alone=True), self.reasons.ready.of_item(item), self.schedule.starts[node]

    @staticmethod
    def _spread(steps: list[Step], spans: tuple[tuple[str, int], ...], ready: int, start: int, name: str) -> None:
        at = max(ready, start - sum(count for _, count in spans)) if spans else start
        if at > ready:
            steps.append(Step(ready, at, "start", name))
        for cause, count in spans:
            steps.append(Step(at, at + count, cause, name))
            at += count

    def _along(self, steps: list[Step], node: int | Keyed, upto: int) -> None:
        """The work of a node, its pauses, and the cure after it until `upto`."""
        problem = self.problem
        if isinstance(node, Keyed):
            start, end, name = node.start, node.end, self.reasons.key_id(node)
            worked = pieces(node.keying.course.workable, start, end)
            between = self.reasons.pauses.of_keying(node, worked)
        else:
            item = problem.items[node]
            start, end, name = self.schedule.starts[node], self.schedule.ends[node], item.id
            if item.is_wait:
                steps.append(Step(start, min(end, upto), "wait", name))
                worked, between = [], []
            else:
                worked = self.reasons.pauses.worked(item)
                if item.fixed is not None and item.task.finished is None:
                    # Its hours count from its start: a night or a wait before its first piece is a pause too.
                    worked = [(start, start), *item.fixed.past, *worked]
                between = self.reasons.pauses.between(item, worked)
        for begin, stop in worked:
            if stop > begin:
                steps.append(Step(begin, min(stop, upto), "work", name))
        for begin, stop, cause in between:
            steps.append(Step(begin, min(stop, upto), cause, name))
        if upto > end:
            steps.append(Step(end, upto, "cure", name))
