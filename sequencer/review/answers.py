"""The author's answers to findings: ``NAME.answers.toml`` beside the job, an id and a reason a line.

They are a file of their own because every field of the job file is agreed, and none of them is an answer.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from sequencer.errors import Fault, JobError, one_line
from sequencer.job.sidetable import SideTable

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
    table = _table(job)
    return _answers(table, table.text())


def _table(job: Path) -> SideTable:
    return SideTable(answers_file(job), HEAD, "answers", WRITE)


def _answers(table: SideTable, text: str | None) -> dict[str, str]:
    values = table.values(text)
    faults = [
        Fault(one_line(key, 80), "is no reason in quotes", WRITE)
        for key, value in values.items()
        if not isinstance(value, str)
    ]
    if faults:
        raise JobError(faults, str(table.path))
    return {key: value for key, value in values.items() if value.strip()}


def answer_finding(job: Path, finding: str, reason: str) -> None:
    """Keep the author's reason for a finding; an empty reason takes the answer away. What else stands there stays.

    finding: its id. Raises SaveError, JobError, and then the file is as it was.
    """
    table = _table(job)
    before = table.text()
    _answers(table, before)
    table.keep(before, finding, one_line(" ".join(reason.split()), 400) or None)


def left_over(answers: Mapping[str, str], findings: set[str]) -> list[str]:
    """Answers to what is no longer found, by id."""
    return sorted(set(answers) - findings)
