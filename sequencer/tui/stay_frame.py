"""Which cells of the stay are on the screen and where: shared by the head of the page and its lanes."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sequencer.tui.columns import Columns
from sequencer.tui.drawing import Cells
from sequencer.tui.labels import LABEL
from sequencer.tui.marks import Signs
from sequencer.tui.stay_view import StayView


class Frame:
    """The cells in view at one width, scrolled by whole days so that the one stood on is among them.

    edges: slots; screen column LABEL + k shows [edges[k], edges[k + 1]). shown: how many cells.
    """

    def __init__(self, view: StayView, signs: Signs, width: int) -> None:
        view.width = width
        self.view, self.signs, self.width = view, signs, width
        self.columns: Columns = view.columns
        self._scroll()
        self.edges: NDArray[np.int64] = self.columns.edges[view.first_cell : view.first_cell + view.room + 1]
        self.shown = len(self.edges) - 1

    def _scroll(self) -> None:
        view, a_day, room = self.view, self.columns.level.cells, self.view.room
        last = max(0, self.columns.count - room)
        first = min(view.first_cell, last)
        if view.cell < first:
            first = view.cell // a_day * a_day
        elif view.cell >= first + room:
            first = math.ceil((view.cell - room + 1) / a_day) * a_day
        view.first_cell = max(0, min(first, math.ceil(last / a_day) * a_day, view.cell))

    def x_of(self, slot: int) -> int:
        """The screen column of a slot; may lie off the screen."""
        return LABEL + self.columns.cell(slot) - self.view.first_cell

    def within(self, x: int) -> bool:
        """Whether a screen column shows days."""
        return LABEL <= x < LABEL + self.shown

    def days(self) -> list[tuple[int, int]]:
        """(day, screen column) for every day that begins on the screen."""
        a_day, first = self.columns.level.cells, self.view.first_cell
        begin = -(-first // a_day) * a_day
        return [(self.columns.day_of(c), LABEL + c - first) for c in range(begin, first + self.shown, a_day)]

    def tint_nights(self, drawn: Cells) -> None:
        """The darker ground of the nights."""
        for k in range(self.shown):
            if self.columns.is_night(self.view.first_cell + k):
                drawn.tint(LABEL + k, LABEL + k + 1, "dusk")
