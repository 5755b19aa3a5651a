"""Whoever makes the futures, and whatever becomes of the files meanwhile, the same seed gives the same odds."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from odds_jobs import HAUL_OUT, haul_out, planned

from sequencer.job import Job, read_job
from sequencer.odds import tell_odds, telling, workers
from sequencer.odds.batches import Batch, Batches
from sequencer.odds.ground import Given

HOURS = "time,temp_c,humidity,rain_mm,wind_kn\n"


def hourly(temp: float, rain: float) -> str:
    """Ten days of the same weather from the haul-out on."""
    lines = (f"2027-04-{12 + k // 24:02}T{k % 24:02}:00,{temp},60,{rain},5\n" for k in range(240))
    return HOURS + "".join(lines)


def job_with_files(folder: Path) -> Job:
    """A haul-out whose weather is a file, and past it another file of past years."""
    (folder / "april.csv").write_text(hourly(14, 0), "utf-8")
    past = "".join(
        f"2024-{month:02}-{1 + k // 24:02}T{k % 24:02}:00,{10 + month},70,{int(k % 50 < 6)},8\n"
        for month in (4, 5, 6)
        for k in range(720)
    )
    (folder / "past.csv").write_text(HOURS + past, "utf-8")
    text = HAUL_OUT.format(
        weather='[weather]\nfile = "april.csv"\npast = "past.csv"',
        grind="[5, 7, 14]",
        range='range = ["2027-04-14", "2027-04-28"]',
    )
    (folder / "job.toml").write_text(text, "utf-8")
    return read_job(folder / "job.toml")


def same(one: Batch, other: Batch) -> bool:
    return (
        np.array_equal(one.launch, other.launch)
        and np.array_equal(one.chain, other.chain)
        and np.array_equal(one.last, other.last)
        and (one.lost, one.wetter) == (other.lost, other.wetter)
    )


def test_another_process_needs_no_file_of_the_job(tmp_path: Path) -> None:
    """What a helper is handed is enough, on longer grids too; the files may be gone or others by then."""
    job = job_with_files(tmp_path)
    plan = planned(job)
    here = Batches(Given.of(job, plan), 3, 40, plan.problem.tables)
    handed = pickle.dumps((here.given, here.climate))
    wanted = [here.make(number) for number in range(here.count)]
    farther = here.farther(120).weathering.skies([here._rng(5, 0)])
    (tmp_path / "april.csv").write_text(hourly(2, 5), "utf-8")
    (tmp_path / "past.csv").unlink()
    given, climate = pickle.loads(handed)
    there = Batches(given, 3, 40, climate=climate)
    assert all(same(there.make(number), batch) for number, batch in enumerate(wanted))
    again = there.farther(120).weathering.skies([there._rng(5, 0)])
    assert np.array_equal(again.rain, farther.rain)
    assert all(np.array_equal(a, b, equal_nan=True) for a, b in zip(again.columns, farther.columns, strict=True))


def test_a_file_changed_since_the_plan_counts_for_all_futures_alike(tmp_path: Path) -> None:
    """The plan's own tables are not taken over then, though they would be at hand."""
    job = job_with_files(tmp_path)
    plan = planned(job)
    (tmp_path / "april.csv").write_text(hourly(9, 0), "utf-8")
    given = Given.of(job, plan)
    here, there = Batches(given, 3, 20, plan.problem.tables), Batches(given, 3, 20)
    assert float(here.near.ground.expected.temp_c[here.near.ground.base]) == 9
    assert same(here.make(0), there.make(0))


class Pool:
    """Stands in for other processes. make: what they answer."""

    make: Callable[[int], Batch]

    def __init__(self, *_: Any) -> None:
        self.given: list[int] = []

    def submit(self, _: object, number: int) -> Future[Batch]:
        """Done at once."""
        self.given.append(number)
        future: Future[Batch] = Future()
        future.set_result(type(self).make(number))
        return future

    def shutdown(self, **_: object) -> None:
        """Nothing runs."""


@pytest.mark.parametrize("other", [False, True])
def test_a_helper_that_makes_other_futures_is_found_out(monkeypatch: pytest.MonkeyPatch, other: bool) -> None:
    """Helpers read the program anew; where it was replaced meanwhile, what they made counts for nothing."""
    job = haul_out()
    plan = planned(job)
    there = Batches(Given.of(job, plan), 4, 90)
    used: list[int] = []

    def make(number: int) -> Batch:
        batch = there.make(number)
        batch.maker = -7
        batch.launch = batch.launch + 96 * other
        used.append(number)
        return batch

    alone = tell_odds(job, plan, runs=90, seed=4, cores=1)
    monkeypatch.setattr(telling, "WORTH_HELP_SECONDS", 0.0)
    monkeypatch.setattr(workers, "ProcessPoolExecutor", type("Made", (Pool,), {"make": staticmethod(make)}))
    assert tell_odds(job, plan, runs=90, seed=4, cores=2) == alone
    assert len(used) == workers.IN_HAND if other else len(used) > 1
