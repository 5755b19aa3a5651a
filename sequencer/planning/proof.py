"""The proof: OR-tools CP-SAT on the compiled problem, started from the plan in hand, cut by its bounds.

Without ortools everything but the proof works: :func:`available` says no and the planner goes on with its own search.
"""

from __future__ import annotations

import importlib.util
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sequencer.planning import bounded
from sequencer.planning.placing import Placer

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    from sequencer.planning.aims import Aim
    from sequencer.planning.model import Model

WORKERS = 4
"""Searches the solver runs side by side; more than the cores, for their variety."""

FEWER_WORKERS_PAST = 100
"""Items past which it runs half as many: each holds the whole model."""

POLL_SECONDS = 0.05
"""How often the solver is asked whether to stop."""

PROBED_UP_TO = 6_000
"""Variables up to which one worker tries each in turn before it searches."""

WINDOWS_EFFORT = 0.5
"""The solver's own count of effort (a second or two) for fewer missed windows; a count, so that the result repeats."""


def available() -> bool:
    """Whether the solver is installed."""
    return importlib.util.find_spec("ortools") is not None


@dataclass
class Outcome:
    """What a proof came to. bound: no plan launches before this slot. proved: whether nothing earlier exists."""

    bound: int
    proved: bool


def prove(
    placer: Placer,
    best: Sequence[int],
    earliest: Sequence[int],
    bound: int,
    seconds: float,
    stop: Callable[[], bool],
    better: Callable[[list[int], dict[tuple[int, int], int]], None],
    seed: int = 1,
) -> Outcome:
    """Look for a launch before that of `best` (start slots by item) until found, ruled out, stopped or out of time.

    earliest: earliest starts by item. bound: the bound known so far. better: called, from a solver's thread, with
    the start slots of each better solution and of its keyings (by later item and coat).
    """
    from ortools.sat.python import cp_model

    began = time.monotonic()
    launch = best[placer.problem.finish]
    try:
        built = bounded.model_by(placer, earliest, bound, launch - 1, stop=stop) if launch > bound else None
    except bounded.StoppedError:
        return Outcome(bound, False)
    if built is None:
        return Outcome(launch, True)
    model = built
    solver, status = _launch_sooner(model, best, seconds - (time.monotonic() - began), stop, better, seed)
    if status == cp_model.INFEASIBLE:
        return Outcome(launch, True)
    if status == cp_model.OPTIMAL:
        return Outcome(model.launch_slot(round(solver.objective_value)), True)
    least = solver.best_objective_bound
    if status == cp_model.FEASIBLE or least > 0:
        return Outcome(max(bound, min(launch, model.launch_slot(int(-(-least // 1))))), False)
    return Outcome(bound, False)


@dataclass
class Looked:
    """What came of a look near a plan. closed: nothing in it is left to find. starts, keys: the best in it."""

    closed: bool = False
    starts: list[int] | None = None
    keys: dict[tuple[int, int], int] | None = None


def near(model: Model, hint: Sequence[int], seconds: float, stop: Callable[[], bool], seed: int) -> Looked:
    """The best plan of the model that one worker finds in time. hint: start slots by item of a plan like it."""
    from ortools.sat.python import cp_model

    model.hint(hint)
    solver = single(model, seed)
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.max_time_in_seconds = max(POLL_SECONDS, seconds)
    with watched(solver, stop):
        status = solver.solve(model.model)
    answer = Looked(status in (cp_model.OPTIMAL, cp_model.INFEASIBLE))
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        answer.starts, answer.keys = model.read(solver.value), model.read_keys(solver.value)
    return answer


def reach(placer: Placer, earliest: Sequence[int], aim: Aim, seconds: float, stop: Callable[[], bool]) -> None:
    """Answer `aim`, as far as the seconds go, with one worker of the solver. earliest: earliest starts by item."""
    from ortools.sat.python import cp_model

    began = time.monotonic()
    try:
        if aim.between is None:
            model = bounded.model_ready(placer, earliest, aim.first, aim.last, aim.keyable, stop)
        else:
            model = bounded.model_between(placer, *aim.between, True, aim.keyable, aim.leg, stop)
    except bounded.StoppedError:
        aim.cut = True
        return
    if model is None:
        aim.none = True
        return
    solver = single(model, aim.seed)
    if aim.seed % 2 == 0 or len(model.model.proto.variables) > PROBED_UP_TO:
        solver.parameters.cp_model_probing_level = 0
    left = max(POLL_SECONDS, seconds - (time.monotonic() - began))
    solver.parameters.max_time_in_seconds = left
    solver.parameters.max_deterministic_time = aim.effort
    with watched(solver, stop):
        status = solver.solve(model.model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        aim.starts, aim.keys = model.read(solver.value), model.read_keys(solver.value)
    aim.none = status == cp_model.INFEASIBLE
    aim.cut = aim.starts is None and not aim.none and (stop() or solver.wall_time >= left)


def _launch_sooner(
    model: Model,
    best: Sequence[int],
    seconds: float,
    stop: Callable[[], bool],
    better: Callable[[list[int], dict[tuple[int, int], int]], None],
    seed: int,
) -> tuple[cp_model.CpSolver, cp_model.CpSolverStatus]:
    """Ask for the earliest launch the model allows, starting from `best`."""
    from ortools.sat.python import cp_model

    model.aim_at_launch()
    model.hint(best)
    solver = _solver(WORKERS if len(model.placer.free) <= FEWER_WORKERS_PAST else WORKERS // 2, seed, model)
    solver.parameters.max_time_in_seconds = max(POLL_SECONDS, seconds)

    class Seen(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            better(model.read(self.value), model.read_keys(self.value))

    with watched(solver, stop):
        return solver, solver.solve(model.model, Seen())


def fewer_windows(
    placer: Placer, hint: Sequence[int], earliest: Sequence[int], launch: int, stop: Callable[[], bool], seed: int = 1
) -> tuple[list[int], dict[tuple[int, int], int]] | None:
    """Start slots of a plan that launches by `launch` with as few missed windows as a fixed effort finds.

    hint: start slots by item of a plan with that launch. One worker and a count of effort in place of the clock: the
    same call gives the same plan.
    """
    from ortools.sat.python import cp_model

    try:
        model = bounded.model_by(placer, earliest, launch, launch, stop=stop)
    except bounded.StoppedError:
        return None
    if model is None:
        return None
    model.aim_at_windows()
    model.hint(hint)
    solver = single(model, seed)
    solver.parameters.max_deterministic_time = WINDOWS_EFFORT
    with watched(solver, stop):
        status = solver.solve(model.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return model.read(solver.value), model.read_keys(solver.value)


def _solver(workers: int, seed: int, model: Model) -> cp_model.CpSolver:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = seed
    solver.parameters.linearization_level = 2
    solver.parameters.symmetry_level = 0
    # Reasoning on pairs of one person's pieces grows with their square: with hundreds of pieces nothing else gets done.
    solver.parameters.use_disjunctive_constraint_in_cumulative = not model.many_spans
    return solver


def single(model: Model, seed: int) -> cp_model.CpSolver:
    """A solver of one worker, where cuts cost more than they save and long probing more than the search itself."""
    solver = _solver(1, seed, model)
    solver.parameters.linearization_level = 0
    solver.parameters.max_presolve_iterations = 1
    solver.parameters.probing_deterministic_time_limit = 0.2
    return solver


@contextmanager
def watched(solver: cp_model.CpSolver, stop: Callable[[], bool]) -> Iterator[None]:
    """While the solver runs, stop it within POLL_SECONDS of `stop` saying so."""
    over = threading.Event()

    def watch() -> None:
        while not over.wait(POLL_SECONDS):
            if stop():
                solver.stop_search()

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    try:
        yield
    finally:
        over.set()
        watcher.join()
