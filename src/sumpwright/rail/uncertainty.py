"""How sure the pattern is: each hole, and each hole against another."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.quantities import Measured
from sumpwright.quantities.units import FloatArray, Metre, frozen_array
from sumpwright.rail.formulas import off_by_axes
from sumpwright.rail.model import HolePattern


def rigid_moves(xy: FloatArray) -> FloatArray:
    """Shift in x, shift in y and turn of a layout (n, 2), as columns (2n, 3)."""
    moves = np.zeros((2 * len(xy), 3))
    moves[0::2, 0] = 1.0
    moves[1::2, 1] = 1.0
    away = xy - xy.mean(axis=0)
    moves[0::2, 2] = -away[:, 1]
    moves[1::2, 2] = away[:, 0]
    return moves


def floating_covariance(xy: FloatArray, covariance: FloatArray) -> FloatArray:
    """The same uncertainty with the whole pattern pushed and turned to its mean place.

    Taking the three rigid moves out of any datum's covariance leaves the one with the
    smallest trace.

    Args:
        xy: hole centres (n, 2) [m].
        covariance: (2n, 2n) for some datum [m2].
    """
    basis, _ = np.linalg.qr(rigid_moves(xy))
    keep = np.eye(2 * len(xy)) - basis @ basis.T
    return np.asarray(keep @ covariance @ keep)


def off_by(pattern: HolePattern, *, floating: bool = True) -> FloatArray:
    """Half the longest width of each hole's 95 % ellipse, (n,) [m].

    Floating: the pattern may be pushed and turned to fit, as a flange is. Otherwise
    against the datum hole and the line to the second hole.
    """
    covariance = pattern.free_covariance if floating else pattern.covariance
    return frozen_array([off_by_axes(c[0, 0], c[0, 1], c[1, 1])[0] for c in hole_blocks(covariance)])


def hole_blocks(covariance: FloatArray) -> FloatArray:
    """The 2 x 2 block of each hole, (n, 2, 2)."""
    n = covariance.shape[0] // 2
    k = np.arange(n)
    return np.asarray(covariance.reshape(n, 2, n, 2)[k, :, k, :])


def distance_between(pattern: HolePattern, a: str, b: str) -> Measured:
    """Centre distance of two holes with its standard uncertainty."""
    i, j = pattern.index(a), pattern.index(b)
    apart = pattern.xy[j] - pattern.xy[i]
    length: Metre = float(np.hypot(*apart))
    if length == 0.0:
        return Measured(0.0, None, "m")
    e = apart / length
    row = np.zeros(2 * len(pattern.names))
    row[2 * i : 2 * i + 2] = -e
    row[2 * j : 2 * j + 2] = e
    return Measured(length, math.sqrt(max(float(row @ pattern.covariance @ row), 0.0)), "m")
