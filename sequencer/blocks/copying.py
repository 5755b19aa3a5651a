"""A copy of a job for another stay: all it says, without what happened."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from sequencer.errors import Fault, JobError

LOG = ("started", "finished", "work_left", "reached")
"""What a task's log is made of."""


def copy_of(text: str) -> str:
    """The text of a job without its log and its `now`; comments on lines of their own, order and layout stay.

    Raises JobError where it is no TOML.
    """
    return changed_head(text, {})


def changed_head(text: str, head: Mapping[str, str | dt.date], weather: Mapping[str, str] | None = None) -> str:
    """The same copy, with fields of ``[job]`` set to `head`, and of ``[weather]`` to `weather`."""
    try:
        document: Any = tomlkit.parse(text.removeprefix("\ufeff"))
    except TOMLKitError:
        hint = "see what it says: sequencer plan JOB.toml"
        raise JobError([Fault("", "this can't be copied, it is not sound TOML", hint)]) from None
    for task in _tables(document.get("task")):
        for name in LOG:
            if name in task:
                del task[name]
    for job in _tables(document.get("job")):
        if "now" in job:
            del job["now"]
        for name, value in head.items():
            job[name] = value
    for table in _tables(document.get("weather")):
        for name, value in (weather or {}).items():
            table[name] = value
    return tomlkit.dumps(document)


def _tables(found: Any) -> list[Any]:
    """The tables of a kind, one or several; nothing of what is no table."""
    listed = found if isinstance(found, list) else [found]
    return [table for table in listed if isinstance(table, dict)]
