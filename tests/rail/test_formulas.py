"""Book formulas of the rail."""

from __future__ import annotations

import math

import pytest

from sumpwright.rail.formulas import (
    LARGEST_NORMALISED,
    SHIFT_SEEN,
    agreement_range,
    centre_from_inside,
    centre_from_outside,
    centre_from_same_side,
    clamped_stack,
    least_visible_error,
    likely_error,
    needed_engagement,
    normalised_residual,
    off_by_axes,
    stud_standing,
    thread_engagement,
    unit_weight,
)


@pytest.mark.expected_from("published", "chi-square table, 2.5 % and 97.5 % points for 3 degrees")
def test_agreement_range():
    low, high = agreement_range(3)
    assert low == pytest.approx(0.2158, abs=1e-4)
    assert high == pytest.approx(9.3484, abs=1e-4)


@pytest.mark.expected_from(
    "published", "normal distribution table: two-sided 0.1 % point, 80 % one-sided point"
)
def test_test_limits():
    assert pytest.approx(3.2905, abs=1e-4) == LARGEST_NORMALISED
    assert pytest.approx(4.13, abs=5e-3) == SHIFT_SEEN
    assert least_visible_error(0.05e-3, 0.25) == pytest.approx(4.132 * 0.05e-3 / 0.5, rel=1e-3)


@pytest.mark.expected_from("closed form", "two circles drawn on a line, edges at -r_a, r_a, D - r_b, D + r_b")
def test_readings_to_centres():
    D, a, b = 100.0, 8.0, 6.0
    left_a, right_a, left_b, right_b = -a / 2, a / 2, D - b / 2, D + b / 2
    assert centre_from_inside(left_b - right_a, a, b) == pytest.approx(D)
    assert centre_from_outside(right_b - left_a, a, b) == pytest.approx(D)
    assert centre_from_same_side(left_b - left_a, a, b) == pytest.approx(D)
    assert centre_from_same_side(right_b - right_a, b, a) == pytest.approx(D)


@pytest.mark.expected_from("closed form", "one number read three times: mean, residuals, redundancy 2/3 each")
def test_tests_of_one_reading():
    reads, u = (10.0, 10.0, 10.3), 0.1
    mean = sum(reads) / 3
    v = mean - reads[2]
    assert normalised_residual(v, u, 2 / 3) == pytest.approx(0.2 / (0.1 * math.sqrt(2 / 3)))
    # Left out, the others say 10.0: the reading is 0.3 too large.
    assert likely_error(v, 2 / 3) == pytest.approx(0.3)
    assert unit_weight(sum(((mean - r) / u) ** 2 for r in reads), 2) == pytest.approx(math.sqrt(3.0))


@pytest.mark.expected_from("published", "chi-square table, 95 % point for 2 degrees: 5.991")
def test_off_by_axes():
    long, short = off_by_axes(4.0, 0.0, 1.0)
    assert long**2 == pytest.approx(4 * 5.991, rel=1e-4)
    assert short**2 == pytest.approx(5.991, rel=1e-4)
    c, s = math.cos(0.3), math.sin(0.3)
    turned = off_by_axes(4 * c * c + s * s, 3 * c * s, 4 * s * s + c * c)
    assert turned == pytest.approx((long, short))


@pytest.mark.expected_from(
    "closed form",
    "common practice, no source: M6 x 16 through 8 + 1.6 + 0.3 holds 6.1; the old 1.5 mm pan with a 2 mm "
    "gasket held 12.5",
)
def test_bolt_formulas():
    clamped = clamped_stack(8.0, 1.6, 0.3)
    assert thread_engagement(16.0, clamped) == pytest.approx(6.1)
    assert thread_engagement(16.0, clamped_stack(1.5, 0.0, 2.0)) == pytest.approx(12.5)
    assert needed_engagement(6.0, 1.25) == pytest.approx(7.5)
    assert stud_standing(9.9, 8.0, 1.25) == pytest.approx(9.9 + 6.4 + 2.5)
