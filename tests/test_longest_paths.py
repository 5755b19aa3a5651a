"""Random graphs of tasks that need nobody, against longest paths by networkx."""

from __future__ import annotations

import math
import random

import networkx as nx
import pytest
from planned import head, planned, starts, task


def random_graph(seed: int) -> tuple[dict[str, float], list[tuple[str, str]]]:
    """Hours by task, and links from earlier to later tasks; the names are in no order."""
    rng = random.Random(seed)
    names = [f"t{k}" for k in rng.sample(range(100), rng.randrange(3, 40))]
    hours = {name: rng.choice((0.1, 0.25, 1, 2.3, 5, 7.75, 30)) for name in names}
    chance = rng.choice((0.03, 0.1, 0.3, 0.8))
    links = [(a, b) for i, b in enumerate(names) for a in names[:i] if rng.random() < chance]
    return hours, links


def quarters(hours: float) -> int:
    """Work is rounded up to quarter hours."""
    return math.ceil(hours * 4 - 1e-9)


@pytest.mark.parametrize("seed", range(25))
def test_every_task_starts_at_its_longest_path_and_slack_is_what_the_longest_way_on_leaves(seed: int) -> None:
    hours, links = random_graph(seed)
    rng = random.Random(f"order {seed}")
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(hours)
    # An arrow weighs what the task at its tail takes; networkx weighs arrows, not tasks.
    graph.add_weighted_edges_from((a, b, quarters(hours[a])) for a, b in links)
    graph.add_weighted_edges_from((name, "launch", quarters(hours[name])) for name in hours)
    listed = [task(name, " ".join(a for a, b in links if b == name), hands=0, work=hours[name]) for name in hours]
    rng.shuffle(listed)
    plan = planned(head(), *listed, task("launch", " ".join(hours), hands=0))
    assert plan.proved

    total = nx.dag_longest_path_length(graph)
    assert starts(plan)["launch"] * 4 == total
    for name in hours:
        upstream = graph.subgraph(nx.ancestors(graph, name) | {name})
        downstream = graph.subgraph(nx.descendants(graph, name) | {name})
        earliest = nx.dag_longest_path_length(upstream)
        assert starts(plan)[name] * 4 == earliest
        assert plan.rows[name].slack == total - earliest - nx.dag_longest_path_length(downstream)


@pytest.mark.parametrize("seed", range(25, 35))
def test_a_stage_on_an_arrow_lengthens_it_by_its_hours(seed: int) -> None:
    """With a wait in place of every arrow the paths are longer by just that."""
    hours, links = random_graph(seed)
    rng = random.Random(f"waits {seed}")
    waits = {link: rng.choice((0.25, 3, 12)) for link in links}
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_weighted_edges_from((a, b, quarters(hours[a]) + waits[a, b] * 4) for a, b in links)
    graph.add_weighted_edges_from((name, "launch", quarters(hours[name])) for name in hours)
    parts = [task(f"w-{a}-{b}", a, wait=time) for (a, b), time in waits.items()]
    parts += [
        task(name, " ".join(f"w-{a}-{b}" for a, b in links if b == name), hands=0, work=hours[name]) for name in hours
    ]
    plan = planned(head(), *parts, task("launch", " ".join(hours), hands=0))
    assert starts(plan)["launch"] * 4 == nx.dag_longest_path_length(graph)
    for name in hours:
        upstream = graph.subgraph(nx.ancestors(graph, name) | {name})
        assert starts(plan)[name] * 4 == nx.dag_longest_path_length(upstream)
