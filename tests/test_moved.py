"""What a change of the job did: launch, money, rows, windows and today, beside plans worked out by hand."""

from __future__ import annotations

import datetime as dt

from planned import assert_kept
from telling_jobs import BAY, HELD, MISSED, NORMALS, SOFT, day, launch, plan_of, task
from tui_support import FROZEN, SMALL

from sequencer.job import parse_job
from sequencer.moved import Moved, compare, moved_sentences
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job

WET = '[[weather.day]]\ndate = 2027-06-08\nlow = 9\nhigh = 19\ndew = 6\nrain = ["00:00/24:00"]\n\n'
COATS = "started = 2027-04-05T10:00:00\nfinished = 2027-04-05T11:00:00"


def moved(before: Plan, after: Plan) -> Moved:
    """Compared; the lists must not contradict the plans."""
    found = compare(before, after)
    assert all(m.by > 0 for m in found.slid)
    assert all(m.by < 0 for m in found.forward)
    names = [m.row for m in (*found.slid, *found.forward)]
    assert len(names) == len(set(names))
    assert not [n for n in names if after.rows[n].finished or n == after.job.job.finish]
    assert all(s.endswith((".", "?")) for s in moved_sentences(found))
    return found


def when(moment: dt.datetime | None) -> str:
    return f"{moment:%a %d %H:%M}" if moment is not None else ""


def test_nothing_moved() -> None:
    plan = plan_of(BAY)
    found = moved(plan, plan)
    assert found.nothing
    assert (found.by, found.nights, found.cost, found.missed_work, found.why) == (0, 0, 0, 0, "")
    assert moved_sentences(found) == ["Nothing moves. Launch stays Thu 8 Apr 09:00."]


# -- rain at ten ------------------------------------------------------------------------------------------------

OUTSIDE = (
    task("scrub", work=2, zone="deck", more="needs = { dry = true }\none_go = true")
    + task("cables", work=3, zone="bench", more="after = []")
    + launch('"scrub", "cables"')
)


def test_rain_at_ten_sends_the_owner_inside() -> None:
    dry = plan_of(OUTSIDE)
    wet = plan_of(OUTSIDE, day("2027-04-05", rain="10:00/18:00") + NORMALS, now="2027-04-05T10:00")
    found = moved(dry, wet)
    assert [(t.row, when(t.start)) for t in found.off_today] == [("scrub", "Tue 06 08:00")]
    assert [(t.row, when(t.start)) for t in found.onto_today] == []
    assert [(m.row, when(m.before), when(m.after), m.by) for m in found.slid] == [
        ("scrub", "Mon 05 10:00", "Tue 06 08:00", 88)
    ]
    assert [(m.row, when(m.after)) for m in found.forward] == [("cables", "Mon 05 10:00")]
    assert (when(found.before.launch), when(found.after.launch)) == ("Tue 06 09:00", "Tue 06 10:00")
    assert "Leave today: scrub (now Tue 6 08:00)." in moved_sentences(found)


def test_work_that_comes_forward_to_today_is_told_with_its_hour() -> None:
    tasks = task("dig", work=5.5, zone="deck", more="needs = { dry = true }\none_go = true")
    tasks += task("wire", work=3, more="not_before = 2027-04-06") + launch('"dig", "wire"')
    sooner = tasks.replace("not_before = 2027-04-06", "")
    wet = day("2027-04-05", rain="10:00/18:00") + NORMALS
    found = moved(plan_of(tasks, wet), plan_of(sooner, wet))
    assert [(t.row, when(t.start)) for t in found.onto_today] == [("wire", "Mon 05 10:00")]
    assert "Do today instead: wire 10:00." in moved_sentences(found)


def test_work_under_way_that_rain_stops_ends_later() -> None:
    tasks = task(
        "scrub", work=4, zone="deck", more="needs = { dry = true }\nstarted = 2027-04-05T10:00:00\nwork_left = 3"
    )
    tasks += launch('"scrub"')
    dry = plan_of(tasks, now="2027-04-05T13:00")
    wet = plan_of(tasks, day("2027-04-05", rain="14:00/18:00") + NORMALS, now="2027-04-05T13:00")
    found = moved(dry, wet)
    assert [(m.row, m.what, when(m.before), when(m.after)) for m in found.slid] == [
        ("scrub", "end", "Mon 05 16:00", "Tue 06 10:00")
    ]
    assert "scrub slides 18 h: ends Tue 6 10:00." in moved_sentences(found)
    assert "scrub goes on until Tue 6 10:00" in found.why


# -- the friend cancels, the pod is late -------------------------------------------------------------------------


def without_wil_on(date: str) -> Plan:
    job = parse_job(plan_text(BAY))
    crew = tuple(
        c.model_copy(update={"away": ((dt.date.fromisoformat(date),) * 2,)}) if c.id == "wil" else c for c in job.crew
    )
    return plan_job(job.model_copy(update={"crew": crew}), seconds=2.0)


def plan_text(tasks: str) -> str:
    from telling_jobs import HEAD

    return HEAD + NORMALS + tasks


def test_the_friend_cancels() -> None:
    found = moved(plan_of(BAY), without_wil_on("2027-04-07"))
    assert (when(found.before.launch), when(found.after.launch)) == ("Thu 08 09:00", "Thu 15 09:00")
    assert (found.by, found.nights, found.cost) == (7 * 96, 7, 7 * 38)
    slid = {m.row: m for m in found.slid}
    assert (when(slid["fit"].after), slid["fit"].by, slid["fit"].on_path) == ("Wed 14 09:00", 7 * 96, True)
    # coat-1 is held back so that fit meets its window (shut 100 h after it was begun): it is not the reason.
    assert found.why.startswith("fit: hands short, Wil is next here Wed 14 09:00")
    said = moved_sentences(found)
    assert said[0] == "Launch slides from Thu 8 Apr 09:00 to Thu 15 Apr 09:00: 7 nights more, £266 more."
    back = moved(without_wil_on("2027-04-07"), plan_of(BAY))
    assert moved_sentences(back)[0].endswith(
        "comes forward from Thu 15 Apr 09:00 to Thu 8 Apr 09:00: 7 nights less, £266 less."
    )
    assert {m.row for m in back.forward} == {"coat-1", "fit", "coat-2"}
    assert not back.slid


def test_the_wet_day_is_the_reason_and_not_the_lunch_after_it() -> None:
    """coat-1 waits for the rain to end, in part held back for coat-2, which then waits for one o'clock."""
    before = parse_job(SMALL)
    wet = SMALL.replace("[[weather.normal]]", f"{WET}[[weather.normal]]", 1)
    plans = [plan_job(job, now=FROZEN, seconds=2.0) for job in (before, parse_job(wet))]
    for plan in plans:
        assert_kept(plan.job, plan, plan.moment(plan.now))
    assert compare(*plans).why == "coat-1: weather, rain till Wed 9 00:00; it starts Wed 9 08:00"
    # What comes forward has not come by what it still waits for.
    assert "weather" not in compare(*reversed(plans)).why


POD = task("hang", 'hands = 1\ndelivery = "pod"') + task("bolt", 'after = ["hang"]') + launch('"bolt"')


def test_the_pod_is_late() -> None:
    job = parse_job(plan_text(POD))
    late = tuple(d.model_copy(update={"due": dt.date(2027, 4, 12)}) for d in job.delivery)
    found = moved(plan_of(POD), plan_job(job.model_copy(update={"delivery": late}), seconds=2.0))
    assert [(m.row, when(m.before), when(m.after)) for m in found.slid] == [
        ("hang", "Thu 08 11:00", "Mon 12 08:00"),
        ("bolt", "Thu 08 13:00", "Mon 12 09:00"),
    ]
    assert found.why.startswith("hang: delivery, ")
    assert found.nights == 4


# -- windows -----------------------------------------------------------------------------------------------------


def test_a_coat_that_could_not_go_on_costs_a_keying() -> None:
    before = plan_of(SOFT.replace('id = "coat-1"', f'id = "coat-1"\n{COATS}'))
    found = moved(before, plan_of(MISSED))
    assert [(m.before, m.after, m.key, m.work, m.dusty, when(m.start)) for m in found.missed] == [
        ("coat-1", "coat-2", "coat-2/key/coat-1", 8, True, "Tue 06 08:00")
    ]
    assert found.missed_work == 8
    assert found.why == "coat-1 must be keyed for coat-2, Tue 6 08:00: its window shuts Mon 5 17:00"
    assert "coat-2 misses coat-1's window. Key it Tue 6 08:00: 2 h, one hand, dusty." in moved_sentences(found)
    back = moved(plan_of(MISSED), before)
    assert back.gone_keyings == ("coat-2/key/coat-1",)
    assert not back.missed
    assert "coat-1 need not be keyed for coat-2." in moved_sentences(back)


def test_a_window_is_tight_with_a_day_or_less_to_spare_and_told_once() -> None:
    soft = plan_of(SOFT)
    found = moved(plan_of(SOFT.replace("@soft", "@recoat")), soft)
    (tight,) = found.tight
    assert (tight.before, tight.after, when(tight.planned), when(tight.last)) == (
        "coat-1", "coat-2", "Mon 05 15:00", "Mon 05 16:45",
    )  # fmt: skip
    assert tight.spare == 7
    assert "coat-2 is tight on coat-1: Mon 5 15:00, by 16:45 at the latest." in moved_sentences(found)
    assert not moved(soft, soft).tight


def test_a_coat_held_back_slides() -> None:
    found = moved(plan_of(SOFT), plan_of(HELD))
    assert {m.row for m in found.slid} >= {"coat-2"}


# -- the job itself changed --------------------------------------------------------------------------------------


def test_tasks_only_one_plan_has_are_new_or_gone() -> None:
    more = task("wash", work=2) + BAY
    found = moved(plan_of(BAY), plan_of(more))
    assert (found.new_rows, found.gone_rows) == (("wash",), ())
    back = moved(plan_of(more), plan_of(BAY))
    assert (back.new_rows, back.gone_rows) == ((), ("wash",))
    assert "wash is gone." in moved_sentences(back)


def test_a_finished_task_is_in_no_list_and_a_play_keeps_the_launch() -> None:
    first = task("dig") + task("fill", work=2, more='after = ["dig"]\nwho = ["owner"]')
    tasks = first + task("crate", more='hands = 1\ndelivery = "pod"') + launch('"fill", "crate"')
    before = plan_of(tasks)
    done = tasks.replace('id = "dig"', 'id = "dig"\nstarted = 2027-04-05T10:00:00\nfinished = 2027-04-05T15:00:00')
    found = moved(before, plan_of(done, now="2027-04-05T15:00"))
    assert [m.row for m in found.slid] == ["fill"]
    assert found.why == "what slid has the play for it"
    assert moved_sentences(found)[0] == f"Launch stays {found.after.launch:%a} {found.after.launch.day} Apr 13:00."


def test_another_currency_or_no_yard_has_no_difference() -> None:
    plan = plan_of(BAY)
    job = parse_job(plan_text(BAY))
    bare = plan_job(job.model_copy(update={"yard": None}), seconds=2.0)
    assert moved(plan, bare).cost is None
    assert job.yard is not None
    euro = job.model_copy(update={"yard": job.yard.model_copy(update={"currency": "EUR"})})
    assert moved(plan, plan_job(euro, seconds=2.0)).cost is None
    dear = job.model_copy(update={"yard": job.yard.model_copy(update={"night": 40.25})})
    found = moved(plan, plan_job(dear, seconds=2.0))
    assert found.cost == 2.25
    assert moved_sentences(found)[0] == "Launch stays Thu 8 Apr 09:00: £3 more."
    assert moved_sentences(moved(plan_job(dear, seconds=2.0), plan))[0] == "Launch stays Thu 8 Apr 09:00: £2 less."
