"""The graph of a job's tasks: what comes after what, in which order, in which loops.

An arrow runs from a task to each that comes after it, and carries the ``stages`` waited for. Nodes stand in
the file's order, and that order settles every tie, so that the same job always gives the same answer.
The graph knows tasks only by their id and their links: the rules of the job file use it too.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

import networkx as nx

MAX_LOOPS = 20
"""Loops told at once: each is found by a search of its own, and past these one mends and looks again."""


class LinkLike(Protocol):
    """The task before, and the stage waited for."""

    @property
    def task(self) -> str: ...
    @property
    def stage(self) -> str: ...


class TaskLike(Protocol):
    """A task by its id, and what it comes after."""

    @property
    def id(self) -> str: ...
    @property
    def after(self) -> Sequence[LinkLike]: ...


class JobLike(Protocol):
    """Anything with tasks; a job above all."""

    @property
    def task(self) -> Sequence[TaskLike]: ...


def graph_of(job: JobLike) -> nx.DiGraph[str]:
    """The graph of a job's tasks; see :func:`graph_from`."""
    return graph_from({task.id: task.after for task in job.task})


def graph_from(after: Mapping[str, Iterable[LinkLike]]) -> nx.DiGraph[str]:
    """The graph of tasks given with their links; links to unknown tasks are left out.

    Each arrow's ``stages`` is a tuple of the stages waited for, in the order written, each once.
    """
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(after)
    for task, links in after.items():
        for link in links:
            if link.task in after:
                held = graph.get_edge_data(link.task, task, {"stages": ()})["stages"]
                graph.add_edge(link.task, task, stages=held if link.stage in held else (*held, link.stage))
    return graph


def _places(graph: nx.DiGraph[str]) -> dict[str, int]:
    return {task: place for place, task in enumerate(graph)}


def order(graph: nx.DiGraph[str]) -> list[str]:
    """Every task after those it comes after, else in the file's order.

    Raises networkx.NetworkXUnfeasible where there is a loop; no job that was read has one.
    """
    places = _places(graph)
    return list(nx.lexicographical_topological_sort(graph, key=places.__getitem__))


def ancestors(graph: nx.DiGraph[str], task: str) -> set[str]:
    """All tasks that must come before `task`, itself not among them."""
    return set(nx.ancestors(graph, task))


def descendants(graph: nx.DiGraph[str], task: str) -> set[str]:
    """All tasks that must come after `task`, itself not among them."""
    return set(nx.descendants(graph, task))


def layers(graph: nx.DiGraph[str]) -> list[list[str]]:
    """Tasks by the length of the longest chain that leads to them, each layer in the file's order.

    Raises networkx.NetworkXUnfeasible where there is a loop.
    """
    places = _places(graph)
    return [sorted(layer, key=places.__getitem__) for layer in nx.topological_generations(graph)]


def find_loops(graph: nx.DiGraph[str], limit: int = MAX_LOOPS) -> list[list[str]]:
    """Loops, each a list of tasks that starts with the first of them in the file; `limit` at most.

    Each has an arrow that no loop before it has, and without those arrows no loop is left: mending each loop
    once is enough, and none is told twice.
    """
    places = _places(graph)
    rest = graph.copy()
    loops: list[list[str]] = []
    suspects = _knots(rest, graph)
    while suspects and len(loops) < limit:
        first = min((task for knot in suspects for task in knot), key=places.__getitem__)
        loop = _shortest_loop(rest, first)
        loops.append(loop)
        rest.remove_edge(loop[-1], first)
        suspects = _knots(rest, {task for knot in suspects for task in knot})
    return loops


def _knots(graph: nx.DiGraph[str], among: Iterable[str]) -> list[set[str]]:
    """Sets of tasks of which each comes, by some way, after each; a task after itself is one alone."""
    part = graph.subgraph(among)
    return [knot for knot in nx.strongly_connected_components(part) if len(knot) > 1 or _alone(part, knot)]


def _alone(graph: nx.DiGraph[str], knot: set[str]) -> bool:
    return any(graph.has_edge(task, task) for task in knot)


def _shortest_loop(graph: nx.DiGraph[str], first: str) -> list[str]:
    """The shortest way from `first` back to it, itself named once, at the start."""
    if graph.has_edge(first, first):
        return [first]
    ways = nx.single_source_shortest_path(graph, first)
    back = [list(ways[task]) for task in graph.predecessors(first) if task in ways]
    return min(back, key=lambda way: len(way))


def spell(loop: Sequence[str]) -> str:
    """A loop as ``a → b → a``."""
    return " → ".join([*loop, loop[0]])
