"""The least-squares function that every fit of the rail goes through."""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.rail.adjust import cofactors, gauss_newton
from tests.rail.nist_sets import SETS


@pytest.mark.expected_from(
    "published",
    "NIST StRD nonlinear regression, certified values; data recalled, true to the certified sums of squares",
)
@pytest.mark.parametrize("which", [0, 1], ids=["start 1", "start 2"])
@pytest.mark.parametrize("nist", SETS, ids=lambda s: f"{s.name}, {s.level}")
def test_nist_sets(nist, which):
    x, y = nist.x, nist.y
    with np.errstate(all="ignore"):
        fit = gauss_newton(
            lambda b: nist.model(b, x) - y,
            lambda b: nist.slopes(b, x),
            np.array(nist.starts[which]),
            np.ones(x.size),
        )
    assert fit.has_converged
    assert fit.weighted_sum == pytest.approx(nist.rss, rel=1e-9)
    assert fit.x == pytest.approx(nist.certified, rel=1e-6)


@pytest.mark.expected_from("published", "NIST StRD, Misra1a: certified standard deviations")
def test_misra1a_standard_deviations():
    nist = SETS[0]
    fit = gauss_newton(
        lambda b: nist.model(b, nist.x) - nist.y,
        lambda b: nist.slopes(b, nist.x),
        np.array(nist.starts[0]),
        np.ones(nist.x.size),
    )
    sd = np.sqrt(np.diag(cofactors(fit.jacobian, np.ones(14)).unknowns) * fit.weighted_sum / 12)
    assert sd == pytest.approx([2.7070075241e00, 7.2668688436e-06], rel=1e-6)


@pytest.mark.expected_from(
    "published",
    "Adjustment Computations (Ghilani), ch. 14, example 14.2: input data as published; answer recomputed, "
    "the book's own printed answer was not seen",
)
def test_one_station_from_three_known():
    stations = np.array([(865.40, 4527.15), (2432.55, 2047.25), (2865.22, 27.15)])
    read = np.array([6049.00, 4736.83, 5446.49])
    fit = gauss_newton(
        lambda p: np.hypot(*(p - stations).T) - read,
        lambda p: (p - stations) / np.hypot(*(p - stations).T)[:, None],
        np.array([7000.0, 4000.0]),
        np.ones(3),
    )
    s0 = np.sqrt(fit.weighted_sum / 1)
    assert fit.x == pytest.approx([6861.317, 3727.819], abs=1e-3)
    assert fit.residual == pytest.approx([-0.037, 0.077, -0.047], abs=1e-3)
    assert s0 == pytest.approx(0.0977, abs=1e-4)
    sd = s0 * np.sqrt(np.diag(cofactors(fit.jacobian, np.ones(3)).unknowns))
    assert sd == pytest.approx([0.0775, 0.1543], abs=1e-4)


@pytest.mark.expected_from(
    "published",
    "Adjustment Computations (Ghilani), ch. 12, level net of seven lines between two bench marks: readings"
    " and printed heights (from memory)",
)
def test_a_level_net_between_two_bench_marks():
    low, high = 100.00, 107.50
    # Heights of A, B and C; each line runs from one point to another.
    rows = np.array(
        [(1, 0, 0), (-1, 0, 0), (0, 0, 1), (0, 0, -1), (-1, 1, 0), (0, 1, 0), (0, -1, 1)], dtype=float
    )
    read = np.array([5.10, 2.34, -1.25, -6.13, -0.68, -3.00, 1.70])
    known = np.array([low, -high, high, -low, 0.0, high, 0.0])
    fit = gauss_newton(lambda h: rows @ h - (read + known), lambda h: rows, np.zeros(3), np.ones(7))
    assert fit.x == pytest.approx([105.141, 104.483, 106.188], abs=6e-4)
    assert np.sqrt(fit.weighted_sum / 4) == pytest.approx(0.05, abs=0.005)
    assert cofactors(fit.jacobian, np.ones(7)).redundancy.sum() == pytest.approx(4.0)


@pytest.mark.expected_from("closed form", "a straight line through points: least squares is linear")
def test_a_linear_fit_needs_no_more_than_the_linear_answer():
    t = np.linspace(0.0, 1.0, 9)
    y = 3.0 - 2.0 * t + 0.1 * np.cos(9.0 * t)
    A = np.stack((np.ones(9), t), axis=1)
    weights = np.linspace(1.0, 2.0, 9)
    fit = gauss_newton(lambda x: A @ x - y, lambda x: A, np.array([1e3, -1e3]), weights)
    expected = np.linalg.solve(A.T @ (weights[:, None] * A), A.T @ (weights * y))
    assert fit.x == pytest.approx(expected, rel=1e-10)
    c = cofactors(fit.jacobian, weights)
    assert c.unknowns == pytest.approx(np.linalg.inv(A.T @ (weights[:, None] * A)), rel=1e-10)
    assert c.redundancy.sum() == pytest.approx(7.0)


@pytest.mark.expected_from("property", "a row of weight zero is as good as no row")
def test_a_row_without_weight_has_no_say():
    t = np.linspace(0.0, 1.0, 6)
    y = np.exp(0.7 * t)
    y[3] = 99.0
    weights = np.ones(6)
    weights[3] = 0.0
    fit = gauss_newton(
        lambda x: np.exp(x[0] * t) - y, lambda x: (t * np.exp(x[0] * t))[:, None], np.zeros(1), weights
    )
    assert fit.x[0] == pytest.approx(0.7, abs=1e-9)
    assert cofactors(fit.jacobian, weights).redundancy[3] == 0.0


def test_a_start_that_gives_no_numbers_is_said_and_not_raised():
    fit = gauss_newton(lambda x: np.array([np.nan, 1.0]), lambda x: np.ones((2, 1)), np.zeros(1), np.ones(2))
    assert not fit.has_converged
