"""What stands left of a lane: the place, in a few cells."""

from __future__ import annotations

from collections.abc import Sequence

from sequencer.tui.lanes import Lane
from sequencer.tui.marks import Signs
from sequencer.tui.text import pad, width_of

LABEL = 10
"""Cells left of days and hours: the place's name and where one stands."""


def label(lane: Lane, lanes: Sequence[Lane], signs: Signs) -> str:
    """The place's name where the names of all fit, else its id as words, which tells more when cut."""
    room = LABEL - 1
    all_fit = all(width_of(other.name) <= room for other in lanes)
    return pad(lane.name if all_fit else lane.short, room, signs.more)
