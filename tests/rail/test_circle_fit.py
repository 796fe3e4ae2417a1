"""Circles through points against a published set."""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.rail.circle_fit import geometric_circle, kasa_circle, pratt_circle, taubin_circle

SIX = np.array([(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)], dtype=np.float64)
ALL = (kasa_circle, pratt_circle, taubin_circle, geometric_circle)


@pytest.mark.expected_from("published", "Gander, Golub, Strebel, BIT 34 (1994), six points (from memory)")
def test_six_points_geometric():
    assert geometric_circle(SIX) == pytest.approx((4.7398, 2.9835, 4.7142), abs=2e-4)


@pytest.mark.expected_from("published", "six points, recomputed with an open circle-fitting library")
@pytest.mark.parametrize(
    ("fit", "expected"),
    [
        (taubin_circle, (4.61393, 2.79521, 4.87921)),
        (pratt_circle, (4.61548, 2.80735, 4.91130)),
        (kasa_circle, (4.74233, 3.83512, 4.10876)),
    ],
)
def test_six_points_algebraic(fit, expected):
    assert fit(SIX) == pytest.approx(expected, abs=1e-5)


@pytest.mark.expected_from("closed form", "points on a circle")
@pytest.mark.parametrize("fit", ALL)
def test_a_true_arc_comes_back(fit):
    t = np.linspace(0.1, 0.9, 15)
    arc = np.stack((0.3 + 0.052 * np.cos(t), -0.1 + 0.052 * np.sin(t)), axis=1)
    assert fit(arc) == pytest.approx((0.3, -0.1, 0.052), abs=1e-9)


@pytest.mark.expected_from("property", "moving, turning and enlarging the points does the same to the circle")
@pytest.mark.parametrize("fit", ALL)
def test_a_circle_moves_with_its_points(fit):
    c, s = np.cos(0.7), np.sin(0.7)
    turn = np.array([[c, -s], [s, c]])
    a, b, r = fit(SIX)
    moved = fit(3.0 * SIX @ turn.T + np.array([50.0, -20.0]))
    # A sum of squares is flat at its least: it tells the place to the square root of rounding only.
    assert moved[:2] == pytest.approx(3.0 * turn @ np.array([a, b]) + np.array([50.0, -20.0]), abs=1e-6)
    assert moved[2] == pytest.approx(3.0 * r, abs=1e-6)


@pytest.mark.expected_from("property", "on a short noisy arc Kasa's circle is too small, Taubin's is not")
def test_on_short_arcs_taubin_is_nearly_unbiased():
    rng = np.random.default_rng(8)
    t = np.linspace(-0.45, 0.45, 25)
    radii = {fit: [] for fit in ALL}
    for _ in range(200):
        arc = np.stack((np.cos(t), np.sin(t)), axis=1) + rng.normal(0, 0.02, (25, 2))
        for fit in ALL:
            radii[fit].append(fit(arc)[2])
    assert np.mean(radii[kasa_circle]) < 0.93
    for fit in (pratt_circle, taubin_circle, geometric_circle):
        assert np.median(radii[fit]) == pytest.approx(1.0, abs=0.04)


@pytest.mark.parametrize("fit", ALL)
@pytest.mark.parametrize("points", [np.zeros((2, 2)), np.ones((5, 2)), np.outer(np.arange(5.0), [1.0, 2.0])])
def test_no_circle_through_a_line_or_too_few(fit, points):
    assert fit(points) is None
