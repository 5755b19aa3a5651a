"""A widget that shows a drawing: lines with roles, made when first wanted and kept until something changes."""

from __future__ import annotations

from functools import lru_cache

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from sequencer.tui.drawing import Line
from sequencer.tui.theme import Palette


@lru_cache(maxsize=4)
def palette(theme: str) -> Palette:
    """The palette of a theme by name."""
    return Palette(theme)


class Drawn(Widget):
    """Draws what :meth:`drawing` gives. Never markup: names are shown letter for letter."""

    ALLOW_SELECT = False
    ground = "ink"
    """The role of what no run covers."""

    _kept: list[Line] | None = None
    _kept_size: tuple[int, int] = (0, 0)

    def drawing(self, width: int, height: int) -> list[Line]:
        """The lines for this size."""
        raise NotImplementedError

    def redraw(self) -> None:
        """Something changed: draw anew."""
        self._kept = None
        self.refresh()

    def lines(self) -> list[Line]:
        """The drawing for the size the widget has."""
        size = (self.size.width, self.size.height)
        if self._kept is None or self._kept_size != size:
            self._kept, self._kept_size = self.drawing(*size), size
        return self._kept

    def render_line(self, y: int) -> Strip:
        """One line of the drawing as a strip."""
        width = self.size.width
        styles = palette(self.app.theme)
        lines = self.lines()
        runs = lines[y].runs if y < len(lines) else []
        strip = Strip([Segment(text, styles(role)) for text, role in runs])
        return strip.adjust_cell_length(width, styles(self.ground))
