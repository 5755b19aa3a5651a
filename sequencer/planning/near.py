"""Looks near a plan: some items may lie wherever they like, the others keep their order and move by a day or two.

With the order of most of the work kept, the solver soon settles what it would look at for minutes on the whole job
(large neighbourhood search: Shaw, Principles and Practice of Constraint Programming 1998, 417-431; orders kept:
Godard, Laborie and Nuijten, ICAPS 2005, from memory). Two looks side by side, a thread each. Most of them ask
for work as far forward as it goes with the same launch, the others for the best plan; in most a window that is met
stays met, as each keying takes hours that are then missing before the launch. A plan no worse in what was asked
for takes the place of the one looked round, so that the looks move on; what counts as forward changes where they don't.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np

from sequencer.planning import bounded, proof
from sequencer.planning.axis import Axis
from sequencer.planning.orders import DAY, Found, kept_orders, worth
from sequencer.planning.placing import Placer
from sequencer.planning.usage import Usage

THREADS = 2

LOOK_SECONDS = 2.5
"""One look of the solver, at most."""

FORWARD_SHARE = 0.7
"""Looks that bring work forward, of all: with idle hours gone early and left late, the next look has room."""

FORWARD_SECONDS = 0.7
"""One such look, at most: any way forward helps, and the farthest takes long to prove."""

IDLE_LOOKS = 60
"""Looks without a better plan after which there is little to be had near it."""

FREED = 18.0
"""Items freed at first: more after a look that came to an end, fewer after one that didn't."""

LEAST_FREED = 8.0
MORE, LESS = 1.25, 0.85

WEIGHT = 10
"""What a slot of work counts in lateness, in the mean."""

UNEVEN = 0.7
"""Share by which that differs from item to item: each weighting has other plans that are as far forward as they go."""

KEYED_SHARE = 0.5
"""What a slot of keying counts, of what it counts when all work lies a slot later."""

MET_SHARE = 0.85
"""Looks in which a window that is met must stay so, of all: the model is smaller, and hours of keying are soon lost."""

WEIGHED_AGAIN = 20
"""Looks without a better plan after which the items are weighed anew."""

FAR_DAYS = (5, 10, 20)
"""How far the freed items may move."""

REST_DAYS = (1, 2, 4)
"""How far the others may."""

KINDS = ("together", "together", "anywhere", "linked", "keyed", "idle", "idle")
"""Which items a look frees: neighbours in time, any, linked ones and what lies beside them, those round a keying, those
round an idle hour and some of what could be done in it."""

ANY_KEYING = 1 << 16
"""Slots of keying past any plan's."""

NO_WORTH = (1 << 30, 0, 0)
"""Worse than that of any plan."""

Laid = Callable[[Sequence[int], Mapping[tuple[int, int], int]], Found | None]
"""Lays a plan of start slots, by item and of its keyings."""


@dataclass(frozen=True)
class Look:
    """One look: the items freed, how far they and the others may move in slots, and its kind.

    forward: whether it brings work forward, or asks for the best plan. met: whether each window met stays met.
    """

    kind: str
    freed: frozenset[int]
    far: int
    rest: int
    forward: bool = False
    met: bool = False


class Near:
    """Looks near the plans of one problem, seeded.

    around: the plan looked round last. nearest: the least worth of any so far.
    """

    def __init__(self, placer: Placer, laid: Laid, earliest: Sequence[int], seed: int = 1) -> None:
        """laid: lays a plan. earliest: earliest starts by item."""
        self.placer = placer
        self.earliest = earliest
        self.items = placer.problem.items
        self.laid = laid
        self.random = Random(seed)
        self.size = {(kind, forward): FREED for kind in KINDS for forward in (False, True)}
        self.axis = Axis(placer.problem)
        self.around: Found | None = None
        self.nearest = NO_WORTH
        self._lock = threading.Lock()
        self._idle = 0
        self._hours: tuple[Found, list[int]] | None = None
        wanted = [i for i in placer.free if i in placer.before_launch]
        self.sharing = [i for i in wanted if self.items[i].hands or self.items[i].holds] or wanted
        """The items whose order matters."""
        self.weights: dict[int, int] = {}
        """What a slot later counts, by item; nothing where it needs no hands."""
        self.weigh()
        self.linked: dict[int, set[int]] = {i: set() for i in wanted}
        for i in wanted:
            for edge in self.items[i].edges:
                if edge.before in self.linked:
                    self.linked[i].add(edge.before)
                    self.linked[edge.before].add(i)

    def look(
        self, found: Found, floor: Sequence[int], seconds: float, stop: Callable[[], bool], better: Callable[[], None]
    ) -> None:
        """Look near `found` for so long at most, until nothing more comes of it or it launches at the bound.

        floor: earliest starts by item, that of the finish at the bound. better: called with each earlier launch.
        """
        if self.around is None or found.score[0] < self.around.score[0]:
            self.around = found
        self.nearest = min(self.nearest, worth(self.placer, self.around))
        self._idle = 0
        until = time.monotonic() + seconds
        finish = self.placer.problem.finish

        def over() -> bool:
            assert self.around is not None
            done = self.around.schedule.starts[finish] <= floor[finish] or self._idle >= IDLE_LOOKS
            return done or time.monotonic() >= until or stop()

        def run() -> None:
            while not over():
                self._one(floor, until, over, better)

        threads = [threading.Thread(target=run, daemon=True) for _ in range(THREADS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

    def _one(self, floor: Sequence[int], until: float, over: Callable[[], bool], better: Callable[[], None]) -> None:
        """One look, and what comes of it."""
        with self._lock:
            around = self.around
            assert around is not None
            look = self.choose(around)
            seed = self.random.randrange(1 << 16)
            between = self._between(around, look, floor)
            kept = kept_orders(self.items, around, [i for i in self.sharing if i not in look.freed])
            asked = self.no_worse_than(around, look)
            keyable = {(k.after, k.before) for k in around.schedule.keyed} if look.met else None
            weights = self.weights if look.forward else None
            try:
                model = bounded.model_near(self.placer, *between, kept, asked, weights, self.keyed, keyable, over)
            except bounded.StoppedError:
                return
        seconds = min(FORWARD_SECONDS if look.forward else LOOK_SECONDS, until - time.monotonic())
        answer = (
            proof.Looked(closed=True)
            if model is None
            else proof.near(model, around.schedule.starts, seconds, over, seed)
        )
        with self._lock:
            size = self.size[look.kind, look.forward] * (MORE if answer.closed else LESS)
            self.size[look.kind, look.forward] = min(max(LEAST_FREED, size), float(len(self.sharing)))
            self._idle += 1
            found = None if answer.starts is None else self.laid(answer.starts, answer.keys or {})
            if found is not None:
                self._take(found, look, better)
            if self._idle and self._idle % WEIGHED_AGAIN == 0:
                self.weigh()

    def no_worse_than(self, around: Found, look: Look) -> tuple[int, int, int]:
        """The worth that a look's plan may have at most: bringing work forward it may be ready and key as it likes."""
        known = worth(self.placer, around)
        return (known[0], known[0], ANY_KEYING) if look.forward else known

    def _take(self, found: Found, look: Look, better: Callable[[], None]) -> None:
        """Look on round this plan, where it is no worse in what was asked for."""
        assert self.around is not None
        known, new = worth(self.placer, self.around), worth(self.placer, found)
        was, late = self.lateness(self.around), self.lateness(found)
        if new > self.no_worse_than(self.around, look):
            return
        if (late, new) > (was, known) if look.forward else (new, late) > (known, was):
            return
        self.around = found
        if new < self.nearest:
            self.nearest = new
            self._idle = 0
        if new[0] < known[0]:
            better()

    def offer(self, found: Found) -> None:
        """A plan from elsewhere, to look round from now on where it is better than the one looked round last."""
        with self._lock:
            if self.around is None or worth(self.placer, found) < worth(self.placer, self.around):
                self.around = found

    def weigh(self) -> None:
        """Weigh the items anew: work by its hands, each more or less at random."""
        for i in self.sharing:
            uneven = self.random.uniform(1 - UNEVEN, 1 + UNEVEN)
            hands = self.items[i].hands if self.placer.peopled else 1
            self.weights[i] = round(WEIGHT * uneven * self.items[i].work * hands)

    def lateness(self, found: Found) -> int:
        """How late the work lies: its starts on the on-shift axis, each by its weight; and what its keying counts."""
        starts = found.schedule.starts
        at = self.axis.exact if self.placer.peopled else int
        late = sum(at(starts[i]) * weight for i, weight in self.weights.items())
        return late + self.keyed * sum(k.keying.work for k in found.schedule.keyed)

    @property
    def keyed(self) -> int:
        """What a slot of keying counts: it keeps all that lies after it from being a slot sooner, and the launch."""
        return round(KEYED_SHARE * sum(self.weights.values()))

    def _between(self, around: Found, look: Look, floor: Sequence[int]) -> tuple[list[int], list[int]]:
        """The first and last starts by item that the look allows, whatever the launch."""
        first, last = [], []
        for i, start in enumerate(around.schedule.starts):
            way = look.far if i in look.freed else look.rest
            first.append(max(floor[i], start - way))
            last.append(start + way)
        finish = self.placer.problem.finish
        first[finish] = floor[finish]
        return first, last

    # -- what to free -----------------------------------------------------------------------------------------

    def choose(self, around: Found) -> Look:
        """A look, at random."""
        rng = self.random
        kind, forward = rng.choice(KINDS), rng.random() < FORWARD_SHARE
        count = min(len(self.sharing), max(2, int(self.size[kind, forward] * rng.uniform(0.7, 1.3))))
        freed = frozenset(self._freed(kind, count, around))
        met = rng.random() < MET_SHARE
        return Look(kind, freed, rng.choice(FAR_DAYS) * DAY, rng.choice(REST_DAYS) * DAY, forward, met)

    def _freed(self, kind: str, count: int, around: Found) -> set[int]:
        """So many items to free, of this kind where there are such, else linked ones."""
        rng, starts = self.random, around.schedule.starts
        idle = self._idle_hours(around) if kind == "idle" else []
        if idle:
            at = rng.choice(idle)
            freed = set(sorted(self.sharing, key=lambda i: abs(starts[i] - at))[: count // 2])
            later = [i for i in self.sharing if starts[i] > at >= self.earliest[i] and i not in freed]
            return freed | set(rng.sample(later, min(len(later), count - len(freed))))
        if kind == "together":
            by_start = sorted(self.sharing, key=lambda i: starts[i])
            at = rng.randrange(len(by_start) - count + 1)
            return set(by_start[at : at + count])
        if kind == "anywhere":
            return set(rng.sample(self.sharing, count))
        keyed = around.schedule.keyed
        pair = rng.choice(keyed) if kind == "keyed" and keyed else None
        if pair is None:
            return self._grown([rng.choice(self.sharing)], count, starts)
        return self._grown([i for i in (pair.after, pair.before) if i in self.linked], count, starts)

    def _idle_hours(self, around: Found) -> list[int]:
        """The slots before the launch in which some hand on shift has nothing to do."""
        if self._hours is None or self._hours[0] is not around:
            usage = Usage(self.placer, around.schedule)
            spare = usage.on_shift - usage.hands
            launch = around.schedule.starts[self.placer.problem.finish] - usage.base
            self._hours = around, (np.flatnonzero(spare[:launch] > 0) + usage.base).tolist()
        return self._hours[1]

    def _grown(self, seeds: list[int], count: int, starts: Sequence[int]) -> set[int]:
        """So many items, from these on along the links and to what lies beside them."""
        rng = self.random
        freed, rim = set(seeds), list(seeds)
        while len(freed) < count and rim:
            item = rim.pop(rng.randrange(len(rim)))
            beside = sorted(self.sharing, key=lambda i: abs(starts[i] - starts[item]))[:4]
            more = sorted({*self.linked[item], *beside} - freed)
            rng.shuffle(more)
            freed.update(more[:3])
            rim += more[:3]
        return freed
