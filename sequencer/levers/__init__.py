"""Levers: each help that might buy a night, tried for real, one at a time and then the best pairs."""

from sequencer.levers.finding import find_levers
from sequencer.levers.late import OddsOf, eight_in_ten
from sequencer.levers.lever import KINDS, Lever, Trials, Tried
from sequencer.levers.prices import Asked, asked_of, keep_price, parse_price, prices_file, read_prices, with_prices
from sequencer.levers.running import Progress, try_levers, with_odds

__all__ = [
    "KINDS",
    "Asked",
    "Lever",
    "OddsOf",
    "Progress",
    "Trials",
    "Tried",
    "asked_of",
    "eight_in_ten",
    "find_levers",
    "keep_price",
    "parse_price",
    "prices_file",
    "read_prices",
    "try_levers",
    "with_odds",
    "with_prices",
]
