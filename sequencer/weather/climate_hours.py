"""Days into hours, as measured days go: temperature between low and high, and what changes from day to day."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sequencer.weather.hourly import COLDEST_HOUR, WARMEST_HOUR

Reals = NDArray[np.float64]

QUICKER = 0.72
"""Power of the share of the time from low to high, and from high to low, that brings half a cosine to the mean days of
Newark and Kennedy: at 09:00 they have risen by 0.46 to 0.64 of the way, at 21:00 they have fallen to 0.35 to 0.51."""

NARROWER = (0.10, 0.065)
"""Days are lowest and highest at different hours, so that the mean day's curve stays inside their mean low and high by
these shares of the span between: a typical year of Greensboro, N.C. (TMY3 723170, carried by the package pvlib)."""

WANDER_HOURS, WANDER = 3, 0.155
"""How far hours stray from the mean day, of that span, one draw each so many hours and straight between: so that the
mean of days' lowest and highest hours is what it was at Greensboro. There a stray hour is as the hour three before
with 0.59, six before with 0.21."""


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


def wandering_hours(low: Reals, high: Reals, wander: Reals) -> Reals:
    """Shape (futures, days, 24): temperatures of days whose lowest and highest hours are `low` and `high` on average.

    wander: deviations of 1, shape (futures, 24 // WANDER_HOURS * days), how far the air strays from the mean day.
    """
    span = high - low
    mean = hours_of_days(low + NARROWER[0] * span, high - NARROWER[1] * span)
    after = np.concatenate((wander[:, 1:], wander[:, -1:]), axis=1)
    share = np.arange(WANDER_HOURS) / WANDER_HOURS
    strayed = wander[:, :, None] + (after - wander)[:, :, None] * share
    return mean + WANDER * span[:, :, None] * strayed.reshape(mean.shape)


def over_the_days(values: Reals) -> Reals:
    """Shape (futures, days, 24): what each day is on the whole, straight from noon to noon between."""
    hour = np.arange(24)
    before = np.concatenate((values[:, :1], values[:, :-1]), axis=1)[:, :, None]
    after = np.concatenate((values[:, 1:], values[:, -1:]), axis=1)[:, :, None]
    now = values[:, :, None]
    morning = now + (before - now) * np.maximum(0, 12 - hour) / 24
    found: Reals = morning + (after - now) * np.maximum(0, hour - 12) / 24
    return found
