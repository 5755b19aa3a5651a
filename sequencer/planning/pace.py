"""How long each way of looking for a plan has its turn, and at which sizes of job which comes first."""

TRIED_ITEMS = 6_000
"""Items placed by one turn of the search, whatever the job's size: a few tenths of a second."""

FILLED, FILLED_LARGER = 20, 80
"""Attempts in vain at a plan with no hands left idle, before the solver has its turns and again after each round; more
where those turns take long to come to anything (past `AIMED_FIRST_UP_TO`)."""

FILLED_UP_TO = 120
"""Items up to which that is tried: an attempt is a step an item, and some back."""

POLISHED_ITEMS = 8_000
"""Items placed to better a plan whose launch is settled."""

FIRST_PROOF_SECONDS = 2.0
"""The solver's first turn at the whole job; each later turn lasts twice as long, from the best plan by then."""

AIM_SECONDS = 0.25
"""The first questions aimed at single slots, an item; twice as long each time nothing comes of a round of turns."""

SETTLE_EFFORT = 2.0
"""The solver's own count of effort (some seconds) for a plan of the proved launch that does not depend on the clock."""

NEAR_SECONDS, NEAR_LARGER_SECONDS = 12.0, 6.0
"""The first looks near the best plan; twice as long each time nothing comes of a round of turns. Shorter in a larger
job (past `AIMED_FIRST_UP_TO`)."""

GEAR_AIM_SECONDS, GEAR_AIM_LARGER_SECONDS, GEAR_PROOF_SECONDS, GEAR_NEAR_SECONDS = 8.0, 4.0, 16.0, 8.0
"""All that where no work needs hands: questions, fewer in a larger job, the second turn at the whole job, and looks."""

PROVED_FIRST_UP_TO = 30
"""Items up to which the whole job is soon settled at once."""

AIMED_FIRST_UP_TO = 60
"""Items up to which a plan by a given slot is soon found, whatever the plan in hand."""

SOLVED_UP_TO = 300
"""Items up to which the solver is asked: past that its model takes gigabytes and closes nothing in minutes."""
