"""The odds of a job told while they come in: batches of futures on all cores, with progress and a way to stop."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace

import numpy as np

from sequencer.job import Job
from sequencer.odds.batches import BATCH, Batch, Batches, climate_words
from sequencer.odds.ground import Given
from sequencer.odds.results import Odds, Tally, odds_from
from sequencer.odds.workers import Workers
from sequencer.planning.plan import Plan

PROGRESS_SECONDS = 0.3
"""How often growing odds are handed on."""

WORTH_HELP_SECONDS = 2.0
"""Work left above which other processes are worth their start."""

TASK_SECONDS = 0.0002
"""What a task of a future takes, about; so that helpers are started before the first batch has told."""


def never() -> bool:
    """A stop that lets all futures be made."""
    return False


def tell_odds(
    job: Job,
    plan: Plan,
    runs: int = 1000,
    seed: int = 1,
    stop: Callable[[], bool] = never,
    progress: Callable[[Odds], None] | None = None,
    cores: int | None = None,
) -> Odds:
    """How sure the launch of `plan`, a plan of `job`, is: `runs` futures, each lived through from the plan's now on.

    What varies: the weather past what is told (and what is told, the farther ahead the more) as the job's normals
    have it, hours of work between low and high, deliveries between earliest and latest. What the owner knows when:
    :mod:`sequencer.odds.living`. The same seed gives the same odds on any number of cores.

    stop is polled a few times a second; a true ends it with the futures made by then. progress gets growing odds
    about every 0.3 s. cores: processes to use, this one among them (None: all the machine has). Raises JobError where
    the weather file has faults.
    """
    given = Given.of(job, plan)
    batches = Batches(given, seed, max(0, runs), plan.problem.tables)
    done: dict[int, Batch] = {}
    words = climate_words(job, batches.climate)
    shown = time.monotonic()
    with Workers(given, seed, batches.runs, batches.climate, cores) as workers:
        for number, batch in _made(batches, workers, stop):
            done[number] = batch
            if progress is not None and time.monotonic() - shown >= PROGRESS_SECONDS:
                progress(replace(_told(plan, done, seed, batches.runs), weather=words))
                shown = time.monotonic()
    return replace(_told(plan, done, seed, batches.runs), weather=words)


def _made(batches: Batches, workers: Workers, stop: Callable[[], bool]) -> Iterator[tuple[int, Batch]]:
    """All batches as they come, from the front by this process, from the back by helpers once they are worth it."""
    waiting = list(range(batches.count))
    took = BATCH * len(batches.given.job.task) * TASK_SECONDS
    while waiting or workers.busy:
        if stop():
            return
        if took * len(waiting) > WORTH_HELP_SECONDS:
            workers.start()
        while waiting and workers.want_more and len(waiting) > 1:
            workers.give(waiting.pop())
        for number, batch in workers.ready():
            if batches.agrees(number, batch):
                yield number, batch
            else:
                workers.dismiss()
                waiting.append(number)
        if waiting:
            began = time.monotonic()
            number = waiting.pop(0)
            with without_collecting():
                batch = batches.make(number)
            yield number, batch
            took = time.monotonic() - began
        else:
            waiting += workers.wait()


@contextmanager
def without_collecting() -> Iterator[None]:
    """Python's search for cycles put off: futures leave none behind, and it would take a tenth of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _told(plan: Plan, done: dict[int, Batch], seed: int, wanted: int) -> Odds:
    """The odds of the batches done, in their order."""
    batches = [done[number] for number in sorted(done)]
    tasks = len(plan.job.task)
    names = dict.fromkeys(name for batch in batches for name in batch.lost)
    tally = Tally(
        launch=np.concatenate([np.zeros(0, dtype=np.int64), *(batch.launch for batch in batches)]),
        chain=np.concatenate([np.zeros((0, tasks), dtype=bool), *(batch.chain for batch in batches)]),
        last=np.concatenate([np.zeros((0, tasks), dtype=bool), *(batch.last for batch in batches)]),
        lost={name: [x for batch in batches for x in batch.lost.get(name, [])] for name in names},
        wetter=[x for batch in batches for x in batch.wetter],
    )
    return odds_from(plan, tally, seed, wanted)
