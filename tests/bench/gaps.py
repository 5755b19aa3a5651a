"""How far from proved: random people-tight jobs, a line each, with what is not ruled out when the time is up.

.venv/bin/python tests/bench/gaps.py --sizes 60 90 --jobs 12 --seconds 60   # the README's figures
.venv/bin/python tests/bench/gaps.py --sizes 25 45 60 --jobs 10 --seconds 30 --named
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(Path(__file__).parent)]

from random_jobs import random_job  # noqa: E402
from run import planned_seeds  # noqa: E402

from sequencer.checking import check_plan  # noqa: E402
from sequencer.job import parse_job  # noqa: E402
from sequencer.paper.jsonplan import plan_object  # noqa: E402
from sequencer.planning.planner import plan_job  # noqa: E402


def gap_of(tasks: int, seed: int, seconds: float, named: bool) -> float:
    """Hours not ruled out on one job, 0 where its launch is proved. named: as in :func:`random_job`."""
    job = parse_job(random_job(seed, tasks, named=named))
    began = time.perf_counter()
    plan = plan_job(job, seconds=seconds)
    took = time.perf_counter() - began
    assert not check_plan(job, json.loads(json.dumps(plan_object(plan)))), f"job {seed} of {tasks} tasks"
    gap = 0.0 if plan.proved else (plan.launch - plan.bound) / 4
    said = "proved" if plan.proved else f"{gap:g} h not ruled out"
    print(f"{tasks} tasks, seed {seed}: night {(plan.launch - plan.now) / 96:.2f}, {said}, {took:.1f} s", flush=True)
    return gap


def main() -> None:
    """A line a job, then how many were proved and the median of the others."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", type=int, nargs="+", default=[60, 90])
    parser.add_argument("--jobs", type=int, default=6, help="random jobs a size")
    parser.add_argument("--seconds", type=float, default=60.0, help="search at most so long a job")
    parser.add_argument("--named", action="store_true", help="work wants people by name, some of it two")
    args = parser.parse_args()
    for tasks in args.sizes:
        gaps = [gap_of(tasks, seed, args.seconds, args.named) for seed in planned_seeds(tasks, args.jobs, args.named)]
        left = [gap for gap in gaps if gap]
        others = f", the others {statistics.median(left):g} h in the median" if left else ""
        print(f"{tasks} tasks: {len(gaps) - len(left)} of {len(gaps)} proved{others}", flush=True)


if __name__ == "__main__":
    main()
