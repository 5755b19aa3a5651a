"""A lever: one help that might buy a night, as a change of the job; and what came of trying it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from sequencer.job.writing import Change, Several
from sequencer.planning.plan import Plan, hours

KINDS = (
    "cover",
    "heat",
    "day",
    "weekends",
    "longer",
    "coats",
    "gear",
    "material",
    "delivery",
    "lift",
    "indoors",
)
"""A tent; heat; somebody on a named day; every weekend; longer days; two coats on one day; a second of its gear;
a quicker material; an earlier delivery; another day of the lift's; indoor work begun earlier."""


@dataclass(frozen=True)
class Lever:
    """One help. Accepting it is applying `change` to the job.

    id: stable, ``cover:drive-bay``. kind: of KINDS. name: plain words for a list. against: what it helps against,
    as a word after "not for". causes: which causes of a wait (contract §7) it can shorten. about: ids of the zone,
    gear, delivery, material or tasks it is about. days: who would be there when he is not now. price: in the yard's
    currency; 0 where there is nothing to pay, None where nobody has said. mind: what to make sure of before it is
    accepted, without a full stop; often empty.
    """

    id: str
    kind: str
    name: str
    change: Change
    against: str
    causes: frozenset[str]
    about: frozenset[str] = frozenset()
    days: frozenset[tuple[str, dt.date]] = frozenset()
    price: float | None = None
    mind: str = ""


@dataclass(frozen=True)
class Tried:
    """One lever, or two together, and the plan it gave.

    before, plan: the best plan known without it, and with it. reason: one sentence without a full stop.
    late, before_late: the moment by which 8 in 10 futures are afloat with it and without; None where not asked.
    """

    levers: tuple[Lever, ...]
    before: Plan
    plan: Plan
    reason: str = ""
    late: dt.datetime | None = None
    before_late: dt.datetime | None = None

    @property
    def id(self) -> str:
        """The ids of its levers, with a plus between."""
        return "+".join(lever.id for lever in self.levers)

    @property
    def name(self) -> str:
        """``tent over the drive bay, and Wil on Mon 19``."""
        return ", and ".join(lever.name for lever in self.levers)

    @property
    def change(self) -> Change:
        """What accepting it does to the job, undone as one."""
        changes = tuple(lever.change for lever in self.levers)
        return changes[0] if len(changes) == 1 else Several(changes)

    @property
    def mind(self) -> str:
        """What to make sure of first; empty where nothing."""
        return "; ".join(dict.fromkeys(lever.mind for lever in self.levers if lever.mind))

    @property
    def launch(self) -> dt.datetime:
        """The launch with it."""
        return self.plan.launched

    @property
    def nights(self) -> int:
        """Nights saved, by the best plans found with it and without; below zero where it costs nights."""
        return self.before.nights - self.plan.nights

    @property
    def certain(self) -> int:
        """Nights saved for certain: its plan is real, and without it nothing launches before the bound."""
        least = self.before.nights_until(self.before.bound) - self.plan.nights
        return self.nights if self.before.proved else max(0, min(self.nights, least))

    @property
    def most(self) -> int:
        """Nights it may save, if a plan be found as early as is not ruled out; `nights` where its launch is proved."""
        return self.before.nights - self.plan.nights_until(self.plan.bound)

    @property
    def nights_words(self) -> str:
        """``2``; ``2+`` where more is not ruled out, ``2?`` where it is not certain."""
        if self.certain < self.nights:
            return f"{self.nights}?"
        return f"{self.nights}+" if self.most > self.nights else str(self.nights)

    @property
    def sooner(self) -> float:
        """Hours the launch comes sooner."""
        return hours(self.before.launch - self.plan.launch)

    @property
    def late_nights(self) -> int | None:
        """Nights saved at 8 in 10; None where the odds were not asked."""
        if self.late is None or self.before_late is None:
            return None
        return (self.before_late.date() - self.late.date()).days

    @property
    def saved(self) -> float | None:
        """Money saved at the yard's rate; None without a yard."""
        if self.before.cost is None or self.plan.cost is None:
            return None
        return self.before.cost - self.plan.cost

    @property
    def price(self) -> float | None:
        """What its levers cost together; None where one's price is not known."""
        prices = [lever.price for lever in self.levers if lever.price is not None]
        return sum(prices) if len(prices) == len(self.levers) else None

    @property
    def kept(self) -> float | None:
        """Money saved less the price; None where either is not known."""
        return None if self.saved is None or self.price is None else self.saved - self.price

    def bare(self) -> Tried:
        """The same with a plan that has its launch, its bound and its cost, and none of its rows: light to keep."""
        problem = self.plan.problem
        problem = replace(problem, tables=problem.tables.bare(), items=[], order=[], followers=[])
        return replace(self, plan=replace(self.plan, problem=problem, rows={}, steps=()))


def rank_key(tried: Tried) -> tuple[int, float, int, int, int, str]:
    """Ranked by what is kept, then nights; then what saves nights at a price not known; last what saves nothing."""
    known = tried.nights > 0 and tried.kept is not None and tried.kept > 0
    group = 0 if known else 1 if tried.nights > 0 and tried.kept is None else 2 if tried.nights > 0 else 3
    kept = tried.kept if tried.kept is not None and tried.nights > 0 else 0.0
    return group, -kept, -tried.nights, len(tried.levers), tried.plan.launch, tried.id


@dataclass(frozen=True)
class Trials:
    """All that was tried, ranked. before: the best plan known of the job as it is. left: what time was too short for.

    refused: levers that gave no plan at all, each with the sentence that says why. paired: how many pairs were tried;
    in `tried` are those that save more than either alone. unpriced: the same before the owner told prices, None where
    he told none.
    """

    before: Plan
    tried: tuple[Tried, ...]
    left: tuple[Lever, ...] = ()
    refused: tuple[tuple[Lever, str], ...] = ()
    paired: int = 0
    unpriced: Trials | None = field(default=None, repr=False, compare=False)

    @cached_property
    def gains(self) -> tuple[Tried, ...]:
        """Those that save nights."""
        return tuple(t for t in self.tried if t.nights > 0)

    def bare(self) -> Trials:
        """The same with bare plans: see :meth:`Tried.bare`."""
        unpriced = self.unpriced.bare() if self.unpriced is not None else None
        return replace(self, tried=tuple(t.bare() for t in self.tried), unpriced=unpriced)

    def priced(self, prices: Mapping[str, float | None]) -> Trials:
        """The same with other prices by lever id, ranked anew."""
        tried = [
            replace(t, levers=tuple(replace(v, price=prices.get(v.id, v.price)) for v in t.levers)) for t in self.tried
        ]
        return replace(self, tried=tuple(sorted(tried, key=rank_key)))
