"""Where many rising curves cross zero at once."""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.suction.crossing import crossing


@pytest.mark.expected_from("closed form", "powers, logarithms and a kink whose crossing is known")
def test_all_kinds_of_curves_cross_where_they_must() -> None:
    sought = np.array([0.3, 1e-6, 0.999, 0.5, 0.25])

    def excess(x: np.ndarray) -> np.ndarray:
        curves = [x[0] - 0.3, x[1] ** 3 - 1e-18, np.log(x[2] + 1e-9), np.arctan(1e6 * (x[3] - 0.5))]
        kink = np.where(x[4] < 0.25, 100.0 * (x[4] - 0.25), 1e-3 * (x[4] - 0.25))
        return np.array([*curves, float(kink)])

    found = crossing(excess, np.zeros(5), np.full(5, 1.0), 2.0**-35)
    sought[2] = 1.0 - 1e-9
    np.testing.assert_allclose(found, sought, atol=2.1 * 2.0**-35, rtol=0.0)


@pytest.mark.expected_from("property", "a smooth curve takes far fewer steps than halving the bracket would")
def test_smooth_curves_take_few_steps() -> None:
    steps = 0

    def excess(x: np.ndarray) -> np.ndarray:
        nonlocal steps
        steps += 1
        return x + 3.0 * x**1.75 - np.array([0.1, 1.0, 3.9])

    found = crossing(excess, np.zeros(3), np.ones(3), 2.0**-35)
    assert np.all(np.abs(excess(found)) < 1e-9)
    assert steps < 15
