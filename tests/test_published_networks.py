"""Networks whose answers were published, as jobs without limits: a period is an hour, and a task needs no hands.

The makespan is the time from the haul-out to the start of a last task that comes after all others.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest
from planned import gear, head, planned, starts, task

from sequencer.planning.plan import Plan


@dataclass(frozen=True)
class Network:
    """A published network. tasks: by name hours and what it comes after; slack: 0 for all that are not named."""

    name: str
    tasks: dict[str, tuple[float, str]]
    duration: float
    critical: str
    slack: dict[str, float] = field(default_factory=dict)


def on_arrows(arrows: dict[tuple[int, int], float]) -> dict[str, tuple[float, str]]:
    """Activities on arrows between numbered events as tasks: each comes after all that end where it begins."""
    return {f"{a}-{b}": (hours, " ".join(f"{x}-{y}" for x, y in arrows if y == a)) for (a, b), hours in arrows.items()}


NETWORKS = [
    # Hillier & Lieberman, Introduction to Operations Research, the construction project of 14 activities.
    Network(
        "fourteen activities",
        {
            "a": (2, ""),
            "b": (4, "a"),
            "c": (10, "b"),
            "d": (6, "c"),
            "e": (4, "c"),
            "f": (5, "e"),
            "g": (7, "d"),
            "h": (9, "e g"),
            "i": (7, "c"),
            "j": (8, "f i"),
            "k": (4, "j"),
            "l": (5, "j"),
            "m": (2, "h"),
            "n": (6, "k l"),
        },
        44,
        "a b c e f j l n",
        {"d": 4, "g": 4, "h": 4, "m": 4, "i": 2, "k": 1},
    ),
    # Taylor, Introduction to Management Science, chapter 8: the small network.
    Network(
        "seven arrows",
        on_arrows({(1, 2): 7, (1, 3): 10, (2, 4): 6, (3, 4): 5, (3, 5): 4, (4, 5): 3, (5, 6): 2}),
        20,
        "1-3 3-4 4-5 5-6",
        {"1-2": 2, "2-4": 2, "3-5": 4},
    ),
    # Taylor, as above: the larger network. Its arrow 4-5 takes no time.
    Network(
        "thirteen arrows",
        on_arrows(
            {
                (1, 2): 8,
                (1, 3): 10,
                (1, 4): 9,
                (2, 5): 6,
                (2, 6): 4,
                (3, 5): 5,
                (4, 5): 0,
                (4, 7): 7,
                (5, 7): 12,
                (5, 8): 15,
                (6, 9): 18,
                (7, 8): 4,
                (8, 9): 7,
            }
        ),
        38,
        "1-3 3-5 5-7 7-8 8-9",
        {"1-2": 1, "1-4": 6, "2-5": 1, "2-6": 8, "4-5": 6, "4-7": 11, "5-8": 1, "6-9": 8},
    ),
]


def plan_of(network: Network) -> Plan:
    """The plan of a network. An arrow of no time is a quarter hour, the least a task may take."""
    tasks = "".join(task(name, after, hands=0, work=hours) for name, (hours, after) in network.tasks.items())
    launch = task("launch", " ".join(network.tasks), hands=0)
    return planned(head(), tasks, launch)


@pytest.mark.parametrize("network", NETWORKS, ids=lambda n: n.name)
def test_duration_critical_path_and_slack_are_the_published_ones(network: Network) -> None:
    plan = plan_of(network)
    assert plan.proved
    assert starts(plan)["launch"] == network.duration
    assert [name for name in plan.path if name != "launch"] == network.critical.split()
    slack = {name: plan.rows[name].slack / 4 for name in network.tasks}
    # Where an arrow of no time had to be a quarter hour, that quarter is off its own slack and off that of 1-4,
    # unless 1-4 has less by another way.
    off = {"4-5": 0.25, "1-4": 0.25} if "4-5" in network.tasks and network.tasks["4-5"][0] == 0 else {}
    assert slack == {name: network.slack.get(name, 0) - off.get(name, 0) for name in network.tasks}
    # Total float is latest start less earliest (ACM Algorithm 40): nobody waits who need not.
    assert plan.stay == {"work": network.duration * 4}


@pytest.mark.parametrize("network", NETWORKS, ids=lambda n: n.name)
def test_what_is_on_the_path_has_no_slack_and_what_has_none_is_on_it(network: Network) -> None:
    # Kelley & Walker, Proc. Eastern Joint Computer Conf. 1959, 160-173: the critical jobs are those without float.
    plan = plan_of(network)
    assert {row.id for row in plan.rows.values() if row.slack == 0} == set(plan.path)


# Three paths that merge at the end, an operations text: low, likely, high hours, and what each comes after.
MERGING = {
    "a": ([5, 6, 7], ""),
    "b": ([8, 8, 11], ""),
    "c": ([6, 8, 11], "a"),
    "d": ([9, 12, 15], ""),
    "e": ([5, 6, 9], "c"),
    "f": ([5, 6, 7], "d"),
    "g": ([2, 3, 7], "f"),
    "h": ([4, 4, 5], "b"),
    "i": ([5, 7, 8], "h"),
}
PATHS = ("ace", "dfg", "bhi")


def mean(triple: list[int]) -> float:
    """The mean of an estimate in three: (low + 4 likely + high) / 6, Malcolm and others 1959."""
    low, likely, high = triple
    return (low + 4 * likely + high) / 6


def test_the_published_means_of_the_three_paths_follow_from_their_triples() -> None:
    # 20.50, 21.50, 19.50 as printed: that the triples above were copied right.
    assert [sum(mean(MERGING[t][0]) for t in path) for path in PATHS] == pytest.approx([20.5, 21.5, 19.5])


def test_the_longest_of_three_merging_paths_by_likely_hours_sets_the_launch() -> None:
    tasks = "".join(task(name, after, hands=0, work=hours) for name, (hours, after) in MERGING.items())
    plan = planned(head(), tasks, task("launch", "e g i", hands=0))
    likely = [sum(MERGING[t][0][1] for t in path) for path in PATHS]
    assert likely == [20, 21, 19]
    assert starts(plan)["launch"] == 21
    assert plan.path == ["d", "f", "g", "launch"]
    for path, length in zip(PATHS, likely, strict=True):
        assert {plan.rows[t].slack / 4 for t in path} == {21 - length}


# -- limited resources


J301_1 = """
 2  8  4  0  0  0   6 11 15
 3  4 10  0  0  0   7  8 13
 4  6  0  0  0  3   5  9 10
 5  3  3  0  0  0  20
 6  8  0  0  0  8  30
 7  5  4  0  0  0  27
 8  9  0  1  0  0  12 19 27
 9  2  6  0  0  0  14
10  7  0  0  0  1  16 25
11  9  0  5  0  0  20 26
12  2  0  7  0  0  14
13  6  4  0  0  0  17 18
14  3  0  8  0  0  17
15  9  3  0  0  0  25
16 10  0  0  0  5  21 22
17  6  0  0  0  8  22
18  5  0  0  0  7  20 22
19  3  0  1  0  0  24 29
20  7  0 10  0  0  23 25
21  2  0  0  0  6  28
22  7  2  0  0  0  23
23  2  3  0  0  0  24
24  3  0  9  0  0  30
25  3  4  0  0  0  30
26  7  0  0  4  0  31
27  8  0  0  0  7  28
28  3  0  8  0  0  31
29  7  0  7  0  0
30  2  0  7  0  0
31  2  0  0  2  0
"""
"""PSPLIB instance j301_1 (Kolisch & Sprecher, European Journal of Operational Research 96, 1997, 205-216), as the
source archive of the package `psplib` carries it: activity, duration, units of four resources, activities after.
Its first and last activity take no time and are left out."""

CAPACITIES = (12, 13, 4, 12)
OPTIMUM = 43
"""Published with the library (Demeulemeester & Herroelen's optimal makespans)."""


def resource_job() -> tuple[str, ...]:
    """The instance with its resources as gear."""
    rows = [[int(word) for word in line.split()] for line in J301_1.split("\n") if line]
    before = {row[0]: [r[0] for r in rows if row[0] in r[6:]] for row in rows}
    tasks = []
    for number, duration, *units in (row[:6] for row in rows):
        held = ", ".join(f'{{ id = "r{k}", units = {u} }}' for k, u in enumerate(units, 1) if u)
        after = " ".join(f"j{b}" for b in before[number])
        tasks.append(task(f"j{number}", after, hands=0, work=duration, gear=f"[{held}]"))
    places = "".join(gear(f"r{k}", count) for k, count in enumerate(CAPACITIES, 1))
    return head(), places, *tasks, task("launch", " ".join(f"j{row[0]}" for row in rows), hands=0)


def test_the_resource_limited_instance_is_proved_at_its_published_optimum() -> None:
    plan = planned(*resource_job(), seconds=30)
    assert starts(plan)["launch"] == OPTIMUM
    assert plan.proved
    taken = [[0] * OPTIMUM for _ in CAPACITIES]
    for line in J301_1.strip().split("\n"):
        number, duration, *units = (int(word) for word in line.split()[:6])
        begin = int(starts(plan)[f"j{number}"])
        for use, count in zip(taken, units, strict=True):
            for period in range(begin, begin + duration):
                use[period] += count
    assert all(max(use) <= most for use, most in zip(taken, CAPACITIES, strict=True))


def test_the_resource_limited_instance_without_its_limits_takes_its_longest_path() -> None:
    # The instance's own file names 38 as the time its arrows alone ask for (MPM-Time).
    parts = [part.replace("gear = [", "# gear = [") for part in resource_job()]
    assert starts(planned(*parts))["launch"] == 38
