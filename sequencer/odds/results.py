"""What many futures of one job say together: the chance of being afloat by each date, nights and money.

A future is one way it may go: weather, hours of work, deliveries. Everything here is worked out from arrays with one
entry a future, so that it can be checked without making any.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sequencer.grid import UTC
from sequencer.planning.plan import Plan

RISKS = ("rain", "cold", "damp", "wind", "hours", "delivery")
"""What may cost days."""

NEVER = -1
"""In place of a launch slot: the future finds no launch within the year."""

A_DAY = 96
"""Slots of a day, where differences of launches are told in days."""


@dataclass(frozen=True)
class Launch:
    """One moment at which some of the futures launch.

    moment: the yard's time, with offset. count: futures that launch then. by: share of all futures (0 to 1) afloat by
    then. nights: on the stands until then. cost: of that stay, in the yard's currency; None where the job has no yard.
    """

    moment: dt.datetime
    count: int
    by: float
    nights: int
    cost: float | None


class Spread(NamedTuple):
    """A number reached or stayed under in 5, 50, 80 and 90 of 100 futures; None where so many find no launch."""

    at5: float | None
    at50: float | None
    at80: float | None
    at90: float | None


NO_SPREAD = Spread(None, None, None, None)


@dataclass(frozen=True)
class Odds:
    """How sure the date is, from `runs` futures of `wanted` (fewer while they are still being made).

    seed: the same seed gives the same odds. planned: the plan's own launch. launches: the moments at which futures
    launch, in time's order; empty where none does. unplanned: share (0 to 1) that finds no launch within the year.
    error: the standard error of the shares, in points of 100, where it is largest.
    mean_nights, mean_cost: over the futures that launch; None where none does (the cost: or where there is no yard).
    nights, cost: their spread. night_cost: what one more night costs. now_cost: the cost of a stay that ended now.
    sets_launch: by task id the share of futures in which it lies on a chain that sets the launch, largest first.
    holds_last: by task id the share in which the launch waited for it last, largest first; their sum may be less than
    1, for a launch may wait for nothing but its own slot, and more than 1 where two let it go together.
    risks: by name (of RISKS) the days the launch would come earlier on average without that risk, largest first;
    only risks this job has. Small numbers may be below zero: weather may also turn out kinder than the plan takes it.
    wet_day_nights, wet_day: nights and money that one more wet day before the launch costs on average.
    weather: where the days come from that nobody has told, a sentence without a full stop.
    """

    runs: int
    wanted: int
    seed: int
    planned: dt.datetime
    launches: tuple[Launch, ...] = ()
    unplanned: float = 0.0
    error: float = 0.0
    mean_nights: float | None = None
    mean_cost: float | None = None
    nights: Spread = NO_SPREAD
    cost: Spread = NO_SPREAD
    night_cost: float | None = None
    now_cost: float | None = None
    sets_launch: Mapping[str, float] = field(default_factory=dict)
    holds_last: Mapping[str, float] = field(default_factory=dict)
    risks: Mapping[str, float] = field(default_factory=dict)
    wet_day_nights: float | None = None
    wet_day: float | None = None
    weather: str = ""

    def by(self, date: dt.datetime | dt.date) -> float:
        """The share of futures (0 to 1) afloat by the end of a local date, or by a moment (yard's time or offset)."""
        share = 0.0
        for launch in self.launches:
            if _after(launch.moment, date):
                break
            share = launch.by
        return share

    @property
    def as_planned(self) -> float:
        """The share of futures (0 to 1) afloat by the plan's own launch."""
        return self.by(self.planned)

    def date_for(self, chance: float) -> dt.datetime | None:
        """The first launch by which at least `chance` (0 to 1) of the futures are afloat; None where never so many."""
        found = self.launch_for(chance)
        return None if found is None else found.moment

    def launch_for(self, chance: float) -> Launch | None:
        """As :meth:`date_for`, with nights and cost."""
        return next((launch for launch in self.launches if launch.by >= chance - 1e-9), None)

    def error_of(self, share: float) -> float:
        """The standard error of a share (0 to 1) of so many futures, in points of 100."""
        return 100 * math.sqrt(max(0.0, share * (1 - share)) / self.runs) if self.runs else 100.0

    def date_range(self, chance: float) -> tuple[dt.datetime | None, dt.datetime | None]:
        """The dates between which :meth:`date_for` would likely end with many more futures (two standard errors)."""
        give = 2 * self.error_of(chance) / 100
        return self.date_for(max(0.0, chance - give)), self.date_for(min(1.0, chance + give))


def _after(moment: dt.datetime, date: dt.datetime | dt.date) -> bool:
    """Whether a moment comes after a moment or after the end of a date."""
    if not isinstance(date, dt.datetime):
        return moment.date() > date
    limit = date.replace(tzinfo=moment.tzinfo) if date.tzinfo is None else date
    return moment.astimezone(UTC) > limit.astimezone(UTC)


@dataclass(frozen=True)
class Tally:
    """What the futures gave, one entry a future.

    launch: shape (futures,), slots on the plan's grid (which may be passed), or NEVER. chain, last: shape
    (futures, tasks), in the job's order: whether a task lies on a chain that sets the launch, and whether the launch
    waited for it last. lost: by risk, launch slots with it less those without, for the futures in which that was
    tried. wetter: launch slots with one more wet day less those without, tried likewise.
    """

    launch: NDArray[np.int64]
    chain: NDArray[np.bool_]
    last: NDArray[np.bool_]
    lost: Mapping[str, Sequence[int]] = field(default_factory=dict)
    wetter: Sequence[int] = ()


def odds_from(plan: Plan, tally: Tally, seed: int, wanted: int) -> Odds:
    """The odds that the futures of `tally` give for `plan`."""
    runs = len(tally.launch)
    afloat = tally.launch[tally.launch != NEVER]
    launches = _launches(plan, afloat, runs)
    yard = plan.job.yard
    wet_nights = float(np.mean(tally.wetter)) / A_DAY if len(tally.wetter) else None
    nights = np.repeat([float(x.nights) for x in launches], [x.count for x in launches])
    costs = np.repeat([x.cost for x in launches], [x.count for x in launches]) if yard is not None else nights[:0]
    spread = [_shared(launches, share) for share in (0.05, 0.5, 0.8, 0.9)]
    return Odds(
        runs=runs,
        wanted=wanted,
        seed=seed,
        planned=plan.launched,
        launches=launches,
        unplanned=(runs - len(afloat)) / runs if runs else 0.0,
        error=max((100 * math.sqrt(x.by * (1 - x.by) / runs) for x in launches), default=0.0),
        mean_nights=float(nights.mean()) if len(nights) else None,
        mean_cost=float(costs.astype(float).mean()) if len(costs) else None,
        nights=Spread(*(None if x is None else x.nights for x in spread)),
        cost=Spread(*(None if x is None else x.cost for x in spread)),
        night_cost=None if yard is None else yard.night,
        now_cost=plan.cost_of(plan.nights_until(plan.now)),
        sets_launch=_shares(plan, tally.chain),
        holds_last=_shares(plan, tally.last),
        risks=_ranked({name: float(np.mean(slots)) / A_DAY for name, slots in tally.lost.items() if len(slots)}),
        wet_day_nights=wet_nights,
        wet_day=None if wet_nights is None or yard is None else wet_nights * yard.night,
    )


def _launches(plan: Plan, afloat: NDArray[np.int64], runs: int) -> tuple[Launch, ...]:
    slots, counts = np.unique(afloat, return_counts=True)
    by = np.cumsum(counts) / max(1, runs)
    told = []
    for slot, count, share in zip(slots.tolist(), counts.tolist(), by.tolist(), strict=True):
        nights = plan.nights_until(slot)
        told.append(Launch(plan.moment(slot), count, share, nights, plan.cost_of(nights)))
    return tuple(told)


def _shared(launches: tuple[Launch, ...], share: float) -> Launch | None:
    return next((launch for launch in launches if launch.by >= share - 1e-9), None)


def _shares(plan: Plan, marks: NDArray[np.bool_]) -> dict[str, float]:
    """By task id, largest first, the share of futures that mark it; those never marked are left out."""
    if not len(marks):
        return {}
    shares = marks.mean(axis=0).tolist()
    return _ranked({task.id: share for task, share in zip(plan.job.task, shares, strict=True) if share > 0})


def _ranked(named: dict[str, float]) -> dict[str, float]:
    return dict(sorted(named.items(), key=lambda pair: -pair[1]))
