"""Cure times: the rule between and outside a table's columns, published rules and tables, told by whole plans.

A plan's air is held at one temperature by day and night, unless a comment says otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from planned import crew, days, head, hour, local, material, normals, planned, starts, task, zone

from sequencer.cure import hours_to_stage
from sequencer.planning.plan import Plan

GAS_CONSTANT = 8.314
"""J/(mol K)."""


def tau(temps: tuple[float, ...], hours: tuple[float, ...], temp: float) -> float:
    """Hours to a stage by the tool's rule."""
    return float(hours_to_stage(temps, hours, np.array([temp]))[0])


# -- the rule itself (between columns straight in ln τ, outside them each 10 °C halves or doubles)


TABLE = ((10.0, 20.0, 30.0), (8.0, 4.0, 2.5))


def test_at_a_column_the_table_says_the_hours() -> None:
    assert [tau(*TABLE, temp) for temp in TABLE[0]] == pytest.approx(TABLE[1])


def test_halfway_between_columns_the_hours_are_the_geometric_mean() -> None:
    assert tau(*TABLE, 15) == pytest.approx(math.sqrt(8 * 4))
    assert tau(*TABLE, 25) == pytest.approx(math.sqrt(4 * 2.5))
    assert tau(*TABLE, 22.5) == pytest.approx(4**0.75 * 2.5**0.25)


def test_outside_the_columns_ten_degrees_double_or_halve() -> None:
    assert [tau(*TABLE, temp) for temp in (0, -10, 5)] == pytest.approx([16, 32, 8 * math.sqrt(2)])
    assert [tau(*TABLE, temp) for temp in (40, 50, 35)] == pytest.approx([1.25, 0.625, 2.5 / math.sqrt(2)])


@given(
    columns=st.lists(st.tuples(st.integers(1, 12), st.floats(0.2, 2)), min_size=1, max_size=5),
    temp=st.floats(-20, 60),
    more=st.floats(0.01, 20),
)
def test_where_columns_fall_warmer_never_takes_longer_and_nothing_jumps(
    columns: list[tuple[int, float]], temp: float, more: float
) -> None:
    temps = tuple(float(sum(step for step, _ in columns[: k + 1])) for k in range(len(columns)))
    hours = tuple(100 / math.prod(1 + fall for _, fall in columns[: k + 1]) for k in range(len(columns)))
    assert tau(temps, hours, temp + more) <= tau(temps, hours, temp)
    assert tau(temps, hours, temp + 1e-9) == pytest.approx(tau(temps, hours, temp))


# -- rules read in specifications and data sheets


@pytest.mark.parametrize(("temp", "factor"), [(21, 1), (31, 0.5), (11, 2), (1, 4), (41, 0.25)])
def test_one_column_follows_the_rule_of_the_federal_specification(temp: float, factor: float) -> None:
    # "Each 10 °C rise about halves the pot life, each 10 °C drop doubles it", reference 21 °C and 50 % humidity:
    # UFGS 09971 §3.7.1.3, UFGS 09970 p. 27. Here 2 h at 21 °C.
    assert tau((21.0,), (2.0,), temp) == pytest.approx(2 * factor)


def test_the_rule_is_arrhenius_at_49_5_kilojoules_a_mole() -> None:
    # exp(Q/R · (1/288.15 − 1/298.15)) is 2.00 for Q = 49.5 kJ/mol (computed); epoxy-amine 55 to 60 kJ/mol gives a
    # little more (Thermochimica Acta 447, 2006, 167-177).
    def factor(joules: float, cold: float = 288.15, warm: float = 298.15) -> float:
        return math.exp(joules / GAS_CONSTANT * (1 / cold - 1 / warm))

    assert tau((25.0,), (1.0,), 15) == pytest.approx(factor(49_500), abs=0.005)
    assert 2.1 < factor(55_000) < factor(60_000) < 2.4


def test_a_slow_hardeners_two_columns_carry_the_same_factor_outside() -> None:
    # A laminating epoxy's slow hardener, data sheet class: full cure 10 days at 15 °C, 5 days at 25 °C.
    assert tau((15.0, 25.0), (240.0, 120.0), 5) == pytest.approx(480)
    assert tau((15.0, 25.0), (240.0, 120.0), 35) == pytest.approx(60)


def test_a_changing_day_counts_as_its_equivalent_age() -> None:
    """Equivalent age, the sum of exp(-Q(1/Ta - 1/Ts)) Δt, ASTM C1074 (from memory): a plan's stage over a day of
    10 to 24 °C lands where that sum over the hours reaches the data sheet's hours.
    """
    q, reference = 49_500 / GAS_CONSTANT, 293.15
    columns = (0.0, 10.0, 20.0, 30.0)
    hours = [20 * math.exp(q * (1 / (273.15 + temp) - 1 / reference)) for temp in columns]
    stuff = material(columns, f"set = {hours}\n")
    weather = "\n".join(
        f"[[weather.normal]]\nmonth = {month}\nlow = 10\nhigh = 24\ndew = 2\n" for month in range(1, 13)
    )
    coat = task("coat", zone='"bay"', material='"coat"', hands=0)
    plan = planned(head(), weather, zone(), stuff, coat, task("launch", "coat@set", hands=0))
    row = plan.rows["coat"]
    age, slot = 0.0, row.end
    while age < 20:
        clock = plan.moment(slot).hour
        # Lowest at 05:00, highest at 15:00, half a cosine between.
        phase = (clock - 5) / 10 if 5 <= clock <= 15 else 1 - ((clock - 15) % 24) / 14
        temp = 10 + 14 * (1 - math.cos(math.pi * phase)) / 2
        age += 0.25 * math.exp(-q * (1 / (273.15 + temp) - 1 / reference))
        slot += 1
    # ln τ straight between columns 10 °C apart is Arrhenius to within 1 %.
    assert row.stages["set"] - row.end == pytest.approx(slot - row.end, rel=0.012)


# -- tables read in data sheets, each at its own temperatures


@dataclass(frozen=True)
class Sheet:
    """A published table: for each temperature the hours until the next coat may go on, and until when."""

    name: str
    temps: tuple[float, ...]
    opens: tuple[float, ...]
    closes: tuple[float, ...]


DAY = 24.0
SHEETS = [
    # High-build epoxy barrier coat on glass-reinforced plastic, data sheet class: next coat.
    Sheet("barrier coat", (10, 15, 25, 35), (5, 4, 3, 2), (14 * DAY,) * 4),
    # The same, first antifouling onto the still soft coat: a window narrower than a work day.
    Sheet("antifouling on barrier coat", (10, 15, 25, 35), (7, 6, 5, 3), (9, 8, 7, 5)),
    # Epoxy-tar underwater primer on itself.
    Sheet("underwater primer", (5, 15, 23, 35), (6, 3, 2, 2), (10 * DAY, 6 * DAY, 3 * DAY, 3 * DAY)),
    # Thin hard antifouling on that primer.
    Sheet("antifouling on primer", (5, 15, 23, 35), (24, 10, 8, 6), (14 * DAY, 7 * DAY, 4 * DAY, 3 * DAY)),
    # Rapid hand-applied epoxy, minutes to recoat.
    Sheet(
        "rapid epoxy",
        (4, 10, 16, 21, 27, 32, 38),
        tuple(minutes / 60 for minutes in (170, 100, 57, 47, 25, 20, 15)),
        tuple(minutes / 60 for minutes in (360, 235, 150, 116, 75, 58, 37)),
    ),
    # Polyurethane on itself, UFGS 09971 p. 28: by bands of the surface's temperature, here at their middles.
    Sheet("polyurethane", (18.5, 24.5, 30, 35.5), (8, 6, 4, 3), (48, 48, 36, 24)),
    # Navy epoxy, antifouling while tacky, 4 to 6 h (US Army TB 43-0144 p. 58; NAVFAC MO-124 p. 70); the documents
    # name no temperature for it, 21 °C is their usual reference.
    Sheet("navy epoxy", (21,), (4,), (6,)),
]
COLUMNS = [pytest.param(sheet, temp, id=f"{sheet.name} at {temp:g}") for sheet in SHEETS for temp in sheet.temps]


def whole_quarters(hours: float) -> float:
    """Hours as they show on the grid: the next quarter hour."""
    return math.ceil(hours * 4 - 1e-9) / 4


def sheet_job(sheet: Sheet, temp: float, tasks: str) -> tuple[str, ...]:
    """Coats by this sheet in air of `temp`; somebody is there round the clock, since a sheet knows no shifts."""
    window = f"recoat = {{ opens = {list(sheet.opens)}, closes = {list(sheet.closes)} }}\n"
    stuff = material(sheet.temps, f"set = {list(sheet.opens)}\n{window}sand = {list(sheet.opens)}\n")
    places = "".join(zone(name, "inside") for name in ("a", "b", "c"))
    return (head(now="2027-04-12T08:15:00"), normals(temp), crew(), places, stuff, tasks)


@pytest.mark.parametrize(("sheet", "temp"), COLUMNS)
def test_a_plan_opens_and_closes_the_sheets_window_at_the_sheets_hours(sheet: Sheet, temp: float) -> None:
    """Opening counts from the end of the work, closing from its start (the work is a quarter hour, from 08:15)."""
    at = sheet.temps.index(temp)
    tasks = (
        task("first", zone='"a"', material='"coat"', hands=0, work=0.25)
        + task("next", "first@recoat", zone='"a"', material='"coat"', hands=0, work=0.25)
        + task("launch", "next", hands=0)
    )
    plan = planned(*sheet_job(sheet, temp, tasks))
    first = plan.rows["first"]
    assert (hour(plan, first.start), hour(plan, first.end)) == (0.25, 0.5)
    assert hour(plan, first.stages["recoat"]) == 0.5 + whole_quarters(sheet.opens[at])
    assert hour(plan, first.closes["recoat"]) == 0.25 + whole_quarters(sheet.closes[at])
    assert plan.rows["next"].start == first.stages["recoat"]


@pytest.mark.parametrize(("sheet", "temp"), COLUMNS)
def test_the_closing_moment_is_still_in_time_and_a_quarter_hour_later_is_not(sheet: Sheet, temp: float) -> None:
    """Coats that lie already can't be held back: what comes at the closing is in time, what comes later is keyed."""
    begun = np.datetime64("2027-04-12T08:00")
    closing = begun + np.timedelta64(round(whole_quarters(sheet.closes[sheet.temps.index(temp)]) * 60), "m")
    late = closing + np.timedelta64(15, "m")
    tasks = "".join(
        task(
            f"first-{place}",
            zone=f'"{place}"',
            material='"coat"',
            started=f"{begun}:00",
            finished=f"{begun + np.timedelta64(15, 'm')}:00",
        )
        + task(
            f"next-{place}",
            f"first-{place}@recoat",
            zone=f'"{place}"',
            material='"coat"',
            hands=0,
            not_before=f"{moment}:00",
        )
        for place, moment in (("a", closing), ("b", late))
    )
    plan = planned(*sheet_job(sheet, temp, tasks + task("launch", "next-a next-b", hands=0)))
    assert [row.id for row in plan.missed] == ["next-b/key/first-b"]
    assert plan.rows["next-a"].start == plan.rows["first-a"].closes["recoat"]
    assert plan.rows["next-b"].start >= plan.rows["next-b/key/first-b"].end


# Tables without windows: temperatures, and by stage the hours at each.
PLAIN: list[tuple[str, tuple[float, ...], dict[str, tuple[float, ...]]]] = [
    # Surface-tolerant epoxy, data sheet class.
    (
        "surface-tolerant epoxy",
        (5, 10, 25, 35),
        {"set": (6, 4, 2, 0.5), "hard": (8, 6, 4, 1.5), "overcoat": (12, 8, 4, 1.5)},
    ),
    # Two-part polysulfide sealant, data sheet class: initial set in hours, full in days.
    ("polysulfide", (25, 40), {"set": (24, 5), "cure": (14 * DAY, 7 * DAY)}),
    # Rapid hand-applied epoxy: gel in minutes, hard (65 Shore D) in hours.
    (
        "rapid epoxy",
        (4, 10, 16, 21, 27, 32, 38),
        {
            "set": tuple(minutes / 60 for minutes in (180, 110, 62, 52, 30, 25, 18)),
            "hard": (96, 75, 20, 8, 4.75, 2.8, 2),
        },
    ),
]


@pytest.mark.parametrize(
    ("temps", "stages", "at"),
    [pytest.param(t, s, k, id=f"{name} at {t[k]:g}") for name, t, s in PLAIN for k in range(len(t))],
)
def test_a_plan_reaches_every_stage_of_a_sheet_at_the_sheets_hours(
    temps: tuple[float, ...], stages: dict[str, tuple[float, ...]], at: int
) -> None:
    stuff = material(temps, "".join(f"{name} = {list(hours)}\n" for name, hours in stages.items()))
    coat = task("coat", zone='"bay"', material='"coat"', hands=0)
    ends = "".join(task(f"after-{name}", f"coat@{name}", hands=0, work=0.25) for name in stages)
    launch = task("launch", " ".join(f"after-{name}" for name in stages), hands=0)
    plan = planned(head(), normals(temps[at]), zone(shelter="inside"), stuff, coat, ends, launch)
    for name, hours in stages.items():
        assert hour(plan, plan.rows["coat"].stages[name]) == 1 + whole_quarters(hours[at])
        assert plan.rows[f"after-{name}"].start == plan.rows["coat"].stages[name]


# -- cold and changing air


def cured(temps: list[float], stuff: str, after: str = "coat@set") -> Plan:
    """A coat laid from 08:00 to 09:00 on the first of days of these temperatures."""
    coat = task("coat", zone='"bay"', material='"coat"', hands=0)
    return planned(head(), days("2027-04-12", temps), zone(), stuff, coat, task("launch", after, hands=0))


def test_below_its_limit_a_coat_stands_still_and_then_goes_on_where_it_was() -> None:
    # The rapid hand-applied epoxy's "below 4 °C no reaction" (data sheet class). 20 h at 10 °C: 15 of them on the
    # first day, from 09:00 on; nothing on the second and third at 3.9 °C; 5 h more on the fourth.
    stuff = material([10], "set = 20\nno_cure_below = 4\n")
    assert starts(cured([10, 3.9, 3.9, 10], stuff))["launch"] == 16 + 48 + 5
    # At the limit itself it cures, at 2^0.6 times the hours: 5 h of the 10 °C clock take 7.58 h.
    assert starts(cured([10, 4, 4, 10], stuff))["launch"] == 16 + whole_quarters(5 * 2**0.6)


def test_a_coat_cures_at_its_limit_whatever_the_rounding_of_the_hours_air() -> None:
    # Half way between 05:00 and 15:00 a day of -1.5 to 5.5 °C is at 2 °C, in binary a hair below it. An hour sets it.
    swing = '\n[[weather.day]]\ndate = "2027-04-12"\nlow = -1.5\nhigh = 5.5\ndew = -9\n'
    coat = task("coat", zone='"bay"', material='"coat"', hands=0)
    stuff = material([2], "set = 1\nno_cure_below = 2\n")
    plan = planned(head(), swing, zone(), stuff, coat, task("launch", "coat@set", hands=0))
    assert local(plan, plan.rows["launch"].start) == "2027-04-12 11:00"


def test_without_a_limit_the_cold_only_slows() -> None:
    # Half of it on the first day at 10 °C (15 of 30 h); at 0 °C each hour counts half: 24 h make 12, then 3 more.
    assert starts(cured([10, 0, 10], material([10], "set = 30\n")))["launch"] == 16 + 24 + 3


def test_shares_add_up_whatever_their_order() -> None:
    # 40 h at 20 °C are 80 h at 10 °C: 15 h at 20 and then 50 at 10 °C make 1, as do 15 at 10 and then 32.5 at 20.
    stuff = material([10, 20], "set = [80, 40]\n")
    assert starts(cured([20, 10, 10, 10], stuff))["launch"] == 1 + 15 + 50
    assert starts(cured([10, 20, 20, 20], stuff))["launch"] == 1 + 15 + 32.5


def test_the_same_hours_at_one_temperature_whichever_columns_tell_them() -> None:
    # 16 h at 5 °C: as a column of its own, by doubling from 15 °C, and between columns at -5 and 15 °C.
    ways = [((5,), "[16]"), ((15,), "[8]"), ((-5, 15), "[32, 8]"), ((5, 40), "[16, 0.1]")]
    for temps, hours in ways:
        assert starts(cured([5, 5, 5], material(temps, f"set = {hours}\n")))["launch"] == 1 + 16


def test_heat_in_a_closed_place_sets_the_clock_of_the_cure() -> None:
    # 8 h at 20 °C; outside 0 °C. Heated to 20 °C it takes the 8 h, to 10 °C twice that, unheated four times.
    stuff = material([20], "set = 8\n")
    for warmth, hours in ((20, 8), (10, 16), (-10, 32)):
        coat = task("coat", zone='"bay"', material='"coat"', hands=0)
        place = zone(shelter="inside", more=f"heat_to = {warmth}")
        plan = planned(head(), normals(0), place, stuff, coat, task("launch", "coat@set", hands=0))
        assert starts(plan)["launch"] == 1 + hours


def test_a_plug_laid_up_in_the_afternoon_comes_out_the_next_morning() -> None:
    """Common practice, no source: at summer warmth a plug laid up in the afternoon leaves its mould the next
    morning; with one mould two plugs take two days at least.

    The laminating epoxy: thin film solid in 9 to 15 h at 20 to 25 °C, by hardener (data sheet class).
    """
    stuff = material([20, 25], "set = [12, 9]\ndemould = [15, 12]\n")
    hours = '{ days = "Mon-Sun", from = "08:00", to = "18:00" }'
    mould = '[ { id = "mould", until = "demould" } ]'
    plugs = "".join(
        task(f"plug-{k}", zone='"shed"', material='"coat"', gear=mould, work=2, not_before="2027-07-12T14:00:00")
        for k in (1, 2)
    )
    parts = (
        head("2027-07-12T12:00:00"),
        normals(22),
        crew(hours),
        zone("shed", "inside"),
        '\n[[gear]]\nid = "mould"\n',
        stuff,
        plugs,
    )
    plan = planned(*parts, task("launch", "plug-1@demould plug-2@demould"))
    first, second = sorted((plan.rows["plug-1"], plan.rows["plug-2"]), key=lambda row: row.start)
    assert first.stages["demould"] <= second.start
    assert f"{plan.moment(first.start):%d %H:%M}" == "12 14:00"
    assert plan.moment(second.start).day == 13
    assert plan.moment(plan.launch).day == 14
