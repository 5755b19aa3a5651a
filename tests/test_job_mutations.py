"""Whatever is done to the text of a job, the answer is a job or its faults, and nothing else."""

from __future__ import annotations

import string
from contextlib import suppress

from hypothesis import given, settings
from hypothesis import strategies as st
from support import BASE_JOB, faults_or_none

from sequencer.errors import JobError
from sequencer.job import job_faults, parse_job
from sequencer.job.source import decode

LINES = BASE_JOB.splitlines()
VALUES = [
    "3",
    "-1",
    "0.5",
    '"x"',
    "true",
    "[]",
    "{}",
    "2027-04-14",
    "1999-01-01T00:00:00Z",
    '["soak"]',
    '"set"',
]
FIELDS = sorted({line.split("=")[0].strip() for line in LINES if "=" in line})


def check(text: str) -> None:
    faults = faults_or_none(text)
    assert all(fault.sentence().isprintable() for fault in faults)
    assert faults or job_faults(parse_job(text)) == []


@settings(max_examples=150, deadline=None)
@given(
    edits=st.lists(
        st.tuples(st.integers(0, len(BASE_JOB)), st.integers(0, 12), st.text(string.printable, max_size=6)),
        min_size=1,
        max_size=4,
    )
)
def test_letters_changed_anywhere(edits: list[tuple[int, int, str]]) -> None:
    text = BASE_JOB
    for place, cut, put in edits:
        text = text[:place] + put + text[place + cut :]
    check(text)


@settings(max_examples=60, deadline=None)
@given(place=st.integers(0, len(BASE_JOB)), cut=st.integers(0, 3), put=st.binary(max_size=4))
def test_bytes_changed_anywhere(place: int, cut: int, put: bytes) -> None:
    raw = BASE_JOB.encode()
    with suppress(JobError):
        check(decode(raw[:place] + put + raw[place + cut :]))


@settings(max_examples=150, deadline=None)
@given(
    edits=st.lists(
        st.tuples(st.integers(0, len(LINES) - 1), st.sampled_from(FIELDS), st.sampled_from(VALUES)),
        min_size=1,
        max_size=6,
    ),
    dropped=st.sets(st.integers(0, len(LINES) - 1), max_size=3),
)
def test_fields_dropped_and_put_where_they_do_not_belong(edits: list[tuple[int, str, str]], dropped: set[int]) -> None:
    lines = ["" if i in dropped else line for i, line in enumerate(LINES)]
    for place, field, value in edits:
        lines[place] = f"{field} = {value}"
    check("\n".join(lines))


@settings(max_examples=60, deadline=None)
@given(order=st.permutations(BASE_JOB.split("\n\n")), kept=st.integers(1, 20))
def test_tables_shuffled_and_left_out(order: list[str], kept: int) -> None:
    check("\n\n".join(order[:kept]))
