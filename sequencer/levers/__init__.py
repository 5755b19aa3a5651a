"""Levers: each help that might buy a night, tried for real, one at a time and then the best pairs."""

from sequencer.levers.finding import find_levers
from sequencer.levers.late import OddsOf, eight_in_ten
from sequencer.levers.lever import KINDS, Lever, Trials, Tried
from sequencer.levers.running import try_levers

__all__ = ["KINDS", "Lever", "OddsOf", "Trials", "Tried", "eight_in_ten", "find_levers", "try_levers"]
