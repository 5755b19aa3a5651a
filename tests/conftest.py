"""Fixtures that several files of tests share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from small_job import TEXT

from sequencer.job.jobfile import JobFile


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A small job file on disk."""
    file = tmp_path / "job.toml"
    file.write_bytes(TEXT.encode())
    return file


@pytest.fixture
def file(path: Path) -> Iterator[JobFile]:
    """The small job file, open."""
    with JobFile.open(path) as opened:
        yield opened
