"""What is asked of a weather file's columns: that those needed are there, and that each has a unit."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence

from sequencer.errors import Fault, JobError, one_line
from sequencer.job.wording import listing, nearest
from sequencer.weather.units import KNOTS, Unit, unit_of, unit_words

LEFT_OUT = "none"
"""Given for a column that the file does not have, and whose quantity is then taken for zero."""

MAY_LACK = ("rain", "wind")
"""Quantities that may be left out so."""


def check_wanted(found: Container[str], named: Mapping[str, str], header: Sequence[str], where: str) -> None:
    """Raise JobError for columns that were named and are not there, and for quantities no column tells.

    found: quantities that have a column, ``time`` among them. named: columns by quantity as the owner names them.
    """
    faults = []
    for quantity, column in named.items():
        if column == LEFT_OUT and quantity not in MAY_LACK:
            faults.append(Fault("", f"{quantity} can't be left out", f"name its column: --column {quantity}=NAME"))
        elif column != LEFT_OUT and column not in header:
            near = nearest(column, header)
            hint = f"did you mean {one_line(near, 40)}?" if near else f"there are {listing(header)}"
            faults.append(Fault(where, f"there is no column {one_line(column, 40)!r}", hint))
    for quantity in ("time", "temp", *MAY_LACK):
        if quantity not in found and quantity not in named:
            also = f", or --column {quantity}=none" if quantity in MAY_LACK else ""
            hint = f"name it: --column {quantity}=NAME{also}; there are {listing(header)}"
            faults.append(Fault(where, f"no column is known to tell {quantity}", hint))
    if "humidity" not in found and "dew" not in found and not {"humidity", "dew"} & named.keys():
        hint = f"name one: --column humidity=NAME, or dew; there are {listing(header)}"
        faults.append(Fault(where, "no column is known to tell humidity or dew", hint))
    if faults:
        raise JobError(faults)


def unit_for(quantity: str, column: str, told: str, units: Mapping[str, str], faults: list[Fault]) -> Unit:
    """The unit of a column: as the owner says, or as the file tells (`told`); a fault where neither is known."""
    given = units.get(quantity, "")
    unit = unit_of(quantity, given or told)
    if unit is not None:
        return unit
    words = listing(unit_words(quantity))
    name = one_line(column, 40)
    if given:
        what = f"{one_line(given, 40)!r} is no unit of {quantity}"
        faults.append(Fault("", what, f"take one of {words}"))
    elif told:
        what = f"{quantity} is in {one_line(told, 40)!r}, which is not known"
        faults.append(Fault(name, what, f"say which it is: --unit {quantity}={unit_words(quantity)[0]} (of {words})"))
    else:
        what = f"the unit of {quantity} is not told"
        faults.append(Fault(name, what, f"say which it is: --unit {quantity}={unit_words(quantity)[0]} (of {words})"))
    return KNOTS
