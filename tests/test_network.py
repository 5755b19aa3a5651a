"""The graph of tasks: order, layers, ancestors, and loops told once each."""

from __future__ import annotations

import random

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import changed, job_with

from sequencer.job import Link, parse_job, parse_link
from sequencer.network import (
    ancestors,
    descendants,
    find_loops,
    graph_from,
    graph_of,
    layers,
    order,
    spell,
)


def graph(**after: str) -> nx.DiGraph[str]:
    """A graph written as task="before other@stage"."""
    return graph_from({task: [parse_link(link) for link in links.split()] for task, links in after.items()})


def random_graph(seed: int, tasks: int, chance: float, loops: bool = False) -> nx.DiGraph[str]:
    """Tasks t0, t1 … with random links, to earlier tasks only unless `loops`."""
    rng = random.Random(seed)
    names = [f"t{i}" for i in range(tasks)]
    rng.shuffle(names)
    return graph_from(
        {
            name: [Link(other) for j, other in enumerate(names) if (j < i or loops) and rng.random() < chance]
            for i, name in enumerate(names)
        }
    )


def test_an_arrow_runs_from_what_comes_before_and_carries_the_stages() -> None:
    made = graph_of(job_with())
    assert list(made) == ["grind-taper", "bond-pad", "tab-pad", "soak", "fit-pod", "relaunch"]
    assert made.edges["bond-pad", "tab-pad"]["stages"] == ("recoat",)
    assert made.edges["fit-pod", "relaunch"]["stages"] == ("done",)


def test_links_written_twice_are_one_arrow_with_each_stage_once() -> None:
    twice = changed(('after = ["tab-pad@cure"]', 'after = ["tab-pad@cure", "tab-pad", "tab-pad@cure"]'))
    made = graph_of(parse_job(twice))
    assert made.number_of_edges() == 6
    assert made.edges["tab-pad", "soak"]["stages"] == ("cure", "done")


def test_links_to_unknown_tasks_are_left_out() -> None:
    assert graph(a="", b="a nowhere").number_of_edges() == 1


def test_order_keeps_the_files_order_where_the_links_leave_it_free() -> None:
    assert order(graph(c="", a="", b="c")) == ["c", "a", "b"]
    assert order(graph(c="a", a="", b="")) == ["a", "c", "b"]


def test_order_and_layers_of_a_loop_raise() -> None:
    looped = graph(a="b", b="a")
    with pytest.raises(nx.NetworkXUnfeasible):
        order(looped)
    with pytest.raises(nx.NetworkXUnfeasible):
        layers(looped)


def test_ancestors_and_descendants_leave_the_task_itself_out() -> None:
    made = graph(a="", b="a", c="b", d="a", e="")
    assert ancestors(made, "c") == {"a", "b"}
    assert descendants(made, "a") == {"b", "c", "d"}
    assert ancestors(made, "e") == set()


def test_layers_stand_in_the_files_order() -> None:
    assert layers(graph(d="", b="a", c="d", a="", e="b")) == [["d", "a"], ["b", "c"], ["e"]]


@pytest.mark.parametrize("seed", range(20))
def test_a_tasks_layer_is_the_length_of_its_longest_chain(seed: int) -> None:
    made = random_graph(seed, tasks=30, chance=0.15)
    depth = {task: number for number, layer in enumerate(layers(made)) for task in layer}
    for task in made:
        upstream = made.subgraph(ancestors(made, task) | {task})
        assert depth[task] == nx.dag_longest_path_length(upstream, default_weight=1)
    assert max(depth.values()) == nx.dag_longest_path_length(made)


@pytest.mark.parametrize("seed", range(20))
def test_order_puts_every_task_after_all_its_ancestors(seed: int) -> None:
    made = random_graph(seed, tasks=40, chance=0.1)
    place = {task: i for i, task in enumerate(order(made))}
    assert len(place) == 40
    assert all(place[before] < place[task] for task in made for before in ancestors(made, task))


@pytest.mark.parametrize(
    ("after", "loops"),
    [
        ({"a": "", "b": "a"}, []),
        ({"a": "a"}, ["a → a"]),
        ({"a": "b", "b": "a"}, ["a → b → a"]),
        ({"a": "c", "b": "a", "c": "b"}, ["a → b → c → a"]),
        ({"a": "b", "b": "a", "x": "y", "y": "x"}, ["a → b → a", "x → y → x"]),
        ({"a": "b", "b": "a c", "c": "b"}, ["a → b → a", "b → c → b"]),
        ({"a": "b c", "b": "a", "c": "b"}, ["a → b → a", "a → b → c → a"]),
        ({"a": "a b", "b": "a"}, ["a → a", "a → b → a"]),
    ],
)
def test_each_independent_loop_is_told_once(after: dict[str, str], loops: list[str]) -> None:
    assert [spell(loop) for loop in find_loops(graph(**after))] == loops


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000), tasks=st.integers(1, 12), chance=st.floats(0.02, 0.3))
def test_loops_are_loops_and_mending_one_arrow_of_each_leaves_none(seed: int, tasks: int, chance: float) -> None:
    made = random_graph(seed, tasks, chance, loops=True)
    loops = find_loops(made, limit=1000)
    rest = made.copy()
    for loop in loops:
        assert len(set(loop)) == len(loop)
        assert all(made.has_edge(a, b) for a, b in zip(loop, [*loop[1:], loop[0]], strict=True))
        rest.remove_edge(loop[-1], loop[0])
    assert nx.is_directed_acyclic_graph(rest)
    assert bool(loops) != nx.is_directed_acyclic_graph(made)


def test_a_thicket_of_loops_is_told_up_to_the_limit() -> None:
    assert len(find_loops(random_graph(1, tasks=60, chance=0.5, loops=True), limit=7)) == 7
