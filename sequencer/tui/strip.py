"""The strip: the two lines on top of every page."""

from __future__ import annotations

from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn
from sequencer.tui.headline import headline
from sequencer.tui.model import Model


class LaunchStrip(Drawn):
    """Launch, nights, cost, proof; the next last start, and now."""

    model = Model()

    def show(self, model: Model) -> None:
        """Draw a new model."""
        self.model = model
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """Both lines."""
        return headline(self.model, width)
