"""Humidity and dew point.

Saturation vapour pressure over water e(T) = 6.112 exp(17.62 T / (243.12 + T)) hPa, -45 to 60 °C:
WMO-No. 8, Guide to Instruments and Methods of Observation (the pair of Sonntag, Z. Meteorol. 70, 1990, 340-344).
All functions take floats or arrays; °C and percent.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

A_HPA = 6.112
B = 17.62
C_CELSIUS = 243.12

Reals = NDArray[np.float64]


def saturation_hpa(temp_c: Reals | float) -> Reals:
    """Saturation vapour pressure over water, hPa."""
    t = np.asarray(temp_c, dtype=float)
    pressure: Reals = A_HPA * np.exp(B * t / (C_CELSIUS + t))
    return pressure


def dew_point_c(temp_c: Reals | float, humidity_pct: Reals | float) -> Reals:
    """Dew point of air at `temp_c` and `humidity_pct` (above 0), never above the temperature."""
    t = np.asarray(temp_c, dtype=float)
    rh = np.maximum(np.asarray(humidity_pct, dtype=float), 0.1)
    gamma = np.log(rh / 100.0) + B * t / (C_CELSIUS + t)
    # At 100 % the formula returns the temperature only up to rounding; make it exact.
    dew: Reals = np.where(rh >= 100.0, t, C_CELSIUS * gamma / (B - gamma))
    capped: Reals = np.minimum(dew, t)
    return capped


def humidity_pct(temp_c: Reals | float, dew_c: Reals | float) -> Reals:
    """Relative humidity of air at `temp_c` with dew point `dew_c`, at most 100."""
    humidity: Reals = np.minimum(100.0, 100.0 * saturation_hpa(dew_c) / saturation_hpa(temp_c))
    return humidity
