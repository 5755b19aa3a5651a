"""A job file beside other windows of our own and other programs: what they wrote is seen, never overwritten."""

from __future__ import annotations

import errno
import os
import signal
from collections.abc import Callable
from pathlib import Path

import pytest
from killing import changes_in_child
from small_job import TEXT, note, on_disk

from sequencer.errors import ChangedOutsideError, InUseError, JobError, SaveError
from sequencer.job.jobfile import JobFile

# -- two instances ---------------------------------------------------------------------------------------------------


def test_a_second_window_may_look_and_writes_once_the_first_is_closed(path: Path) -> None:
    first = JobFile.open(path)
    with JobFile.open(path) as second:
        assert isinstance(second.trouble, InUseError)
        with pytest.raises(InUseError, match="the job is open in another window; close it there"):
            second.apply(note("second"))
        first.apply(note("first"))
        assert [n.words for n in second.history()] == ["wash: note first"]
        first.close()
        # The first has written meanwhile: that is seen, not overwritten.
        with pytest.raises(ChangedOutsideError):
            second.apply(note("second"))
        assert second.take_theirs().tasks["wash"].note == "first"
        second.apply(note("second"))
        assert second.trouble is None
        second.undo()
        second.undo()
        assert on_disk(path) == TEXT


def test_a_window_that_looked_on_takes_back_only_what_it_shows(path: Path) -> None:
    first = JobFile.open(path)
    with JobFile.open(path) as second:
        first.apply(note("first"))
        first.close()
        with pytest.raises(ChangedOutsideError):
            second.undo()
        # Another program puts back what the second has shown all along: the journal ends with another text.
        path.write_text(TEXT)
        second.undo()
        assert second.job.tasks["wash"].note == "first"
        second.undo()
        assert on_disk(path) == second.text == TEXT


def test_a_window_that_was_killed_holds_nothing(path: Path) -> None:
    child, reading = changes_in_child(path, None, edits=1_000)
    assert os.read(reading, 1) == b"a"
    assert isinstance(JobFile.open(path).trouble, InUseError)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(reading)
    with JobFile.open(path) as file:
        assert file.trouble is None
        file.apply(note("mine"))


# -- other programs --------------------------------------------------------------------------------------------------


def test_a_file_that_another_program_changed_is_not_overwritten(file: JobFile) -> None:
    file.apply(note("mine"))
    assert file.check_outside_change() is None
    theirs = TEXT.replace("work = 2 ", "work = 9 ")
    file.path.write_text(theirs)
    assert file.check_outside_change() == theirs
    acts: list[Callable[[], object]] = [lambda: file.apply(note("more")), file.undo]
    for act in acts:
        with pytest.raises(ChangedOutsideError, match="another program has changed the file") as caught:
            act()
        assert caught.value.other == theirs
    assert on_disk(file.path) == theirs


def test_theirs_can_be_taken_and_that_undone(file: JobFile) -> None:
    file.apply(note("mine"))
    mine = file.text
    theirs = TEXT.replace("work = 2 ", "work = 9 ")
    file.path.write_text(theirs)
    assert file.take_theirs().tasks["wash"].hours == 9
    assert file.next_undo == "changed by another program"
    file.undo()
    assert on_disk(file.path) == mine
    file.undo()
    assert on_disk(file.path) == TEXT


def test_theirs_with_faults_is_not_taken(file: JobFile) -> None:
    file.apply(note("mine"))
    file.path.write_text("[job")
    with pytest.raises(JobError):
        file.take_theirs()
    assert file.job.tasks["wash"].note == "mine"


@pytest.mark.parametrize("changed_before", [True, False])
def test_mine_can_be_kept_and_theirs_is_not_lost(changed_before: bool, file: JobFile) -> None:
    if changed_before:
        file.apply(note("mine"))
    mine = file.text
    theirs = TEXT.replace("work = 2 ", "work = 9 ")
    file.path.write_text(theirs)
    file.keep_mine()
    assert on_disk(file.path) == file.text == mine
    file.undo()
    assert on_disk(file.path) == theirs


def test_a_change_while_the_job_was_closed_can_be_undone(path: Path) -> None:
    with JobFile.open(path) as file:
        file.apply(note("mine"))
    mine = on_disk(path)
    path.write_text(mine.replace("work = 2 ", "work = 9 "))
    with JobFile.open(path) as file:
        assert file.job.tasks["wash"].hours == 9
        file.undo()
        assert on_disk(path) == mine
        file.undo()
        assert on_disk(path) == TEXT


def test_a_file_that_is_gone_is_told_and_can_be_put_back(file: JobFile) -> None:
    file.apply(note("mine"))
    mine = file.text
    file.path.unlink()
    for act in (lambda: file.apply(note("more")), file.check_outside_change, file.undo):
        with pytest.raises(SaveError, match="the file is gone; put it back"):
            act()
    file.keep_mine()
    assert on_disk(file.path) == mine
    file.undo()
    assert on_disk(file.path) == TEXT


def test_a_folder_that_is_gone_is_told(path: Path) -> None:
    inner = path.parent / "inner"
    inner.mkdir()
    path.rename(inner / "job.toml")
    with JobFile.open(inner / "job.toml") as file:
        (inner / ".job.toml.journal").unlink()
        (inner / "job.toml").unlink()
        inner.rmdir()
        with pytest.raises(SaveError, match=r"the file is gone"):
            file.apply(note("mine"))


def test_something_that_is_no_text_any_more_is_told(file: JobFile) -> None:
    file.path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SaveError, match="something else than text"):
        file.apply(note("mine"))
    assert file.path.read_bytes() == b"\xff\xfe\x00"


def test_a_file_that_may_no_longer_be_read_is_told(file: JobFile, monkeypatch: pytest.MonkeyPatch) -> None:
    def no(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "no")

    monkeypatch.setattr(Path, "open", no)
    with pytest.raises(SaveError, match="can't be read, you may not read it; change its permissions"):
        file.apply(note("mine"))
