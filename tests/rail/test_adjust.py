"""The least-squares function that every fit of the rail goes through."""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.rail.adjust import cofactors, gauss_newton

MISRA_X = (77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0)
MISRA_Y = (
    10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78,
)  # fmt: skip


@pytest.mark.expected_from("published", "NIST StRD nonlinear regression, Misra1a, both starts")
@pytest.mark.parametrize("start", [(500.0, 1e-4), (250.0, 5e-4)])
def test_misra1a(start):
    x, y = np.array(MISRA_X), np.array(MISRA_Y)
    fit = gauss_newton(
        lambda b: b[0] * (1.0 - np.exp(-b[1] * x)) - y,
        lambda b: np.stack((1.0 - np.exp(-b[1] * x), b[0] * x * np.exp(-b[1] * x)), axis=1),
        np.array(start),
        np.ones(x.size),
    )
    assert fit.has_converged
    assert fit.x == pytest.approx([2.3894212918e02, 5.5015643181e-04], rel=1e-6)
    assert fit.weighted_sum == pytest.approx(1.2455138894e-01, rel=1e-9)
    sd = np.sqrt(np.diag(cofactors(fit.jacobian, np.ones(x.size)).unknowns) * fit.weighted_sum / 12)
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
