"""Take quick shaking out of a log: a low pass, run forwards and backwards so that nothing is late."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from sumpwright.quantities.units import FloatArray, Hertz, Second

FILLED = 9
"""So many values are carried on at each end, turned about the end: three times the length of the filter."""


def smooth(values: FloatArray, step: Second, cut_off: Hertz) -> FloatArray:
    """A second-order Butterworth low pass over evenly spaced values (k,), both ways; needs k > 9.

    Each way halves the power at the cut-off, so that both ways leave a quarter of it.
    """
    b, a = butterworth(cut_off, step)
    ends = (
        2.0 * values[0] - values[FILLED:0:-1],
        values,
        2.0 * values[-1] - values[-2 : -FILLED - 2 : -1],
    )
    forth = _run(np.concatenate(ends), *b, *a)
    back = _run(np.ascontiguousarray(forth[::-1]), *b, *a)[::-1]
    return np.ascontiguousarray(back[FILLED:-FILLED])


def butterworth(cut_off: Hertz, step: Second) -> tuple[tuple[float, float, float], tuple[float, float]]:
    """Weights of the values, and of the answers but the newest (whose weight is one), of the low pass.

    Valid for: 0 < cut-off < 1 / (2 step). The analogue filter 1 / (s^2 + sqrt(2) s + 1) carried over by
    the bilinear transform with the cut-off kept where it is.
    """
    w = math.tan(math.pi * cut_off * step)
    size = 1.0 + math.sqrt(2.0) * w + w * w
    gain = w * w / size
    return (gain, 2.0 * gain, gain), (2.0 * (w * w - 1.0) / size, (1.0 - math.sqrt(2.0) * w + w * w) / size)


@njit(cache=True)
def _run(values: FloatArray, b0: float, b1: float, b2: float, a1: float, a2: float) -> FloatArray:
    """One way through, begun as if the first value had stood there for ever."""
    found = np.empty(len(values))
    one = (1.0 - b0) * values[0]
    two = (b2 - a2) * values[0]
    for k in range(len(values)):
        new = b0 * values[k] + one
        one = b1 * values[k] - a1 * new + two
        two = b2 * values[k] - a2 * new
        found[k] = new
    return found
