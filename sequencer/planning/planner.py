"""The planner: from a job to the earliest launch, with bound, slack and reasons.

A plan at once (simple orders), then better ones (changes to the order, holds, keyings; no hands left idle), the bounds
of people's hours and of their phases beside them, then turns of a general solver, where it is installed, on the whole
job, leg by leg and near the best plan, and of the search, until the launch is proved; last, among plans with that
launch, fewest missed windows, then earlier starts. Seeded, and counted in placings and steps, not seconds, wherever the
clock need not stop it: the same job and seed give the same plan, or the plan says that the clock stopped it.
"""

from __future__ import annotations

import datetime as dt
import time
from bisect import bisect_left
from collections.abc import Callable, Mapping

from sequencer.job import Job
from sequencer.planning import pace, proof
from sequencer.planning.aiming import Aiming
from sequencer.planning.filling import Filling
from sequencer.planning.grain import launches
from sequencer.planning.hours import hours_bound
from sequencer.planning.near import Near
from sequencer.planning.orders import Found, worth
from sequencer.planning.phases import phase_bound
from sequencer.planning.placing import Placer
from sequencer.planning.plan import Plan
from sequencer.planning.preparing import HORIZONS, MARGIN, Progress, prepare
from sequencer.planning.rows import build_plan
from sequencer.planning.search import Search

__all__ = ["HORIZONS", "MARGIN", "Planner", "Progress", "Stop", "never_stop", "plan_job", "prepare"]

Stop = Callable[[], bool]


def never_stop() -> bool:
    """A stop that lets the search run its time."""
    return False


def plan_job(
    job: Job,
    now: dt.datetime | None = None,
    seconds: float = 5.0,
    stop: Stop = never_stop,
    progress: Progress | None = None,
    clock: dt.datetime | None = None,
    seed: int = 1,
    prove: bool = True,
    like: Plan | None = None,
) -> Plan:
    """Plan `job` from `now` (else the job's own, else the later of the haul-out and `clock`).

    seconds bounds the search; it ends earlier when the launch is proved. stop is polled often, a true ends the
    search with the best plan so far. progress gets every better plan as it comes, the first at once, perhaps from
    another thread. prove: whether to ask the solver. like: a plan of much the same job, whose compiled tables are
    used again where they still hold and whose order gives the first plan. Raises JobError (weather file, log) or
    NoPlanError.
    """
    began = time.monotonic()
    placer, search = prepare(job, now, clock, seed, like, progress)
    return Planner(placer, search, began + max(0.0, seconds), stop, progress, like).run(prove)


class Planner:
    """One run of the search on a prepared problem."""

    def __init__(
        self,
        placer: Placer,
        search: Search,
        deadline: float,
        stop: Stop,
        progress: Progress | None,
        like: Plan | None = None,
    ) -> None:
        assert search.best is not None
        assert search.earliest is not None
        self.placer = placer
        self.search = search
        self.earliest, self.earliest_ends = search.earliest
        self.finish = placer.problem.finish
        self.items = len(placer.problem.items)
        self.began = time.monotonic()
        self.deadline = deadline
        self.launches = launches(placer)
        self.stop = stop
        self.progress = progress
        self.bound = self.earliest[self.finish]
        self.near = Near(placer, search.laid, self.earliest)
        self.aiming = Aiming(placer, self.earliest, search.best)
        self.larger = self.items > pace.AIMED_FIRST_UP_TO
        self.filling = Filling(placer, self.launches, self.larger)
        self.hurried = False
        """Whether the clock cut short what settles the ties of a proved launch."""
        shown = search.followed
        self.warm = search.follow(like) if like is not None else None
        first = self.warm if self.warm is not None and self.warm.score < search.best.score else search.best
        if shown is None or first is not shown:
            self.show(first)

    def plan(self, found: Found, final: bool = False) -> Plan:
        """The plan of what was found, with the bound known by now."""
        return build_plan(
            self.placer, found.schedule, self.bound, time.monotonic() - self.began, final, final and self.hurried
        )

    def raise_bound(self, slot: int) -> None:
        """No plan launches before `slot`, nor then before the next start that the finish itself could have.

        Its lift slots, shifts and weather are in its feasible starts. Never past the best launch.
        """
        finish = self.placer.problem.items[self.finish]
        if finish.fixed is None:
            at = bisect_left(self.launches, slot)
            slot = self.launches[at] if at < len(self.launches) else self.best.score[0]
        self.bound = max(self.bound, min(slot, self.best.score[0]))

    def show(self, found: Found) -> None:
        """Hand a better plan on."""
        if self.progress is not None:
            self.progress(self.plan(found))

    def over(self) -> bool:
        """Whether to stop now."""
        return self.stop() or time.monotonic() >= self.deadline

    @property
    def best(self) -> Found:
        """The best found so far."""
        assert self.search.best is not None
        return self.search.best

    @property
    def open(self) -> bool:
        """Whether something earlier is still possible, and there is time to look."""
        return self.best.score[0] > self.bound and not self.over()

    def run(self, prove: bool) -> Plan:
        """Search, prove, settle the ties."""
        prove = prove and proof.available() and self.solvable
        if not self.over():
            self.search.first(self.over)
        if self.open:
            self.raise_bound(hours_bound(self.placer, self.earliest, self.earliest_ends, self.best.score[0], self.over))
        if self.open:
            self.raise_bound(
                phase_bound(self.placer, self.earliest, self.launches, self.bound, self.best.score[0], self.over)
            )
        self.improve(1)
        self.fill()
        own = self.best
        if self.warm is not None and self.warm.score < own.score:
            self.search.best = self.warm
        idle = 0
        while self.open:
            known = self.best.score[0]
            if prove:
                for turn, seconds in self.turns():
                    turn(seconds * 2**idle)
            self.improve(2 * 2**idle if prove else 20)
            self.fill()
            # Longer only where there is nothing to be had more cheaply.
            idle += self.best.score[0] == known
        if self.best.score[0] <= self.bound:
            if not self.over():
                self.settle(own, prove)
            self.hurried |= self.over()
        return self.plan(self.best, True)

    def turns(self) -> list[tuple[Callable[[float], None], float]]:
        """The solver's turns in a round and their seconds in the first one; first what soonest helps at this size."""
        prove = self.prove, pace.FIRST_PROOF_SECONDS
        near = self.look_near, pace.NEAR_LARGER_SECONDS if self.larger else pace.NEAR_SECONDS
        aim = (self.aim, pace.AIM_SECONDS * self.items)
        if not self.placer.peopled:
            # Where gear alone holds work up, several searches of the whole job side by side do as well as looks.
            aim = self.aim, pace.GEAR_AIM_LARGER_SECONDS if self.larger else pace.GEAR_AIM_SECONDS
            again = self.prove, pace.GEAR_PROOF_SECONDS
            return [prove, aim, again, (self.look_near, pace.GEAR_NEAR_SECONDS)]
        if self.items <= pace.PROVED_FIRST_UP_TO:
            return [prove, aim, near]
        if self.larger:
            return [aim, near, prove] if self.aiming.aims.legs else [near, aim, prove]
        return [aim, prove, near]

    def improve(self, turns: int) -> None:
        """A fixed count of tries of the planner's own search."""
        if self.open:
            self.search.improve(turns * (pace.TRIED_ITEMS // self.items + 10), self.over, self.bound, self.show)

    def fill(self) -> None:
        """Attempts at a plan with no hands left idle, again while they help; none where no work needs hands, where all
        is soon known otherwise, or where the job is too large."""
        if not pace.PROVED_FIRST_UP_TO < self.items <= pace.FILLED_UP_TO or not self.placer.peopled:
            return
        most = pace.FILLED_LARGER if self.larger else pace.FILLED
        in_vain = 0
        while self.open and in_vain < most:
            known = worth(self.placer, self.in_hand)
            found = self.filling.attempt(self.bound, self.in_hand, self.over)
            if found is not None:
                self.possible(*found)
            in_vain = in_vain + 1 if worth(self.placer, self.in_hand) == known else 0

    @property
    def solvable(self) -> bool:
        """Whether the job is small enough for the solver."""
        return self.items <= pace.SOLVED_UP_TO

    def prove(self, seconds: float) -> None:
        """Ask the solver for an earlier launch or the proof that there is none, for so long at most."""
        if not self.open:
            return
        left = min(seconds, self.deadline - time.monotonic())
        outcome = proof.prove(
            self.placer, self.best.schedule.starts, self.earliest, self.bound, left, self.stop, self.take
        )
        self.raise_bound(outcome.bound)

    def aim(self, seconds: float) -> None:
        """Ask whether there is any plan by this slot or that, again while the answers help."""
        helped = True
        while self.open and helped:
            left = min(seconds, self.deadline - time.monotonic())
            helped = self.aiming.ask(self.bound, self.in_hand, left, self.stop, self.possible, self.ruled_out)
            # Far from the bound it rises for long while she launches no sooner.
            helped &= self.placer.peopled or self.aiming.aims.close

    @property
    def in_hand(self) -> Found:
        """The best plan; of those with its launch the one looked round last."""
        near = self.near.around
        return near if near is not None and near.score[0] == self.best.score[0] else self.best

    def possible(self, starts: list[int], keys: Mapping[tuple[int, int], int]) -> Found:
        """A plan that a question found; the one in hand by then."""
        known = self.best
        found = self.search.laid(starts, keys)
        if found is not None:
            self.near.offer(found)
            self.near.offer(self.search.justified(found))
        if self.best is not known:
            self.show(self.best)
        return self.in_hand

    def ruled_out(self, slot: int) -> int:
        """No plan launches before `slot`; the bound by then."""
        self.raise_bound(slot)
        return self.bound

    def look_near(self, seconds: float) -> None:
        """Look near the best plan for so long at most."""
        if self.open:
            left = min(seconds, self.deadline - time.monotonic())
            self.near.look(self.best, self.floor(), left, self.stop, lambda: self.show(self.best))

    def floor(self) -> list[int]:
        """Earliest starts, that of the finish at the bound."""
        return [max(s, self.bound) if i == self.finish else s for i, s in enumerate(self.earliest)]

    def take(self, starts: list[int], keys: Mapping[tuple[int, int], int]) -> None:
        """A better plan from the solver."""
        found = self.search.take(starts, keys)
        if found is not None:
            self.show(found)

    def repeatable(self, launch: int, stop: Stop) -> None:
        """Better the best plan to `launch` and to few missed windows by answers that don't depend on the clock."""
        if self.best.score[0] > launch:
            found = self.aiming.settled(launch, pace.SETTLE_EFFORT, stop)
            if found is not None and found.starts is not None:
                self.search.take(found.starts, found.keys)
        if self.best.score[0] == launch and self.best.score[1]:
            fewer = proof.fewer_windows(self.placer, self.best.schedule.starts, self.earliest, launch, stop)
            if fewer is not None:
                self.search.take(*fewer)

    def settle(self, own: Found, prove: bool) -> None:
        """Among plans with the proved launch: fewest missed windows, then earlier starts.

        It starts from what the planner's own search found before the solver came in, or from a question whose answer
        counts effort and not time, so that the plan does not depend on the machine's speed. Only the deadline cuts it
        short, and then the plan says so.
        """
        search, launch = self.search, self.best.score[0]
        fallback = self.best
        search.best = own
        search.reseed()
        if prove:
            self.repeatable(launch, self.over)
        if self.best.score[0] > launch:
            # How the launch was come to depends on the clock, and so does this plan of it.
            search.best = fallback
            self.hurried = True
        search.polish(pace.POLISHED_ITEMS // self.items + 10, self.over)
