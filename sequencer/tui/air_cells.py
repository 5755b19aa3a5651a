"""The cells of the hours: which quarter hours each covers, and what one of several things against it shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sequencer.grid import Grid
from sequencer.telling.applying import KINDS, YES

CELL_ORDER = ("unknown", "rain", "cold", "warm", "damp", "wind", "rain-ahead", "dew-ahead", "slow")
"""Of several against a cell, the first shows."""
MARKS = {
    "": "open",
    "rain": "rain",
    "cold": "cold",
    "warm": "warm",
    "damp": "damp",
    "wind": "wind",
    "rain-ahead": "rain",
    "dew-ahead": "damp",
}
"""What is against it, and the mark of that; where the weather is not known long enough the cell is left blank."""


@dataclass(frozen=True)
class Cell:
    """One cell of the hours: its column, counted from the first, and its slots [begin, end)."""

    x: int
    begin: int
    end: int


def cells_from(grid: Grid, first: int, room: int, step: int) -> list[Cell]:
    """The cells that fit in `room` columns from slot `first` on, `step` slots each; a blank column between days."""
    found: list[Cell] = []
    x, day, begin = 0, grid.day_of(first), first
    while x < room and day < grid.days:
        end = grid.day_start(day + 1)
        while begin < end and x < room:
            found.append(Cell(x, begin, min(begin + step, end)))
            begin, x = begin + step, x + 1
        day, begin, x = day + 1, end, x + 1
    return found


def worst(codes: NDArray[np.int8]) -> str:
    """What is against a cell with these codes, one of KINDS; of several the first to mind; empty for nothing."""
    found = set(codes.tolist())
    if found == {YES}:
        return ""
    return next((kind for kind in CELL_ORDER if KINDS.index(kind) in found), "unknown")
