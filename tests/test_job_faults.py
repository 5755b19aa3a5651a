"""Faults between tables and in the log: each a sentence of its own, all at once, no follow-ups."""

from __future__ import annotations

from pathlib import Path

import pytest
from support import BASE_JOB, assert_only_fault, changed, faults_of, job_with, plain

from sequencer.errors import JobError
from sequencer.job import parse_job
from sequencer.job.drafts import MAX_FAULTS

BETWEEN_TABLES = [
    (
        'finish = "relaunch"',
        'finish = "relanch"',
        'job, finish: there is no task called "relanch"; did you mean relaunch?',
    ),
    ('id = "friend"', 'id = "owner"', "crew owner: the id is used 2 times; give each an id of its own"),
    (
        'id = "relaunch"',
        'id = "soak"\nwork = 1\nafter = ["soak"]\n[[task]]\nid = "relaunch"',
        "task soak: the id is used 2 times",
    ),
    (
        'after = ["soak"]',
        'after = ["saok"]',
        'task fit-pod, after: there is no task called "saok"; did you mean soak?',
    ),
    (
        'after = ["soak"]',
        'after = ["xyzzy"]',
        "there are grind-taper, bond-pad, tab-pad, soak, fit-pod, relaunch",
    ),
    (
        "bond-pad@recoat",
        "bond-pad@recoatt",
        'task tab-pad, after: "bond-pad@recoatt" names a stage that lay-up-epoxy does not have: it lists '
        "set, recoat, sand, cure; did you mean recoat?",
    ),
    (
        'after = ["soak"]',
        'after = ["soak@cure"]',
        'task fit-pod, after: "soak@cure" names a stage, and soak has no material; give soak a material',
    ),
    ('after = ["soak"]', 'after = ["fit-pod"]', "task fit-pod, after: it comes after itself; take it out"),
    (
        'after = ["tab-pad@cure"]',
        'after = ["tab-pad@cure", "fit-pod"]',
        "task soak, after: these tasks wait for each other: soak → fit-pod → soak; take one of the links out",
    ),
    (
        'who = ["owner"]',
        'who = ["onwer"]',
        'task tab-pad, who: there is no one in crew called "onwer"; did you mean',
    ),
    (
        'zone = "drive-bay"\nwork = 5',
        'zone = "bow"\nwork = 5',
        'task grind-taper, zone: there is no zone called "bow"',
    ),
    (
        'material = "lay-up-epoxy"\nafter = ["grind-taper"]',
        'material = "layup-epoxy"',
        "did you mean lay-up-epoxy?",
    ),
    (
        'delivery = "pod"',
        'delivery = "pods"',
        'task fit-pod, delivery: there is no delivery called "pods"; did you',
    ),
    (
        '["grinder", {',
        '["big-grinder", {',
        'task tab-pad, gear: there is no gear called "big-grinder"; did you mean',
    ),
    (
        'until = "sand"',
        'until = "demould"',
        'task tab-pad, gear: until "demould" names a stage that lay-up-epoxy',
    ),
    (
        "units = 2",
        "units = 5",
        "task tab-pad, gear: 5 of stand-pads wanted, and there are 4; lower units, or raise",
    ),
    (
        "wind = 12",
        "wind = 12\n[[weather.day]]\ndate = 2027-04-16\nlow = 1\nhigh = 2\ndew = 0",
        "2027-04-16 stands here 2",
    ),
    (
        "wet_days = 10",
        "[[weather.normal]]\nmonth = 4\nlow = 1\nhigh = 2\ndew = 0",
        "weather, normal: month 4 stands",
    ),
]

LOG = [
    (
        "started = 2027-04-14T08:30:00",
        "started = 2017-04-14T08:30:00",
        "task bond-pad, started: started 2017-04-14 08:30 is more than two years before she was hauled, 2027-04-12",
    ),
    (
        "finished = 2027-04-14T11:00:00",
        "finished = 2027-04-14T08:00:00",
        "task bond-pad, finished: finished 2027-04-14 08:00 is before started 2027-04-14 08:30; mend one of",
    ),
    (
        "finished = 2027-04-14T11:00:00",
        "finished = 2027-04-14",
        "give the hour: a date alone is its midnight",
    ),
    (
        "sand = 2027-04-15T07:00:00",
        "sand = 2027-04-14T10:00:00",
        "task bond-pad, reached: reached sand 2027-04-14 10:00 is before finished 2027-04-14 11:00; stages",
    ),
    (
        "sand = 2027-04-15T07:00:00",
        "sand = 2027-04-15T18:00:00+00:00",
        "task bond-pad, reached: reached sand 2027-04-15 18:00+00:00 is later than now, 2027-04-15 18:00",
    ),
    (
        "sand = 2027-04-15T07:00:00",
        "snad = 2027-04-15T07:00:00",
        'reached "snad" names a stage that lay-up-epoxy does',
    ),
    (
        "sand = 2027-04-15T07:00:00",
        "done = 2027-04-15T07:00:00",
        "done is reached when the work is finished; write",
    ),
    (
        "finished = 2027-04-14T11:00:00\n",
        "",
        "task bond-pad, reached: a stage is reached, and the work is not finished",
    ),
    (
        "wait = 48",
        "wait = 48\nwork_left = 3",
        "task soak, work_left: work is left, and the task has not started",
    ),
    (
        "wait = 48",
        "wait = 48\nstarted = 2027-04-16",
        "task soak, started: started 2027-04-16 is later than now",
    ),
    (
        "finished = 2027-04-14T11:00:00",
        "finished = 2027-04-14T11:00:00\nwork_left = 1",
        "task bond-pad, work_left: work is left, and the task is finished; keep one of the two",
    ),
]


@pytest.mark.parametrize(("old", "new", "sentence"), BETWEEN_TABLES + LOG)
def test_one_slip_is_one_sentence(old: str, new: str, sentence: str) -> None:
    assert_only_fault(BASE_JOB.replace(old, new, 1), sentence)


def test_many_slips_are_told_at_once_and_nothing_else() -> None:
    text = changed(
        ("timezone", "timezon"),
        ("night = 38.0", 'night = "much"'),
        ("month = 4", "month = 0"),
        ('shelter = "open"', 'shelter = "shed"'),
        ("set    = [10, 5, 2.5]", "set = [10, 5]"),
        ('zone = "drive-bay"\nwork = 5', "work = 5"),
        ("hands = 2\n", 'hands = "two"\n'),
        ("bond-pad@recoat", "bnod-pad@recoat"),
        ("wait = 48", "wiat = 48"),
        ('after = ["fit-pod"]', 'after = ["fit-pod@cure", "relaunch"]'),
    )
    told = [fault.sentence() for fault in faults_of(text)]
    assert told == [
        "job: there is no field timezon; did you mean timezone?",
        'yard: night must be a number, not "much".',
        "weather normal 0: month must be 1 or more, not 0.",
        'zone drive-bay: shelter must be open, covered or inside, not "shed".',
        "material lay-up-epoxy, set: it has 2 numbers, and temps has 3 numbers; "
        "give a number of hours for each of temps.",
        "task grind-taper: zone is missing, and needs is about the air there; add the place on the boat.",
        'task tab-pad: hands must be a whole number, not "two".',
        "task soak: there is no field wiat; did you mean wait?",
        'task tab-pad, after: there is no task called "bnod-pad"; did you mean bond-pad?',
        'task relaunch, after: "fit-pod@cure" names a stage, and fit-pod has no material; '
        "give fit-pod a material, or name no stage.",
        "task relaunch, after: it comes after itself; take it out of its own after.",
    ]


def test_every_line_names_the_file() -> None:
    with pytest.raises(JobError) as caught:
        parse_job(changed(("hands = 2\n", "hands = -2\n"), ("wait = 48", "wait = true")), Path("yard/dunlin.toml"))
    lines = str(caught.value).splitlines()
    assert len(lines) == 2
    assert all(line.startswith("yard/dunlin.toml: task ") for line in lines)


def test_what_failed_still_counts_as_being_there() -> None:
    """A zone, material, gear, person, delivery or task with faults of its own drags no others behind it."""
    text = changed(
        ('shelter = "open"', "shelter = 1"),
        ("temps = [10, 20, 30]", "temps = true"),
        ("count = 4", 'count = "four"'),
        ("away =", "away = 3 #"),
        ("due = 2027-04-26", "due = 3"),
        ("wait = 48", 'wait = "two days"'),
        ('id = "tab-pad"', 'id = "Tab_Pad"'),
        ('after = ["tab-pad@cure"]', 'after = ["Tab_Pad@cure"]'),
    )
    wheres = [fault.where for fault in faults_of(text)]
    assert wheres == [
        "crew owner",
        "zone drive-bay",
        "gear stand-pads",
        "delivery pod",
        "material lay-up-epoxy",
        "task Tab_Pad",
        "task soak",
    ]


def test_a_section_that_is_no_table_hides_nothing_and_blames_nobody() -> None:
    head, _, rest = BASE_JOB.partition("[[zone]]")
    text = "zone = 3\n" + head + rest[rest.index("[[gear]]") :]
    assert [fault.sentence() for fault in faults_of(text)] == [
        "zone: these must be tables, not 3; write each as [[zone]]."
    ]


def test_two_loops_are_told_each_once() -> None:
    text = changed(
        ('after = ["grind-taper"]', 'after = ["tab-pad"]'),
        ('after = ["soak"]', 'after = ["soak", "relaunch"]'),
    )
    assert [fault.what for fault in faults_of(text)] == [
        "these tasks wait for each other: bond-pad → tab-pad → bond-pad",
        "these tasks wait for each other: fit-pod → relaunch → fit-pod",
    ]


def test_something_finished_out_of_order_is_no_fault() -> None:
    job_with(("wait = 48", "wait = 48\nstarted = 2027-04-14T09:00:00\nfinished = 2027-04-15T09:00:00"))


def test_a_file_with_thousands_of_faults_stops_counting() -> None:
    for text in ("[[task]]\n" * 5000, changed(more='[[task]]\nid = "x"\nwork = 1\nafter = ["y"]\n' * 3000)):
        faults = faults_of(text)
        assert len(faults) == MAX_FAULTS + 1
        assert faults[-1].hint == "mend these first"


HOSTILE = [
    r"\u0000\u001b[2J\u0007",
    "[/red][bold]",
    "x" * 300,
    r"\u202eevil\u2066",
    r"{0} {x!r} %s %(a)s",
    r"a\nb\rc",
    r"\U0001F6A4 ünïcode",
]


@pytest.mark.parametrize("value", HOSTILE)
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('finish = "relaunch"', 'finish = "{}"'),
        ('id = "soak"', 'id = "{}"'),
        ('shelter = "open"', 'shelter = "{}"'),
        ("hands = 2\n", 'hands = "{}"\n'),
        ("hands = 2\n", '"{}" = 2\n'),
        ("sand   = [36, 18, 9]", '"{}" = 3'),
        ("bond-pad@recoat", "bond-pad@{}"),
        ("bond-pad@recoat", "{}@recoat"),
        ('timezone = "Europe/London"', 'timezone = "{}"'),
        ("hauled = 2027-04-12T10:00:00", 'hauled = "{}"'),
        ('days = "Mon-Sat", from = "08:00"', 'days = "{}", from = "{}"'),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=SA", "{}"),
        ("sand = 2027-04-15T07:00:00", '"{}" = 2027-04-15T07:00:00'),
    ],
)
def test_hostile_text_is_shown_safe(old: str, new: str, value: str) -> None:
    faults = faults_of(changed((old, new.replace("{}", value))))
    assert plain(faults)
    assert "x" * 100 not in str(faults)
