"""Two plans side by side: what a change of the job did, and that in words."""

from sequencer.moved.comparing import Miss, Move, Moved, Side, Tight, Today, compare
from sequencer.moved.words import moved_sentences

__all__ = ["Miss", "Move", "Moved", "Side", "Tight", "Today", "compare", "moved_sentences"]
