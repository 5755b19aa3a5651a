"""Slack: how much later each task may start and leave the launch where it is.

Backward over the graph and the plan's order arcs: whatever the plan does one after another on the same people,
gear or air keeps that order. Every function of a start is monotone, so the last start follows from inverses.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sequencer.planning.justify import latest_fit
from sequencer.planning.placing import Keyed, Placer, Schedule, latest_end
from sequencer.planning.problem import Item
from sequencer.planning.tables import Course
from sequencer.planning.usage import Usage
from sequencer.planning.yard import Yard

FAR = 1 << 60
"""Later than any slot."""


@dataclass
class _Node:
    """An item or a keying on the way back: its start, end and what it must leave free for what follows."""

    start: int
    end: int
    item: Item | None
    keyed: Keyed | None

    @property
    def hands(self) -> int:
        return self.item.hands if self.item is not None else 1

    @property
    def starts(self) -> list[int]:
        return self._course.starts

    @property
    def ends(self) -> list[int]:
        return self._course.ends

    @property
    def _course(self) -> Course:
        if self.item is not None:
            return self.item.course
        assert self.keyed is not None
        return self.keyed.keying.course


class Slack:
    """Last starts with the launch kept: `latest` by item index, `keyed` by keying."""

    def __init__(self, placer: Placer, schedule: Schedule, usage: Usage) -> None:
        self.placer = placer
        self.problem = placer.problem
        self.schedule = schedule
        self.usage = usage
        self.latest = list(schedule.starts)
        self.keyed = [k.start for k in schedule.keyed]
        self._chains: defaultdict[object, _Chain] = defaultdict(_Chain)
        items = [_Node(schedule.starts[i], schedule.ends[i], self.problem.items[i], None) for i in placer.free]
        keys = [_Node(k.start, k.end, None, k) for k in schedule.keyed]
        self._nodes = sorted(items + keys, key=lambda v: (v.start, v.end))
        self._begins = [node.start for node in self._nodes]
        self._yards = self._yards_before()
        self._spare = usage.spare_hands([(node.start, node.end) for node in self._nodes])
        for at in reversed(range(len(self._nodes))):
            self._visit(self._nodes[at], at)

    def _yards_before(self) -> list[Yard]:
        """For each node, the yard with all that starts before it."""
        yards = [self.placer.yard0.copy()]
        for node in self._nodes:
            yards.append(yards[-1].copy())
            self._lay(yards[-1], node)
        return yards

    @staticmethod
    def _lay(yard: Yard, node: _Node) -> None:
        if node.item is not None:
            yard.put(node.item, node.start, node.end)
        elif node.keyed is not None:
            yard.key(node.keyed.keying, node.start)

    def _visit(self, node: _Node, at: int) -> None:
        until = min(self._after(node), self._order(node))
        if node.item is not None:
            last, _ = latest_fit(self._beside(node, at), node.item, until, self._deadline(node.item))
            last = max(last, node.start)
            self.latest[node.item.index] = last
        else:
            assert node.keyed is not None
            k = bisect_right(node.ends, until)
            last = max(node.starts[k - 1] if k else node.start, node.start)
            self.keyed[self.schedule.keyed.index(node.keyed)] = last
        self._remember(node, at, last)

    def _beside(self, node: _Node, at: int) -> Yard:
        """The yard without the node, with all that starts before it ends: what it must not be pushed into."""
        yard = self._yards[at].copy()
        for other in self._nodes[at + 1 : bisect_left(self._begins, node.end)]:
            self._lay(yard, other)
        return yard

    def _deadline(self, item: Item) -> int:
        """The last start by the launch itself and by the windows the plan meets."""
        deadline = self.schedule.starts[item.index] if item.index == self.problem.finish else self.problem.length
        keyed = {k.before for k in self.schedule.keyed if k.after == item.index}
        for edge in self.placer.windows[item.index]:
            if edge.before not in keyed:
                deadline = min(deadline, self.placer.closing(edge, self.schedule.starts[edge.before]))
        return deadline

    def _after(self, node: _Node) -> int:
        """The last end that leaves what comes after it in the graph where it may be."""
        until = self.problem.length
        if node.keyed is not None:
            return self.latest[node.keyed.after]
        assert node.item is not None
        for j, opens in self.placer.live_followers[node.item.index]:
            until = min(until, latest_end(opens, self.latest[j]))
        for k, keyed in enumerate(self.schedule.keyed):
            if keyed.before == node.item.index:
                until = min(until, latest_end(self._sand(node.item), self.keyed[k]))
        return until

    def _sand(self, item: Item) -> Sequence[int] | None:
        job = self.problem.job
        zone, material = job.zones[item.task.zone or ""], job.materials[item.task.material or ""]
        return self.problem.tables.opens(zone, material, "sand") if "sand" in material.stages else None

    def _order(self, node: _Node) -> int:
        """The last end that keeps its order with what the plan does later on the same people, gear and air."""
        until = self.problem.length
        end = node.end
        if node.hands:
            until = min(until, self._chains["hands"].first_late(end, node.hands))
        item = node.item
        if item is None:
            assert node.keyed is not None
            if node.keyed.keying.dusty:
                until = min(until, self._chains["wet", node.keyed.keying.air].first_late(end, 1))
            return until
        for person in item.who:
            until = min(until, self._chains["who", person].first_late(end, 1))
        if item.dusty:
            until = min(until, self._chains["wet", item.air].first_late(end, 1))
        if item.set_curve is not None:
            dry = self.problem.stage_moment(item, "set", end)
            late = self._chains["dust", item.air].first_late(dry, 1)
            until = min(until, latest_end(item.set_curve, late))
        for hold in item.holds:
            freed = end if hold.until is None else hold.until[end]
            late = self._chains["gear", hold.gear].first_late(freed, hold.units)
            until = min(until, latest_end(hold.until, late))
        return until

    def _remember(self, node: _Node, at: int, last: int) -> None:
        """Enter the node in the chains of what it uses, with what is left free beside it."""
        item = node.item
        if node.hands:
            self._chains["hands"].add(node.start, last, self._spare[at])
        if item is None:
            assert node.keyed is not None
            if node.keyed.keying.dusty:
                self._chains["dust", node.keyed.keying.air].add(node.start, last, 0)
            return
        for person in item.who:
            self._chains["who", person].add(node.start, last, 0)
        if item.dusty:
            self._chains["dust", item.air].add(node.start, last, 0)
        if item.set_curve is not None:
            self._chains["wet", item.air].add(node.start, last, 0)
        for hold in item.holds:
            freed = node.end if hold.until is None else hold.until[node.end]
            spare = self.usage.spare_gear(hold.gear, node.start, freed)
            self._chains["gear", hold.gear].add(node.start, last, spare)


class _Chain:
    """Users of one thing, entered from the last start to the first; answers how late they may still be pushed."""

    def __init__(self) -> None:
        self._falling: list[int] = []
        self._least: dict[int, list[int]] = {}
        self._entries: list[tuple[int, int]] = []

    def add(self, start: int, late: int, spare: int) -> None:
        """A user that starts at `start`, may start at `late`, and leaves `spare` units free beside it."""
        self._falling.append(-start)
        self._entries.append((late, spare))
        for units, least in self._least.items():
            least.append(min(least[-1], late) if spare < units else least[-1])

    def first_late(self, end: int, units: int) -> int:
        """The least last start among users from `end` on that leave fewer than `units` free beside them."""
        if units not in self._least:
            least = [FAR]
            for late, spare in self._entries:
                least.append(min(least[-1], late) if spare < units else least[-1])
            self._least[units] = least
        # Entries fall by start: those at or after `end` come first.
        return self._least[units][bisect_right(self._falling, -end)]
