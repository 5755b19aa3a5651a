"""The checker on what has happened: finished, begun and reached, and the plan that goes on from now."""

from __future__ import annotations

import pytest
from checking_plans import (
    CREW,
    EPOXY,
    PLACES,
    Plan,
    at,
    even_days,
    job_of,
    only,
    plan_of,
    row,
    wait_row,
    with_rows,
)

from sequencer.checking import check_plan
from sequencer.job import Job

# It is Tuesday the 13th, 08:00. The coat was laid on Monday, at an hour when nobody is on shift and for
# longer than its work takes; its sand came early; two things are begun.
TASKS = """
[[task]]
id = "coat"
zone = "bay"
work = 2
material = "epoxy"
started = 2027-04-12T06:00:00
finished = 2027-04-12T09:10:00
reached = { sand = 2027-04-12T14:05:00 }

[[task]]
id = "grind"
zone = "deck"
work = 4
who = ["owner"]
started = 2027-04-12T16:00:00

[[task]]
id = "soak"
wait = 24
started = 2027-04-12T14:00:00

[[task]]
id = "next-coat"
zone = "bay"
work = 1
material = "epoxy"
after = ["coat@recoat", "coat@sand"]

[[task]]
id = "relaunch"
work = 1
who = ["owner"]
after = ["next-coat@set", "grind", "soak"]
"""
NOW = "now = 2027-04-13T08:00:00\n"


def logged_job(tasks: str = TASKS, now: str = NOW) -> Job:
    """A job of `tasks` that is planned from `now`, a line of its [job] table."""
    return job_of(now, CREW, PLACES, EPOXY, tasks, even_days(12, 13, 14))


JOB = logged_job()

# grind could be worked 16:00 to 17:00 on Monday, 1 h of 4: 3 h are left. soak ends 24 h after it started. The
# window of coat closed 8 h after 06:00 on Monday, so next-coat is keyed first, by friend or mate; it sets
# 14:00.
PLAN = plan_of(
    {"id": "coat", "start": at("12 06:00"), "end": at("12 09:15"), "pieces": []},
    row("grind", "13 08:00-11:00") | {"start": at("12 16:00")},
    wait_row("soak", "12 14:00", "13 14:00"),
    row("next-coat/key/coat", "13 08:00-09:00"),
    row("next-coat", "13 09:00-10:00"),
    row("relaunch", "13 14:00-15:00"),
)


def test_what_has_happened_stands() -> None:
    assert check_plan(JOB, PLAN) == []


BROKEN = [
    ("log", "coat", [row("coat", "12 06:00-09:00")], "logged as finished Mon 12 Apr 2027 09:15"),
    ("log", "grind", [row("grind", "13 08:00-11:00")], "logged as started Mon 12 Apr 2027 16:00"),
    # The pieces add up to 3 h, but one of them is in the past.
    (
        "log",
        "grind",
        [row("grind", "12 16:00-16:15", "13 08:00-10:45")],
        "goes on from Tue 13 Apr 2027 08:00",
    ),
    ("work", "grind", [row("grind", "13 08:00-10:30") | {"start": at("12 16:00")}], "but its work is 3 h"),
    # What is begun does not wait for anything but its own calendar.
    ("pause", "grind", [row("grind", "13 09:00-12:00") | {"start": at("12 16:00")}], "Tue 13 Apr 2027 08:00"),
    ("wait", "soak", [wait_row("soak", "12 14:00", "13 13:00")], "over Tue 13 Apr 2027 14:00"),
]


@pytest.mark.parametrize(("rule", "task", "changed", "words"), BROKEN)
def test_a_log_set_aside_is_found(rule: str, task: str, changed: list[Plan], words: str) -> None:
    only(check_plan(JOB, with_rows(PLAN, *changed)), rule, task, words)


def test_work_left_goes_before_what_could_have_been_worked() -> None:
    # 1.3 h are left, in quarter hours 1.5.
    job = logged_job(TASKS.replace("work = 4\n", "work = 4\nwork_left = 1.3\n"))
    plan = with_rows(PLAN, row("grind", "13 08:00-09:30") | {"start": at("12 16:00")})
    assert check_plan(job, plan) == []
    only(check_plan(job, PLAN), "work", "grind", "is worked 3 h", "but its work is 1.5 h")


def test_at_least_a_quarter_hour_is_left() -> None:
    # 1 h of work could have been done since 16:00 on Monday; what is not logged as finished takes a little
    # more.
    job = logged_job(TASKS.replace("work = 4\n", "work = 1\n"))
    plan = with_rows(PLAN, row("grind", "13 08:00-08:15") | {"start": at("12 16:00")})
    assert check_plan(job, plan) == []


def test_a_stage_that_was_reached_counts_from_the_log() -> None:
    # By the cure coat's sand comes 6 h after 09:15, at 15:15; the log says 14:05, which counts from 14:15.
    # Without the log's word a keying at 14:15 would be too early. (Here it is Monday, 14:15.)
    monday = "now = 2027-04-12T14:15:00\n"
    tasks = TASKS.replace("started = 2027-04-12T16:00:00\n", "")
    plan = with_rows(
        PLAN,
        row("next-coat/key/coat", "12 14:15-15:15"),
        row("next-coat", "12 16:00-17:00"),
        row("grind", "13 08:00-12:00"),
    )
    assert check_plan(logged_job(tasks, monday), plan) == []
    by_cure = tasks.replace("reached = { sand = 2027-04-12T14:05:00 }\n", "")
    found = check_plan(logged_job(by_cure, monday), plan)
    only(found, "keying", "next-coat/key/coat", "only Mon 12 Apr 2027 15:15 reaches sand")


BEGUN = """
[[task]]
id = "lay"
zone = "bay"
work = 3
who = ["owner"]
material = "epoxy"
gear = ["jack"]
started = 2027-04-12T16:00:00

[[task]]
id = "bolt"
zone = "keel"
work = 2
who = ["owner"]
makes = "dust"
gear = ["jack"]
started = 2027-04-12T16:30:00

[[task]]
id = "relaunch"
work = 1
after = ["lay", "bolt"]
"""


def test_what_is_begun_is_not_blamed_for_how() -> None:
    # lay runs over two days though it should be done in one go, it shares the owner, the one jack and the air
    # with bolt, which makes dust: they are as they are. lay had 1 h of 3, bolt 0.5 of 2. What is planned
    # keeps to the rules.
    plan = plan_of(
        row("lay", "13 08:00-10:00") | {"start": at("12 16:00")},
        row("bolt", "13 08:00-09:30") | {"start": at("12 16:30")},
        row("relaunch", "13 10:00-11:00"),
    )
    assert check_plan(logged_job(BEGUN), plan) == []
    early = with_rows(plan, row("relaunch", "13 09:30-10:30"))
    only(
        check_plan(logged_job(BEGUN), early),
        "after",
        "relaunch",
        "lay only Tue 13 Apr 2027 10:00 reaches done",
    )


def test_of_two_tasks_begun_by_one_person_one_may_wait_for_the_other() -> None:
    # lay has two hours left and bolt one and a half; the owner is at lay from 08:00 to 10:00, then at bolt.
    plan = plan_of(
        row("lay", "13 08:00-10:00") | {"start": at("12 16:00")},
        row("bolt", "13 10:00-11:30") | {"start": at("12 16:30")},
        row("relaunch", "13 11:30-12:30"),
    )
    assert check_plan(logged_job(BEGUN), plan) == []
    # Past what it waits for it may wait no longer, nor with what it waits for gone.
    late = with_rows(plan, row("bolt", "13 10:15-11:45") | {"start": at("12 16:30")}, row("relaunch", "13 11:45-12:45"))
    only(check_plan(logged_job(BEGUN), late), "pause", "bolt", "pauses")
    alone = BEGUN.replace("started = 2027-04-12T16:00:00\n", "started = 2027-04-12T16:00:00\nwork_left = 0.25\n")
    short = with_rows(plan, row("lay", "13 08:00-08:15") | {"start": at("12 16:00")})
    only(check_plan(logged_job(alone), short), "pause", "bolt", "pauses")


def test_a_plan_may_not_dust_what_was_laid_before_now() -> None:
    # lay is logged as finished 08:00 on the 13th and sets 12:00; bolt has not begun.
    tasks = BEGUN.replace("started = 2027-04-12T16:30:00\n", "").replace(
        "started = 2027-04-12T16:00:00\n", "started = 2027-04-12T16:00:00\nfinished = 2027-04-13T08:00:00\n"
    )
    plan = plan_of(
        row("lay", "12 16:00-17:00") | {"end": at("13 08:00")},
        row("bolt", "13 13:00-15:00"),
        row("relaunch", "13 15:00-16:00"),
    )
    assert check_plan(logged_job(tasks), plan) == []
    dusty = with_rows(plan, row("bolt", "13 10:00-12:00"))
    only(check_plan(logged_job(tasks), dusty), "dust", "bolt", "air of lay, which sets Tue 13 Apr 2027 12:00")
