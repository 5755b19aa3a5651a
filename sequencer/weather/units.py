"""Units that weather is told in, turned into ours: °C, %, mm and knots.

A nautical mile is 1852 m, a mile 1609.344 m, a foot 0.3048 m, an inch 25.4 mm, all exact (the mile and the foot by the
international agreement of 1959; the nautical mile by the SI brochure, 9th edition, table 8).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

_KNOT = 1852 / 3600
"""A knot in m/s."""


@dataclass(frozen=True)
class Unit:
    """A unit by the name we show; ours = factor × told + offset."""

    name: str
    factor: float = 1.0
    offset: float = 0.0

    def ours(self, told: float) -> float:
        """The value in our own unit."""
        return self.factor * told + self.offset


CELSIUS = Unit("°C")
PERCENT = Unit("%")
MM = Unit("mm")
KNOTS = Unit("kn")

_TEMPERATURES = {
    "c": CELSIUS,
    "f": Unit("°F", 5 / 9, -160 / 9),
    "k": Unit("K", 1.0, -273.15),
}
_HUMIDITIES = {"%": PERCENT, "fraction": Unit("of 1", 100.0)}
_RAINS = {
    "mm": MM,
    "cm": Unit("cm", 10.0),
    "in": Unit("inch", 25.4),
}
_WINDS = {
    "kn": KNOTS,
    "m/s": Unit("m/s", 1 / _KNOT),
    "km/h": Unit("km/h", 1 / 3.6 / _KNOT),
    "mph": Unit("mph", 0.44704 / _KNOT),
    "ft/s": Unit("ft/s", 0.3048 / _KNOT),
}

UNITS: Mapping[str, Mapping[str, Unit]] = {
    "temp": _TEMPERATURES,
    "dew": _TEMPERATURES,
    "humidity": _HUMIDITIES,
    "rain": _RAINS,
    "wind": _WINDS,
}
"""By quantity, the units it may come in, by the word to name each with."""

_SPELLED = {
    "c": ("degc", "celsius", "degreecelsius", "degreescelsius", "centigrade"),
    "f": ("degf", "fahrenheit", "degreefahrenheit", "degreesfahrenheit"),
    "k": ("kelvin", "degk"),
    "%": ("percent", "pct", "prozent"),
    "fraction": ("1", "0-1"),
    "mm": ("millimetre", "millimeter", "millimetres", "millimeters", "mm/h", "kg/m2", "l/m2"),
    "cm": ("centimetre", "centimeter"),
    "in": ("inch", "inches", '"', "in/h"),
    "kn": ("kt", "kts", "knot", "knots", "knt"),
    "m/s": ("ms-1", "mps", "m/sec", "metrespersecond", "meterspersecond"),
    "km/h": ("kmh", "kph", "kmh-1", "km/hr", "kmph"),
    "mph": ("mp/h", "mi/h", "mi/hr", "miles/h", "milesperhour"),
    "ft/s": ("fps", "fts-1"),
}
_WORDS = {spelled: word for word, others in _SPELLED.items() for spelled in (word, *others)}
_BLANKS = re.compile(r"[\s°º˚_^*·]+")


def unit_of(quantity: str, told: str) -> Unit | None:
    """The unit of a quantity as people and files write it (``°F``, ``mp/h``, ``m s⁻¹``); None where it is none."""
    plain = _BLANKS.sub("", told.lower().replace("⁻¹", "-1").replace("−", "-").replace("²", "2"))
    word = _WORDS.get(plain, "")
    return UNITS[quantity].get(word)


def unit_words(quantity: str) -> list[str]:
    """The words to name the units of a quantity with: ``kn``, ``m/s`` ..."""
    return list(UNITS[quantity])
