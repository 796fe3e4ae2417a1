"""The shape that fits the readings best, in a frame of its own.

Frame: datum hole at the origin, second hole on the x axis. Which side is up and where
the engine's front lies is not asked here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray, IntArray, Metre
from sumpwright.rail.adjust import Adjusted, gauss_newton
from sumpwright.rail.network import Network
from sumpwright.rail.start import rough_distances, starting_layouts

_CALMING: tuple[Metre, ...] = (0.003, 0.0005)
"""Misses from which on a reading loses its say, wide first, so that wild ones let go."""


@dataclass(frozen=True, slots=True)
class Datum:
    """Which three of the unknowns stand still."""

    hole: int
    second: int

    def free(self, network: Network) -> IntArray:
        """Indices of the unknowns that may move."""
        moves = np.ones(network.unknown_count, dtype=np.bool_)
        moves[[2 * self.hole, 2 * self.hole + 1, 2 * self.second + 1]] = False
        moves[network.held] = False
        return np.nonzero(moves)[0]

    def turned(self, xy: FloatArray) -> FloatArray:
        """The same layout (n, 2) with the datum at the origin and the second hole on the x axis."""
        away = xy - xy[self.hole]
        e = away[self.second]
        length = float(np.hypot(*e))
        if length == 0.0:
            return np.asarray(away)
        c, s = e / length
        out = away @ np.array([[c, -s], [s, c]])
        out[self.second, 1] = 0.0
        return np.asarray(out)


def adjust_shape(
    network: Network,
    unknowns: FloatArray,
    datum: Datum,
    weights: FloatArray,
    *,
    most_steps: int = 200,
    tolerance: float = 1e-11,
) -> tuple[FloatArray, Adjusted]:
    """Best unknowns from a start that lies in the datum's frame, and the fit itself."""
    free = datum.free(network)
    base = unknowns.copy()

    def whole(x: FloatArray) -> FloatArray:
        full = base.copy()
        full[free] = x
        return full

    fit = gauss_newton(
        lambda x: network.computed(whole(x)) - network.value,
        lambda x: network.jacobian(whole(x))[:, free],
        unknowns[free],
        weights,
        most_steps=most_steps,
        tolerance=tolerance,
    )
    return whole(fit.x), fit


def calmed_shape(network: Network, unknowns: FloatArray, datum: Datum) -> FloatArray:
    """Fit in which wild readings lose their say, for a start that may be far off."""
    weights = 1.0 / network.u**2
    for reach in _CALMING:
        for _ in range(4):
            miss = network.computed(unknowns) - network.value
            width = np.maximum(reach, 3.0 * network.u)
            say = weights / (1.0 + (miss / width) ** 2) ** 2
            before = unknowns
            unknowns, _ = adjust_shape(network, unknowns, datum, say, most_steps=4, tolerance=1e-6)
            if np.abs(unknowns - before).max() < 1e-6:
                break
    return unknowns


def first_shape(network: Network, datum: Datum) -> tuple[FloatArray, bool]:
    """Unknowns close to the best fit, and whether some reading is wild against them."""
    rough = rough_distances(network)
    best: tuple[float, FloatArray] | None = None
    for xy in starting_layouts(rough)[:3]:
        unknowns = network.start_vector(datum.turned(xy))
        plain, fit = adjust_shape(network, unknowns, datum, 1.0 / network.u**2, most_steps=12, tolerance=1e-6)
        rows = network.read_rows()
        wild = np.abs(fit.residual[rows]) > np.maximum(8.0 * network.u[rows], 0.0005)
        if not wild.any():
            return plain, False
        calm = calmed_shape(network, unknowns, datum)
        miss = np.abs(network.computed(calm) - network.value)[rows]
        cost = float(np.minimum(miss / network.u[rows], 20.0).sum())
        if best is None or cost < best[0] - 1e-9:
            best = (cost, calm)
    assert best is not None  # starting_layouts always gives at least one
    return best[1], True
