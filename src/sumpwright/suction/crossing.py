"""Where rising curves cross zero, many at a time."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sumpwright.quantities.units import FloatArray

MOST_STEPS = 120


def crossing(
    excess: Callable[[FloatArray], FloatArray], low: FloatArray, high: FloatArray, within: float
) -> FloatArray:
    """Where each of n curves crosses zero between its two ends, to ``within`` either way, (n,).

    ``excess`` takes one place a curve, (n,), and gives the curves there. Its sign must differ
    between ``low`` and ``high``. Each step goes where a parabola through the last three places
    crosses, or halves the bracket where they do not lie on one: Chandrupatla, 1997, Advances in
    Engineering Software 28(3). The bracket never opens again.
    """
    a, b = np.array(high, dtype=np.float64), np.array(low, dtype=np.float64)
    at_a, at_b = excess(a), excess(b)
    share = np.full_like(a, 0.5)
    best = np.where(np.abs(at_a) < np.abs(at_b), a, b)
    for _ in range(MOST_STEPS):
        here = a + share * (b - a)
        value = excess(here)
        same = np.sign(value) == np.sign(at_a)
        c, at_c = np.where(same, a, b), np.where(same, at_a, at_b)
        b, at_b = np.where(same, b, a), np.where(same, at_b, at_a)
        a, at_a = here, value
        best = np.where(np.abs(at_a) < np.abs(at_b), a, b)
        width = np.abs(b - a)
        open_ = (width > 2.0 * within) & (at_a != 0.0) & (at_b != 0.0)
        if not open_.any():
            break
        least = np.where(width > 0.0, within / np.where(width > 0.0, width, 1.0), 0.5)
        with np.errstate(divide="ignore", invalid="ignore"):
            xi, phi = (a - b) / (c - b), (at_a - at_b) / (at_c - at_b)
            curved = (phi**2 < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
            first = at_a / (at_b - at_a) * (at_c / (at_b - at_c))
            second = (c - a) / (b - a) * (at_a / (at_c - at_a)) * (at_b / (at_c - at_b))
        share = np.where(curved, first + second, 0.5)
        share = np.clip(share, np.minimum(least, 0.5), 1.0 - np.minimum(least, 0.5))
        # A curve that is found stays where it is.
        share = np.where(open_, share, 0.0)
    return np.asarray(best)
