"""Two plans side by side: what a change of the job did, and that in words."""

from sequencer.moved.comparing import Miss, Move, Moved, Side, Tight, Today, compare
from sequencer.moved.words import (
    cause_sentences,
    missed_sentences,
    moved_sentences,
    row_names,
    today_sentences,
    window_sentences,
)

__all__ = [
    "Miss",
    "Move",
    "Moved",
    "Side",
    "Tight",
    "Today",
    "cause_sentences",
    "compare",
    "missed_sentences",
    "moved_sentences",
    "row_names",
    "today_sentences",
    "window_sentences",
]
