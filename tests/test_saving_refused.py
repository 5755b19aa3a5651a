"""What the disk refuses, and what breaks in: the file is whole, the reason is plain, the next change goes through."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from small_job import TEXT, left_beside, note, on_disk

from sequencer.errors import SaveError
from sequencer.job.jobfile import JobFile
from sequencer.job.journal import journal_path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "job.toml"
    file.write_bytes(TEXT.encode())
    return file


@pytest.fixture
def file(path: Path) -> Iterator[JobFile]:
    with JobFile.open(path) as opened:
        yield opened


CALLS = ("open", "write", "fsync", "replace")


class Breaking:
    """Fails call number `number` of those that save, once, with this error."""

    def __init__(self, number: int, code: int) -> None:
        self.left, self.code = number, code

    def over(self, call: Callable[..., Any]) -> Callable[..., Any]:
        def breaking(*args: Any, **named: Any) -> Any:
            self.left -= 1
            if self.left == 0:
                if call is WRITE:
                    WRITE(args[0], bytes(args[1])[: len(args[1]) // 2])
                raise OSError(self.code, os.strerror(self.code))
            return call(*args, **named)

        return breaking


WRITE = os.write


def refusal(act: Callable[[], object]) -> str:
    """Why something could not be saved; empty where it could."""
    try:
        act()
    except SaveError as error:
        return str(error)
    return ""


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EROFS, errno.EACCES, errno.EDQUOT])
def test_whatever_fails_while_saving_the_file_is_whole_and_the_next_change_goes_through(
    code: int, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    failed = 0
    for number in range(1, 30):
        path.write_text(TEXT)
        with JobFile.open(path) as file:
            file.apply(note("a"))
            before = file.text
            with monkeypatch.context() as patched:
                fault = Breaking(number, code)
                for name in CALLS:
                    patched.setattr(os, name, fault.over(getattr(os, name)))
                said = refusal(lambda: file.apply(note("b")))
            if said:
                failed += 1
                assert (on_disk(path), file.text) == (before, before)
                assert left_beside(path) == {".job.toml.journal"}
                assert said.startswith(str(path))
            file.apply(note("c"))
            while file.next_undo:
                file.undo()
            assert on_disk(path) == TEXT
        journal_path(path).unlink()
        if fault.left > 0:
            break
    else:
        pytest.fail("saving asks the system for more than was tried")
    assert failed >= 5


class Interrupting:
    """Raises KeyboardInterrupt at call number `number`, before it is made or right after."""

    def __init__(self, number: int, after: bool) -> None:
        self.left, self.after = number, after

    def over(self, call: Callable[..., Any]) -> Callable[..., Any]:
        def interrupting(*args: Any, **named: Any) -> Any:
            self.left -= 1
            made = call(*args, **named) if self.left or self.after else None
            if self.left == 0:
                raise KeyboardInterrupt
            return made

        return interrupting


@pytest.mark.parametrize("after", [False, True])
def test_interrupted_while_saving_what_is_shown_is_what_is_saved(
    after: bool, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(1, 30):
        path.write_text(TEXT)
        with JobFile.open(path) as file:
            file.apply(note("a"))
            with monkeypatch.context() as patched:
                fault = Interrupting(number, after)
                for name in (*CALLS, "ftruncate"):
                    patched.setattr(os, name, fault.over(getattr(os, name)))
                with contextlib.suppress(KeyboardInterrupt):
                    file.apply(note("b"))
            assert on_disk(path) == file.text
            assert file.job.tasks["wash"].note in ("a", "b")
            file.apply(note("c"))
            assert "changed by another program" not in [n.words for n in file.history()]
        with JobFile.open(path) as file:
            while file.next_undo:
                file.undo()
            assert on_disk(path) == TEXT
        assert left_beside(path) == {".job.toml.journal"}
        journal_path(path).unlink()
        if fault.left > 0:
            break
    else:
        pytest.fail("saving asks the system for more than was tried")


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (errno.ENOSPC, "can't be saved, the disk is full; make room, then do it again; the file is as it was"),
        (errno.EROFS, "can't be saved, the disk is read-only; copy the job to another place and open it there"),
        (errno.EIO, "can't be saved, the disk does not answer"),
    ],
)
def test_failures_are_plain_sentences(code: int, words: str, file: JobFile, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", Breaking(1, code).over(os.fsync))
        with pytest.raises(SaveError) as caught:
            file.apply(note("a"))
    assert words in str(caught.value)


def test_a_read_only_folder_is_for_looking(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patched:

        def no(*_: Any, **__: Any) -> int:
            raise PermissionError(errno.EACCES, "no")

        patched.setattr(os, "open", no)
        with JobFile.open(path) as file:
            assert isinstance(file.trouble, SaveError)
            assert file.job.tasks["wash"].hours == 2
            with pytest.raises(SaveError, match="can't be changed, the file or its folder is read-only"):
                file.apply(note("a"))
            patched.undo()
            file.apply(note("a"))
            assert file.trouble is None


NOBODY = 65534
"""The user that owns nothing: root may write anywhere, so the test steps down to it."""


def test_a_folder_without_write_permission() -> None:
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "job.toml"
        path.write_text(TEXT, encoding="utf-8")
        path.parent.chmod(0o555)
        root = os.geteuid() == 0
        try:
            if root:
                os.seteuid(NOBODY)
            with JobFile.open(path) as file, pytest.raises(SaveError, match="read-only"):
                file.apply(note("a"))
        finally:
            if root:
                os.seteuid(0)
            path.parent.chmod(0o755)
        assert on_disk(path) == TEXT


def test_a_read_only_file_is_not_replaced(path: Path) -> None:
    path.chmod(0o444)
    with JobFile.open(path) as file, pytest.raises(SaveError, match="the file or its folder is read-only"):
        file.apply(note("a"))
    assert on_disk(path) == TEXT
