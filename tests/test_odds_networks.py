"""Odds of networks of hours held against published values; weather and hands play no part in them."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from odds_jobs import Spans, network, planned

from sequencer.job import Job
from sequencer.odds.batches import Batches
from sequencer.odds.chances import pert_shape
from sequencer.odds.ground import Given

PROTOTYPE: Spans = {
    "a": ((1, 2, 3), ""),
    "b": ((2, 3.5, 8), "a"),
    "c": ((6, 9, 18), "b"),
    "d": ((4, 5.5, 10), "c"),
    "e": ((1, 4.5, 5), "c"),
    "f": ((4, 4, 10), "e"),
    "g": ((5, 6.5, 11), "d"),
    "h": ((5, 8, 17), "e g"),
    "i": ((3, 7.5, 9), "c"),
    "j": ((3, 9, 9), "f i"),
    "k": ((4, 4, 4), "j"),
    "l": ((1, 5.5, 7), "j"),
    "m": ((1, 2, 3), "h"),
    "n": ((5, 5.5, 9), "k l"),
}
"""Hillier and Lieberman, Introduction to Operations Research: 14 activities, in weeks; triples from memory."""

MERGING: Spans = {
    "a": ((5, 6, 7), ""),
    "b": ((8, 8, 11), ""),
    "c": ((6, 8, 11), "a"),
    "d": ((9, 12, 15), ""),
    "e": ((5, 6, 9), "c"),
    "f": ((5, 6, 7), "d"),
    "g": ((2, 3, 7), "f"),
    "h": ((4, 4, 5), "b"),
    "i": ((5, 7, 8), "h"),
}
"""Three merging paths of an operations text: 20.50, 21.50 and 19.50 long, variance of d-f-g 1.805."""


def durations(job: Job, unit: float, runs: int = 800) -> NDArray[np.float64]:
    """How long each future takes, in the source's unit."""
    plan = planned(job)
    batches = Batches(Given.of(job, plan), 3, runs, plan.problem.tables, 0)
    launches = np.concatenate([batches.make(k).launch for k in range(batches.count)])
    return (launches - plan.now) / 4 / unit


@cache
def prototype_path() -> NDArray[np.float64]:
    """The one path a-b-c-e-f-j-l-n alone."""
    path = "abcefjln"
    alone = {name: (PROTOTYPE[name][0], path[k - 1] if k else "") for k, name in enumerate(path)}
    return durations(network(alone, 10), 10)


@pytest.mark.parametrize("span", [(1, 2, 3), (2, 3.5, 8), (4, 4, 10), (3, 9, 9), (5, 5.5, 9), (0, 1, 100)])
def test_hours_have_the_mean_and_deviation_of_pert(span: tuple[float, float, float]) -> None:
    """(a + 4m + b) / 6 and (b - a) / 6: Malcolm, Roseboom, Clark and Fazar 1959."""
    low, likely, high = (np.array(x, dtype=float) for x in span)
    a, b = pert_shape(low, likely, high)
    # Mean and variance of a beta distribution: any handbook.
    mean = low + (high - low) * a / (a + b)
    variance = (high - low) ** 2 * a * b / ((a + b) ** 2 * (a + b + 1))
    assert mean == pytest.approx((low + 4 * likely + high) / 6)
    assert np.sqrt(variance) == pytest.approx((high - low) / 6)


def test_one_path_has_the_published_mean_variance_and_chance() -> None:
    """Mean 44, variance 9, and 47 weeks kept with 0.8413 on the critical path: Hillier and Lieberman (from memory)."""
    path = prototype_path()
    # Each of the eight tasks ends on the next quarter hour: 0.0125 of a week on average, 0.1 for the path.
    assert path.mean() - 0.1 == pytest.approx(44, abs=0.2)
    assert path.var() == pytest.approx(9, rel=0.1)
    assert np.mean(path - 0.1 <= 47) == pytest.approx(0.8413, abs=0.025)


def test_the_whole_network_takes_longer_than_its_longest_path() -> None:
    """Paths merge: the text's 0.84 for 47 weeks, which minds one path alone, is too rosy."""
    whole = durations(network(PROTOTYPE, 10), 10)
    assert whole.mean() > prototype_path().mean() + 0.2
    assert np.mean(whole <= 47) < np.mean(prototype_path() <= 47)


def test_merging_paths_take_longer_than_the_longest() -> None:
    """The path of 21.50 has a variance of 1.805; a simulation must come out above 21.5."""
    dfg = {"d": MERGING["d"], "f": MERGING["f"], "g": MERGING["g"]}
    alone = durations(network(dfg, 10), 10)
    assert alone.mean() - 0.0375 == pytest.approx(21.5, abs=0.1)
    assert alone.var() == pytest.approx(1.805, rel=0.1)
    assert 21.5 < durations(network(MERGING, 10), 10).mean() - 0.05 < 22.3


@pytest.mark.parametrize(
    ("second", "mean", "variance"), [((4, 10, 16), 11.12838, 2.72676), ((0, 9, 18), 10.99338, 3.97360)]
)
def test_the_later_of_two_is_as_clark_reckons(second: tuple[float, float, float], mean: float, variance: float) -> None:
    """Clark, Operations Research 9, 1961, 145-162: N(10, 2) with N(10, 2), and with N(9, 3).

    The betas are bounded and a little flatter than normals; hence the tolerance.
    """
    later = durations(network({"a": ((4, 10, 16), ""), "b": (second, "")}, 10), 10, 1600)
    assert later.mean() == pytest.approx(mean, abs=0.1)
    assert later.var() == pytest.approx(variance, rel=0.08)
