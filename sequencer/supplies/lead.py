"""Lead times: days from order to delivery. The job file has none, so they are told beside it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from sequencer.errors import Fault, UsageError, one_line

MOST_DAYS = 1000


@dataclass(frozen=True)
class Lead:
    """Lead times in calendar days by the id of a delivery or a material; others: of all else, None for not known."""

    by_id: Mapping[str, int] = field(default_factory=dict)
    others: int | None = None

    def of(self, name: str) -> int | None:
        """The days of one thing; None where nobody has told them."""
        return self.by_id.get(name, self.others)


def lead_of(words: Iterable[str]) -> Lead:
    """Lead times from ``pod=14`` (one thing) and ``5`` (all else). Days are rounded up to whole ones.

    Raises UsageError, with all faults, for what is neither, or no number of days from 0 to MOST_DAYS.
    """
    by_id: dict[str, int] = {}
    others: int | None = None
    faults: list[Fault] = []
    for word in words:
        name, equals, told = word.rpartition("=")
        days = _days(told)
        if days is None or (equals and not name.strip()):
            hint = f"write it like pod=14, or 5 for all else; from 0 to {MOST_DAYS} days"
            faults.append(Fault("", f"{one_line(word, 40)!r} is no lead time", hint))
        elif equals:
            by_id[name.strip()] = days
        else:
            others = days
    if faults:
        raise UsageError(faults)
    return Lead(by_id, others)


def _days(told: str) -> int | None:
    try:
        days = float(told)
    except ValueError:
        return None
    return math.ceil(days) if 0 <= days <= MOST_DAYS else None
