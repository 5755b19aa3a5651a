"""The odds' benchmark: seconds for 1,000 futures of random haul-outs, and how much 20,000 would change the date.

Beside the seconds that pass stand those of the processors, all processes together: they tell more on a busy machine.

    .venv/bin/python tests/bench/odds.py                 # jobs of 12, 30 and 60 tasks, two cores
    .venv/bin/python tests/bench/odds.py --many 20000    # also the 8 in 10 date of so many futures, of 30 tasks

Half the jobs' rain, hours and deliveries are uncertain, as in a job whose owner has filled in what he knows.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import re
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from random_jobs import random_job  # noqa: E402

from sequencer.job import Job, parse_job  # noqa: E402
from sequencer.odds import Odds, tell_odds  # noqa: E402
from sequencer.planning.plan import Plan  # noqa: E402
from sequencer.planning.planner import plan_job  # noqa: E402


def uncertain_job(seed: int, tasks: int) -> Job:
    """A random haul-out with three numbers for all work, a delivery that may be late, and rainy normals."""
    normals = "".join(
        f"[[weather.normal]]\nmonth = {month}\nlow = {5 + 0.8 * warm:.1f}\nhigh = {11 + 1.2 * warm:.1f}\n"
        f"dew = {3 + 0.8 * warm:.1f}\nwet_days = 10\nrain_hours = 5\nwind = 9\nwet_after_wet = 0.5\n"
        for month in range(1, 13)
        for warm in [7 - abs(month - 7)]
    )
    text = random_job(seed, tasks, weather=normals)
    text = re.sub(
        r"(?m)^work = ([\d.]+)$", lambda m: f"work = [{float(m[1]) * 0.75:g}, {m[1]}, {float(m[1]) * 1.8:g}]", text
    )
    return parse_job(re.sub(r"(?m)^due = (\S+)$", r'due = \1\nrange = ["\1", "2027-05-20"]', text))


def cpu_seconds() -> float:
    """Seconds of the processors used by this process and by others it started, once those are gone."""
    for helper in multiprocessing.active_children():
        helper.join()
    return sum(os.times()[:4])


def timed(job: Job, plan: Plan, cores: int) -> tuple[Odds, float, float, float]:
    """The odds, the seconds and processor seconds they took, and seconds until the first were told."""
    told: list[float] = []
    began, cpu = time.monotonic(), cpu_seconds()
    odds = tell_odds(job, plan, cores=cores, progress=lambda _: told.append(time.monotonic()))
    ended = time.monotonic()
    return odds, ended - began, cpu_seconds() - cpu, (told[0] if told else ended) - began


def main() -> None:
    """A line a job."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cores", type=int, default=2)
    parser.add_argument("--sizes", type=int, nargs="+", default=[12, 30, 60])
    parser.add_argument("--jobs", type=int, default=3, help="random jobs a size")
    parser.add_argument("--many", type=int, default=0)
    args = parser.parse_args()
    print("| tasks | job | 1,000 futures, s | CPU, s | first odds, s | as planned | 5 in 10 | 8 in 10 | 9 in 10 |")
    print("|---|---|---|---|---|---|---|---|---|")
    for tasks in args.sizes:
        for seed in range(1, args.jobs + 1):
            job = uncertain_job(seed, tasks)
            plan = plan_job(job, seconds=2, prove=False)
            odds, took, cpu, shown = timed(job, plan, args.cores)
            dates = " | ".join(f"{odds.date_for(x):%d %b %H:%M}" for x in (0.5, 0.8, 0.9))
            print(
                f"| {tasks} | {seed} | {took:.1f} | {cpu:.1f} | {shown:.1f} | {odds.as_planned:.2f} | {dates} |",
                flush=True,
            )
            if args.many and tasks == 30:
                many = tell_odds(job, plan, args.many, seed=2, cores=args.cores)
                print(f"  8 in 10 of {args.many:,}: {many.date_for(0.8)}; of 1,000: {odds.date_for(0.8)}", flush=True)


if __name__ == "__main__":
    main()
