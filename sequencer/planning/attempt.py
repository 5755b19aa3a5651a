"""One attempt at a launch by some slot, quarter hour by quarter hour: on, and back where it can no longer be met."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, field
from operator import itemgetter

from sequencer.planning.bits import low_ones
from sequencer.planning.goal import Goal, Room
from sequencer.planning.placing import Keyed, Placer, Schedule
from sequencer.planning.problem import Edge
from sequencer.planning.yard import Yard

LATE = 2.0
"""Slots by which something that came too late is more urgent from then on, each time."""

Keys = dict[tuple[int, int], int]
"""Starts of keyings by later item and coat."""


@dataclass
class State:
    """How far an attempt has come: all that starts before `slot` lies.

    ready, waiting: as in a placing. left: the items still to be laid, in the goal's order. passed: those that were to
    start at this slot and don't. keyed: the windows keyed, by later item and coat.
    """

    yard: Yard
    ready: list[int]
    waiting: list[int]
    left: tuple[int, ...]
    slot: int
    passed: frozenset[int] = frozenset()
    keyed: frozenset[tuple[int, int]] = frozenset()


@dataclass
class Choice:
    """Something that may start now: an item and its end; or the keying of `coat` ahead of it, in `yard` already."""

    item: int
    end: int
    coat: int = -1
    yard: Yard | None = None


@dataclass
class Choices:
    """All that may start at a slot, and then: the next slot at which anything else may, the grid's end for none."""

    then: int
    now: list[Choice] = field(default_factory=list)


class Attempt:
    """One attempt, of so many steps. order: by item, the least the most urgent. keying: whether windows may be missed.

    late: gets by item how much more urgent it should have been, in slots.
    """

    def __init__(
        self,
        placer: Placer,
        goal: Goal,
        order: dict[int, float],
        keying: bool,
        late: dict[int, float],
        steps: int,
        stop: Callable[[], bool],
    ) -> None:
        self.placer, self.problem, self.items = placer, placer.problem, placer.problem.items
        self.goal, self.order, self.keying, self.late, self.stop = goal, order, keying, late, stop
        self.steps = steps
        self.starts, self.ends, self.keys = placer.start0[:], placer.end0[:], Keys()

    def go(self, known: Schedule | None = None, since: int = 0) -> bool:
        """Whether all could be laid: `starts` and `keys` then say where.

        known: a schedule whose work that starts before slot `since` is laid as it lies there, none of it too late.
        """
        placer = self.placer
        ready, waiting = placer.release0[:], placer.waiting0[:]
        state = State(placer.yard0.copy(), ready, waiting, self.goal.needed, self.problem.base)
        return (known is None or self._laid_as(known, since, state)) and self._step(state)

    def _laid_as(self, known: Schedule, since: int, state: State) -> bool:
        """Lay what starts before `since` in a schedule; whether what follows may still come in time."""
        kept: list[tuple[int, int, Keyed | None]] = [(known.starts[i], i, None) for i in state.left]
        kept += [(keyed.start, keyed.after, keyed) for keyed in known.keyed if keyed.after in state.left]
        for start, i, keyed in sorted(kept, key=itemgetter(0)):
            if start >= since:
                break
            if keyed is not None:
                self._key_as(keyed, state)
                continue
            state.yard.put(self.items[i], start, known.ends[i])
            if not self._laid(state, i, start, known.ends[i]):
                return False
        state.slot = since
        return True

    def _key_as(self, keyed: Keyed, state: State) -> None:
        """Lay a keying as it lies in a schedule."""
        after, coat = keyed.after, keyed.before
        state.yard.key(keyed.keying, keyed.start)
        state.keyed |= {(after, coat)}
        state.ready[after] = max(state.ready[after], keyed.end)
        self.keys[after, coat] = keyed.start

    @property
    def over(self) -> bool:
        """Whether to give up."""
        return self.steps <= 0 or self.stop()

    def _too_late(self, item: int) -> None:
        self.late[item] = self.late.get(item, 0.0) + LATE

    # -- one step ---------------------------------------------------------------------------------------------

    def _step(self, state: State) -> bool:
        """Go on from a state, which is the step's own to change; whether all could be laid."""
        self.steps -= 1
        if not self._pass_by(state):
            return False
        if not state.left:
            return True
        self._to_free_hands(state)
        heads = self._heads(state)
        if heads is None:
            return False
        room = self.goal.room(state.yard, state.slot, state.left, heads)
        if room.over >= 0:
            self._too_late(room.over)
            return False
        choices = self._choices(state)
        if choices is None:
            return False
        passed = set(state.passed)
        for choice in choices.now:
            if self.over:
                return False
            if self._taken(choice, state, frozenset(passed)):
                return True
            passed.add(choice.item)
        return not self.over and self._idle(state, choices, room)

    def _taken(self, choice: Choice, state: State, passed: frozenset[int]) -> bool:
        """Go on with something started; whether all could be laid."""
        i, slot = choice.item, state.slot
        yard = choice.yard or state.yard.copy()
        then = State(yard, state.ready[:], state.waiting[:], state.left, slot, passed, state.keyed)
        if choice.coat >= 0:
            then.keyed |= {(i, choice.coat)}
            then.ready[i] = choice.end
            self.keys[i, choice.coat] = slot
            if self._step(then):
                return True
            del self.keys[i, choice.coat]
            return False
        yard.put(self.items[i], slot, choice.end)
        return self._laid(then, i, slot, choice.end) and self._step(then)

    def _laid(self, state: State, i: int, start: int, end: int) -> bool:
        """Note where an item lies, its work in the yard; whether what follows may still come in time."""
        self.starts[i], self.ends[i] = start, end
        state.left = tuple(j for j in state.left if j != i)
        in_time = True
        for j, opens in self.placer.live_followers[i]:
            state.ready[j] = max(state.ready[j], end if opens is None else opens[end])
            state.waiting[j] -= 1
            if j in self.order and state.ready[j] > self.goal.latest[j]:
                self._too_late(j)
                in_time = False
        return in_time

    def _pass_by(self, state: State) -> bool:
        """Lay what needs no hands and waits for nothing; whether all that comes in time."""
        while True:
            free = [i for i in state.left if not self.items[i].hands and not state.waiting[i]]
            if not free:
                return True
            for i in free:
                start, end = state.yard.earliest(self.items[i], state.ready[i], self.goal.latest[i])
                if start < 0:
                    self._too_late(i)
                    return False
                state.yard.put(self.items[i], start, end)
                if not self._laid(state, i, start, end):
                    return False

    def _to_free_hands(self, state: State) -> None:
        """On to the next slot with free hands."""
        short = state.yard.short
        wait = low_ones(short[1] >> (state.slot - self.problem.base)) if len(short) > 1 else 0
        if wait:
            state.slot, state.passed = state.slot + wait, frozenset()

    # -- what is left -----------------------------------------------------------------------------------------

    def _heads(self, state: State) -> list[int] | None:
        """Earliest starts of what is left, all else left aside; None where one is too late."""
        ends: dict[int, int] = {}
        heads = []
        for i in state.left:
            item = self.items[i]
            head = max(state.ready[i], state.slot)
            for edge in item.edges:
                end = ends.get(edge.before)
                if end is not None:
                    head = max(head, end if edge.opens is None else edge.opens[end])
            at = bisect_left(item.course.starts, head)
            if at == len(item.course.starts) or item.course.starts[at] > self.goal.latest[i]:
                self._too_late(i)
                return None
            heads.append(item.course.starts[at])
            ends[i] = item.course.ends[at]
        return heads

    def _idle(self, state: State, choices: Choices, room: Room) -> bool:
        """Leave the free hands idle until something else may start; whether all could be laid then."""
        slot, base = state.slot, self.problem.base
        then = slot + 1 if choices.now else choices.then
        if then >= self.goal.end or room.done[then - base] - room.done[slot - base] > room.spare:
            return False
        yard = state.yard.copy()
        yard.take_hands(self.problem.span_bits(slot, then), len(yard.short))
        return self._step(State(yard, state.ready[:], state.waiting[:], state.left, then, keyed=state.keyed))

    # -- what may start ---------------------------------------------------------------------------------------

    def _choices(self, state: State) -> Choices | None:
        """What may start now, the most urgent first; None where something is too late."""
        found = Choices(self.problem.length)
        for i in state.left:
            if state.waiting[i] or i in state.passed:
                continue
            if state.ready[i] > state.slot:
                found.then = min(found.then, state.ready[i])
                continue
            missed = self._missed(state, i)
            if not (self._keying(state, i, missed, found) if missed else self._start(state, i, found)):
                self._too_late(i)
                return None
        found.now.sort(key=lambda choice: (self.order[choice.item], choice.item))
        return found

    def _start(self, state: State, i: int, found: Choices) -> bool:
        """Enter an item where it may start now; whether it may start in time at all."""
        start, end = state.yard.earliest(self.items[i], state.slot, self.goal.latest[i])
        if start == state.slot:
            found.now.append(Choice(i, end))
        elif start >= 0:
            found.then = min(found.then, start)
        return start >= 0

    def _missed(self, state: State, i: int) -> list[Edge]:
        """The windows an item misses by now that are not keyed."""
        return [
            edge
            for edge in self.placer.windows[i]
            if (i, edge.before) not in state.keyed and state.slot > self.placer.closing(edge, self.starts[edge.before])
        ]

    def _keying(self, state: State, i: int, missed: list[Edge], found: Choices) -> bool:
        """Enter the keying of a missed window where it may start now; whether it may be keyed at all."""
        if not self.keying:
            return False
        before = missed[0].before
        ready = max(state.slot, self.placer.sandable(self.items[before], self.ends[before]))
        yard = state.yard.copy()
        start, end = yard.key(self.placer.keying(missed, before), ready)
        if start == state.slot:
            found.now.append(Choice(i, end, before, yard))
        elif start >= 0:
            found.then = min(found.then, start)
        return start >= 0
