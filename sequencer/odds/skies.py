"""The air of each future: as told where it is told and believed, drawn from the climate past that.

Forecasts are believed less the farther ahead they reach: in each future the forecast holds up to some day, drawn
anew, and from there the climate goes on from the forecast's last day. Today always holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sequencer.odds.ground import Ground
from sequencer.weather.climate import Climate, Sky, Told
from sequencer.weather.hourly import NORMAL, TOLD, Air
from sequencer.weather.humidity import humidity_pct

TRUST_DAYS = 6.0
"""The chance that a forecast still holds after L days is exp(-(L / 6)²): 0.97 after one day, 0.78 after three, half
after five, 0.06 after ten. Common practice reads a week of forecast as useful; no source gives this curve."""


@dataclass(frozen=True)
class Skies:
    """The air of some futures, each array of shape (futures, slots) as in :class:`Air`."""

    columns: tuple[NDArray[np.float64], ...]
    rain: NDArray[np.bool_]
    source: NDArray[np.int8]

    def air(self, index: int) -> Air:
        """The air outside in one of them."""
        temp, dew, humidity, wind = (column[index] for column in self.columns)
        return Air(temp, dew, humidity, self.rain[index], wind, self.source[index])


class Weathering:
    """Makes the air of futures on a ground from its climate (None: everything is as the plan takes it)."""

    def __init__(self, ground: Ground, climate: Climate | None) -> None:
        self.ground = ground
        self.climate = climate
        grid = ground.grid
        self.first = min(max(0, grid.day_of(ground.base)), grid.days - 1)
        self.days = grid.days - self.first
        self.begin = max(ground.base, 0)
        self.day = grid.day_index[self.begin :] - self.first
        self.hour = self.day * 24 + grid.clock_minutes[self.begin :] // 60

    @cached_property
    def told(self) -> tuple[NDArray[np.bool_], dict[str, NDArray[np.float64]]]:
        """Which days from today on are told from midnight to midnight, and their low, high, dew, wind and rain."""
        grid, air = self.ground.grid, self.ground.expected
        starts = [grid.day_start(d) for d in range(self.first, grid.days)]
        full = np.logical_and.reduceat(air.source == TOLD, starts)
        values = {
            "low": np.minimum.reduceat(air.temp_c, starts),
            "high": np.maximum.reduceat(air.temp_c, starts),
            "wet": np.logical_or.reduceat(air.rain, starts).astype(float),
        }
        size = np.diff([*starts, grid.length])
        values["dew"] = np.add.reduceat(air.dew_c, starts) / size
        values["wind"] = np.add.reduceat(air.wind_kn, starts) / size
        return full, values

    def skies(self, rng: Sequence[np.random.Generator]) -> Skies:
        """The air of a future for each generator."""
        count = len(rng)
        held = np.array([TRUST_DAYS * np.sqrt(-np.log(max(r.random(), 1e-300))) for r in rng])
        expected = self.ground.expected
        plain = (expected.temp_c, expected.dew_c, expected.humidity, expected.wind_kn)
        if self.climate is None:
            columns = tuple(np.broadcast_to(c, (count, len(c))) for c in plain)
            shape = (count, len(expected.rain))
            return Skies(columns, np.broadcast_to(expected.rain, shape), np.broadcast_to(expected.source, shape))
        full, values = self.told
        trusted = np.arange(self.days) < np.maximum(held, 0.5)[:, None]
        told = Told(trusted & full, values["low"], values["high"], values["dew"], values["wind"], values["wet"] > 0)
        sky = self.climate.draw(rng, self.ground.grid.date(self.first), self.days, told)
        keep = (expected.source[self.begin :] == TOLD) & trusted[:, self.day] | ~sky.known[self.day]
        return self._laid(sky, keep, plain)

    def _laid(self, sky: Sky, keep: NDArray[np.bool_], plain: tuple[NDArray[np.float64], ...]) -> Skies:
        count = len(keep)
        flat = [a.reshape(count, -1) for a in (sky.temp_c, sky.dew_c, humidity_pct(sky.temp_c, sky.dew_c), sky.wind_kn)]
        columns = tuple(self._joined(old, new, keep) for old, new in zip(plain, flat, strict=True))
        rain = self._joined(self.ground.expected.rain, sky.rain.reshape(count, -1), keep)
        drawn = np.full((count, 24 * self.days), NORMAL, dtype=np.int8)
        return Skies(columns, rain, self._joined(self.ground.expected.source, drawn, keep))

    def _joined(self, old: NDArray, new: NDArray, keep: NDArray[np.bool_]) -> NDArray:  # type: ignore[type-arg]
        """Shape (futures, slots): the past as it is, from now on `old` where it is kept, else `new` by the hour."""
        out = np.empty((len(keep), len(old)), dtype=old.dtype)
        out[:, : self.begin] = old[: self.begin]
        out[:, self.begin :] = np.where(keep, old[self.begin :], new[:, self.hour])
        return out


def without(risk: str, air: Air, expected: Air) -> Air:
    """The air of a future with its rain, cold, damp or wind as the plan takes it."""
    if risk == "rain":
        return replace(air, rain=expected.rain)
    if risk == "wind":
        return replace(air, wind_kn=expected.wind_kn)
    temp = expected.temp_c if risk == "cold" else air.temp_c
    dew = np.minimum(expected.dew_c if risk == "damp" else air.dew_c, temp)
    return replace(air, temp_c=temp, dew_c=dew, humidity=humidity_pct(temp, dew))


def rained_off(air: Air, begin: int, end: int) -> Air:
    """The air of a future with rain all through [begin, end)."""
    rain = air.rain.copy()
    rain[begin:end] = True
    return replace(air, rain=rain)
