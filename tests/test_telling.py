"""The plan in words: every wait by its cause, the launch told backwards, the hours of the stay, the windows."""

from __future__ import annotations

import dataclasses
import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from telling_jobs import BAY, MISSED, NORMALS, SOFT, day, launch, plan_of, task

from sequencer.telling import (
    break_text,
    column_clock,
    day_clock,
    duration,
    headline,
    hours_of,
    hours_text,
    lasting,
    launch_sentences,
    ledger,
    ledger_head,
    ledger_total,
    money,
    near_clock,
    span_clock,
    split_of,
    weather_reason,
    why_row,
)

LONDON = ZoneInfo("Europe/London")


def at(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=LONDON)


# -- figures --------------------------------------------------------------------------------------------------


def test_a_moment_is_told_with_its_month_only_where_that_differs() -> None:
    moment = at("2027-04-23T09:00")
    assert day_clock(moment) == "Fri 23 Apr 09:00"
    assert near_clock(moment, at("2027-04-05T10:00")) == "Fri 23 09:00"
    assert near_clock(moment, at("2027-05-05T10:00")) == "Fri 23 Apr 09:00"
    assert near_clock(moment, at("2026-04-05T10:00")) == "Fri 23 Apr 09:00"


@pytest.mark.parametrize(
    ("moment", "told"),
    [
        ("2027-04-16T14:45", "Fri 16 14:45"),
        ("2027-05-30T02:45", "30 May 02:45"),
        ("2028-05-30T02:45", "30 May 2028"),
        ("2027-05-01T08:00", "1 May 08:00"),
    ],
)
def test_a_column_of_moments_is_twelve_cells_at_most(moment: str, told: str) -> None:
    assert column_clock(at(moment), at("2027-04-16T08:00")) == told
    assert len(told) <= 12


def test_spans_hours_and_money() -> None:
    assert span_clock(at("2027-04-21T09:00"), at("2027-04-21T12:00"), at("2027-04-05T10:00")) == "Wed 21 09:00-12:00"
    long = span_clock(at("2027-04-21T16:30"), at("2027-04-22T09:00"), at("2027-04-05T10:00"))
    assert long == "Wed 21 16:30 to Thu 22 09:00"
    assert [hours_text(n) for n in (338, 1, 4)] == ["84.5 h", "0.25 h", "1 h"]
    assert [lasting(n) for n in (3, 4)] == ["45 min", "1 h"]
    assert [duration(n) for n in (20, 95, -6)] == ["5:00", "23:45", "-1:30"]
    assert [money(1027.2, "GBP"), money(7580, "SEK"), money(785, "")] == ["£1,028", "SEK 7,580", "785"]


# -- the launch told backwards --------------------------------------------------------------------------------


def test_the_launch_is_told_backwards_link_by_link() -> None:
    plan = plan_of(BAY)
    told = launch_sentences(plan)
    assert [s.text for s in told] == [
        "the lift works Mon-Fri 09:00-15:00, and coat-2 was ready Thu 8 08:00",
        "coat-2 may be wetted Thu 8 08:00, 20 h after it is on",
        "coat-2 follows fit, done Wed 7 11:00",
        "fit waits for two pairs of hands: Wil is next here Wed 7 09:00, 41 h in all",
        "coat-1 takes the next coat Mon 5 16:00, 5 h after it is on",
        "nothing comes before coat-1: she was hauled Mon 5 10:00",
    ]
    assert [s.row for s in told] == ["relaunch", "coat-2", "fit", "fit", "coat-1", "coat-1"]


def test_effort_pays_at_the_wait_that_takes_up_the_play() -> None:
    told = launch_sentences(plan_of(BAY))
    assert [s.row for s in told if s.pays] == ["fit"]
    assert next(s for s in told if s.pays).kind == "wait"


def test_the_play_is_told_where_it_begins() -> None:
    plan = plan_of(BAY)
    told = launch_sentences(plan)
    breaks = [(i, s.slack_break) for i, s in enumerate(told) if s.slack_break is not None]
    # coat-1 may be laid on Tuesday till 16:30 and still be ready for Wil.
    assert breaks == [(4, plan.rows["coat-1"].slack)]
    assert plan.rows["coat-1"].slack == 4 * 30.5
    assert break_text(4 * 30 + 2) == "from here back, 30.5 h of play"
    assert break_text(5) == "from here back, only 1.25 h of play"


def test_the_headline_says_whether_the_launch_is_proved() -> None:
    assert headline(plan_of(BAY)) == "She launches Thu 8 Apr 09:00. Proved: nothing earlier is possible"


def test_what_was_logged_is_told_as_it_happened() -> None:
    tasks = BAY.replace(
        'material = "coat"\n\n',
        'material = "coat"\nstarted = 2027-04-05T10:00:00\nfinished = 2027-04-05T11:30:00\n\n',
        1,
    )
    plan = plan_of(tasks, now="2027-04-06T08:00:00")
    told = launch_sentences(plan)
    assert [s.text for s in told if s.kind == "log"] == [
        "coat-1 was done Mon 5 10:00-11:30",
        "nothing comes before coat-1: she was hauled Mon 5 10:00",
    ]
    assert why_row(plan, plan.rows["coat-1"]) == "as it happened: begun Mon 5 10:00"


def test_a_wait_and_a_pause_are_told() -> None:
    tasks = (
        '[[task]]\nid = "dry"\nzone = "deck"\nwait = 20\n\n'
        + task("grind", 'after = ["dry"]', work=11)
        + task("relaunch", 'after = ["grind"]')
    )
    told = [s.text for s in launch_sentences(plan_of(tasks))]
    assert "grind follows dry: 20 h that just pass, over Tue 6 06:00" in told
    pause = next(text for text in told if text.startswith("grind is 11 h of work"))
    assert pause == "grind is 11 h of work from Tue 6 08:00, done Wed 7 10:30: 15.5 h nobody on shift between"


# -- why a task starts when it does ---------------------------------------------------------------------------


def why(tasks: str, name: str, weather: str = NORMALS) -> str:
    plan = plan_of(tasks, weather)
    return why_row(plan, plan.rows[name])


def test_people() -> None:
    assert why(BAY, "fit") == "hands short: Wil is next here Wed 7 09:00"


def test_people_at_other_work() -> None:
    tasks = task("scrape", work=3, more="") + task("sand", 'who = ["owner"]') + launch('"sand", "scrape"')
    plan = plan_of(tasks)
    first, second = sorted(("scrape", "sand"), key=lambda name: plan.rows[name].start)
    row = plan.rows[second]
    assert (
        why_row(plan, row) == f"hands short: {first} has them until {near_clock(plan.moment(row.start), plan.launched)}"
    )


def test_cure_and_work_that_let_go_at_once() -> None:
    assert why(BAY, "coat-2") == "work: fit is over Wed 7 11:00"
    assert why(SOFT, "relaunch") == "cure: coat-2 may be wetted Tue 6 11:45"
    assert why(BAY, "relaunch") == "lift not open: Mon-Fri 09:00-15:00, next Thu 8 09:00"


def test_delivery_is_the_reason_though_the_morning_came_last() -> None:
    tasks = task("pad") + task("fit", 'after = ["pad"]\ndelivery = "pod"') + launch('"fit"')
    assert why(tasks, "fit") == "delivery: due Thu 8 Apr 11:00"


def test_a_date() -> None:
    tasks = task("pad", "not_before = 2027-04-07T08:30:00") + launch('"pad"')
    assert why(tasks, "pad") == "not before its date: not before Wed 7 08:30, as written"


def test_gear() -> None:
    tasks = (
        task("lay-1", 'material = "coat"\ngear = [{ id = "mould", until = "sand" }]')
        + task("lay-2", 'gear = ["mould"]\nafter = ["lay-1"]')
        + launch('"lay-2"')
    )
    plan = plan_of(tasks)
    # Sanded Mon 23:00; the gear is free in the night, the hands come in the morning.
    assert why_row(plan, plan.rows["lay-2"]) == "gear in use: lay-1 has it until Mon 5 23:00; it starts Tue 6 08:00"


def test_dust_waits_for_the_wet() -> None:
    tasks = (
        task("coat-1", 'material = "coat"')
        + task("grind", 'makes = "dust"\nafter = ["coat-1"]')
        + launch('"grind", "coat-1@immerse"')
    )
    assert why(tasks, "grind") == "dust and wet coats: no dust while coat-1 is wet, till Mon 5 15:00"


def test_rain_says_till_when() -> None:
    weather = day("2027-04-05", rain="10:00/14:00") + NORMALS
    tasks = task("scrape", "needs = { dry = true }", zone="deck") + launch('"scrape"')
    assert why(tasks, "scrape", weather) == "weather: rain till 14:00; it may from Mon 5 14:00"


def test_a_week_of_rain_is_the_reason_not_the_last_night() -> None:
    weather = "".join(day(f"2027-04-0{n}", rain="00:00/24:00") for n in (5, 6)) + NORMALS
    tasks = task("scrape", "needs = { dry = true }", zone="deck") + launch('"scrape"')
    assert why(tasks, "scrape", weather) == "weather: rain till Wed 7 00:00; it starts Wed 7 08:00"


@pytest.mark.parametrize(
    ("weather", "said"),
    [
        (day("2027-04-05", low=2, high=7.96, dew=1), "too cold, "),
        (day("2027-04-05", low=9, high=12, dew=9.5), "too damp, "),
    ],
)
def test_paint_says_what_the_air_lacks(weather: str, said: str) -> None:
    plan = plan_of(task("paint", 'material = "paint"', zone="deck") + launch('"paint"'), weather + NORMALS)
    assert said in why_row(plan, plan.rows["paint"])


def test_cold_is_rounded_down_against_oneself() -> None:
    weather = day("2027-04-05", low=7.99, high=7.99, dew=1) + NORMALS
    plan = plan_of(task("paint", 'material = "paint"', zone="deck") + launch('"paint"'), weather)
    assert weather_reason(plan, plan.rows["paint"], plan.hauled) == "too cold, 7.9 °C, wants 8"


def test_rain_ahead_of_a_wet_coat() -> None:
    weather = day("2027-04-05", rain="11:30/18:00") + NORMALS
    plan = plan_of(task("paint", 'material = "paint"', zone="deck") + launch('"paint"'), weather)
    assert weather_reason(plan, plan.rows["paint"], plan.hauled) == "rain Mon 5 11:30 would reach it wet"


def test_a_task_with_nothing_before_it() -> None:
    assert why(BAY, "coat-1") == "nothing: it may start at once"


def test_where_a_wait_went_adds_up() -> None:
    plan = plan_of(BAY)
    row = plan.rows["fit"]
    assert split_of(plan, row) == "30 h nobody on shift, 11 h hands short"
    assert sum(slots for _, slots in row.held.spans) == row.start - row.held.ready


# -- the ledger -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tasks", [BAY, SOFT, MISSED])
def test_the_hours_of_the_stay_add_up(tasks: str) -> None:
    plan = plan_of(tasks)
    assert sum(line.slots for line in ledger(plan)) == plan.launch - plan.hauled


def test_the_ledger_by_hand() -> None:
    plan = plan_of(BAY)
    assert {line.cause: line.slots / 4 for line in ledger(plan)} == {
        "off-shift": 30,
        "cure": 25,
        "people": 11,
        "work": 4,
        "slot": 1,
    }
    assert ledger_head(plan) == "Hauled Mon 5 Apr 10:00 to launch Thu 8 Apr 09:00"
    assert ledger_total(plan) == "71 h, 3 nights, £458"


def test_hours_of_the_lift() -> None:
    plan = plan_of(BAY)
    assert hours_of(plan.job.tasks["relaunch"].slots) == "Mon-Fri 09:00-15:00"


def test_titles_with_control_codes_stay_on_one_line() -> None:
    tasks = BAY.replace('who = ["owner", "wil"]', 'who = ["owner", "wil"]\ndelivery = "pod"')
    plan = plan_of(tasks)
    job = plan.job.model_copy(
        update={"crew": tuple(c.model_copy(update={"title": "W\x1b[31m\nil"}) for c in plan.job.crew)}
    )
    said = " ".join(s.text for s in launch_sentences(dataclasses.replace(plan, job=job)))
    assert "\\x1b" in said
    assert "\x1b" not in said
    assert "\n" not in said
