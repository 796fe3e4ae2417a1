"""The low pass of logged laps against a reference library."""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.motion.low_pass import butterworth, smooth


@pytest.mark.expected_from("published", "scipy.signal: butter(2, f), coefficients to rounding")
@pytest.mark.parametrize(("cut_off", "step"), [(5.0, 0.004), (5.0, 0.01), (20.0, 0.02)])
def test_the_weights_are_those_of_the_library(cut_off: float, step: float) -> None:
    from scipy.signal import butter

    b, a = butter(2, cut_off, fs=1.0 / step)
    mine_b, mine_a = butterworth(cut_off, step)
    np.testing.assert_allclose(mine_b, b, rtol=1e-10)
    np.testing.assert_allclose((1.0, *mine_a), a, rtol=1e-12)


@pytest.mark.expected_from("published", "scipy.signal: sosfiltfilt of the same values, to rounding")
def test_both_ways_give_what_the_library_gives() -> None:
    from scipy.signal import butter, sosfiltfilt

    values = np.random.default_rng(7).normal(3.0, 5.0, 400).cumsum()
    there = sosfiltfilt(butter(2, 5.0, fs=250.0, output="sos"), values)
    np.testing.assert_allclose(smooth(values, 0.004, 5.0), there, rtol=1e-10, atol=1e-9)


@pytest.mark.expected_from("property", "what stands still stays, and a ramp is not late")
def test_a_steady_value_and_a_ramp_pass() -> None:
    ramp = np.linspace(-2.0, 9.0, 200)
    np.testing.assert_allclose(smooth(np.full(60, 9.81), 0.004, 5.0), 9.81, rtol=1e-12)
    np.testing.assert_allclose(smooth(ramp, 0.01, 5.0)[60:-60], ramp[60:-60], atol=2e-3)
