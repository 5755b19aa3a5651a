"""How far from the best plan the solver may look: a day, two days, or further for what lies in some days of the stay.

With most starts ruled out it soon finds what there is, where on the whole job it would look for minutes (large
neighbourhood search: Shaw, Principles and Practice of Constraint Programming 1998, 417-431).
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

DAY = 96
"""Slots."""

NEAR_SECONDS = 4.0
"""One look of the solver, at most."""

WIDTHS = ((1, 0), (2, 0), (6, 2), (6, 2), (10, 3), (10, 3))
"""Tried in turn: by how many days tasks may move; all of them, or only those of so many days, the others by one."""


def spread_of(width: tuple[int, int], starts: Sequence[int], base: int, launch: int, rng: Random) -> list[int]:
    """By item, how many slots it may move from its start. base, launch: the slots between which days are drawn."""
    days, freed = width
    if not freed:
        return [days * DAY] * len(starts)
    first = rng.randrange(base, launch)
    return [days * DAY if first <= start < first + freed * DAY else DAY for start in starts]
