"""Numbers and sentences as the user reads them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sumpwright.findings import Figure, Finding, Verdict
from sumpwright.outputs import words
from tests.outputs import sample

NIST = "NIST SP 811 (2008), appendix B.8"


@pytest.mark.expected_from("published", NIST)
@pytest.mark.parametrize(
    ("value", "unit", "kind", "expected"),
    [
        (0.0254, "m", "length", "1 in"),
        (0.45359237, "kg", "mass", "1 lb"),
        (6894.757, "Pa", "pressure", "1.00 psi"),
        (1.355818, "N m", "torque", "1.00 lbf ft"),
        (4.448222, "N", "force", "1.00 lbf"),
        (0.9463529e-3, "m3", "volume", "0.95 L (1.00 US qt)"),
        (0.3048, "m/s", "speed", "1 ft/s"),
        (273.15 + 100.0, "K", "temperature", "212 °F"),
        (273.15 - 40.0, "K", "temperature", "-40 °F"),
    ],
)
def test_inch_user_reads_the_customary_unit(value: float, unit: str, kind: str, expected: str) -> None:
    assert words.write_value(value, unit, kind, "in") == expected


@pytest.mark.expected_from("published", "ISO 80000: prefixes, litre, degree, standard gravity")
@pytest.mark.parametrize(
    ("value", "unit", "kind", "expected"),
    [
        (0.118, "m", "length", "118 mm"),
        (0.0634, "m", "length", "63.4 mm"),
        (0.00005, "m", "length", "0.05 mm"),
        (0.0, "m", "length", "0 mm"),
        (-1e-12, "m", "length", "0 mm"),
        (0.0048, "m3", "volume", "4.8 L"),
        (0.00003, "m3", "volume", "30 mL"),
        (math.pi / 12, "rad", "angle", "15°"),
        (383.15, "K", "temperature", "110 °C"),
        (14.709975, "m/s2", "acceleration", "1.5 g"),
        (9e-4, "m3/s", "flow", "54 L/min"),
        (0.122, "1", "percent", "12.2 %"),
        (100_000.0, "1", "count", "100,000"),
        (42.0, "EUR", "price", "42 EUR"),
        (float("nan"), "m", "length", "not known"),
    ],
)
def test_metric_user_reads_shop_units(value: float, unit: str, kind: str, expected: str) -> None:
    assert words.write_value(value, unit, kind, "mm") == expected


@pytest.mark.expected_from(
    "published", "Review of Particle Physics, introduction 5.3, rounding (from memory): its two examples"
)
@pytest.mark.parametrize(
    ("value", "spread", "expected"), [(0.827, 0.119, "0.83 ± 0.12"), (0.827, 0.367, "0.8 ± 0.4")]
)
def test_uncertainty_decides_the_digits(value: float, spread: float, expected: str) -> None:
    assert words.write_value(value, "1", "ratio", "mm", u95=spread) == expected


@pytest.mark.expected_from(
    "closed form", "a difference of temperatures has no zero shift: 9 degC = 16.2 degF"
)
def test_uncertainty_of_a_temperature_is_a_difference() -> None:
    figure = Figure("u95", 9.0, "K", "temperature")
    assert words.fill("{u95}", (figure,), "in") == "16 °F"


@pytest.mark.expected_from("closed form", "64ths of 25.4 mm")
@pytest.mark.parametrize(
    ("inches", "fraction"),
    [(4.640625, "4 41/64"), (0.5, "1/2"), (3.0, "3"), (3.0 - 1e-6, "3"), (-0.75, "-3/4"), (0.0, "0")],
)
def test_fraction_on_the_rule(inches: float, fraction: str) -> None:
    assert words.nearest_sixtyfourth(inches * 0.0254) == fraction


@pytest.mark.expected_from("property", "rounding to the nearest 1/64 moves a length by at most 1/128 in")
@given(st.floats(min_value=0.0, max_value=2.0))
def test_fraction_is_never_far(value: float) -> None:
    whole, _, part = words.nearest_sixtyfourth(value).partition(" ")
    total = 0.0
    for piece in (whole, part):
        top, _, bottom = piece.partition("/")
        total += float(top or 0) / float(bottom or 1)
    assert abs(total * 0.0254 - value) <= 0.0254 / 128 + 1e-12


@pytest.mark.expected_from("property", "three digits at most round a number by less than half a percent")
@given(st.floats(min_value=0.01, max_value=9.9), st.sampled_from(["mm", "in"]))
def test_three_digits_lose_less_than_half_a_percent(value: float, units: words.UnitSystem) -> None:
    text = words.write_value(value, "m", "length", units)
    number, _, label = text.partition(" ")
    back = float(number.replace(",", "")) * {"mm": 1e-3, "in": 0.0254}[label]
    assert abs(back - value) <= 0.0051 * value


def test_a_number_just_above_its_limit_never_reads_like_the_limit() -> None:
    figures = (Figure("gap", 0.005004, "m", "length"), Figure("limit", 0.005, "m", "length"))
    assert words.fill("{gap} against {limit}", figures, "mm") == "5.004 mm against 5.000 mm"


def test_a_gap_without_a_figure_is_a_mistake_in_the_program() -> None:
    with pytest.raises(ValueError, match="gap"):
        words.fill("the {gap} is wide", (), "mm")


def test_finding_says_what_how_sure_and_what_to_do_as_sentences() -> None:
    said = words.finding_words(sample.findings()[0], "mm")
    assert said.says == "Reading 217.27 mm does not agree with the others; it should have been 213.97 mm."
    assert said.do.startswith("Measure h4-h12 again.")


def test_known_uncertainty_is_said_where_the_stage_says_nothing() -> None:
    finding = Finding(
        "OIL-01",
        Verdict.HOLDS,
        "full mark",
        "fine",
        value=0.034,
        limit=0.01,
        unit="m",
        kind="length",
        u95=0.0011,
    )
    assert words.finding_words(finding, "mm").how_sure == "Could be off by 1.1 mm."


def test_hole_names_keep_their_small_letters() -> None:
    assert (
        words.finding_words(Finding("RAIL-02", Verdict.CLOSE, "h9", "h9 is loose"), "mm").says
        == "h9 is loose."
    )


@pytest.mark.expected_from("closed form", "7/8 in = 22.225 mm")
def test_bolts_are_sold_in_the_unit_of_their_thread() -> None:
    assert words.write_bolt_length(0.025, "M6") == "25 mm"
    assert words.write_bolt_length(0.022225, "5/16-18") == "7/8 in"


@pytest.mark.expected_from("closed form", "126 mm = 4.9606 in, rounded up to 4.97 in so that it is enough")
def test_a_proposed_size_is_written_in_the_users_unit() -> None:
    proposal = sample.results().proposals[0]
    assert words.proposal_words(proposal, "mm").startswith("Set lumps.sump.depth to 126 mm: ")
    assert words.proposal_words(proposal, "in").startswith("Set lumps.sump.depth to 4.97 in (126 mm): ")


@pytest.mark.expected_from("property", "attitudes are said in words, never by a sign")
def test_attitudes_are_said_in_words() -> None:
    assert words.slope_words(math.radians(7.5), math.radians(-25)) == "nose 7.5° up, leaned 25.0° to the left"
    assert words.slope_words(-math.radians(2), 0.0) == "nose 2.0° down, upright"
    assert words.nose_words(0.0) == "nose level"


@pytest.mark.expected_from("closed form", "0.01 mm = 0.0004 in, 15 mm/L = 0.591 in/L = 0.559 in/US qt")
def test_small_is_not_nothing_and_a_stick_is_read_by_the_quart() -> None:
    gap = Figure("gap", 1e-5, "m", "length", 2)
    assert words.write_figure(gap, "mm") == "0.01 mm"
    assert words.write_figure(gap, "in") == "0.0004 in"
    assert words.write_figure(Figure("gap", 0.0, "m", "length", 2), "in") == "0.000 in"
    said = words.write_value(15.0, "m/m3", "length per volume", "in")
    assert said == "0.59 in/L (0.56 in/US qt)"
