"""How the work grows with the job: 60 to 1000 tasks in up to thirty places over a year, a process each size.

    .venv/bin/python tests/bench/growth.py                  # the table
    .venv/bin/python tests/bench/growth.py --sizes 60 125   # some sizes
    .venv/bin/python tests/bench/growth.py --one 1000 --profile page:t    # where the time of one step goes

Milliseconds of processor time, so that a busy machine tells no lies. The app is driven without a terminal, at 120×40.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import cProfile
import datetime as dt
import json
import math
import pstats
import random
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from pathlib import Path

from textual.pilot import Pilot

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(Path(__file__).parent)]

from random_jobs import ZONES, hand_days, random_job  # noqa: E402
from run import after_a_log, compile_on, days_needed, timed_first  # noqa: E402

from sequencer.checking import check_plan  # noqa: E402
from sequencer.errors import NoPlanError  # noqa: E402
from sequencer.job import parse_job, read_job  # noqa: E402
from sequencer.job.writing import SetField  # noqa: E402
from sequencer.paper.jsonplan import plan_object  # noqa: E402
from sequencer.planning.planner import plan_job, prepare  # noqa: E402
from sequencer.tui.app import SequencerApp  # noqa: E402

SIZES = (60, 125, 250, 500, 1000)
DAYS = 365
FIRST = dt.date(2027, 4, 11)
CLOCK = dt.datetime(2027, 4, 12, 14, 40, tzinfo=dt.UTC)
PAGES = {"s": "Stay", "d": "Day", "c": "Cures", "h": "Holds", "t": "Tasks", "a": "Air", "m": "Moved"}
"""Odds and Levers search by themselves; what they take is in odds.py and levers.py."""


def grown_job(tasks: int, seed: int) -> str:
    """A random job with days by hand for a year and a place for every twenty tasks, four to thirty."""
    rng = random.Random(f"grown {seed} {tasks}")
    weather = hand_days(rng, FIRST, DAYS, mild=16.0)
    weather += "".join(
        f"\n[[weather.normal]]\nmonth = {m}\nlow = {10 + 5 * warm:.1f}\nhigh = {17 + 6 * warm:.1f}\n"
        f"dew = {6 + 5 * warm:.1f}\n"
        for m in range(1, 13)
        for warm in [math.cos((m - 7) * math.pi / 6)]
    )
    text = random_job(seed, tasks, weather=weather)
    more = [f"place-{k}" for k in range(max(0, min(30, tasks // 20) - len(ZONES)))]
    where = [*ZONES, *more]
    text = re.sub(r'(?m)^zone = ".*"$', lambda _: f'zone = "{rng.choice(where)}"', text)
    zones = "".join(f'[[zone]]\nid = "{name}"\nair = "air-{k % 8}"\n\n' for k, name in enumerate(more))
    return text.replace("[[gear]]", f"{zones}[[gear]]", 1)


def a_job(tasks: int) -> str:
    """The first of the random jobs that can be launched within a year."""
    for seed in range(50):
        text = grown_job(tasks, seed)
        with contextlib.suppress(NoPlanError):
            prepare(parse_job(text))
            return text
    raise LookupError(f"no job of {tasks} tasks can be launched within a year")


class Clock:
    """Milliseconds of processor time by step; one step may be profiled."""

    def __init__(self, profiled: str) -> None:
        self.spent: dict[str, float] = {}
        self.profiled = profiled

    @contextmanager
    def step(self, name: str) -> Iterator[None]:
        """Measure what is done inside."""
        profile = cProfile.Profile() if name == self.profiled else None
        began = time.process_time()
        if profile is not None:
            profile.enable()
        yield
        if profile is not None:
            profile.disable()
            pstats.Stats(profile, stream=sys.stderr).sort_stats("cumtime").print_stats(50)
        self.spent[name] = (time.process_time() - began) * 1000


def engine(path: Path, clock: Clock) -> None:
    """Reading, compiling, the first plan, and the plan after one more task is done."""
    with clock.step("read"):
        job = read_job(path)
    days = days_needed(job)
    with clock.step("compile"):
        compile_on(job, days)
    with clock.step("first plan"):
        timed_first(job)
    plan = plan_job(job, seconds=0.0)
    with clock.step("check"):
        findings = check_plan(job, json.loads(json.dumps(plan_object(plan))))
    assert not findings, findings[0]
    later = after_a_log(job, plan)
    with clock.step("replan"):
        timed_first(later, plan)


@asynccontextmanager
async def opened(path: Path, clock: Clock) -> AsyncIterator[tuple[SequencerApp, Pilot[None]]]:
    """The app on the job, its first launch painted, its search over."""
    app = SequencerApp(path, clock=lambda: CLOCK, seconds=0.0, ascii=False)
    with clock.step("open"):
        context = app.run_test(size=(120, 40))
        pilot = await context.__aenter__()
        await until(pilot, lambda: app.model.plan is not None)
    await until(pilot, lambda: not app.model.looking)
    try:
        yield app, pilot
    finally:
        await context.__aexit__(None, None, None)


async def until(pilot: Pilot[None], wanted: Callable[[], bool]) -> None:
    """Wait until something holds and is painted."""
    for _ in range(10_000):
        if wanted():
            break
        await pilot.pause(0.01)
    assert wanted(), "it never came"
    await pilot.pause()


async def screens(path: Path, clock: Clock) -> None:
    """Opening, every page by its key, a step down on it, and a change with its new launch."""
    async with opened(path, clock) as (app, pilot):
        for key, page in PAGES.items():
            with clock.step(f"page:{key}"):
                await pilot.press(key)
                await pilot.pause()
            assert app.current == page
            with clock.step(f"step:{key}"):
                await pilot.press("down")
                await pilot.pause()
        before, job = app.model.plan, app.model.job
        assert before is not None
        assert job is not None
        changed = next(t.id for t in job.task if t.wait is None and t.id != job.job.finish)
        with clock.step("edit"):
            app.change(SetField("task", changed, "work", 2.25), changed)
            await until(pilot, lambda: app.model.plan is not before)
        assert app.model.job is not None
        assert app.model.job.tasks[changed].hours == 2.25
        await until(pilot, lambda: not app.model.looking)


def one_size(tasks: int, profiled: str) -> None:
    """Measure one size and print its figures as JSON."""
    clock = Clock(profiled)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(a_job(tasks), encoding="utf-8")
        engine(path, clock)
        asyncio.run(screens(path, clock))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps({"spent": clock.spent, "peak": peak}))


HEADS = (
    *("tasks", "read", "compile", "first plan", "check", "replan", "open to launch", "slowest page", "slowest step"),
    *("edit to new launch", "peak, MB"),
)


def row_of(tasks: int, spent: dict[str, float], peak: float) -> str:
    """One line of the table."""
    cells = [str(tasks)]
    cells += [f"{spent[name]:.0f}" for name in ("read", "compile", "first plan", "check", "replan", "open")]
    for kind in ("page", "step"):
        name = max((name for name in spent if name.startswith(f"{kind}:")), key=lambda name: spent[name])
        cells.append(f"{spent[name]:.0f} ({PAGES[name[-1]]})")
    cells += [f"{spent['edit']:.0f}", f"{peak:.0f}"]
    return f"| {' | '.join(cells)} |"


def main() -> None:
    """The table, a line a size as it comes."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", type=int, nargs="+", default=list(SIZES))
    parser.add_argument("--one", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--profile", default="", help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.one:
        one_size(args.one, args.profile)
        return
    print(f"| {' | '.join(HEADS)} |\n|{'---|' * len(HEADS)}")
    for tasks in args.sizes:
        command = [sys.executable, __file__, "--one", str(tasks)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            sys.exit(done.stderr)
        print(row_of(tasks, **json.loads(done.stdout)), flush=True)


if __name__ == "__main__":
    main()
