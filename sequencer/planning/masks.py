"""Masks over runs of slots: joined, searched for the nearest slot, told as runs. None stands for nowhere."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sequencer.planning.tables import Mask


def either(one: Mask | None, other: Mask | None) -> Mask | None:
    """Where one or the other is true."""
    return other if one is None else one if other is None else one | other


def nearest(mask: Mask, offset: int, begin: NDArray[np.int64], end: NDArray[np.int64]) -> Mask | None:
    """For each (begin, end) whether `mask`, counted from slot `offset`, is true anywhere within; None for never."""
    # What clashes is rare: the nearest clash at or after each begin tells.
    hits = mask.nonzero()[0] + offset
    if not len(hits):
        return None
    at = hits.searchsorted(begin)
    found: Mask = (hits[np.minimum(at, len(hits) - 1)] < end) & (at < len(hits))
    return found


def over(mask: Mask, begin: NDArray[np.int64], end: NDArray[np.int64]) -> Mask | None:
    """As :func:`nearest`, for a mask of the whole grid; begin is rising."""
    low, high = int(begin[0]), int(max(end.max(), begin[-1] + 1))
    return nearest(mask[low:high], low, begin, end)


def looked_up(curve: Sequence[int], at: NDArray[np.int64]) -> NDArray[np.int64]:
    """The values of a curve at rising slots, those past its end taken at the end."""
    clipped = np.minimum(at, len(curve) - 1)
    low = int(clipped[0])
    found: NDArray[np.int64] = np.array(curve[low : int(clipped[-1]) + 1], dtype=np.int64)[clipped - low]
    return found


def runs_of(code: NDArray[Any], names: Sequence[str]) -> list[tuple[str, int]]:
    """Runs of equal codes as (name, count)."""
    if not len(code):
        return []
    bounds = [0, *((code[1:] != code[:-1]).nonzero()[0] + 1).tolist(), len(code)]
    return [(names[code[a]], b - a) for a, b in pairwise(bounds)]
