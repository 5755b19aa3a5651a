"""A job file open for changes: saved at once, undone and redone to the byte, refused where it would be faulty."""

from __future__ import annotations

import datetime as dt
import random
import stat
from pathlib import Path

import pytest
from small_job import TEXT, left_beside, note, on_disk

from sequencer.errors import ChangedOutsideError, InUseError, JobError, SaveError, SequencerError, UsageError
from sequencer.job.jobfile import JobFile
from sequencer.job.jotting import Finished, Started
from sequencer.job.journal import journal_path
from sequencer.job.writing import AddItem, Change, CopyItem, Delete, Rename, SetField

JOBS = sorted((Path(__file__).parent.parent / "jobs").glob("*.toml"))


def test_a_change_is_on_disk_at_once_and_looking_leaves_nothing_behind(file: JobFile) -> None:
    job = file.apply(note("hose"))
    assert job.tasks["wash"].note == "hose"
    assert on_disk(file.path) == file.text == TEXT.replace('id = "wash"\n', 'id = "wash"\nnote = "hose"\n')
    assert left_beside(file.path) == {".job.toml.journal"}


def test_looking_leaves_nothing_behind(path: Path) -> None:
    with JobFile.open(path) as file:
        assert file.trouble is None
        file.apply(SetField("task", "wash", "work", 2))
        assert file.history() == []
    assert left_beside(path) == set()


@pytest.mark.parametrize("source", JOBS, ids=lambda p: p.stem)
@pytest.mark.parametrize(("mark", "ends"), [(b"", b"\n"), (b"\xef\xbb\xbf", b"\r\n")])
def test_undo_to_the_first_state_gives_the_first_file_byte_for_byte(
    source: Path, mark: bytes, ends: bytes, tmp_path: Path
) -> None:
    first = mark + source.read_bytes().replace(b"\n", ends)
    path = tmp_path / source.name
    path.write_bytes(first)
    with JobFile.open(path) as file:
        task = file.job.task[0].id
        finish = file.job.job.finish
        changes: list[Change] = [
            SetField("task", task, "title", "“quoted” \\ 漢字\r\n"),
            Rename("task", finish, "splash"),
            CopyItem("task", task, "again"),
            AddItem("gear", {"id": "hose", "count": 1}),
            Delete("task", task),
            SetField("yard", "", "night", 12.5),
        ]
        texts = [file.text]
        for change in changes:
            file.apply(change)
            assert on_disk(path) == file.text
            texts.append(file.text)
    for _ in range(2):
        with JobFile.open(path) as file:
            for text in reversed(texts[:-1]):
                file.undo()
                assert file.text == text
            assert path.read_bytes() == first
            assert file.next_undo == ""
        with JobFile.open(path) as file:
            for text in texts[1:]:
                file.redo()
                assert file.text == on_disk(path) == text


def test_a_new_change_ends_what_could_be_done_again(file: JobFile) -> None:
    file.apply(note("a"))
    file.apply(note("b"))
    file.undo()
    assert (file.next_undo, file.next_redo) == ("wash: note a", "wash: note b, was a")
    file.apply(note("c"))
    assert file.next_redo == ""
    assert [(n.words, n.undone) for n in file.history()] == [
        ("wash: note a", False),
        ("wash: note b, was a", True),
        ("wash: note c, was a", False),
    ]
    with pytest.raises(UsageError, match="there is nothing to redo"):
        file.redo()


def test_history_says_when_and_what_also_after_a_restart(path: Path) -> None:
    morning = dt.datetime(2027, 4, 12, 7, 30, tzinfo=dt.UTC)
    with JobFile.open(path, clock=lambda: morning) as file:
        file.apply(Started("wash", dt.datetime(2027, 4, 12, 10, 0)))
        file.apply(Finished("wash", dt.datetime(2027, 4, 12, 12, 0)))
        file.undo()
    with JobFile.open(path) as file:
        told = file.history()
    assert [n.time.isoformat() for n in told] == ["2027-04-12T08:30:00+01:00"] * 2
    assert [(n.words, n.undone) for n in told] == [
        ("wash started Mon 12 Apr 10:00", False),
        ("wash finished Mon 12 Apr 12:00", True),
    ]


def test_what_would_be_faulty_leaves_file_and_journal_alone(file: JobFile) -> None:
    with pytest.raises(JobError, match="these tasks wait for each other: wash → go → wash"):
        file.apply(SetField("task", "wash", "after", ["go"]))
    with pytest.raises(JobError, match=r"job\.toml: there is no task wosh; did you mean wash\?"):
        file.apply(Delete("task", "wosh"))
    assert (on_disk(file.path), file.text, file.history()) == (TEXT, TEXT, [])
    with pytest.raises(UsageError, match="there is nothing to undo"):
        file.undo()


def test_what_would_make_the_file_too_large_to_be_read_is_refused(file: JobFile) -> None:
    with pytest.raises(JobError, match="the file would be too large for a job; shorten what goes into it"):
        file.apply(note("x" * 2_000_000))
    assert (on_disk(file.path), file.history()) == (TEXT, [])


def test_a_file_with_faults_is_not_opened(path: Path) -> None:
    path.write_text(TEXT.replace("work = 1", "work = -1"))
    with pytest.raises(JobError, match="work must be hours"):
        JobFile.open(path)
    with pytest.raises(JobError, match="there is no such file"):
        JobFile.open(path.with_name("other.toml"))
    assert left_beside(path) == set()


def test_the_mode_stays_and_a_link_goes_on_pointing_at_the_same_file(path: Path) -> None:
    path.chmod(0o640)
    link = path.parent / "elsewhere" / "link.toml"
    link.parent.mkdir()
    link.symlink_to(path)
    with JobFile.open(link) as file:
        file.apply(note("hose"))
        assert file.job.path == link
    assert link.is_symlink()
    assert 'note = "hose"' in on_disk(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert left_beside(link) == set()


def test_the_journal_is_read_by_nobody_who_may_not_read_the_job(path: Path) -> None:
    path.chmod(0o600)
    with JobFile.open(path) as file:
        file.apply(note("hose"))
    assert stat.S_IMODE(journal_path(path).stat().st_mode) == 0o600


@pytest.mark.parametrize("seed", range(8))
def test_any_order_of_changes_undoing_others_and_restarts_keeps_every_text(seed: int, path: Path) -> None:
    """`texts` is every text there was, `at` the one shown: undo goes down the list, redo up, others cut it there."""
    dice = random.Random(seed)
    file = JobFile.open(path)
    file.apply(note("first"))
    texts, at = [TEXT, file.text], 1
    for _ in range(30):
        what = dice.choice(["change", "change", "undo", "undo", "redo", "restart", "take", "keep"])
        if what == "undo" and at:
            file.undo()
            at -= 1
        elif what == "redo" and at + 1 < len(texts):
            file.redo()
            at += 1
        elif what == "restart":
            file.close()
            file = JobFile.open(path)
        elif what == "change":
            file.apply(note(f"{dice.random()} \U0001f6a4\r\n"))
            texts, at = [*texts[: at + 1], file.text], at + 1
        elif what in ("take", "keep"):
            mine, theirs = file.text, f"{file.text}# {dice.random()}\n"
            path.write_text(theirs)
            file.take_theirs() if what == "take" else file.keep_mine()
            texts = [*texts[: at + 1], theirs, *([mine] if what == "keep" else [])]
            at = len(texts) - 1
        assert on_disk(path) == file.text == texts[at]
    file.close()


def test_every_error_here_is_one_the_person_can_read() -> None:
    for kind in (SaveError, ChangedOutsideError, InUseError):
        assert issubclass(kind, SequencerError)
        assert kind.title
