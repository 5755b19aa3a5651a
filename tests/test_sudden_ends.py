"""A process that saves is killed (SIGKILL) at every step: the file is whole, and no accepted change is lost."""

from __future__ import annotations

import os
import random
import signal
import time
from pathlib import Path

import pytest
from killing import Fuse, changes_in_child, opens_in_child
from small_job import TEXT, left_beside, on_disk

from sequencer.job.jobfile import JobFile
from sequencer.job.journal import journal_path
from sequencer.job.writing import SetField


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "job.toml"
    file.write_bytes(TEXT.encode())
    return file


def states(edits: int) -> list[str]:
    """The texts that the child makes one after another."""
    made = [TEXT.replace('id = "wash"\n', f'id = "wash"\nnote = "note {n}"\n') for n in range(1, edits + 1)]
    return [TEXT, *made, made[-2]]


def wait_and_read(child: int, reading: int) -> tuple[int, int]:
    """The number of changes accepted, and how the child ended (0: by itself)."""
    accepted = b""
    while letters := os.read(reading, 4096):
        accepted += letters
    os.close(reading)
    return len(accepted), os.waitpid(child, 0)[1]


def assert_nothing_lost(path: Path, edits: int, accepted: int) -> None:
    """The file is whole, has all that was accepted and at most one change more, and can be undone to the first."""
    texts = states(edits)
    allowed = texts[accepted : accepted + 2]
    assert on_disk(path) in allowed
    with JobFile.open(path) as file:
        assert file.trouble is None
        assert on_disk(path) == file.text
        assert file.text in allowed
        file.apply(SetField("task", "go", "note", "and on"))
        while file.next_undo:
            file.undo()
        assert path.read_bytes() == TEXT.encode()
    assert left_beside(path) == {".job.toml.journal"}
    journal_path(path).unlink()


@pytest.mark.parametrize("half", [False, True])
def test_killed_at_every_step_of_saving_nothing_is_lost(half: bool, path: Path) -> None:
    for moment in range(1, 400):
        path.write_text(TEXT)
        accepted, ended = wait_and_read(*changes_in_child(path, Fuse(moment, half)))
        assert_nothing_lost(path, 3, accepted)
        if not ended:
            assert accepted == 4
            break
    else:
        pytest.fail("the child never came to its end")
    assert moment > 40


def test_killed_while_saving_and_again_at_every_step_of_recovering_nothing_is_lost(path: Path) -> None:
    seen = set()
    for moment in range(1, 60):
        path.write_text(TEXT)
        accepted, ended = wait_and_read(*changes_in_child(path, Fuse(moment, half=True), edits=2))
        left = {entry: entry.read_bytes() for entry in path.parent.iterdir()}
        state = tuple(sorted((entry.name, len(raw)) for entry, raw in left.items()))
        if not ended or state in seen:
            continue
        seen.add(state)
        for second in range(1, 60):
            for entry, raw in left.items():
                entry.write_bytes(raw)
            opened = wait_and_read(*opens_in_child(path, Fuse(second, half=True)))
            assert_nothing_lost(path, 2, accepted)
            if not opened[1]:
                break
    assert len(seen) > 8


def test_killed_at_any_time_nothing_is_lost(path: Path) -> None:
    dice = random.Random(4)
    for _ in range(80):
        path.write_text(TEXT)
        child, reading = changes_in_child(path, None, edits=100)
        time.sleep(dice.random() * 0.05)
        os.kill(child, signal.SIGKILL)
        accepted, _ = wait_and_read(child, reading)
        assert_nothing_lost(path, 100, accepted)
