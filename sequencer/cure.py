"""Cure as a dose over the hours' temperatures (contract §4).

τ(T) is the hours to a stage at temperature T: straight in ln τ between the table's columns, halving or doubling
with each 10 °C outside them. A stage is reached at the first grid line where the sum of 0.25 h / τ(T) since the
count began is 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sequencer.grid import PER_HOUR
from sequencer.job import Material
from sequencer.weather.hourly import EPSILON, Air

HALVING_CELSIUS = 10.0
"""Outside a table each 10 °C halves or doubles the time (UFGS 09971 §3.7.1.3 gives the same rule for pot life)."""

FULL_DOSE = 1.0 - 1e-9
"""A dose of 1, forgiving the rounding of the sum."""


def hours_to_stage(
    temps: tuple[float, ...], hours: tuple[float, ...], temp_c: NDArray[np.float64]
) -> NDArray[np.float64]:
    """τ(T) in hours for each temperature; `temps` rising, `hours` one a column, above zero."""
    columns = np.array(temps)
    logs = np.log2(np.array(hours))
    inside = np.interp(temp_c, columns, logs)
    below = np.maximum(0.0, columns[0] - temp_c) / HALVING_CELSIUS
    above = np.maximum(0.0, temp_c - columns[-1]) / HALVING_CELSIUS
    tau: NDArray[np.float64] = np.exp2(inside + below - above)
    return tau


def slot_dose(material: Material, hours: tuple[float, ...], air: Air) -> NDArray[np.float64]:
    """Shape (slots,): the dose toward a stage that each slot adds.

    Where there is no weather, or it is colder than ``no_cure_below``, nothing is added.
    """
    stands_still = ~air.known
    if material.no_cure_below is not None:
        stands_still |= air.temp_c < material.no_cure_below - EPSILON
    temp = np.where(air.known, air.temp_c, 20.0)
    return np.where(stands_still, 0.0, 1.0 / (PER_HOUR * hours_to_stage(material.temps, hours, temp)))


def cumulative_dose(material: Material, hours: tuple[float, ...], air: Air) -> NDArray[np.float64]:
    """Shape (slots + 1,): the dose toward a stage summed from slot 0 up to each grid line."""
    return np.concatenate(([0.0], np.cumsum(slot_dose(material, hours, air))))


def reached_at(dose: NDArray[np.float64]) -> NDArray[np.int64]:
    """Shape (slots + 1,): for a count begun at each grid line, the first grid line where the dose is full.

    Where it is not full within the grid the value is ``len(dose)``, one past the last grid line.
    """
    return np.searchsorted(dose, dose + FULL_DOSE, side="left")
