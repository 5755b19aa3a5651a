"""What happened, jotted into the job: the log, rain, who can't come; and what contradicts itself is refused."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from sequencer.errors import JobError
from sequencer.job import parse_job, read_job
from sequencer.job.jotting import (
    Away,
    DayByHand,
    Finished,
    HalfDone,
    RainedOff,
    Reached,
    SetNow,
    Started,
    Unlogged,
    yard_moment,
)
from sequencer.job.writing import Change, SetField, Written, apply_change
from sequencer.planning.planner import plan_job
from sequencer.weather.daily import day_values

JOBS = Path(__file__).parent.parent / "jobs"
DUNLIN = (JOBS / "dunlin-pod.toml").read_bytes().decode()
OSPREY = (JOBS / "osprey-small.toml").read_bytes().decode()
LONDON = ZoneInfo("Europe/London")


def at(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text)


def jot(one: Change, text: str = DUNLIN) -> Written:
    return apply_change(text, one)


def refused(one: Change, text: str = DUNLIN) -> str:
    with pytest.raises(JobError) as caught:
        apply_change(text, one)
    return str(caught.value)


def test_started_and_finished_move_the_jobs_now_on() -> None:
    begun = jot(Started("trim-plate", at("2027-04-14T09:05:40")))
    assert begun.words == "trim-plate started Wed 14 Apr 09:05"
    assert begun.job.tasks["trim-plate"].started == at("2027-04-14T09:05")
    assert begun.job.job.now == at("2027-04-14T09:05")
    done = jot(Finished("trim-plate", at("2027-04-14T10:30")), begun.text)
    assert done.words == "trim-plate finished Wed 14 Apr 10:30"
    assert (done.job.job.now, done.job.tasks["trim-plate"].started) == (at("2027-04-14T10:30"), at("2027-04-14T09:05"))
    assert "now = 2027-04-14T10:30:00         # plan from this moment" in done.text


def test_a_job_that_plans_by_the_clock_goes_on_doing_so() -> None:
    text = apply_change(DUNLIN, SetField("job", "", "now", None)).text
    assert jot(Started("trim-plate", at("2027-04-14T09:05")), text).job.job.now is None


def test_what_lies_before_now_leaves_it() -> None:
    assert jot(Started("trim-plate", at("2027-04-13T09:00"))).job.job.now == at("2027-04-14T07:40")


def test_from_when_to_plan_is_set_sooner_later_or_left_to_the_clock() -> None:
    later = jot(SetNow(dt.datetime(2027, 4, 15, 6, 30, 9, tzinfo=dt.UTC)))
    assert later.words == "planned from Thu 15 Apr 07:30"
    assert "now = 2027-04-15T07:30:00         # plan from this moment" in later.text
    assert jot(SetNow(at("2027-04-14T07:00")), later.text).job.job.now == at("2027-04-14T07:00")
    clock = jot(SetNow(None))
    assert (clock.words, clock.job.job.now) == ("planned by the clock", None)
    assert jot(SetNow(at("2027-04-14T07:40")), clock.text).job.job.now == at("2027-04-14T07:40")
    assert "is later than now, 2027-04-10 08:00" in refused(SetNow(at("2027-04-10T08:00")))


def test_half_done_says_what_is_left_and_planning_goes_on_from_there() -> None:
    done = jot(HalfDone("trim-plate", at("2027-04-14T10:00"), 0.75))
    assert done.words == "trim-plate half done Wed 14 Apr 10:00, 45 min left"
    task = done.job.tasks["trim-plate"]
    assert (task.started, task.work_left) == (at("2027-04-14T10:00"), 0.75)
    over = jot(Finished("trim-plate", at("2027-04-14T11:00")), done.text)
    assert over.job.tasks["trim-plate"].work_left is None
    earlier = jot(HalfDone("trim-plate", at("2027-04-14T10:00"), 1, started=at("2027-04-14T08:00")))
    assert earlier.job.tasks["trim-plate"].started == at("2027-04-14T08:00")


def test_finished_with_its_start() -> None:
    task = jot(Finished("trim-plate", at("2027-04-14T10:00"), at("2027-04-14T08:00"))).job.tasks["trim-plate"]
    assert (task.started, task.finished) == (at("2027-04-14T08:00"), at("2027-04-14T10:00"))


def test_a_cure_seen_early() -> None:
    done = jot(Reached("lay-plate", "demould", at("2027-04-14T07:30")))
    assert done.words == "lay-plate: demould reached Wed 14 Apr 07:30"
    assert done.job.tasks["lay-plate"].reached == {"demould": at("2027-04-14T07:30")}
    more = jot(Reached("lay-plate", "sand", at("2027-04-14T08:30")), done.text)
    assert set(more.job.tasks["lay-plate"].reached) == {"demould", "sand"}
    assert jot(Unlogged("lay-plate"), more.text).job.tasks["lay-plate"].started is None


@pytest.mark.parametrize(
    ("one", "sentence"),
    [
        (Started("drive-out", at("2027-04-14T08:00")), "it was finished Tue 6 Apr 11:30; take its log out first"),
        (HalfDone("drive-out", at("2027-04-14T08:00"), 1), "it was finished Tue 6 Apr 11:30"),
        (Started("trim-plat", at("2027-04-14T08:00")), "there is no task trim-plat; did you mean trim-plate?"),
        (Reached("lay-plate", "sad", at("2027-04-14T08:00")), "names a stage that lay-up-epoxy does not have"),
        (Reached("barrier-1", "sand", at("2027-04-14T08:00")), "a stage is reached, and the work is not finished"),
        (Reached("lay-plate", "sand", at("2027-04-13T08:00")), "is before finished 2027-04-13 16:30"),
        (Finished("trim-plate", at("2027-04-14T08:00"), at("2027-04-14T09:00")), "is before started"),
        (RainedOff(dt.date(2027, 4, 16)), "nothing is known of that day; give its low, high and dew first"),
        (Away("will", dt.date(2027, 4, 16)), "there is no crew will; did you mean wil?"),
        (Away("wil", dt.date(2027, 4, 16), dt.date(2027, 4, 15)), "the last day is before the first"),
    ],
)
def test_jots_that_contradict_what_is_known_are_refused(one: Change, sentence: str) -> None:
    assert sentence in refused(one)


def test_moments_are_written_on_the_yards_clock() -> None:
    assert yard_moment(dt.datetime(2027, 4, 14, 8, tzinfo=dt.UTC), LONDON) == at("2027-04-14T09:00")
    # The hour that comes twice: the first as the clock shows it, the second with its offset.
    first, second = (dt.datetime(2027, 10, 31, hour, 30, tzinfo=dt.UTC) for hour in (0, 1))
    assert yard_moment(first, LONDON) == at("2027-10-31T01:30")
    assert yard_moment(second, LONDON).isoformat() == "2027-10-31T01:30:00+00:00"


def test_the_rest_of_today_rained_off_keeps_what_the_file_says_of_the_day() -> None:
    job = read_job(JOBS / "dunlin-pod.toml")
    date = dt.date(2027, 4, 16)
    values = day_values(job, date)
    done = jot(RainedOff(date, 10 * 60, values))
    assert done.words == "Fri 16 Apr rained off from 10:00"
    (day,) = done.job.weather.day
    assert day.rain[-1] == (600, 1440)
    assert (day.low, day.high, day.dew) == (values["low"], values["high"], values["dew"])
    assert day.low < day.high
    whole = jot(RainedOff(date), done.text)
    assert whole.words == "Fri 16 Apr rained off"
    assert whole.job.weather.day[0].rain == ((0, 1440),)


def test_rain_before_stays_and_rain_after_becomes_one() -> None:
    (_, _, _, day, *_) = jot(RainedOff(dt.date(2027, 11, 12), 12 * 60), OSPREY).job.weather.day
    assert day.rain == ((540, 1440),)
    (_, _, _, day, *_) = jot(RainedOff(dt.date(2027, 11, 12), 14 * 60), OSPREY).job.weather.day
    assert day.rain == ((540, 780), (840, 1440))


def test_a_day_by_hand_goes_among_the_days_and_keeps_what_is_not_given() -> None:
    text = jot(DayByHand(dt.date(2027, 11, 16), {"low": 5, "high": 9, "dew": 2}), OSPREY).text
    text = jot(DayByHand(dt.date(2027, 11, 15), {"low": 5, "high": 9, "dew": 2}), text).text
    assert [day.date.day for day in parse_job(text).weather.day] == [9, 10, 11, 12, 13, 14, 15, 16]
    day = jot(DayByHand(dt.date(2027, 11, 11), {"wind": 20, "humidity": None, "dew": 6}), text).job.weather.day[2]
    assert (day.low, day.wind, day.humidity, day.dew) == (9.0, 20, None, 6)


def test_a_days_weather_in_a_few_numbers() -> None:
    job = parse_job(OSPREY)
    front = day_values(job, dt.date(2027, 11, 12))
    assert front == {"low": 8.5, "high": 13.0, "dew": 8.0, "wind": 24.0, "rain": ["09:00/13:00", "16:00/19:00"]}
    assert day_values(job, dt.date(2027, 11, 20))["rain"] == []
    assert day_values(parse_job(OSPREY.replace("month = 11", "month = 3")), dt.date(2027, 11, 20)) == {}


def test_somebody_cannot_come() -> None:
    done = jot(Away("wil", dt.date(2027, 4, 24)))
    assert done.words == "wil away Sat 24 Apr"
    assert done.job.people["wil"].away == ((dt.date(2027, 4, 24),) * 2,)
    more = jot(Away("wil", dt.date(2027, 4, 28), dt.date(2027, 5, 1)), done.text)
    assert more.words == "wil away Wed 28 Apr to Sat 1 May"
    assert 'away = ["2027-04-24", "2027-04-28/2027-05-01"]' in more.text
    assert jot(Away("wil", dt.date(2027, 4, 29)), more.text).text == more.text
    assert 'away = ["2027-05-01/2027-05-03", "2027-04-24"]  # the long weekend' in (
        jot(Away("owner", dt.date(2027, 4, 24))).text
    )


def test_a_morning_of_jots_can_be_planned() -> None:
    text = OSPREY
    job = parse_job(text)
    first = next(task for task in job.task if task.started is None and task.work is not None)
    text = jot(Started(first.id, at("2027-11-10T08:00")), text).text
    text = jot(HalfDone(first.id, at("2027-11-10T10:00"), 0.5), text).text
    text = jot(RainedOff(dt.date(2027, 11, 10), 600), text).text
    plan = plan_job(parse_job(text), seconds=1)
    assert plan.rows[first.id].begun
    assert plan.moment(plan.now) >= dt.datetime(2027, 11, 10, 10, tzinfo=job.job.timezone)
