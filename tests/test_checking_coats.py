"""The checker on coats: one go, wet, windows with their keyings, and what is held until a stage."""

from __future__ import annotations

import pytest
from checking_plans import (
    CREW,
    EPOXY,
    GLUE,
    PLACES,
    Plan,
    even_days,
    job_of,
    only,
    plan_of,
    row,
    rules,
    with_rows,
    without,
)

from sequencer.checking import check_plan

SPELL = """
[[task]]
id = "lay"
zone = "bay"
work = 2
who = ["owner"]
one_go = true
needs = { dry = true }

[[task]]
id = "paint"
zone = "bay"
work = 1
material = "glue"

[[task]]
id = "relaunch"
work = 1
"""

# Rain at lunch on the 13th; on the 14th the air is at its dew point all day; 20 °C and dry otherwise.
DAMP = (even_days(12, 15, 16), even_days(13, rain='["12:15/12:45"]'), even_days(14, low="9", high="9"))
WET_JOB = job_of(CREW, PLACES, GLUE, SPELL, *DAMP)
WET_PLAN = plan_of(row("lay", "12 09:00-11:00"), row("paint", "12 11:00-12:00"), row("relaunch", "12 13:00-14:00"))


def test_one_go_and_wet_valid() -> None:
    assert check_plan(WET_JOB, WET_PLAN) == []


def test_one_go_keeps_to_one_date() -> None:
    plan = with_rows(WET_PLAN, row("lay", "12 16:00-17:00", "13 08:00-09:00"))
    only(check_plan(WET_JOB, plan), "one-go", "lay", "Mon 12 Apr 2027 16:00 to Tue 13 Apr 2027 09:00")


def test_weather_may_not_interrupt_one_go_even_in_a_break() -> None:
    # 11:00 to 12:00 and 13:00 to 14:00 are dry, but on the 13th it rains 12:15 to 12:45 while the owner eats.
    plan = with_rows(WET_PLAN, row("lay", "15 11:00-12:00", "15 13:00-14:00"))
    assert check_plan(WET_JOB, plan) == []
    plan = with_rows(WET_PLAN, row("lay", "13 11:00-12:00", "13 13:00-14:00"))
    lunch = "Tue 13 Apr 2027 12:15 to Tue 13 Apr 2027 12:45"
    only(check_plan(WET_JOB, plan), "one-go", "lay", lunch, "it rains")


@pytest.mark.parametrize(
    ("span", "words"),
    [
        # Worked 08:00 to 09:00 it sets 13:00; the rain comes 12:15.
        ("13 08:00-09:00", "Tue 13 Apr 2027 12:15 to Tue 13 Apr 2027 12:45, when it rains"),
        # τ at 9 °C is 4 h · 2^(11/10) = 8.57 h: 35 quarter hours after 09:00 it sets, wet all along.
        ("14 08:00-09:00", "Wed 14 Apr 2027 08:00 to Wed 14 Apr 2027 17:45, when dew falls"),
    ],
)
def test_no_rain_and_no_dew_until_it_has_set(span: str, words: str) -> None:
    only(check_plan(WET_JOB, with_rows(WET_PLAN, row("paint", span))), "wet", "paint", words, "until set")


def test_dry_until_none_and_shelter_let_it_get_wet() -> None:
    plan = with_rows(WET_PLAN, row("paint", "13 08:00-09:00"))
    free = job_of(CREW, PLACES, GLUE + 'dry_until = "none"\n', SPELL, *DAMP)
    assert check_plan(free, plan) == []
    tent = job_of(CREW, PLACES.replace('air = "hull"', 'shelter = "covered"'), GLUE, SPELL, *DAMP)
    assert check_plan(tent, plan) == []


def test_work_without_any_weather_is_unfit_in_a_zone_only() -> None:
    # There is no weather for the 17th. relaunch has no zone and does not care.
    moved = with_rows(WET_PLAN, row("relaunch", "17 09:00-10:00"))
    assert check_plan(WET_JOB, moved) == []
    only(
        check_plan(WET_JOB, with_rows(moved, row("lay", "17 10:00-12:00"))),
        "weather",
        "lay",
        "no weather for",
    )


def test_a_coat_without_any_weather_is_unfit_and_never_sets() -> None:
    job = job_of(CREW, PLACES, GLUE, SPELL.replace('id = "relaunch"\n', 'id = "relaunch"\nafter = ["paint@set"]\n'))
    found = check_plan(job, WET_PLAN)
    assert [(f.rule, f.task) for f in found] == [
        ("weather", "lay"),
        ("weather", "paint"),
        ("after", "relaunch"),
    ]
    assert "paint never reaches set" in found[-1].sentence


KEY_TASKS = """
[[task]]
id = "coat-1"
zone = "bay"
work = 1
material = "epoxy"

[[task]]
id = "coat-2"
zone = "deck"
work = 1
material = "epoxy"
after = ["coat-1@recoat"]

[[task]]
id = "seal"
zone = "keel"
work = 1
material = "glue"

[[task]]
id = "relaunch"
work = 1
after = ["coat-2@sand"]
"""

KEY_JOB = job_of(CREW, PLACES, EPOXY, GLUE, KEY_TASKS, even_days(12, 13, 15), even_days(14, rain='["08:00/09:00"]'))

# coat-1, 12th 09:00 to 10:00: recoat 12:00, set 14:00, sand 16:00; its window closes 8 h after 09:00, 17:00.
# coat-2 on the 13th is too late and needs 1 h of keying; seal sets on the 12th before that, at 15:00.
KEY_PLAN = plan_of(
    row("coat-1", "12 09:00-10:00"),
    row("seal", "12 10:00-11:00"),
    row("coat-2/key/coat-1", "13 08:00-09:00"),
    row("coat-2", "13 09:00-10:00"),
    row("relaunch", "15 09:00-10:00"),
)
KEY = "coat-2/key/coat-1"


def test_a_missed_window_with_its_keying_is_valid() -> None:
    assert check_plan(KEY_JOB, KEY_PLAN) == []


def test_a_missed_window_without_keying_is_found() -> None:
    found = check_plan(KEY_JOB, without(KEY_PLAN, KEY))
    only(found, "keying", "coat-2", "closes Mon 12 Apr 2027 17:00", KEY)


def test_a_met_window_needs_no_keying_and_may_have_none() -> None:
    met = with_rows(KEY_PLAN, row("coat-2", "12 16:00-17:00"))
    assert check_plan(KEY_JOB, without(met, KEY)) == []
    # A keying after coat-2 starts breaks two rules, and its dust falls before coat-2 sets, but in other air.
    assert rules(KEY_JOB, met) == [("keying", KEY), ("keying", KEY)]


def test_a_start_at_the_closing_moment_is_in_time() -> None:
    # Here the window closes 7 h after 09:00, at 16:00.
    epoxy = EPOXY.replace("closes = [16, 8]", "closes = [14, 7]")
    job = job_of(CREW, PLACES, epoxy, GLUE, KEY_TASKS, even_days(12, 13, 14, 15))
    in_time = without(with_rows(KEY_PLAN, row("coat-2", "12 16:00-17:00")), KEY)
    assert check_plan(job, in_time) == []
    late = without(with_rows(KEY_PLAN, row("coat-2", "13 08:00-09:00")), KEY)
    only(check_plan(job, late), "keying", "coat-2", "closes Mon 12 Apr 2027 16:00")


KEY_BROKEN = [
    # coat-1 reaches sand 16:00.
    ("keying", [row(KEY, "12 15:00-16:00")], "coat-1 only Mon 12 Apr 2027 16:00 reaches sand"),
    ("keying", [row(KEY, "13 15:00-16:00")], "after coat-2 starts Tue 13 Apr 2027 09:00"),
    ("work", [row(KEY, "13 08:00-08:30")], "0.5 h from Tue 13 Apr 2027 08:00"),
    ("people", [row(KEY, "12 17:00-18:00")], "Mon 12 Apr 2027 17:00"),
    # It rains on the 14th from 08:00 to 09:00. coat-2 follows at 10:00 and is sanded 17:00.
    ("weather", [row(KEY, "14 08:00-09:00"), row("coat-2", "14 10:00-11:00")], "Wed 14 Apr 2027 08:00"),
    # Keying in the bay while seal cures on the keel, in the same air.
    ("dust", [row("seal", "13 08:00-09:00")], "in the air of seal, which sets Tue 13 Apr 2027 13:00"),
]


@pytest.mark.parametrize(("rule", "changed", "words"), KEY_BROKEN)
def test_a_keying_keeps_rules_of_its_own(rule: str, changed: list[Plan], words: str) -> None:
    only(check_plan(KEY_JOB, with_rows(KEY_PLAN, *changed)), rule, KEY, words)


def test_keying_without_dust_makes_none() -> None:
    clean = EPOXY.replace("closes = [16, 8]", "closes = [16, 8], if_missed = { dust = false }")
    job = job_of(CREW, PLACES, clean, GLUE, KEY_TASKS, even_days(12, 13, 14, 15))
    assert check_plan(job, with_rows(KEY_PLAN, row("seal", "13 08:00-09:00"))) == []


MOULD_TASKS = """
[[task]]
id = "cast"
zone = "cabin"
work = 1
material = "epoxy"
gear = [ { id = "mould", units = 2, until = "sand" } ]

[[task]]
id = "shim"
work = 1
gear = ["mould"]

[[task]]
id = "relaunch"
work = 1
"""


@pytest.mark.parametrize(("count", "rule"), [(2, [("gear", "shim")]), (3, [])])
def test_gear_is_held_until_its_stage_and_counted_in_units(count: int, rule: list[tuple[str, str]]) -> None:
    # cast holds two moulds from 09:00 until it can be sanded, 6 h after 10:00; at 15:00 shim wants one more.
    mould = f'[[gear]]\nid = "mould"\ncount = {count}\n'
    job = job_of(CREW, PLACES, mould, EPOXY, MOULD_TASKS, even_days(12, 13))
    plan = plan_of(row("cast", "12 09:00-10:00"), row("shim", "12 15:00-16:00"), row("relaunch", "13 09:00-10:00"))
    assert rules(job, plan) == rule
    assert rules(job, with_rows(plan, row("shim", "12 16:00-17:00"))) == []
