"""Files that cannot be read, and text that is no TOML."""

from __future__ import annotations

from pathlib import Path

import pytest
from support import BASE_JOB, faults_of, plain

from sequencer.errors import JobError
from sequencer.job import read_job
from sequencer.job.source import MAX_BYTES

SYNTAX = [
    ("hands = 2\n", "hands 2\n", "line 104, column 7: a field's name needs an = after it: hands 2"),
    ('part = "Plan B"', 'part = "Plan B', "the quotes are not closed"),
    ('part = "Plan B"', "part = Plan B", "this is no value: part = Plan B; put text in quotes"),
    ("hauled = 2027-04-12T", "hauled = 2027-04-31T", "there is no such date or time"),
    ('who = ["owner"]', 'who = ["owner"', "the list is not closed"),
    ("units = 2 }]", "units = 2 ]", "the braces are not closed"),
    ("hands = 2\n", "hands = 2\nhands = 3\n", "stands here a second time: hands = 3; keep one of them"),
    ("[yard]", "[job]", "the table stands here a second time"),
    ("[yard]", "[yard", "the table's name is not closed: [yard; close it with ]"),
    ('[[gear]]\nid = "grinder"', '[[gear]\nid = "grinder"', "close it with ]]"),
    ('part = "Plan B"', r'part = "C:\yard"', "write it twice, or use single quotes"),
    (
        'part = "Plan B"',
        'part = "Plan\x01B"',
        "the quotes are not closed on this line, or hold a control character",
    ),
    ("hands = 2\n", "hands = 2 who = 3\n", "something follows the value"),
    ("hands = 2\n", "hands = 1" + "0" * 5000 + "\n", "a number has thousands of digits"),
    ("hands = 2\n", "hands = " + "[" * 5000 + "\n", "lists or tables are nested too deep"),
    ("hands = 2\n", "hands" + ".x" * 500 + " = 2\n", "the name has too many parts between dots"),
    ("[yard]", "[" + '"x" . ' * 500 + "y]", "the name has too many parts between dots"),
    ("[yard]", "= 3", "this is neither a field nor a table"),
]


@pytest.mark.parametrize(("old", "new", "sentence"), SYNTAX)
def test_broken_toml_is_told_with_its_line(old: str, new: str, sentence: str) -> None:
    (fault,) = faults_of(BASE_JOB.replace(old, new, 1))
    assert plain((fault,))
    assert sentence in fault.sentence()


def test_unfinished_toml_is_told_at_the_end() -> None:
    (fault,) = faults_of(BASE_JOB + "[[task]]\nid =")
    assert "line" in fault.where or "end of the file" in fault.where


@pytest.mark.parametrize(
    ("raw", "sentence"),
    [
        (b"", "the file is empty; a job needs at least [job]"),
        (b" \n\t\n", "the file is empty"),
        (b"\xef\xbb\xbf", "the file is empty"),
        (BASE_JOB.encode("utf-16"), "the file is UTF-16 text; save it as UTF-8"),
        (b'[job]\ntitle = "d\xe9j\xe0"', "line 2: the byte 0xe9 is not UTF-8 text; save the file as UTF-8"),
        (b"[job]\n\n\0", "line 3: there is a NUL byte"),
        (b"#" * (MAX_BYTES + 1), "the file is too large for a job"),
        (b"# nothing but a remark", "the table [job] is missing; add [job] with timezone, hauled and finish"),
    ],
)
def test_files_that_are_no_job(tmp_path: Path, raw: bytes, sentence: str) -> None:
    file = tmp_path / "dunlin.toml"
    file.write_bytes(raw)
    with pytest.raises(JobError) as caught:
        read_job(file)
    assert sentence in str(caught.value)
    assert str(caught.value).startswith(str(file))


def test_files_that_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "dunlin.toml").write_text(BASE_JOB)
    cases = {
        tmp_path / "dunlim.toml": "there is no such file; did you mean dunlin.toml?",
        tmp_path / "zzz": "there is no such file; the folder holds dunlin.toml",
        tmp_path: "this is a folder, not a file; the folder holds dunlin.toml",
        tmp_path / "no" / "dunlin.toml": "there is no folder ",
        tmp_path / "dunlin.toml" / "x": "a part of the path is a file, not a folder",
        tmp_path / ("x" * 3000): "the file can't be read (file name too long)",
        Path("a\0b"): "the file can't be read (no such name)",
    }
    for path, sentence in cases.items():
        with pytest.raises(JobError) as caught:
            read_job(path)
        assert sentence in str(caught.value)
        assert str(caught.value).isprintable()

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(JobError, match="the file may not be read; check who may read it"):
        read_job(tmp_path / "dunlin.toml")


def test_a_link_to_itself(tmp_path: Path) -> None:
    (tmp_path / "loop.toml").symlink_to(tmp_path / "loop.toml")
    with pytest.raises(JobError, match="the file can't be read"):
        read_job(tmp_path / "loop.toml")
