"""The author's answers to findings: ``NAME.answers.toml`` beside the job, an id and a reason a line.

They are a file of their own because every field of the job file is agreed, and none of them is an answer.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import tomlkit

from sequencer.errors import Fault, JobError, SaveError, one_line
from sequencer.job.saving import read_exactly, replace_text
from sequencer.job.sidefiles import check_side
from sequencer.job.source import MAX_BYTES, parse_toml

SUFFIX = ".answers.toml"
WRITE = 'write each answer as "finding" = "reason"'
HEAD = "# Answers to findings of the review, by finding: why it is all right as it is. Delete a line to ask again.\n\n"


def answers_file(job: Path) -> Path:
    """Where the answers of a job file lie."""
    return job.with_name(f"{job.stem}{SUFFIX}")


def read_answers(job: Path) -> dict[str, str]:
    """The answers beside a job file by finding; none where there is no such file.

    Raises JobError where the file is no table of ids and reasons, SaveError where it can't be read.
    """
    path = answers_file(job)
    check_side(path)
    if not path.exists():
        return {}
    return _parsed(read_exactly(path), path)


def _parsed(text: str, path: Path) -> dict[str, str]:
    if len(text.encode()) > MAX_BYTES:
        raise JobError([Fault("", "is too large for answers", "keep the reasons short")], str(path))
    bare = text.lstrip("\ufeff")
    try:
        table = parse_toml(bare) if bare.strip() else {}
    except JobError as error:
        faults = [Fault(fault.where, f"is no TOML: {fault.what}", WRITE) for fault in error.faults]
        raise JobError(faults, str(path)) from None
    faults = [
        Fault(one_line(key, 80), "is no reason in quotes", WRITE)
        for key, value in table.items()
        if not isinstance(value, str)
    ]
    if faults:
        raise JobError(faults, str(path))
    return {key: value for key, value in table.items() if value.strip()}


def answer_finding(job: Path, finding: str, reason: str) -> None:
    """Keep the author's reason for a finding; an empty reason takes the answer away. What else stands there stays.

    finding: its id. Raises SaveError, JobError, and then the file is as it was.
    """
    path = answers_file(job)
    check_side(path)
    before = read_exactly(path) if path.exists() else None
    _parsed(before or "", path)
    kept = tomlkit.parse((HEAD if before is None else before).lstrip("\ufeff"))
    reason = " ".join(reason.split())
    if reason:
        kept[finding] = one_line(reason, 400)
    elif finding in kept:
        del kept[finding]
    else:
        return

    def unchanged() -> None:
        now = read_exactly(path) if path.exists() else None
        if now != before:
            raise SaveError([Fault("", "another program has just changed it", "do it again")], str(path))

    replace_text(path, tomlkit.dumps(kept), unchanged, create=before is None)


def left_over(answers: Mapping[str, str], findings: set[str]) -> list[str]:
    """Answers to what is no longer found, by id."""
    return sorted(set(answers) - findings)
