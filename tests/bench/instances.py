"""Published resource-limited instances through the planner, held against their best known makespans.

    .venv/bin/python tests/bench/instances.py FOLDER BEST.csv --seconds 10

FOLDER holds single-mode files of PSPLIB's layout (``.sm``), BEST.csv the columns instance,makespan.
"""

from __future__ import annotations

import argparse
import csv
import json
import statistics
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from bench.published import job_text, read_instance  # noqa: E402
from sequencer.checking import check_plan  # noqa: E402
from sequencer.job import parse_job  # noqa: E402
from sequencer.paper.jsonplan import plan_object  # noqa: E402
from sequencer.planning.planner import plan_job  # noqa: E402


def main() -> None:
    """A line for each instance that is open or late, then the sum of them all."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("best", type=Path)
    parser.add_argument("--seconds", type=float, default=10.0)
    args = parser.parse_args()
    with args.best.open(encoding="utf-8") as file:
        best = {row["instance"]: int(row["makespan"]) for row in csv.DictReader(file)}
    over, times, proved, reached = [], [], 0, 0
    for path in sorted(args.folder.glob("*.sm")):
        instance = read_instance(path)
        job = parse_job(job_text(instance))
        began = time.perf_counter()
        plan = plan_job(job, seconds=args.seconds)
        times.append(time.perf_counter() - began)
        assert not check_plan(job, json.loads(json.dumps(plan_object(plan)))), instance.name
        makespan = (plan.launch - plan.hauled) / 4
        over.append(makespan / best[instance.name] - 1)
        proved += plan.proved
        reached += makespan <= best[instance.name]
        if not plan.proved or makespan > best[instance.name]:
            bound = (plan.bound - plan.hauled) / 4
            print(f"{instance.name}: {makespan:g} h, best known {best[instance.name]}, not below {bound:g}", flush=True)
    print(
        f"{len(times)} instances: {reached} as good as best known, {proved} proved, "
        f"{100 * statistics.fmean(over):.2f} % above best known on average, "
        f"median {statistics.median(times):.2f} s, longest {max(times):.2f} s"
    )


if __name__ == "__main__":
    main()
