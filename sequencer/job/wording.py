"""How faults are put into words: values shown safe, near names, places, and what pydantic means."""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Iterable
from typing import Any

from sequencer.errors import one_line

SHOWN = 60
"""Letters of a value or a name that a sentence shows at most."""

_SEARCHED = 400
"""Names among which the nearest is sought; comparing with more takes longer than the hint is worth."""

EXAMPLES = {
    "id": '"a-short-name"',
    "timezone": '"Europe/London"',
    "hauled": "2027-04-12T10:00:00",
    "finish": '"relaunch"',
    "due": "2027-04-26",
    "date": "2027-04-16",
    "month": "4",
    "low": "6.0",
    "high": "13.5",
    "from": '"08:00"',
    "to": '"12:00"',
    "temps": "[10, 20, 30]",
    "opens": "[8, 4, 2]",
}
"""What to write for a field that is missing."""


def shown(text: str) -> str:
    """A name or value as a sentence may carry it: one line, harmless, not long."""
    return one_line(text[: SHOWN * 2], SHOWN)


def show(value: object) -> str:
    """A value of the file as the owner wrote it, near enough; never the inside of a list or table."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{shown(value)}"'
    if isinstance(value, int):
        return str(value) if abs(value) < 10**15 else "so large a number"
    if isinstance(value, dt.datetime):
        return value.isoformat(" ", "minutes")
    if isinstance(value, float | dt.date | dt.time):
        return str(value)
    return "a table" if isinstance(value, dict) else "a list" if isinstance(value, list) else "this"


def ordinal(number: int) -> str:
    """1st, 2nd, 3rd, 4th, 11th, 21st."""
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def listing(names: Iterable[str], limit: int = 12) -> str:
    """Names with commas between, the rest counted past `limit`."""
    listed = [shown(name) for name in names]
    more = [f"{len(listed) - limit} more"] if len(listed) > limit else []
    return ", ".join(listed[:limit] + more)


def nearest(name: str, names: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The name most like `name`, or None where none is near; cutoff: how near, 1 being the same."""
    wanted = name[:SHOWN].lower()
    known = {candidate[:SHOWN].lower(): candidate for candidate in names}
    among = list(known)
    if len(among) > _SEARCHED:
        among = [n for n in among if n[:1] == wanted[:1] and abs(len(n) - len(wanted)) <= 2][:_SEARCHED]
    found = difflib.get_close_matches(wanted, among, n=1, cutoff=cutoff)
    return known[found[0]] if found else None


def said(kind: str, value: object, context: dict[str, Any]) -> str:
    """What pydantic's error `kind` means, as a sentence without its subject.

    value: what stood in the file; context: the numbers and names pydantic gives with the error.
    """
    wanted = {
        "string_type": "must be text in quotes",
        "string_unicode": "must be plain text",
        "int_type": "must be a whole number",
        "int_from_float": "must be a whole number",
        "int_parsing_size": "must be a smaller number",
        "float_type": "must be a number",
        "finite_number": "must be a number",
        "bool_type": "must be true or false",
        "tuple_type": "must be a list in square brackets",
        "dict_type": "must be a table in braces",
        "model_type": "must be a table in braces",
        "literal_error": f"must be {context.get('expected', 'something else')}".replace("'", ""),
        "greater_than_equal": f"must be {_plain(context.get('ge'))} or more",
        "less_than_equal": f"must be {_plain(context.get('le'))} or less",
        "greater_than": f"must be more than {_plain(context.get('gt'))}",
    }.get(kind, "must be something else")
    return f"{wanted}, not {show(value)}"


def _plain(number: object) -> str:
    return f"{number:g}" if isinstance(number, float) else str(number)
