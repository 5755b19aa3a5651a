"""Tables of a job's text as plain data, by kind and name."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from typing import Any

from sequencer.job.layout import SINGLE, name_of


@lru_cache(maxsize=2)
def _data(text: str) -> dict[str, Any]:
    return tomllib.loads(text.removeprefix("\ufeff"))


def tables_of(text: str, kind: str) -> list[dict[str, Any]]:
    """The tables of a kind in a job's text, in its order, not to be changed; those there is one of as a list of one."""
    data: Any = _data(text)
    for part in kind.split("."):
        data = data.get(part, {} if kind in SINGLE else []) if isinstance(data, dict) else []
    return [data] if isinstance(data, dict) else list(data)


def table_of(text: str, kind: str, name: str) -> dict[str, Any]:
    """One table by its name, not to be changed; empty where there is none."""
    found = tables_of(text, kind)
    if kind in SINGLE:
        return found[0] if found else {}
    return next((table for table in found if name_of(kind, table) == name), {})
