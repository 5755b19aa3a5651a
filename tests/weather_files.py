"""Weather files written into a folder and read, and the faults of those that are none."""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer.errors import JobError
from sequencer.weather.bringing import words_of
from sequencer.weather.formats import Weather, read_weather


def saved(folder: Path, text: str, name: str = "weather.csv", coding: str = "utf-8") -> Path:
    """A file of this text."""
    path = folder / name
    path.write_bytes(text.encode(coding))
    return path


def read(folder: Path, text: str, columns: list[str] | None = None, units: list[str] | None = None) -> Weather:
    """A text read as weather; columns and units as on the command line."""
    return read_weather(saved(folder, text), words_of(columns or [], "--column"), words_of(units or [], "--unit"))


def faults(folder: Path, text: str, columns: list[str] | None = None, units: list[str] | None = None) -> list[str]:
    """What is wrong with a text, a sentence each."""
    with pytest.raises(JobError) as caught:
        read(folder, text, columns, units)
    assert caught.value.file.endswith("weather.csv")
    return [fault.sentence() for fault in caught.value.faults]
