"""Days as columns of cells: how fine a day is cut, and which slots each cell covers."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sequencer.grid import Grid
from sequencer.telling import day_name


@dataclass(frozen=True)
class Level:
    """How a day is cut: cells begin at these minutes of the local day. days: days a cell, where a cell is coarser."""

    starts: tuple[int, ...]
    days: int = 1
    names: tuple[str, ...] = ()

    @property
    def cells(self) -> int:
        """Cells a day (or a cell of several days)."""
        return len(self.starts)


def _even(cells: int) -> Level:
    return Level(tuple(range(0, 1440, 1440 // cells)))


LEVELS = (
    Level((0,), 2),
    Level((0,)),
    Level((360, 1080), names=("day", "night")),
    Level((360, 720, 1080), names=("forenoon", "afternoon", "night")),
    Level((0, 360, 720, 1080), names=("small hours", "forenoon", "afternoon", "evening")),
    _even(6),
    _even(8),
    _even(12),
    _even(24),
)
"""From the coarsest to the finest. Where a night is one cell it belongs to the evening it began."""

USUAL, USUAL_WIDE = 3, 4
"""Levels an ordinary stay opens with on a narrow and on a wide screen."""


class Columns:
    """The cells of a span of days at one level.

    edges: slots; cell k covers [edges[k], edges[k + 1]).
    """

    def __init__(self, grid: Grid, level: int, days: int) -> None:
        self.grid = grid
        self.level = LEVELS[level]
        self.days = days
        starts = [grid.at(d, m) for d in range(0, days, self.level.days) for m in self.level.starts]
        last = -(-days // self.level.days) * self.level.days
        self.edges: NDArray[np.int64] = np.array([*starts, grid.at(last, self.level.starts[0])], dtype=np.int64)
        # The small hours of the very first day belong to its first cell.
        self.edges[0] = min(self.edges[0], grid.day_start(0))
        self._edges = self.edges.tolist()

    @property
    def count(self) -> int:
        """How many cells."""
        return len(self._edges) - 1

    def cell(self, slot: int) -> int:
        """The cell that covers a slot, clipped to the first and last."""
        return max(0, min(self.count - 1, bisect_right(self._edges, slot) - 1))

    def span(self, cell: int) -> tuple[int, int]:
        """The slots of a cell."""
        return self._edges[cell], self._edges[cell + 1]

    def day_of(self, cell: int) -> int:
        """The day a cell stands under."""
        return cell // self.level.cells * self.level.days

    def is_night(self, cell: int) -> bool:
        """Whether the middle of a cell is before 06:00 or after 18:00; never where a cell is a day."""
        if self.level.cells == 1:
            return False
        begin, end = self.span(cell)
        middle = self.grid.moment((begin + end) // 2)
        return middle.hour < 6 or middle.hour >= 18

    def name(self, cell: int) -> str:
        """What a cell is called in a sentence: ``Fri 16 afternoon``, ``Fri 16 08:00-12:00``."""
        date = self.grid.date(self.day_of(cell))
        begin, end = self.span(cell)
        if self.level.days > 1:
            return f"{day_name(date)} and {day_name(self.grid.date(self.day_of(cell) + 1))}"
        if self.level.cells == 1:
            return day_name(date)
        if self.level.names:
            return f"{day_name(date)} {self.level.names[cell % self.level.cells]}"
        return f"{day_name(date)} {self.grid.moment(begin):%H:%M}-{self.grid.moment(end):%H:%M}"


def opening_level(days: int, cells: int, usual: int) -> int:
    """The finest level that shows `days` in `cells` cells; short stays get up to eight cells a day."""
    for level in range(max(usual, 6), 0, -1):
        if LEVELS[level].cells * days <= cells:
            return level
    return 0
