"""How long the levers of a job take: all of them one at a time, then with the best pairs. Medians of five runs.

.venv/bin/python tests/bench/levers.py [JOB.toml]
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

from sequencer.job import read_job
from sequencer.levers import find_levers, try_levers
from sequencer.planning.planner import plan_job

RUNS = 5


def main() -> None:
    """Print one line a measure."""
    path = Path(sys.argv[1] if len(sys.argv) > 1 else "jobs/dunlin-pod.toml")
    text, job = path.read_text(encoding="utf-8"), read_job(path)
    plan = plan_job(job, seconds=20)
    print(f"{path.name}: {len(job.task)} tasks, launch {'proved' if plan.proved else 'not proved'}")
    print(f"{len(find_levers(job, plan))} levers")
    for pairs in (False, True):
        took = []
        for _ in range(RUNS):
            began = time.perf_counter()
            found = try_levers(text, path, job, plan, seconds=120, pairs=pairs)
            took.append(time.perf_counter() - began)
        what = "with the best pairs" if pairs else "one at a time"
        print(f"{what}: {statistics.median(took):.2f} s ({len(found.gains)} save nights, {len(found.left)} left)")


if __name__ == "__main__":
    main()
