"""Which launch is asked about next: all plans or those near the one in hand, and by which slot all is to be ready.

What is worth asking follows from how far the plan in hand is from the first launch possible, and from what fared well.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Container, Sequence
from dataclasses import dataclass, field
from random import Random

from sequencer.planning.axis import Axis
from sequencer.planning.bounded import Leg
from sequencer.planning.grain import launches
from sequencer.planning.orders import DAY, Found, worth
from sequencer.planning.placing import Placer

EFFORT = 1 / 60
"""What a question is given at first, an item of the job, by the solver's own count of effort (some seconds each)."""

GEAR_PACE = 4
"""How many times that where no work needs hands: there few questions are hard, and those have an answer later."""

LONGER, LONGEST = 1.5, 2.0
"""How much more it is given each time it is asked anew, and in all: past that another seed is worth more."""

ANYHOW_UP_TO = 60
"""Items up to which most questions are of all plans; past that few of those have a quick answer."""

ANYHOW_SHARE = 0.5
"""How many of the questions."""

WAYS = (3, 5, 8)
"""How many days a start may lie from the plan in hand at first."""

KEYLESS_SHARE, KEYLESS_SHARE_LARGER = 0.5, 0.7
"""How many of those look at plans that meet every window only: fewer by far, and often the soonest is among them."""

LEGS_PAST, LEGS_UP_TO = 50, 120
"""Items past which plans are laid leg by leg too, and up to which they are: past that its models take hundreds of
megabytes more, and gained hardly a thing in a minute."""

LEGS_SHARE, LEGS_SHARE_LARGER, KEYLESS_SHARE_LEGS = 0.4, 0.7, 0.85
"""How many of the questions that is, in a larger job more, and how many of those look first at plans that meet every
window."""

EFFORTS = (0.25, 0.25, 0.5, 1.0)
"""What those are given in a larger job, of a question's effort: most that have an answer have it soon."""

READY_SHARE = 0.7
"""How many of those in a larger job aim at being ready some slots on shift sooner, whatever the lift's hours."""

FEW = 8
"""Slots at which she could launch sooner, where they are soon all settled."""

STRIDE, LONGEST_STRIDE = 8.0, 400.0
"""By how many slots on shift sooner at first, and at most."""

FARED_WELL, FARED_ILL = 1.5, 0.85
"""What the stride is multiplied by where it was possible, and where it was not or stayed open."""

LAST_OF_DAY_SHARE = 0.7
"""How many of the others there, and of plans laid leg by leg, aim at the last slot of a day's lift: what is gained is a
night."""


@dataclass
class Aim:
    """One question, whether she can launch from slot `first` on and all be ready for it by slot `last`; and its answer.

    The launch is then at the first slot from `last` on that the lift and the launch itself allow.

    seed, effort: of the solver; the same question has the same answer where it isn't cut. at: by item the start slot
    it looks round, None where it looks everywhere; way: how many slots from it at first, ways: by item by now;
    between: by item the first and last starts it looks at for that, None for all of them. keyless: whether it looks at
    plans that meet every window only. by_legs: whether a plan is laid leg by leg. leg: how far such a leg goes.
    starts, keys: a plan that does (start slots by item, of keyings by later item and coat). none: there is none,
    between those starts. cut: whether the clock or another answer ended it.
    """

    first: int
    last: int
    seed: int
    effort: float
    at: list[int] | None = None
    way: int = 0
    ways: dict[int, int] = field(default_factory=dict)
    between: tuple[list[int], list[int]] | None = None
    keyless: bool = False
    by_legs: bool = False
    leg: Leg | None = None
    starts: list[int] | None = None
    keys: dict[tuple[int, int], int] | None = None
    none: bool = False
    cut: bool = False

    @property
    def keyable(self) -> Container[tuple[int, int]] | None:
        """The later items and coats whose window may be missed, None for all."""
        return () if self.keyless else None

    @property
    def nowhere(self) -> bool:
        """Whether there is no such launch at all: the answer is no, and nothing was left out."""
        return self.none and self.between is None and not self.keyless


class Aims:
    """Chooses the questions asked of one problem.

    around: the plan in hand. first: from which slot on a launch is not ruled out. stride: how many slots on shift
    sooner than that plan the questions between the lift's slots aim. small: whether most questions of all plans have a
    quick answer. pace: how many times the usual effort they are given.
    """

    def __init__(self, placer: Placer, around: Found) -> None:
        self.placer = placer
        self.around = around
        self.first = 0
        self.small = len(placer.free) <= ANYHOW_UP_TO or not placer.peopled
        self.legs = placer.peopled and LEGS_PAST < len(placer.free) <= LEGS_UP_TO
        self.pace = 1 if placer.peopled else GEAR_PACE
        self.random = Random(1)
        self.axis = Axis(placer.problem)
        self.launches = launches(placer)
        self.stride = STRIDE
        self._further = 0
        """How far past the earliest slot its question aims, in slots at which she could launch."""
        self._asked: Counter[tuple[int, int]] = Counter()

    @property
    def launch(self) -> int:
        """When the plan in hand launches."""
        return self.around.score[0]

    @property
    def ready(self) -> int:
        """The slot by which all is ready for it."""
        return worth(self.placer, self.around)[1]

    def moot(self, aim: Aim) -> bool:
        """Whether another answer has settled this question."""
        done = self.ready <= aim.last and self.launch <= self.launches[bisect_left(self.launches, aim.last)]
        return done or aim.last < self.first

    def open(self) -> Sequence[int]:
        """The slots at which she could launch, not ruled out and before the plan in hand does."""
        starts = self.launches
        return starts[bisect_left(starts, self.first) : bisect_left(starts, self.launch)] or [self.first]

    @property
    def close(self) -> bool:
        """Whether few slots are left between the first possible launch and that of the plan in hand."""
        return len(self.open()) <= FEW

    def last_of_days(self) -> Sequence[int]:
        """Of those the ones that another does not follow at once."""
        slots = self.open()
        return [slot for slot, then in zip(slots, [*slots[1:], -1], strict=True) if then != slot + 1]

    def sooner(self) -> int:
        """A slot on shift about a stride before the one at which the plan in hand is ready."""
        now, least = self.axis.first_from(self.ready), self.axis.first_from(self.first)
        stride = max(1, round(self.stride * self.random.uniform(0.5, 1.5)))
        return self.axis.slots[max(least, now - stride)]

    def lowest_slot(self) -> tuple[int, int]:
        """From which slot on no launch is ruled out, and the one that the earliest question aims at."""
        slots = self.open()
        return self.first, slots[min(len(slots) - 1, self._further)]

    @property
    def lowest_asked(self) -> bool:
        """Whether that question was asked already."""
        return self._asked[self.lowest_slot()] > 0

    def lowest(self) -> Aim:
        """Whether the earliest slot is possible, anyhow."""
        return self._anyhow(self.lowest_slot()[1])

    def anywhere(self) -> Aim:
        """Whether some slot is possible, the early ones sooner, somewhere near the plan in hand or anyhow."""
        rng = self.random
        if self.legs and rng.random() < (LEGS_SHARE if self.small else LEGS_SHARE_LARGER):
            return self.leg_by_leg()
        early = self._early(self.open())
        if self.small and rng.random() < ANYHOW_SHARE:
            return self._anyhow(early)
        last = early if self.small else self.nearer()
        aim = self.again(self.first, last, 1)
        aim.effort *= 1 if self.small else rng.choice(EFFORTS)
        aim.seed, aim.way = rng.randrange(1 << 16), rng.choice(WAYS) * DAY
        aim.at = self.drawn(last)
        aim.keyless = rng.random() < (KEYLESS_SHARE if self.small else KEYLESS_SHARE_LARGER)
        return aim

    def leg_by_leg(self) -> Aim:
        """Whether some slot is possible, the early ones sooner, most often the last of a day's lift."""
        rng = self.random
        aim = self.again(self.first, self._early(self._some_open()), 1)
        aim.seed, aim.by_legs, aim.keyless = rng.randrange(1 << 16), True, rng.random() < KEYLESS_SHARE_LEGS
        return aim

    def _some_open(self) -> Sequence[int]:
        return self.last_of_days() if self.random.random() < LAST_OF_DAY_SHARE else self.open()

    def nearer(self) -> int:
        """A slot for a question of a larger job: about a stride sooner than the plan in hand, or one of the lift's."""
        strides = self.axis.first_from(self.first) < self.axis.first_from(self.ready)
        if strides and self.random.random() < READY_SHARE:
            return self.sooner()
        return self._early(self._some_open())

    def _early(self, slots: Sequence[int]) -> int:
        """One of the slots, the early ones sooner."""
        return slots[int((len(slots) + 1) ** self.random.random()) - 1]

    def drawn(self, last: int) -> list[int]:
        """By item where it starts in the plan in hand, that drawn together to be ready at `last`."""
        base, ready = self.placer.problem.base, self.ready
        share = max(0, ready - last) / max(1, ready - base)
        return [start - round(share * max(0, start - base)) for start in self.around.schedule.starts]

    def _anyhow(self, last: int) -> Aim:
        self._asked[self.first, last] += 1
        return self.again(self.first, last, self._asked[self.first, last])

    def again(self, first: int, last: int, again: int) -> Aim:
        """The question asked again and again, from 1, each with more effort."""
        effort = EFFORT * self.pace * len(self.placer.free)
        return Aim(first, last, again, effort * min(LONGEST, LONGER ** (again - 1)))

    def fared(self, aim: Aim) -> None:
        """Learn from an answer how far to aim next."""
        if aim.at is not None and not aim.cut:
            self.stride *= FARED_ILL if aim.starts is None else FARED_WELL
            self.stride = min(LONGEST_STRIDE, max(1.0, self.stride))
        # Where the bound is low the next is ruled out as easily.
        self._further = 2 * self._further + 1 if aim.nowhere else 0
