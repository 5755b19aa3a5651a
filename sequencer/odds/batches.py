"""Futures by the batch: made together, lived through one by one, the same whoever makes them.

Every future has a seed of its own, a child of the run's seed, so that it does not matter which process makes it nor
how many others there are. Batches are always of the same futures.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sequencer.errors import one_line
from sequencer.job import Job
from sequencer.job.nearby import past_path
from sequencer.odds.chances import Chances
from sequencer.odds.future import FutureTables
from sequencer.odds.ground import SPARE_DAYS, Given, Ground, long_days, short_days
from sequencer.odds.living import Life, chain, live
from sequencer.odds.results import NEVER
from sequencer.odds.skies import Weathering, rained_off, without
from sequencer.planning.tables import Tables
from sequencer.weather.climate import Climate, Normals
from sequencer.weather.climate_years import PastYears
from sequencer.weather.formats import read_weather
from sequencer.weather.hourly import Air

BATCH = 20
"""Futures made together."""

TRIED_EACH = 16
"""Of so many futures one is lived through again without each risk, and with one more wet day."""

AIR_RISKS = ("rain", "cold", "damp", "wind")


@dataclass
class Batch:
    """What a batch of futures gave; see :class:`sequencer.odds.results.Tally`. maker: the process that made it."""

    launch: NDArray[np.int64]
    chain: NDArray[np.bool_]
    last: NDArray[np.bool_]
    lost: dict[str, list[int]] = field(default_factory=dict)
    wetter: list[int] = field(default_factory=list)
    maker: int = field(default_factory=os.getpid)


class Field:
    """Futures on one grid of `days` local days, their weather from `climate` (None: as the plan takes it)."""

    def __init__(self, given: Given, days: int, climate: Climate | None, known: Tables | None = None) -> None:
        self.ground = Ground(given, days, known)
        self.chances = Chances(self.ground)
        self.weathering = Weathering(self.ground, climate)


def climate_of(job: Job) -> Climate | None:
    """The climate of the job's place: past years where it names them, else its normals; None where it tells of none.

    Raises JobError where the file of past years has faults.
    """
    if job.weather.past is not None:
        return PastYears(read_weather(past_path(job)).rows, job.job.timezone)
    return Normals(job.weather.normal) if job.weather.normal else None


def climate_words(job: Job, climate: Climate | None) -> str:
    """Where the days come from that nobody has told, a sentence without a full stop."""
    if isinstance(climate, PastYears):
        name = one_line(job.weather.past or "past years", 40)
        return f"Past the forecast, days are drawn from {name}: {climate.words}"
    if isinstance(climate, Normals):
        return "Past the forecast, the weather is drawn from the job's usual months"
    return "The job tells neither of usual months nor of past years: the weather is as the plan takes it"


class Batches:
    """Makes batches of the futures of a job.

    known: compiled tables to take over where they hold. tried_each: of so many futures one is tried without each risk;
    0 for none. climate: in place of the job's own.
    """

    def __init__(
        self,
        given: Given,
        seed: int,
        runs: int,
        known: Tables | None = None,
        tried_each: int = TRIED_EACH,
        climate: Climate | None = None,
    ) -> None:
        self.given, self.seed, self.runs, self.tried_each = given, seed, runs, tried_each
        self.climate = climate if climate is not None else climate_of(given.job)
        self.near = Field(given, short_days(given), self.climate, known)
        self._farther: dict[int, Field] = {}
        self._trusted = {os.getpid()}

    @property
    def count(self) -> int:
        """How many batches there are."""
        return -(-self.runs // BATCH)

    def farther(self, days: int) -> Field:
        """The futures on a longer grid of `days` local days."""
        if days not in self._farther:
            self._farther[days] = Field(self.given, days, self.climate)
        return self._farther[days]

    @cached_property
    def risks(self) -> list[str]:
        """The risks this job has."""
        tasks = self.given.job.task
        found = list(AIR_RISKS) if self.near.weathering.climate is not None else []
        if not any(task.needs.max_wind is not None for task in tasks) and "wind" in found:
            found.remove("wind")
        if self.near.chances.uncertain_hours:
            found.append("hours")
        if self.near.chances.uncertain_deliveries:
            found.append("delivery")
        return found

    def make(self, number: int) -> Batch:
        """Batch `number` of :attr:`count`."""
        futures = range(number * BATCH, min((number + 1) * BATCH, self.runs))
        tasks = len(self.given.job.task)
        batch = Batch(
            np.full(len(futures), NEVER, dtype=np.int64),
            np.zeros((len(futures), tasks), dtype=bool),
            np.zeros((len(futures), tasks), dtype=bool),
        )
        skies = self.near.weathering.skies([self._rng(f, 0) for f in futures])
        for k, future in enumerate(futures):
            life = self._life(future, skies.air(k))
            batch.launch[k] = life.launch
            on_chain, last = chain(life)
            batch.chain[k, sorted(on_chain)] = True
            batch.last[k, sorted(last)] = True
            if self.tried_each and future % self.tried_each == 0:
                self._try(batch, future, life)
        return batch

    def agrees(self, number: int, batch: Batch) -> bool:
        """Whether the first batch of another process is as this one would have made it, by its first future.

        Other processes read the program anew, and it may have been replaced since this one started.
        """
        if batch.maker not in self._trusted:
            future = number * BATCH
            life = self._life(future, self.near.weathering.skies([self._rng(future, 0)]).air(0))
            on_chain, last = chain(life)
            same = life.launch == batch.launch[0]
            same = same and on_chain == set(np.flatnonzero(batch.chain[0]).tolist())
            if not same or last != set(np.flatnonzero(batch.last[0]).tolist()):
                return False
            self._trusted.add(batch.maker)
        return True

    def _rng(self, future: int, part: int) -> np.random.Generator:
        """The generator of one future for its weather (0), for hours and deliveries (1), or for tries (2)."""
        return np.random.default_rng(np.random.SeedSequence(self.seed, spawn_key=(future, part)))

    def _drawn(self, field: Field, future: int) -> tuple[NDArray[np.int64], dict[str, int]]:
        rng = self._rng(future, 1)
        work = field.chances.work(rng)
        return work, field.chances.deliveries(rng)

    def _life(self, future: int, air: Air) -> Life:
        """A future on the near grid, or, where that is too short for it, on longer ones up to a year."""
        field, longest = self.near, long_days(self.given)
        life = live(field.ground, air, *self._drawn(field, future))
        days = field.ground.grid.days
        while days < longest and too_late(field.ground, life.launch):
            days = min(longest, 2 * days)
            field = self.farther(days)
            again = field.weathering.skies([self._rng(future, 0)]).air(0)
            life = live(field.ground, again, *self._drawn(field, future))
        return life

    def _try(self, batch: Batch, future: int, life: Life) -> None:
        """The same future by the same order, without each risk, and with a day of its own more rained off."""
        ground, chances = self.near.ground, self.near.chances
        tables = life.placer.problem.tables
        if life.launch == NEVER or not isinstance(tables, FutureTables) or tables.grid is not ground.grid:
            return
        work, due = self._drawn(self.near, future)
        for risk in self.risks:
            kinder = without(risk, tables.outside, ground.expected) if risk in AIR_RISKS else tables.outside
            hours = chances.likely_work if risk == "hours" else work
            came = chances.due if risk == "delivery" else due
            other = live(ground, kinder, hours, came, tables, life.order).launch
            if other != NEVER:
                batch.lost.setdefault(risk, []).append(life.launch - other)
        span = self._dry_day(future, tables.outside, life.launch)
        if span is not None:
            other = live(ground, rained_off(tables.outside, *span), work, due, tables, life.order).launch
            if other != NEVER:
                batch.wetter.append(other - life.launch)

    def _dry_day(self, future: int, air: Air, launch: int) -> tuple[int, int] | None:
        """A day without rain between now and the launch, drawn at random, as slots; None where there is none."""
        grid, base = self.near.ground.grid, self.near.ground.base
        spans = [
            (max(base, grid.day_start(day)), grid.day_start(day + 1))
            for day in range(max(0, grid.day_of(base)), grid.day_of(launch) + 1)
        ]
        dry = [(begin, end) for begin, end in spans if begin < end and not air.rain[begin:end].any()]
        return dry[int(self._rng(future, 2).integers(len(dry)))] if dry else None


def too_late(ground: Ground, launch: int) -> bool:
    """Whether a launch lies so near the end of the grid that it may have lost starts to it."""
    return launch == NEVER or launch > ground.length - SPARE_DAYS * 96
