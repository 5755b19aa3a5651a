"""Job files for tests: one sound job that uses most of the format, and ways to change its text."""

from __future__ import annotations

import pytest

from sequencer.errors import Fault, JobError
from sequencer.job import Job, parse_job

BASE_JOB = """\
[job]
title = "Pod conversion"
boat = "Dunlin, 10 m sloop"
timezone = "Europe/London"
hauled = 2027-04-12T10:00:00
finish = "relaunch"
now = 2027-04-15T18:00:00

[yard]
currency = "GBP"
night = 38.0
free_nights = 2
fixed = 420.0

[weather]
file = "april.csv"

[[weather.day]]
date = 2027-04-16
low = 6.0
high = 13.5
dew = 5.0
rain = ["13:00/18:00"]
wind = 12

[[weather.normal]]
month = 4
low = 4.5
high = 12.0
dew = 5.0
wet_days = 10
rain_hours = 5
wet_after_wet = 0.6

[[crew]]
id = "owner"
hours = [
  { days = "Mon-Sat", from = "08:00", to = "12:00" },
  { days = "Mon-Sat", from = "13:00", to = "17:30" },
]
away = ["2027-04-22", "2027-05-01/2027-05-03"]

[[crew]]
id = "friend"
hours = [ { rule = "FREQ=WEEKLY;INTERVAL=2;BYDAY=SA", since = "2027-04-10", from = "09:00", to = "16:00" } ]

[[zone]]
id = "drive-bay"
air = "under-hull"
shelter = "open"
heat_to = 15

[[gear]]
id = "grinder"

[[gear]]
id = "pad-mould"
count = 1

[[gear]]
id = "stand-pads"
count = 4

[[delivery]]
id = "pod"
due = 2027-04-26
range = ["2027-04-24", "2027-05-05"]

[[material]]
id = "lay-up-epoxy"
apply = { min_temp = 10, max_temp = 32, max_humidity = 85, above_dew = 3 }
dry_until = "set"
no_cure_below = 5
temps = [10, 20, 30]
set    = [10, 5, 2.5]
recoat = { opens = [8, 4, 2], closes = [60, 36, 20], if_missed = { work = 1.5, dust = true } }
sand   = [36, 18, 9]
cure   = [336, 168, 84]

[[task]]
id = "grind-taper"
zone = "drive-bay"
work = 5
makes = "dust"
needs = { dry = true, max_wind = 20, min_temp = 5, max_temp = 35 }
started = 2027-04-12T13:00:00
finished = 2027-04-13T12:00:00

[[task]]
id = "bond-pad"
zone = "drive-bay"
work = 2
material = "lay-up-epoxy"
after = ["grind-taper"]
started = 2027-04-14T08:30:00
finished = 2027-04-14T11:00:00
reached = { sand = 2027-04-15T07:00:00 }

[[task]]
id = "tab-pad"
title = "Tab the pad to the hull, three layers"
zone = "drive-bay"
work = [3, 4, 6]
hands = 2
who = ["owner"]
material = "lay-up-epoxy"
after = ["grind-taper", "bond-pad@recoat"]
one_go = true
gear = ["grinder", { id = "pad-mould", until = "sand" }, { id = "stand-pads", units = 2 }]
not_before = 2027-04-14
part = "Plan B"

[[task]]
id = "soak"
wait = 48
after = ["tab-pad@cure"]

[[task]]
id = "fit-pod"
work = 6
after = ["soak"]
delivery = "pod"

[[task]]
id = "relaunch"
work = 1
after = ["fit-pod"]
slots = [ { days = "Mon-Fri", from = "09:00", to = "15:00" } ]
"""


def changed(*swaps: tuple[str, str], text: str = BASE_JOB, more: str = "") -> str:
    """`text` with each (old, new) swapped once, `old` being there exactly once, and `more` at the end."""
    for old, new in swaps:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the job"
        text = text.replace(old, new)
    return text + more


def job_with(*swaps: tuple[str, str], more: str = "") -> Job:
    """The sound job with these changes."""
    return parse_job(changed(*swaps, more=more))


def faults_or_none(text: str) -> tuple[Fault, ...]:
    """The faults of a job text; none where it is sound. Any other exception is for the test to fail with."""
    try:
        parse_job(text)
    except JobError as error:
        return error.faults
    return ()


def faults_of(text: str) -> tuple[Fault, ...]:
    """The faults of a job text, which must have some."""
    with pytest.raises(JobError) as caught:
        parse_job(text)
    assert caught.value.faults
    return caught.value.faults


JARGON = (
    "Input should",
    "pydantic",
    "validation",
    "_type",
    "_error",
    "NoneType",
    "Traceback",
    "something else",
)
"""Words that no owner of a boat should read."""


def plain(faults: tuple[Fault, ...]) -> bool:
    """Whether the faults are said in plain, safe words, a line each."""
    told = [fault.sentence() for fault in faults]
    return all(s.isprintable() and len(s) < 602 and not any(word in s for word in JARGON) for s in told)


def assert_only_fault(text: str, sentence: str) -> None:
    """Assert that a changed job has one fault, that its sentence holds `sentence`, and that it is in plain words."""
    assert text != BASE_JOB
    faults = faults_of(text)
    assert plain(faults)
    assert sentence in faults[0].sentence()
    assert len(faults) == 1, [fault.sentence() for fault in faults]
