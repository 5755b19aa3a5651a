"""The journal beside a job file: what it holds, torn, damaged or taken away."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_job import TEXT, left_beside, note, on_disk

from sequencer.job.jobfile import JobFile
from sequencer.job.journal import journal_path


def test_a_torn_last_line_is_passed_over(path: Path) -> None:
    with JobFile.open(path) as file:
        file.apply(note("a"))
        file.apply(note("b"))
    with journal_path(path).open("ab") as journal:
        journal.write(b'{"number": 9, "what": "cha')
    with JobFile.open(path) as file:
        assert len(file.history()) == 2
        file.apply(note("c"))
    with JobFile.open(path) as file:
        for _ in range(3):
            file.undo()
        assert on_disk(path) == TEXT
    assert left_beside(path) == {".job.toml.journal"}


@pytest.mark.parametrize("damage", ["zeros", "letter", "lines", "nothing"])
def test_a_damaged_journal_loses_no_file_and_is_kept_aside(damage: str, path: Path) -> None:
    with JobFile.open(path) as file:
        for text in "abc":
            file.apply(note(text))
        last = file.text
    journal = journal_path(path)
    raw = journal.read_bytes()
    lines = raw.splitlines(keepends=True)
    harmed = {
        "zeros": raw[:-100] + b"\0" * 99 + b"\n",
        "letter": raw.replace(b'"into": "b"', b'"into": "x"', 1),
        "lines": b"".join(lines[:1] + lines[3:]),
        "nothing": b"\n\n{}\n[]\n7\n",
    }[damage]
    assert harmed != raw
    journal.write_bytes(harmed)
    with JobFile.open(path) as file:
        assert on_disk(path) == file.text == last
        file.apply(note("d"))
        file.undo()
        assert on_disk(path) == last
    assert journal.with_name(".job.toml.journal.damaged").read_bytes() == harmed


def test_a_journal_taken_away_while_open_begins_anew(file: JobFile) -> None:
    file.apply(note("a"))
    first = file.text
    journal_path(file.path).unlink()
    file.apply(note("b"))
    assert [n.words for n in file.history()] == ["wash: note b, was a"]
    file.undo()
    assert on_disk(file.path) == first


def test_the_journal_is_lines_of_json_that_hold_only_what_changed(file: JobFile) -> None:
    file.apply(note("a"))
    file.apply(note("b"))
    lines = [json.loads(line) for line in journal_path(file.path).read_text().splitlines()]
    assert [line.get("what", "done") for line in lines] == ["first", "change", "done", "change", "done"]
    assert (lines[3]["out"], lines[3]["into"]) == ("a", "b")
