"""Days into hours, as measured days go: temperature between low and high, and what changes from day to day."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sequencer.weather.hourly import COLDEST_HOUR, WARMEST_HOUR

Reals = NDArray[np.float64]

QUICKER = 0.72
"""Power of the share of the time from low to high, and from high to low, that brings half a cosine to the mean days of
Newark and Kennedy: at 09:00 they have risen by 0.46 to 0.64 of the way, at 21:00 they have fallen to 0.35 to 0.51."""


def hours_of_days(low: Reals, high: Reals) -> Reals:
    """Shape (futures, days, 24): temperatures from lows and highs.

    As the contract's days, lowest at 05:00 and highest at 15:00, but falling to the next day's low, not to its own, and
    rising and falling early as measured days do (QUICKER).
    """
    hour = np.arange(24)
    rise = np.clip((hour - COLDEST_HOUR) / (WARMEST_HOUR - COLDEST_HOUR), 0, 1) ** QUICKER
    fall = ((hour - WARMEST_HOUR) % 24 / (24 - WARMEST_HOUR + COLDEST_HOUR)).clip(0, 1) ** QUICKER
    up, down = (1 - np.cos(np.pi * rise)) / 2, (1 + np.cos(np.pi * fall)) / 2
    before = np.concatenate((high[:, :1], high[:, :-1]), axis=1)
    after = np.concatenate((low[:, 1:], low[:, -1:]), axis=1)
    lo, hi, be, af = (a[:, :, None] for a in (low, high, before, after))
    night = lo + (be - lo) * down
    day = lo + (hi - lo) * up
    evening = af + (hi - af) * down
    return np.where(hour < COLDEST_HOUR, night, np.where(hour <= WARMEST_HOUR, day, evening))


def over_the_days(values: Reals) -> Reals:
    """Shape (futures, days, 24): what each day is on the whole, straight from noon to noon between."""
    hour = np.arange(24)
    before = np.concatenate((values[:, :1], values[:, :-1]), axis=1)[:, :, None]
    after = np.concatenate((values[:, 1:], values[:, -1:]), axis=1)[:, :, None]
    now = values[:, :, None]
    morning = now + (before - now) * np.maximum(0, 12 - hour) / 24
    found: Reals = morning + (after - now) * np.maximum(0, hour - 12) / 24
    return found
