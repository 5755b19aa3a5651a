"""The sheet of a day as data: order, hands, checks, windows, wet, tomorrow, cautions; and a helper's own."""

from __future__ import annotations

import datetime as dt
import json

import pytest
from planned import crew, day, gear, head, material, normals, planned, task, zone

from sequencer.errors import UsageError
from sequencer.paper.sheet import Sheet, SheetTask, day_sheet, sheet_json
from sequencer.planning.plan import Plan
from sequencer.telling.hands import hands_on

SHIFTS = '{ days = "Mon-Sun", from = "08:00", to = "12:00" }', '{ days = "Mon-Sun", from = "13:00", to = "17:00" }'
AFTERNOON = '{ days = "Mon-Sun", from = "13:00", to = "17:00" }'
FIRST, SECOND, THIRD = (dt.date(2027, 4, number) for number in (12, 13, 14))
LIMITS = "apply = { min_temp = 5, max_temp = 35, max_humidity = 85, above_dew = 3 }\n"
EPOXY = material(
    [20], f'title = "Laminating epoxy"\n{LIMITS}set = 4\nrecoat = {{ opens = 5, closes = 8 }}\nsand = 20', "epoxy"
)
AIR = day(FIRST) + day(SECOND, 12, 9.4) + day(THIRD, more='rain = ["10:00/11:00"]') + normals()
PARTS = (
    head(hauled="2027-04-12T08:00:00"),
    crew(*SHIFTS) + crew(AFTERNOON, name="wil"),
    zone("bay", more='air = "under"\ntitle = "Drive bay"'),
    zone("bottom", more='air = "under"'),
    zone("cabin", "inside"),
    gear("grinder"),
    EPOXY,
    AIR,
)


def sheet_plan() -> Plan:
    """Three days: grind and lay on Monday, the second layer the same day, sanded on Tuesday, then the launch."""
    return planned(
        *PARTS,
        '\n[[delivery]]\nid = "pod"\ntitle = "The pod"\ndue = 2027-04-13\n',
        task("grind", zone='"bottom"', makes='"dust"', gear='["grinder"]', needs="{ max_wind = 20 }"),
        task("lay-1", "grind", zone='"bay"', material='"epoxy"', note='"Small cloth first."'),
        task("lay-2", "lay-1@recoat", zone='"bay"', material='"epoxy"', hands=2),
        task("wire", "grind", zone='"cabin"', work=3, title='"Pull the cables"', who='["owner"]'),
        task("sand", "lay-2@sand", zone='"bay"', makes='"dust"', gear='["grinder"]'),
        task("fit", "sand", zone='"bay"', delivery='"pod"', hands=2, who='["wil"]', title='"Hang the pod"'),
        task("launch", "fit wire", zone='"bay"', not_before="2027-04-14T09:00:00"),
    )


@pytest.fixture(scope="module")
def plan() -> Plan:
    """The plan the tests here read."""
    return sheet_plan()


@pytest.fixture(scope="module")
def monday(plan: Plan) -> Sheet:
    """Everybody's first day."""
    return day_sheet(plan, FIRST)


def of(sheet: Sheet, name: str) -> SheetTask:
    """A task of a sheet."""
    return next(one for one in sheet.tasks if one.id == name)


def test_the_day_in_order_with_hours_and_who(monday: Sheet) -> None:
    assert [(t.number, t.id, t.times, t.who) for t in monday.tasks] == [
        (1, "grind", "08:00-09:00", "owner"),
        (2, "lay-1", "09:00-10:00", "owner"),
        (3, "wire", "10:00-12:00, 13:00-14:00", "owner"),
        (4, "lay-2", "15:00-16:00", "owner and wil"),
    ]
    assert monday.here == ("owner 08:00-12:00, 13:00-17:00", "wil 13:00-17:00")
    assert monday.headline.startswith("She launches Wed 14 Apr 14:00.")
    assert monday.sky == "20 to 20 °C, dew point to 10; no rain seen; wind to 5 kn"
    assert of(monday, "wire").hours == "3:00"
    assert of(monday, "grind").gear == ("grinder",)


def test_what_to_mix_and_its_limits(monday: Sheet) -> None:
    mix = of(monday, "lay-1").mix
    assert mix is not None
    assert mix.name == "Laminating epoxy"
    assert mix.limits == "5 to 35 °C, humidity at most 85 %, surface 3 °C over dew point"
    assert of(monday, "grind").mix is None
    assert of(monday, "lay-1").note == "Small cloth first."


def test_the_check_before_starting(monday: Sheet) -> None:
    # Dew point 10 and 3 over it: the surface must have 13. Humidity at 20 and 10: 52.5 % by WMO-No. 8, rounded up.
    assert of(monday, "lay-1").checks == (
        "air at least 5 and at most 35 °C (20 at the coldest seen)",
        "surface 13 °C or more: 3 over a dew point of 10 (10 seen)",
        "humidity at most 85 % (53 seen)",
        "dry, no rain coming (none seen)",
        "dust swept, wiped and sealed off; none in this air till 14:00",
    )
    assert of(monday, "grind").checks == (
        "wind at most 20 kn (5 seen)",
        "nothing wet lies in this air; swept up before lay-1 at 09:00",
    )
    assert of(monday, "wire").checks == ()


def test_the_surface_wanted_is_rounded_against_oneself() -> None:
    mild = (*PARTS[:-1], day(FIRST, 16, 9.4), normals())
    made = planned(*mild, task("lay", zone='"bay"', material='"epoxy"'), task("launch", "lay"))
    # Dew point 9.4, told as 10, and 3 over it; the margin of 6.6 is told as 6.
    assert "surface 13 °C or more: 3 over a dew point of 10 (6 seen)" in of(day_sheet(made, FIRST), "lay").checks


def test_windows_and_what_stays_dry(monday: Sheet) -> None:
    assert [(event.clock, event.said) for event in monday.windows] == [
        ("15:00", "the window of lay-1 for lay-2 opens"),
        ("16:00", "last start of lay-2 in the window of lay-1"),
        ("17:00", "the window of lay-1 for lay-2 shuts"),
    ]
    assert of(monday, "lay-2").by == "on by 16:00, or lay-1 must be keyed: 1 h"
    assert of(monday, "lay-2").shuts
    assert monday.dry == (
        "lay-1 (Drive bay) dry till 14:00. No rain or dew seen.",
        "lay-2 (Drive bay) dry till 20:00. No rain or dew seen.",
    )


def test_stages_waited_for_are_told_on_their_day(plan: Plan) -> None:
    tuesday = day_sheet(plan, SECOND)
    ready = plan.moment(plan.rows["lay-2"].stages["sand"])
    assert ready.date() == SECOND
    assert (f"{ready:%H:%M}", "lay-2 can be sanded: sand may follow") in [(e.clock, e.said) for e in tuesday.windows]


def test_tomorrow_has_its_work_its_deliveries_and_its_sky(monday: Sheet, plan: Plan) -> None:
    assert monday.tomorrow[-2:] == ("due: The pod", "air 12 to 12 °C, dew point to 10; no rain seen; wind to 5 kn")
    assert "Hang the pod (owner and wil)" in "".join(day_sheet(plan, SECOND).tomorrow)
    assert "rain 10:00-11:00" in day_sheet(plan, SECOND).tomorrow[-1]
    assert day_sheet(plan, THIRD).tomorrow == ()


def test_each_caution_once_with_the_numbers_of_its_tasks(monday: Sheet) -> None:
    numbers = {one.caution.id: one.numbers for one in monday.cautions}
    assert numbers["epoxy"] == (2, 4)
    assert numbers["dust"] == (1,)
    assert numbers["current"] == (3,)
    assert "antifouling" not in numbers


def test_a_helpers_sheet_has_his_work_and_what_he_keeps_off(plan: Plan) -> None:
    sheet = day_sheet(plan, FIRST, "wil")
    assert sheet.person == "wil"
    assert [(t.number, t.id) for t in sheet.tasks] == [(1, "lay-2")]
    assert "epoxy" in {one.caution.id for one in sheet.cautions}
    assert "dust" not in {one.caution.id for one in sheet.cautions}
    off = "\n".join(sheet.keep_off)
    assert "lay-1, Drive bay: from 09:00 wet till 14:00." in off
    assert "lay-2, Drive bay: from 16:00 wet till 20:00." in off
    assert "grind, bottom 08:00-09:00: dust." in off
    assert "wire, cabin 10:00-12:00, 13:00-14:00: batteries and cables. Not yours to touch." in off
    assert off.endswith("nobody but the yard moves or touches them.")
    assert sheet.leave == ()
    assert all("(owner)" not in line for line in sheet.tomorrow)
    assert day_sheet(plan, FIRST).keep_off == ()


def test_everybodys_sheets_together_are_the_days_sheet(plan: Plan) -> None:
    for date in (FIRST, SECOND, THIRD):
        whole = {t.id for t in day_sheet(plan, date).tasks}
        parts = [{t.id for t in day_sheet(plan, date, person).tasks} for person in plan.job.people]
        assert set().union(*parts) == whole


def test_nobody_is_in_two_places_and_every_hand_is_there(plan: Plan) -> None:
    shifts = plan.problem.tables.shifts
    begin, end = 0, plan.grid.day_start(3)
    given = hands_on(plan, begin, end)
    for slot in range(begin, end):
        at_work: list[str] = []
        for row in plan.rows.values():
            doers = [p for p, spans in given.get(row.id, {}).items() if any(b <= slot < e for b, e in spans)]
            worked = any(b <= slot < e for b, e in row.pieces)
            assert len(doers) == (row.hands if worked else 0), (row.id, slot)
            assert not worked or set(row.task.who) <= set(doers)
            at_work += doers
        assert len(at_work) == len(set(at_work))
        assert all(shifts[name][slot] for name in at_work)


def test_a_helper_named_elsewhere_sends_the_other_to_the_rest() -> None:
    made = planned(
        *PARTS,
        task("any", zone='"cabin"', not_before="2027-04-12T13:00:00"),
        task("his", zone='"bay"', who='["owner"]', not_before="2027-04-12T13:00:00"),
        task("launch", "any his"),
    )
    sheet = day_sheet(made, FIRST)
    assert {(t.id, t.who) for t in sheet.tasks if t.id != "launch"} == {("any", "wil"), ("his", "owner")}


def test_who_began_stays_with_it_when_somebody_comes() -> None:
    made = planned(
        *PARTS,
        task("long", zone='"cabin"', work=6),
        task("other", zone='"bay"', not_before="2027-04-12T13:00:00"),
        task("launch", "long other"),
    )
    sheet = day_sheet(made, FIRST)
    assert (of(sheet, "long").who, of(sheet, "other").who) == ("owner", "wil")


def test_a_materials_note_stands_once_a_day() -> None:
    noted = EPOXY.replace("set = 4", 'note = "Small pots."\nset = 4')
    lay = {"zone": '"bay"', "material": '"epoxy"'}
    parts = [noted if part == EPOXY else part for part in PARTS]
    made = planned(*parts, task("lay-1", **lay), task("lay-2", "lay-1", **lay), task("launch", "lay-2"))
    assert [t.mix.note for t in day_sheet(made, FIRST).tasks if t.mix is not None] == ["Small pots.", ""]


def test_a_coat_laid_too_late_for_the_next_one_says_by_when() -> None:
    lay = {"zone": '"bay"', "material": '"epoxy"'}
    made = planned(*PARTS, task("lay-1", **lay), task("lay-2", "lay-1@recoat", **lay), task("launch", "lay-2"))
    first = of(day_sheet(made, FIRST), "lay-1")
    # Open 5 h after its end, the next must start by 16:00 to end by 17:00.
    assert first.by == "on by 10:00, or lay-2 misses it: then leave it for another day"
    assert first.shuts


def test_what_is_done_is_told_as_done_and_asks_nothing() -> None:
    done = {"started": "2027-04-12T08:00:00", "finished": "2027-04-12T10:00:00"}
    made = planned(
        head(now="2027-04-12T11:00:00"),
        *PARTS[1:],
        task("lay", zone='"bay"', material='"epoxy"', **done),
        task("launch", "lay"),
    )
    one = of(day_sheet(made, FIRST), "lay")
    assert (one.done, one.checks, one.by) == (True, (), "")
    assert "epoxy" not in {c.caution.id for c in day_sheet(made, FIRST).cautions}


def test_days_outside_of_the_stay_and_strangers_are_told_in_a_sentence(plan: Plan) -> None:
    with pytest.raises(UsageError, match="2027-04-11 is not within the stay; name a day from 2027-04-12 to 2027-04-14"):
        day_sheet(plan, dt.date(2027, 4, 11))
    with pytest.raises(UsageError, match="not within the stay"):
        day_sheet(plan, dt.date(2027, 4, 15))
    with pytest.raises(UsageError, match=r"nobody of the crew is will; did you mean wil\?"):
        day_sheet(plan, FIRST, "will")
    with pytest.raises(UsageError, match="the crew is owner, wil"):
        day_sheet(plan, FIRST, "zzz")


def test_the_sheet_as_json(monday: Sheet) -> None:
    told = json.loads(json.dumps(sheet_json(monday)))
    assert told["date"] == "2027-04-12"
    assert [t["id"] for t in told["tasks"]] == ["grind", "lay-1", "wire", "lay-2"]
    assert told["tasks"][1]["mix"]["name"] == "Laminating epoxy"
    assert {"title", "why", "source", "defers", "tasks"} == set(told["cautions"][0])
