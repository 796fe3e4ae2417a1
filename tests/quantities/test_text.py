"""Quantities as a fabricator writes them."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sumpwright.quantities.text import (
    GOOD_EXAMPLES,
    QuantityError,
    find_unit,
    from_si,
    read,
    read_price,
    round_to,
    to_si,
    unit,
    unit_names,
    write,
    write_inches,
)

# NIST SP 811 (2008), appendix B.8 and B.9: factor to SI as printed, and whether printed bold (exact).
SP_811 = [
    ("1 in", "length", 2.54e-02, True),
    ("1 ft", "length", 3.048e-01, True),
    ("1 yd", "length", 9.144e-01, True),
    ("1 thou", "length", 2.54e-05, True),
    ("1 in2", "area", 6.4516e-04, True),
    ("1 in3", "volume", 1.638706e-05, False),
    ("1 us gal", "volume", 3.785412e-03, False),
    ("1 imp gal", "volume", 4.54609e-03, True),
    ("1 us qt", "volume", 9.463529e-04, False),
    ("1 us pt", "volume", 4.731765e-04, False),
    ("1 us fl oz", "volume", 2.957353e-05, False),
    ("1 imp fl oz", "volume", 2.841306e-05, False),
    ("1 lb", "mass", 4.535924e-01, False),
    ("1 oz", "mass", 2.834952e-02, False),
    ("1 lbf", "force", 4.448222, False),
    ("1 psi", "pressure", 6.894757e03, False),
    ("1 bar", "pressure", 1.0e05, True),
    ("1 mbar", "pressure", 1.0e02, True),
    ("1 lbf ft", "torque", 1.355818, False),
    ("1 lbf in", "torque", 1.129848e-01, False),
    ("1 mph", "speed", 4.4704e-01, True),
    ("1 km/h", "speed", 2.777778e-01, False),
    ("1 kn", "speed", 5.144444e-01, False),
    ("1 ft/s", "speed", 3.048e-01, True),
    ("1 ft/s2", "acceleration", 3.048e-01, True),
    ("1 g", "acceleration", 9.80665, True),
    ("1 cSt", "kinematic viscosity", 1.0e-06, True),
    ("1 cP", "dynamic viscosity", 1.0e-03, True),
    ("1 rpm", "rotation", 1.047198e-01, False),
    ("1 deg", "angle", 1.745329e-02, False),
    ("1 us gal/min", "flow", 6.309020e-05, False),
    ("1 lb/in3", "density", 2.767990e04, False),
    ("1 hp", "power", 7.456999e02, False),
]


@pytest.mark.parametrize(("text", "kind", "factor", "is_exact"), SP_811)
@pytest.mark.expected_from("published", "NIST SP 811 (2008), appendix B.8, factors listed alphabetically")
def test_conversion_factors_are_those_of_sp_811(text: str, kind: str, factor: float, is_exact: bool) -> None:
    got = read(text, kind).value
    # Seven printed digits: half a unit in the seventh, or exactly.
    assert got == pytest.approx(factor, rel=1e-15 if is_exact else 5e-7)


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("32 degF", 273.15),
        ("212 degF", 373.15),
        ("-40 degF", 233.15),
        ("-40 degC", 233.15),
        ("20 °C", 293.15),
    ],
)
@pytest.mark.expected_from(
    "published", "NIST SP 811 (2008), appendix B.8: K = (degF + 459.67)/1.8, K = degC + 273.15"
)
def test_temperatures_have_their_own_noughts(text: str, kelvin: float) -> None:
    assert read(text, "temperature").value == pytest.approx(kelvin, rel=1e-15)


@pytest.mark.expected_from("closed form", "a difference of 180 degF is 100 K")
def test_a_difference_of_temperature_has_no_nought() -> None:
    assert read("180 degF", "temperature difference").value == 100.0
    assert read("100 degC", "temperature difference").value == 100.0


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("6 mm", "0.006"),
        ("6mm", "0.006"),
        ("6. mm", "0.006"),
        (".5 mm", "0.0005"),
        ("1/4 in", "0.00635"),
        ("1 1/2 in", "0.0381"),
        ("1-1/2 in", "0.0381"),
        ("1½ in", "0.0381"),
        ('1 1/2"', "0.0381"),
        ("1 1/2 in.", "0.0381"),
        ("-1 1/2 in", "-0.0381"),
        ("−14 mm", "-0.014"),
        ("5 ft 3 1/2 in", "1.6129"),
        ("5' 3\"", "1.6002"),
        ("-1 ft 6 in", "-0.4572"),
        ("2 ft", "0.6096"),
        ("3 cm", "0.03"),
        ("1.2 m", "1.2"),
        ("40 thou", "0.001016"),
        ("1.5e2 mm", "0.15"),
        ("25 µm", "0.000025"),
        ("12 MM", "0.012"),
        ("3 inches", "0.0762"),
    ],
)
@pytest.mark.expected_from("closed form", "1 in = 25.4 mm exactly; the nearest double of the exact fraction")
def test_lengths_are_exact(text: str, metres: str) -> None:
    assert read(text, "length").value == float(Fraction(metres))


@pytest.mark.expected_from("closed form", "grade in per cent is 100 tan(angle)")
def test_grade_is_a_slope_and_not_an_angle() -> None:
    assert read("100 %", "angle").value == pytest.approx(math.pi / 4, rel=1e-15)
    assert read("20 %", "angle").value == pytest.approx(math.atan(0.2), rel=1e-15)


@pytest.mark.expected_from(
    "published",
    "sheet gauge tables (manufacturers' standard gauge, stainless, Brown and Sharpe), row 16",
)
def test_gauge_numbers_take_the_table_of_their_metal() -> None:
    from sumpwright.tables.gauges import gauge_thickness

    for series, millimetres in (("mild", 1.52), ("stainless", 1.59), ("aluminium", 1.29)):
        row = gauge_thickness(16, series)  # type: ignore[arg-type]
        assert row is not None
        got = read("16 ga", "length", gauges={16: row.value}).value
        assert got == pytest.approx(millimetres / 1000, abs=0.5e-5)


def test_a_gauge_without_a_metal_is_refused() -> None:
    with pytest.raises(QuantityError, match="one metal"):
        read("16 ga", "length")
    with pytest.raises(QuantityError, match="not in the table"):
        read("17 ga", "length", gauges={16: 0.0015})
    with pytest.raises(QuantityError, match="not in the table"):
        read("16.5 ga", "length", gauges={16: 0.0015})


@pytest.mark.parametrize("text", ["2.5 gal", "2.5 gallons", "5 qt", "3 pt"])
def test_a_gallon_that_can_be_two_things_is_refused_with_both(text: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read(text, "volume")
    assert "us " in caught.value.rule
    assert "imp " in caught.value.rule
    read(caught.value.good, "volume")


@pytest.mark.expected_from("published", "NIST SP 811 (2008), appendix B.8: 3.785412 and 4.54609 L")
def test_a_gallon_told_once_is_taken() -> None:
    assert read("2 gal", "volume", gallons="us").value == pytest.approx(2 * 3.785412e-3, rel=5e-7)
    assert read("2 gal", "volume", gallons="imperial").value == pytest.approx(2 * 4.54609e-3, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("", "length", "empty"),
        ("   ", "length", "empty"),
        ("6", "length", "mm or in"),
        ("6 furlongs", "length", "known are mm"),
        ("3 milimeter", "length", "millimeter"),
        ("12 L", "length", "'L' is a volume"),
        ("1,5 mm", "length", "comma"),
        ("1,000 mm", "length", "comma"),
        ("1.000,5 mm", "length", "number cannot be told"),
        ("1 000 mm", "length", "number cannot be told"),
        ("1.2.3 mm", "length", "number cannot be told"),
        ("nan mm", "length", "measured"),
        ("inf mm", "length", "measured"),
        ("-Infinity mm", "length", "measured"),
        ("1e999 mm", "length", "beyond"),
        ("1e-999999999 mm", "length", "beyond"),
        ("3/0 in", "length", "nought"),
        ("1 3/2 in", "length", "smaller than one"),
        ("5 ft 14 in", "length", "below twelve"),
        ("5 ft 3 mm", "length", "below twelve"),
        ("5 in 3 mm", "length", "no unit"),
        ("six mm", "length", "no number"),
        ("٦ mm", "length", "no number"),
        ("6 mm" + " " * 99, "length", "longer"),
        ("0x10 mm", "length", "no unit"),
        ("80 degF", "angle", "temperature"),
        ("7 deg", "temperature", "an angle"),
    ],
)
def test_what_is_no_quantity_is_told_why(text: str, kind: str, says: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read(text, kind)
    assert says in caught.value.rule
    read(caught.value.good, kind)  # the good example is good


def test_every_example_and_every_unit_word_reads() -> None:
    for kind, examples in GOOD_EXAMPLES.items():
        for example in examples:
            read(example, kind)
        for name in unit_names(kind):
            assert find_unit(name, kind) is not None


@pytest.mark.expected_from("closed form", "1 g = 0.001 kg; two standard gravities, 2 x 9.80665 m/s2")
def test_the_same_word_means_what_the_kind_says() -> None:
    assert read("2 g", "mass").value == 0.002
    assert read("2 g", "acceleration").value == pytest.approx(19.6133)


@pytest.mark.expected_from("closed form", "the newton metre is the SI unit itself")
@pytest.mark.parametrize("text", ["10 N m", "10 Nm", "10 N·m", "10 N*m", "10 N-m"])
def test_torque_may_be_written_in_any_of_the_usual_ways(text: str) -> None:
    assert read(text, "torque").value == 10.0


_UNITS = [(kind, name) for kind in GOOD_EXAMPLES for name in unit_names(kind) if name != "t"]


@given(st.sampled_from(_UNITS), st.floats(1e-6, 1e6), st.sampled_from((-1.0, 1.0)))
@pytest.mark.expected_from("property", "reading what was written gives the very same value")
def test_writing_and_reading_are_a_round_trip(which: tuple[str, str], size: float, sign: float) -> None:
    kind, name = which
    value = sign * size
    if name == "%" and kind == "angle":
        value = math.atan(value)  # a slope goes through the tangent: the last digit may move
        assert read(write(value, kind, name), kind).value == pytest.approx(value, rel=1e-12, abs=1e-15)
        return
    if kind == "temperature":
        value = size
    assert read(write(value, kind, name), kind).value == value


@given(st.integers(-100_000, 100_000), st.sampled_from((1, 2, 4, 8, 16, 32, 64)))
@pytest.mark.expected_from("property", "every mark of the rule reads back exactly")
def test_fractions_of_an_inch_are_a_round_trip(steps: int, finest: int) -> None:
    value = float(Fraction(steps, finest) * Fraction("0.0254"))
    text = write_inches(value)
    assert "." not in text
    assert read(text, "length").value == value


@pytest.mark.expected_from("closed form", "decimal fractions of an inch by hand")
def test_inches_are_written_as_on_the_rule() -> None:
    assert write_inches(0.0381) == "1 1/2 in"
    assert write_inches(0.00635) == "1/4 in"
    assert write_inches(-0.0381) == "-1 1/2 in"
    assert write_inches(0.0508) == "2 in"
    assert write_inches(0.0) == "0 in"
    assert write_inches(0.01) == "0.3937 in"


def finite_or_refused(text: str, kind: str) -> bool:
    try:
        return math.isfinite(read(text, kind, gallons="us", gauges={16: 0.0015}).value)
    except QuantityError as fault:
        return bool(fault.rule and fault.good)


@given(st.text(max_size=70), st.sampled_from(list(GOOD_EXAMPLES)))
@pytest.mark.expected_from("property", "any text is a finite quantity or a QuantityError")
def test_no_text_gets_past_as_not_a_number(text: str, kind: str) -> None:
    assert finite_or_refused(text, kind)


@given(
    st.from_regex(r"[-+]?[0-9]{1,12}(\.[0-9]{0,9})?([eE][-+]?[0-9]{1,6})? ?[a-z%\"']{0,4}", fullmatch=True),
    st.sampled_from(list(GOOD_EXAMPLES)),
)
@pytest.mark.expected_from("property", "any text is a finite quantity or a QuantityError")
def test_near_misses_are_quick_and_finite(text: str, kind: str) -> None:
    assert finite_or_refused(text, kind)


@given(st.floats(1e-9, 1e9), st.integers(1, 6))
@pytest.mark.expected_from("property", "rounding down never exceeds, rounding up never falls short")
def test_limits_are_rounded_inwards(value: float, digits: int) -> None:
    metre = unit("length", "m")
    assert Fraction(round_to(value, metre, digits, "down")) <= Fraction(value)
    assert Fraction(round_to(value, metre, digits, "up")) >= Fraction(value)


@given(st.floats(-1e3, 1e3))
@pytest.mark.expected_from("property", "to SI and back is the identity on exact fractions")
def test_exact_numbers_survive_the_units(number: float) -> None:
    inch = unit("length", "in")
    assert to_si(from_si(number, inch), inch) == number


@pytest.mark.expected_from("published", "NIST SP 811 (2008), appendix B.8: 1 lb = 0.4535924 kg")
def test_prices_are_per_base_unit() -> None:
    assert read_price("4.20 EUR/kg", "EUR", "mass", "").amount == 4.2
    assert read_price("EUR 4.20 / kg", "EUR", "mass", "").amount == 4.2
    assert read_price("3.10 usd/lb", "USD", "mass", "").amount == pytest.approx(3.10 / 0.4535924, rel=5e-7)


@pytest.mark.parametrize(
    "text", ["4,20 EUR/kg", "4.20 USD/kg", "4.20/kg", "4.20 EUR", "EUR/kg", "4.20 EUR/m", "-4 EUR/kg"]
)
def test_what_is_no_price_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        read_price(text, "EUR", "mass", "4.20 EUR/kg")


def test_only_finite_values_are_written() -> None:
    with pytest.raises(ValueError, match="finite"):
        write(math.nan, "length", "mm")
    with pytest.raises(KeyError):
        unit("length", "L")
