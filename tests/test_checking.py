"""The checker: a valid plan made by hand passes; of a broken one the broken rule is found, no other."""

from __future__ import annotations

import datetime as dt

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
    without,
)

from sequencer.checking import check_plan

TASKS = """
[[task]]
id = "grind"
zone = "bay"
work = 1.5
makes = "dust"

[[task]]
id = "coat-1"
zone = "bay"
work = 1
material = "epoxy"
after = ["grind"]

[[task]]
id = "coat-2"
zone = "bay"
work = 1
material = "epoxy"
after = ["coat-1@recoat"]

[[task]]
id = "rest"
wait = 24
after = ["coat-2"]

[[task]]
id = "trim"
zone = "deck"
work = [1, 2, 3]
who = ["owner"]
needs = { max_wind = 15 }

[[task]]
id = "tidy"
work = 1
gear = ["jack"]
not_before = 2027-04-12T15:00:00

[[task]]
id = "sweep"
zone = "keel"
work = 0.5
makes = "dust"

[[task]]
id = "fit"
zone = "cabin"
work = 6
hands = 2
who = ["owner"]
gear = ["jack"]

[[task]]
id = "relaunch"
work = 1
after = ["coat-2@sand", "rest", "fit"]
delivery = "pod"
slots = [ { days = "Mon-Fri", from = "09:00", to = "15:00" } ]
"""

JOB = job_of(CREW, PLACES, EPOXY, TASKS, even_days(12, 13, 14, 16), even_days(15, wind="25"))

# Monday the 12th. coat-1 ends 11:00: recoat 13:00 and until 18:00, set 15:00, sand 17:00. coat-2 ends 14:00:
# set 18:00, sand 20:00. The wait begins with the end of coat-2. Tuesday: owner and friend for fit. Wednesday:
# the lift.
PLAN = plan_of(
    row("grind", "12 08:30-10:00"),
    row("coat-1", "12 10:00-11:00"),
    row("coat-2", "12 13:00-14:00"),
    wait_row("rest", "12 14:00", "13 14:00"),
    row("trim", "12 14:00-16:00"),
    row("tidy", "12 16:00-17:00"),
    row("sweep", "14 08:00-08:30"),
    row("fit", "13 08:00-12:00", "13 13:00-15:00"),
    row("relaunch", "14 09:00-10:00"),
)


def test_a_valid_plan_has_no_findings() -> None:
    assert check_plan(JOB, PLAN) == []


def test_a_slot_and_a_window_include_both_their_ends() -> None:
    # The lift slot ends 15:00; the window of coat-1 closes 18:00, long after coat-2 at 16:00.
    assert check_plan(JOB, with_rows(PLAN, row("relaunch", "14 15:00-16:00"))) == []


def trim_from_1345() -> Plan:
    return row("trim", "12 14:00-16:00") | {"start": at("12 13:45")}


BROKEN = [
    # trim needs 2 h, here it gets 1.75.
    ("work", "trim", [row("trim", "12 14:00-15:45")], "is worked 1.75 h from Mon 12 Apr 2027 14:00"),
    # A quarter of an hour with the owner on shift and 5 kn of wind is left out. (The 16th is a free day.)
    ("pause", "trim", [row("trim", "16 14:00-15:00", "16 15:15-16:15")], "Fri 16 Apr 2027 15:00 to"),
    ("pieces", "trim", [trim_from_1345()], "starts Mon 12 Apr 2027 13:45"),
    ("pieces", "trim", [row("trim", "12 14:00-16:00") | {"pieces": []}], "is worked in no piece"),
    ("pieces", "trim", [row("trim", "12 14:00-15:15", "12 15:00-16:00")], "15:00 to Mon 12 Apr 2027 16:00"),
    ("grid", "trim", [row("trim", "12 14:05-16:05")], "14:05"),
    # The owner goes at 17:00, and nobody else is there on a Monday.
    ("people", "tidy", [row("tidy", "12 16:30-17:30")], "Mon 12 Apr 2027 17:00 to Mon 12 Apr 2027 17:30"),
    # On the 15th, a Thursday, only the owner is there, and fit takes two.
    (
        "people",
        "fit",
        [row("fit", "15 08:00-12:00", "15 13:00-15:00"), row("relaunch", "16 09:00-10:00")],
        "needs 2 pairs of hands, but on shift is owner",
    ),
    # On Tuesday there are three, but trim and fit both ask for the owner.
    ("people", "trim", [row("trim", "13 08:00-10:00")], "needs owner Tue 13 Apr 2027 08:00"),
    # On Monday the owner is alone: trim and tidy at once make two pairs of hands. (tidy is not before 15:00.)
    ("people", "tidy", [row("tidy", "12 15:00-16:00")], "2 pairs of hands together with trim"),
    # It blows 25 kn on the 15th; trim stands 15.
    ("weather", "trim", [row("trim", "15 08:00-10:00")], "25 kn of wind is over 15 kn"),
    # coat-1 is wet from 10:00 to 15:00, and the keel shares the bay's air.
    ("dust", "sweep", [row("sweep", "12 11:00-11:30")], "coat-1, which sets Mon 12 Apr 2027 15:00"),
    # Three people are there on Tuesday, so hands suffice; the one jack is fit's.
    ("gear", "tidy", [row("tidy", "13 09:00-10:00")], "jack Tue 13 Apr 2027 09:00", "held by fit"),
    # recoat is 13:00. Lunch may interrupt a one-go task, since the air suits it throughout.
    (
        "after",
        "coat-2",
        [row("coat-2", "12 11:45-12:00", "12 13:00-13:45"), wait_row("rest", "12 13:45", "13 13:45")],
        "coat-1 only Mon 12 Apr 2027 13:00 reaches recoat",
    ),
    # Sanding starts 20:00 on Monday, fit ends 15:00 on Tuesday, the wait 14:00; the pod comes on the 14th.
    ("delivery", "relaunch", [row("relaunch", "13 15:00-16:00")], "delivery of pod Wed 14 Apr 2027 00:00"),
    ("slots", "relaunch", [row("relaunch", "14 15:15-16:15")], "Wed 14 Apr 2027 15:15"),
    ("not-before", "tidy", [row("tidy", "12 11:00-12:00")], "before Mon 12 Apr 2027 15:00"),
    # The shift begins 08:00, the boat is on the stands 08:30.
    ("hauled", "sweep", [row("sweep", "12 08:00-08:30")], "starts Mon 12 Apr 2027 08:00"),
    # 24 h from 14:00 on Monday are over 14:00 on Tuesday.
    ("wait", "rest", [wait_row("rest", "12 14:00", "13 13:00")], "over Tue 13 Apr 2027 14:00"),
    ("wait", "rest", [wait_row("rest", "12 14:15", "13 14:15")], "as soon as it may, Mon 12 Apr 2027 14:00"),
    (
        "wait",
        "rest",
        [wait_row("rest", "12 14:00", "13 14:00") | {"pieces": [[at("12 14:00"), at("12 15:00")]]}],
        "is worked Mon 12 Apr 2027 14:00",
    ),
    ("tasks", "polish", [row("polish", "14 11:00-12:00")], "not in the job"),
    ("keying", "rest/key/coat-2", [row("rest/key/coat-2", "14 11:00-12:00")], "Wed 14 Apr 2027 11:00"),
    ("shape", "trim", [row("trim", "12 14:00-16:00") | {"start": "noon"}], "'noon'"),
]


@pytest.mark.parametrize(("rule", "task", "changed", "words"), [(b[0], b[1], b[2], b[3:]) for b in BROKEN])
def test_a_broken_rule_is_found_and_nothing_else(
    rule: str, task: str, changed: list[Plan], words: tuple[str, ...]
) -> None:
    only(check_plan(JOB, with_rows(PLAN, *changed)), rule, task, *words)


def test_a_missing_task_is_found() -> None:
    only(check_plan(JOB, without(PLAN, "trim")), "tasks", "trim", "not in the plan")


def test_a_task_planned_twice_is_found() -> None:
    plan = plan_of(*PLAN["tasks"], row("trim", "16 08:00-10:00"))
    only(check_plan(JOB, plan), "tasks", "trim", "more than once")


def test_nothing_starts_before_now() -> None:
    # Of the rows only grind (08:30) starts before 09:00.
    now = dt.datetime(2027, 4, 12, 9)
    only(check_plan(JOB, PLAN, now), "now", "grind", "before now, Mon 12 Apr 2027 09:00")


def test_a_launch_other_than_the_start_of_the_finish_is_found() -> None:
    only(check_plan(JOB, PLAN | {"launch": at("14 09:15")}), "launch", "", "relaunch starts Wed 14 Apr 2027")


def test_a_person_away_is_not_there() -> None:
    # The mate is away on Wednesday the 14th: owner and friend are two, and three are asked for.
    rows = [row("sweep", "14 10:00-10:30"), row("trim", "14 10:00-12:00"), row("tidy", "14 10:00-11:00")]
    only(check_plan(JOB, with_rows(PLAN, *rows)), "people", "trim", "3 pairs of hands", "2 on shift")
