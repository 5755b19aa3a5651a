"""How sure the date is: hundreds of futures of one job, each lived through, and what they say together."""

from sequencer.odds.results import RISKS, Launch, Odds, Spread
from sequencer.odds.telling import tell_odds

__all__ = ["RISKS", "Launch", "Odds", "Spread", "tell_odds"]
