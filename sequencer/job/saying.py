"""What a change did, in the words of the journal: short, a line, no full stop."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

from sequencer.job.wording import listing, shown

SAID = 40
"""Letters of a value that a line of the journal shows."""


def say_value(value: Any) -> str:
    """A value of the file in a line of the journal."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime | dt.date):
        return say_moment(value)
    if isinstance(value, dict):
        said = ", ".join(f"{key} {say_value(item)}" for key, item in value.items())
    elif isinstance(value, list | tuple):
        said = ", ".join(say_value(item) for item in value) or "none"
    else:
        said = f"{value:g}" if isinstance(value, float) else str(value) or "none"
    said = shown(said)
    return said if len(said) <= SAID else said[: SAID - 1] + "…"


def say_moment(moment: dt.datetime | dt.date) -> str:
    """Wed 21 Apr 16:40, or Wed 21 Apr."""
    day = f"{moment:%a} {moment.day} {moment:%b}"
    return f"{day} {moment:%H:%M}" if isinstance(moment, dt.datetime) else day


def say_hours(hours: float) -> str:
    """2 h, 1 h 30 or 45 min."""
    minutes = round(hours * 60)
    whole, rest = divmod(minutes, 60)
    if not whole:
        return f"{rest} min"
    return f"{whole} h {rest:02}" if rest else f"{whole} h"


def say_names(names: Iterable[str], limit: int = 4) -> str:
    """a, b and c; the rest counted past `limit`."""
    listed = list(names)
    if len(listed) > limit:
        return listing(listed, limit)
    told = [shown(name) for name in listed]
    return " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)
