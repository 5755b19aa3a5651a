"""The planner's benchmark: compile, replan, first plan, best, proof and memory, beside two other ways, in one run.

    .venv/bin/python tests/bench/run.py                 # all sizes; the table of the README
    .venv/bin/python tests/bench/run.py --sizes 12 40 --jobs 3 --seconds 5

The other ways: the general solver alone (CP-SAT on the same compiled data, hours of the clock in place of the
on-shift axis, without our plan and bounds, for the same time), and the first-come order a whiteboard gives. Each size
runs in a process of its own, so that its memory is its own.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import math
import resource
import statistics
import subprocess
import sys
import time
from dataclasses import asdict, dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from random_jobs import random_job  # noqa: E402

from sequencer.checking import check_plan  # noqa: E402
from sequencer.errors import NoPlanError  # noqa: E402
from sequencer.job import Job, parse_job  # noqa: E402
from sequencer.paper.jsonplan import plan_object  # noqa: E402
from sequencer.planning.axis import Axis  # noqa: E402
from sequencer.planning.bound import earliest_starts, latest_starts  # noqa: E402
from sequencer.planning.compiling import base_slot, compile_problem, first_moment  # noqa: E402
from sequencer.planning.orders import simple_orders  # noqa: E402
from sequencer.planning.plan import Plan  # noqa: E402
from sequencer.planning.planner import plan_job, prepare  # noqa: E402
from sequencer.planning.tables import Tables  # noqa: E402

SIZES = (12, 40, 60, 90, 200, 500, 1000)
ALONE_UP_TO = 90
"""Past this size the general solver alone needs minutes to build its model."""


@dataclass
class Figures:
    """What one job gave; times in seconds, launches in slots from now."""

    compile: float
    replan: float
    first: float
    first_launch: int
    best: float
    launch: int
    bound: int
    proved: float | None
    whiteboard: int | None
    explain: float
    alone: int | None = None
    alone_reached: float | None = None


class _FirstPlan(Exception):  # noqa: N818
    """Raised from the progress callback: the first plan is all that is wanted."""


def timed_first(job: Job, like: Plan | None = None) -> float:
    """Seconds to the first plan, from the job in memory."""
    began = time.perf_counter()

    def progress(_plan: Plan) -> None:
        raise _FirstPlan

    with contextlib.suppress(_FirstPlan):
        plan_job(job, seconds=60, progress=progress, like=like)
    return time.perf_counter() - began


def after_a_log(job: Job, plan: Plan) -> Job:
    """The job a little later: the plan's first task logged as finished, the plan going on from then."""
    row = next(r for r in plan.rows.values() if not r.keys and r.id != job.job.finish)
    start, end = plan.moment(row.start), plan.moment(row.end)
    tasks = [t.model_copy(update={"started": start, "finished": end}) if t.id == row.id else t for t in job.task]
    head = job.job.model_copy(update={"now": end})
    return job.model_copy(update={"task": tuple(tasks), "job": head})


def whiteboard(job: Job) -> int | None:
    """The launch, from now, of the order in which tasks may first start; None where it has none within the grid."""
    placer, search = prepare(job)
    schedule = placer.place(simple_orders(placer, search.earliest)[1])
    return schedule.starts[placer.problem.finish] - placer.problem.base if schedule.complete else None


def solver_alone(job: Job, seconds: float, wanted: int) -> tuple[int | None, float | None]:
    """CP-SAT alone: its best launch from now within `seconds`, and when it had one as early as `wanted`."""
    from ortools.sat.python import cp_model

    from sequencer.planning.model import Model

    began = time.perf_counter()
    placer, _ = prepare(job)
    earliest = earliest_starts(placer)
    assert earliest is not None
    problem = placer.problem
    at_leisure = whiteboard(job)
    assert at_leisure is not None
    horizon = problem.base + math.ceil(1.5 * at_leisure)
    model = Model(placer, earliest[0], latest_starts(placer, horizon), Axis(problem, whole=True))
    model.aim_at_launch()
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = max(0.1, seconds - (time.perf_counter() - began))
    found: list[tuple[float, int]] = []

    class Seen(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            launch = model.read(self.value)[problem.finish] - problem.base
            found.append((time.perf_counter() - began, launch))

    solver.solve(model.model, Seen())
    reached = next((at for at, launch in found if launch <= wanted), None)
    return (found[-1][1] if found else None), reached


def compile_on(job: Job, days: int) -> None:
    """Compile a job on a grid of so many days."""
    tables = Tables(job, days, first_moment(job))
    compile_problem(job, tables, base_slot(job, tables.grid, None, None))


def days_needed(job: Job) -> int:
    """Days of the grid on which a job has a plan."""
    return prepare(job)[0].problem.tables.grid.days


def compiling(job: Job) -> float:
    """Seconds to compile a job on the grid that its plan needs."""
    days = days_needed(job)
    began = time.perf_counter()
    compile_on(job, days)
    return time.perf_counter() - began


def explaining(job: Job) -> float:
    """Seconds for the slack and the reasons of every row of a fresh first plan."""
    fresh = plan_job(job, seconds=0)
    began = time.perf_counter()
    for row in fresh.rows.values():
        assert row.slack is not None
        assert row.held is not None
    return time.perf_counter() - began


def measure(tasks: int, seed: int, seconds: float) -> Figures:
    """All figures of one random job."""
    job = parse_job(random_job(seed, tasks))
    compiled = compiling(job)
    first = timed_first(job)
    seen: list[tuple[float, int]] = []
    began = time.perf_counter()
    plan = plan_job(job, seconds=seconds, progress=lambda p: seen.append((time.perf_counter() - began, p.launch)))
    took = time.perf_counter() - began
    assert not check_plan(job, json.loads(json.dumps(plan_object(plan)))), f"job {seed} of {tasks} tasks"
    replan = timed_first(after_a_log(job, plan), plan)
    launch = plan.launch - plan.now
    explained = statistics.median(explaining(job) for _ in range(5))
    return Figures(
        compiled,
        replan,
        first,
        seen[0][1] - plan.now,
        next(at for at, found in seen if found == min(f for _, f in seen)),
        launch,
        plan.bound - plan.now,
        took if plan.proved else None,
        whiteboard(job),
        explained,
    )


def planned_seeds(tasks: int, jobs: int, named: bool = False) -> list[int]:
    """The first seeds whose jobs can be launched within a year at all: some of a thousand tasks can't."""
    found: list[int] = []
    seed = 0
    while len(found) < jobs:
        with contextlib.suppress(NoPlanError):
            prepare(parse_job(random_job(seed, tasks, named=named)))
            found.append(seed)
        seed += 1
    return found


def one_size(tasks: int, jobs: int, seconds: float) -> None:
    """Measure one size and print its figures as JSON; run in a process of its own."""
    seeds = planned_seeds(tasks, jobs)
    rows = [measure(tasks, seed, seconds) for seed in seeds]
    # Before the solver alone has its turn, which takes far more.
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if tasks <= ALONE_UP_TO:
        for seed, row in zip(seeds, rows, strict=True):
            row.alone, row.alone_reached = solver_alone(parse_job(random_job(seed, tasks)), seconds, row.launch)
    print(json.dumps({"rows": [asdict(row) for row in rows], "peak": peak}))


def told(values: list[float], digits: int, scale: float = 1.0) -> str:
    """The median as text; a dash of nothing."""
    return f"{statistics.median(values) * scale:.{digits}f}" if values else "–"


def whiteboards(rows: list[Figures]) -> str:
    """How much later the first-come order launches in the mean, and how often it does not at all."""
    later = [(r.whiteboard - r.launch) / 96 for r in rows if r.whiteboard is not None]
    never = len(rows) - len(later)
    said = [f"{statistics.fmean(later):.1f}"] if later else []
    return ", ".join([*said, *([f"never in {never}"] if never else [])])


def row_of(tasks: int, rows: list[Figures], peak: float, seconds: float) -> str:
    """One line of the table."""
    proved = [r.proved for r in rows if r.proved is not None]
    alone = "not run"
    if tasks <= ALONE_UP_TO:
        later = sum(r.alone is None or r.alone > r.launch for r in rows)
        earlier = sum(r.alone is not None and r.alone < r.launch for r in rows)
        # Where it never came to our launch, the time it had stands for the time it would need.
        ratios = [(r.alone_reached or seconds) / max(r.best, 0.001) for r in rows]
        faster = math.exp(statistics.fmean(map(math.log, ratios)))
        alone = f"{later} later, {earlier} earlier, {faster:.0f}×"
    cells = [
        str(tasks),
        told([r.compile for r in rows], 0, 1000),
        told([r.first for r in rows], 0, 1000),
        told([r.replan for r in rows], 0, 1000),
        told([r.explain for r in rows], 1, 1000),
        told([(r.first_launch - r.launch) / 96 for r in rows], 1),
        told([r.best for r in rows], 2),
        f"{len(proved)} of {len(rows)} after {told(proved, 2)}",
        told([(r.launch - r.bound) / 4 for r in rows if r.proved is None], 1),
        alone,
        whiteboards(rows),
        f"{peak:.0f}",
    ]
    return f"| {' | '.join(cells)} |"


HEADS = (
    "tasks",
    "compile, ms",
    "first plan, ms",
    "replan, ms",
    "slack and reasons, ms",
    "first plan later than best, nights",
    "best after, s",
    "proved, s",
    "gap where not, h",
    "solver alone: jobs, slower by",
    "first-come order later, nights",
    "peak, MB",
)


def main() -> None:
    """The table, a line a size as it comes."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", type=int, nargs="+", default=list(SIZES))
    parser.add_argument("--jobs", type=int, default=5, help="random jobs a size")
    parser.add_argument(
        "--seconds", type=float, default=20.0, help="search at most so long a job, and the solver alone too"
    )
    parser.add_argument("--one", type=int, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.one:
        one_size(args.one, args.jobs, args.seconds)
        return
    print(f"| {' | '.join(HEADS)} |\n|{'---|' * len(HEADS)}")
    for tasks in args.sizes:
        command = [
            sys.executable,
            __file__,
            "--one",
            str(tasks),
            "--jobs",
            str(args.jobs),
            "--seconds",
            str(args.seconds),
        ]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            sys.exit(done.stderr)
        answer = json.loads(done.stdout)
        rows = [Figures(**row) for row in answer["rows"]]
        print(row_of(tasks, rows, answer["peak"], args.seconds), flush=True)


if __name__ == "__main__":
    main()
