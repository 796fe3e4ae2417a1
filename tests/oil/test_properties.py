"""Viscosity, density, grades, pump demand and hold-up against published values."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from sumpwright.oil import OilInputs
from sumpwright.oil.formulas import (
    pump_flow_at_speed,
    pump_flow_from_engine,
    viscosity_at,
    viscosity_line_height,
    viscosity_line_slope,
)
from sumpwright.oil.model import OilChoice, Pump
from sumpwright.oil.properties import hold_up_of, properties_of, pump_flow, swelling, trouble_with
from sumpwright.quantities.units import frozen_array
from sumpwright.tables.oils import (
    GradeName,
    hot_grade,
    hot_grade_of,
    hot_grades,
    read_grade,
    typical_oils,
    winter_grades,
)

C = 273.15
MM2 = 1e-6


def measured(nu40: float, nu100: float, grade: str = "") -> OilChoice:
    return OilChoice(grade, ((40 + C, nu40 * MM2), (100 + C, nu100 * MM2)))


@pytest.mark.expected_from(
    "published", "ASTM D341 worked sheet: 32 at 40 degC, 5.4 at 100 degC; 8.5 at 80 degC; A 9.531, B 3.747"
)
def test_viscosity_line_of_the_published_oil() -> None:
    slope = viscosity_line_slope(32 * MM2, 40 + C, 5.4 * MM2, 100 + C)
    height = viscosity_line_height(32 * MM2, 40 + C, slope)
    assert slope == pytest.approx(3.747, abs=0.002)
    assert height == pytest.approx(9.531, abs=0.005)
    assert viscosity_at(height, slope, 80 + C) / MM2 == pytest.approx(8.53, abs=0.05)


@pytest.mark.expected_from(
    "closed form", "ASTM D341 equation worked separately for four oils at five temperatures"
)
@pytest.mark.parametrize(
    ("grade", "values"),
    [
        ("0W-20", (1665, 347, 108, 13.1, 5.8)),
        ("5W-30", (2807, 545, 161, 17.3, 7.3)),
        ("10W-40", (5454, 956, 260, 23.8, 9.5)),
        ("SAE 30", (15263, 1574, 308, 18.8, 6.9)),
    ],
)
def test_typical_oils_over_temperature(grade: str, values: tuple[float, ...]) -> None:
    oil = properties_of(OilChoice(grade))
    assert oil is not None
    assert oil.is_typical
    for celsius, value in zip((-20, 0, 20, 80, 120), values, strict=True):
        assert oil.viscosity(celsius + C) / MM2 == pytest.approx(value, rel=0.01)
    assert oil.is_extrapolated(-20 + C)
    assert not oil.is_extrapolated(80 + C)


@pytest.mark.expected_from("published", "ASTM D341: 63.4 at 40 degC, 10.8 at 100 degC; 545.0 at 0 degC")
def test_cold_viscosity() -> None:
    oil = properties_of(measured(63.4, 10.8))
    assert oil is not None
    assert not oil.is_typical
    assert oil.viscosity(C) / MM2 == pytest.approx(545.0, rel=0.005)
    assert oil.dynamic_viscosity(C) == pytest.approx(oil.viscosity(C) * oil.density(C))


@pytest.mark.expected_from(
    "published", "API MPMS 11.1 lubricating-oil group: 870 kg/m3, CTL 0.93768 at 100 degC; degF form 0.34878"
)
def test_density_and_swelling() -> None:
    oil = properties_of(measured(63.4, 10.8))
    assert oil is not None
    assert oil.density(100 + C) == pytest.approx(815.78, abs=0.01)
    assert 4.5 * swelling(870.0, 15 + C, 100 + C) == pytest.approx(4.80, abs=0.005)
    # The same group in degF: 0.34878 / rho per degF with 1.8 degF per kelvin.
    fahrenheit_form = 0.34878 * 1.8
    assert fahrenheit_form == pytest.approx(0.6278, abs=1e-4)


@pytest.mark.expected_from("published", "SAE J300 (2015): 12.4 mm2/s at 100 degC is SAE 30, 12.5 is SAE 40")
def test_hot_grade_limits() -> None:
    assert hot_grade_of(12.4 * MM2) == "30"
    assert hot_grade_of(12.5 * MM2) == "40"
    assert hot_grade_of(6.1 * MM2) == "16"
    # Overlapping grades: kinematic alone gives 20, too little high-shear viscosity gives 16.
    assert hot_grade_of(7.5 * MM2) == "20"
    assert hot_grade_of(7.5 * MM2, 2.4e-3) == "16"
    assert hot_grade_of(13 * MM2, 3.6e-3, "5W") == "40"
    assert hot_grade_of(13 * MM2, 3.6e-3, "15W") == ""
    assert hot_grade_of(3.0 * MM2) == ""


@pytest.mark.expected_from(
    "published", "SAE J300 (2015) table: 5W cranks 6600 mPa s at -30 degC, pumps 60 Pa s at -35 degC"
)
def test_grade_tables() -> None:
    five = winter_grades()[1]
    assert (five.grade, five.cranking_limit, five.pumping_limit) == ("5W", 6.6, 60.0)
    assert five.cranking_at - C == pytest.approx(-30.0)
    assert five.pumping_at - C == pytest.approx(-35.0)
    assert [grade.grade for grade in hot_grades()] == ["8", "12", "16", "20", "30", "40", "40", "50", "60"]
    forty = hot_grade(GradeName("", "40"))
    assert forty is not None
    assert forty.high_shear_least == pytest.approx(3.7e-3)


@pytest.mark.expected_from("property", "every typical oil fits the hot grade it is listed under")
def test_typical_oils_fit_their_grades() -> None:
    for oil in typical_oils():
        grade = read_grade(oil.grade)
        assert grade is not None
        limits = hot_grade(grade)
        assert limits is not None
        assert limits.kv100_least <= oil.kv100 < limits.kv100_below
        assert trouble_with(OilChoice(oil.grade)) is None


def test_grades_as_written_on_the_can() -> None:
    assert str(read_grade("5W-30")) == str(read_grade("sae 5w30")) == "5W-30"
    assert str(read_grade("SAE 30")) == str(read_grade("30")) == "SAE 30"
    assert read_grade("15W") == GradeName("15W", "")
    for nonsense in ("", "W", "7W-30", "5W-33", "oil", "5W-30-40"):
        assert read_grade(nonsense) is None


@pytest.mark.expected_from("property", "oil that cannot be is refused with a reason")
@pytest.mark.parametrize(
    ("choice", "word"),
    [
        (measured(10.8, 63.4), "thicker"),
        (OilChoice("", ((313.15, 63e-6),)), "two temperatures"),
        (OilChoice("", ((313.15, 63e-6), (318.15, 55e-6))), "apart"),
        (OilChoice("", ((313.15, 63e-6), (373.15, 60e-6))), "changes with temperature"),
        (OilChoice("", ((313.15, 63.4), (373.15, 10.8))), "thin or that thick"),
        (measured(63.4, 10.8, "0W-20"), "not those of"),
        (OilChoice("5W-31"), "no engine oil grade"),
        (OilChoice("5W-30", (), 0.87), "density"),
        (OilChoice("", ((313.15, math.nan), (373.15, 1e-5))), "thicker"),
    ],
)
def test_nonsense_is_refused(choice: OilChoice, word: str) -> None:
    said = trouble_with(choice)
    assert said is not None
    assert word in said
    assert properties_of(choice) is None


def test_nothing_given_has_no_properties() -> None:
    assert properties_of(OilChoice()) is None
    assert properties_of(OilChoice("25W-60")) is None
    assert trouble_with(OilChoice()) is None


@pytest.mark.expected_from("closed form", "54 L/min at 7,000 a minute: half of it at 3,500, no more above")
def test_pump_flow() -> None:
    pump = Pump(flow=0.9e-3, at_speed=7000 / 60)
    assert pump_flow(pump, 3500 / 60) == pytest.approx(0.45e-3)
    assert pump_flow_at_speed(0.9e-3, 7000 / 60, 8000 / 60) == pytest.approx(0.9e-3)
    assert pump_flow(Pump(), 50.0) is None
    assert pump_flow(Pump(engine_displacement=2e-3), 100.0) == pytest.approx(0.9e-3)


@pytest.mark.expected_from(
    "published", "four service-data sheets, 2.4 to 3.5 L engines: 7.8 to 12.8 cm3 a turn"
)
def test_pump_flow_from_engine_size_covers_the_sheets() -> None:
    least = pump_flow_from_engine(2.4e-3, 1.0, 0.003)
    most = pump_flow_from_engine(3.5e-3, 1.0, 0.0045)
    assert least <= 7.77e-6
    assert most >= 12.8e-6


@pytest.mark.expected_from("closed form", "given, 60 L/min in 1 s, or 10 to 25 % of 4.8 L")
def test_hold_up_in_order_of_what_is_known() -> None:
    inputs = OilInputs(4.8e-3, None, None, None, None, frozen_array([0, 0, 1]))
    band = hold_up_of(inputs)
    assert band is not None
    assert (band.hold_up_least, band.hold_up_most) == pytest.approx((0.48e-3, 1.2e-3))
    assert band.basis == "band"
    flowing = hold_up_of(replace(inputs, pump=Pump(1e-3, 100.0, top_speed=100.0, return_time=1.0)))
    assert flowing is not None
    assert flowing.hold_up_most == pytest.approx(1e-3)
    assert flowing.basis == "flow"
    given = hold_up_of(replace(inputs, hold_up=0.9e-3))
    assert given is not None
    assert given.basis == "given"
    assert hold_up_of(replace(inputs, fill=None)) is None
