"""The solver's model of plans whose starts lie between bounds; none where it is plain that there is no such plan."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sequencer.planning.bound import latest_starts
from sequencer.planning.placing import Placer

if TYPE_CHECKING:
    from sequencer.planning.model import Model


class StoppedError(Exception):
    """A model was no longer wanted before it was written."""


@dataclass(frozen=True)
class Leg:
    """How far a leg goes, in positions on shift. until: work that starts there or later takes no hands, gear or air.

    end: by which all work is done.
    """

    until: int
    end: int


def model_by(
    placer: Placer,
    earliest: Sequence[int],
    first: int,
    last: int,
    keyable: Container[tuple[int, int]] | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Model | None:
    """The model for launches from slot `first` to `last`; None where it is plain that there is none.

    stop: polled. Raises StoppedError where it says so.
    """
    floor = _from_launch(placer, earliest, first)
    return model_between(placer, floor, latest_starts(placer, last), True, keyable, stop=stop)


def bounds_ready(placer: Placer, earliest: Sequence[int], first: int, ready: int) -> tuple[list[int], list[int]]:
    """First and last starts by item for launches from slot `first` on for which all is ready by slot `ready`."""
    launches = placer.problem.items[placer.problem.finish].course.starts
    launch = launches[min(bisect_left(launches, ready), len(launches) - 1)]
    return _from_launch(placer, earliest, first), latest_starts(placer, launch, ready)


def _from_launch(placer: Placer, earliest: Sequence[int], first: int) -> list[int]:
    """Earliest starts by item, that of the launch from slot `first` on."""
    finish = placer.problem.finish
    return [max(start, first) if i == finish else start for i, start in enumerate(earliest)]


def model_ready(
    placer: Placer,
    earliest: Sequence[int],
    first: int,
    ready: int,
    keyable: Container[tuple[int, int]] | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Model | None:
    """The model for launches from slot `first` on for which all is ready by slot `ready`, at the first that then is.

    stop: polled. Raises StoppedError where it says so.
    """
    return model_between(placer, *bounds_ready(placer, earliest, first, ready), True, keyable, stop=stop)


def model_between(
    placer: Placer,
    earliest: Sequence[int],
    latest: Sequence[int],
    by_shift: bool = False,
    keyable: Container[tuple[int, int]] | None = None,
    leg: Leg | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Model | None:
    """The model with every start between these; None where it is plain that there is none.

    by_shift: whether to tell what must fit between each shift and the launch, which is of use where little may be idle.
    leg: how far work takes hands, gear and air, None where it always does. stop: polled.
    Raises StoppedError where that says so.
    """
    from sequencer.planning.limits import limit_shifts
    from sequencer.planning.model import Model

    if any(latest[i] < earliest[i] for i in placer.free if i in placer.before_launch):
        return None
    model = Model(placer, earliest, latest, keyable=keyable, until=leg.until if leg else None, stop=stop)
    if by_shift and not model.hopeless:
        limit_shifts(model, leg.end if leg else None)
    return None if model.hopeless else model


def model_near(
    placer: Placer,
    first: Sequence[int],
    last: Sequence[int],
    kept: Sequence[tuple[int, int]],
    worth: tuple[int, int, int],
    weights: Mapping[int, int] | None = None,
    keyed: int = 0,
    keyable: Container[tuple[int, int]] | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Model | None:
    """The model of plans no worse than `worth`: launch slot, when ready, slots of keying. None where there is none.

    first, last: by item the starts allowed. kept: pairs of items that keep their order.
    weights: by item what a slot later counts, and keyed: a slot of keying, where it asks for work as far forward as it
    goes, of such plans; else it asks for the best of them. keyable: the later items and coats whose window may be
    missed, None for all. stop: polled. Raises StoppedError where it says so.
    """
    latest = [min(late, end) for late, end in zip(latest_starts(placer, worth[0]), last, strict=True)]
    model = model_between(placer, first, latest, False, keyable, stop=stop)
    if model is not None:
        model.keep_order(kept)
        model.aim_near(*worth, weights, keyed)
    return model
