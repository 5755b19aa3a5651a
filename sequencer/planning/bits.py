"""Sets of slots as Python integers, bit k set where slot k is in: made, read back, searched for runs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def bits(mask: NDArray[np.bool_]) -> int:
    """A boolean array as a Python integer, bit k set where mask[k]."""
    return int.from_bytes(np.packbits(mask, bitorder="little").tobytes(), "little")


def unbits(mask: int, size: int) -> NDArray[np.uint8]:
    """The inverse of :func:`bits`: 1 at k where bit k is set, for the first `size` bits."""
    low = mask & ((1 << size) - 1)
    raw = np.frombuffer(low.to_bytes((size + 7) // 8, "little"), dtype=np.uint8)
    return np.unpackbits(raw, count=size, bitorder="little")


NEAR = (1 << 512) - 1
"""Bits of the slots of five days, past which a run of set ones is seldom."""


def low_ones(mask: int) -> int:
    """How many of the lowest bits are set before the first that isn't."""
    # A short number is looked through in a fraction of the time.
    near = mask & NEAR
    if near == NEAR:
        near = mask
    return (~near & (near + 1)).bit_length() - 1


def pieces(workable: int, start: int, end: int) -> list[tuple[int, int]]:
    """The runs of set bits of `workable` within [start, end)."""
    found = []
    bits_left = (workable & ((1 << (end - start)) - 1) << start) >> start
    at = start
    while bits_left:
        skip = (bits_left & -bits_left).bit_length() - 1
        bits_left >>= skip
        run = low_ones(bits_left)
        found.append((at + skip, at + skip + run))
        bits_left >>= run
        at += skip + run
    return found
