"""The proof: OR-tools CP-SAT on the compiled problem, started from the plan in hand, cut by its bounds.

Without ortools everything but the proof works: :func:`available` says no and the planner goes on with its own search.
"""

from __future__ import annotations

import importlib.util
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from sequencer.planning.bound import latest_starts
from sequencer.planning.placing import Placer


def available() -> bool:
    """Whether the solver is installed."""
    return importlib.util.find_spec("ortools") is not None


@dataclass
class Outcome:
    """What a proof came to. bound: no plan launches before this slot. proved: whether the best given is the earliest."""

    bound: int
    proved: bool


def prove(
    placer: Placer,
    best: list[int],
    earliest: list[int],
    bound: int,
    seconds: float,
    stop: Callable[[], bool],
    better: Callable[[list[int]], None],
    workers: int = 2,
    seed: int = 1,
    log: bool = False,
) -> Outcome:
    """Look for a launch before that of `best` (start slots by item) until found, ruled out, stopped or out of time.

    earliest: earliest starts by item. bound: the bound known so far. better: called, from the solver's thread, with
    the start slots of each better solution.
    """
    from ortools.sat.python import cp_model

    from sequencer.planning.model import Model

    finish = placer.problem.finish
    launch = best[finish]
    latest = latest_starts(placer, launch - 1)
    if launch <= bound or any(latest[i] < earliest[i] for i in placer.free if i in placer.before_launch):
        return Outcome(launch, True)
    model = Model(placer, earliest, latest)
    if model.hopeless:
        return Outcome(launch, True)
    model.hint(best)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(0.05, seconds)
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = seed
    solver.parameters.log_search_progress = log
    solver.parameters.symmetry_level = 0

    class Seen(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            better(model.read(self.value))

    over = threading.Event()

    def watch() -> None:
        while not over.wait(0.05):
            if stop():
                solver.stop_search()
                return

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    try:
        status = solver.solve(model.model, Seen())
    finally:
        over.set()
        watcher.join()
    if status == cp_model.INFEASIBLE:
        return Outcome(launch, True)
    if status == cp_model.OPTIMAL:
        return Outcome(model.launch_slot(round(solver.objective_value)), True)
    if status == cp_model.MODEL_INVALID:
        raise AssertionError(model.model.validate())
    least = solver.best_objective_bound
    found = bound
    if least > 0:
        found = max(bound, min(launch, model.launch_slot(int(-(-least // 1)))))
    return Outcome(found, False)


def elapsed(since: float) -> float:
    """Seconds since a monotonic moment."""
    return time.monotonic() - since
