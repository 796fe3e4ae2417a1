"""A floor under a jack's push."""

from __future__ import annotations

import math

from sumpwright.quantities.units import Metre, Newton, Pascal, Ratio

_SIDES = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0)
_BETA = (0.435, 0.650, 0.789, 0.875, 0.927, 0.958)
BETA_LONG = 1.000
"""Of a plate without end. Between the last row and that the larger is taken."""


def centre_load_stress(
    load: Newton, thickness: Metre, short_side: Metre, long_side: Metre, radius: Metre, poisson: Ratio
) -> Pascal:
    """Largest bending stress of a rectangular plate on free edges, pushed on a small circle at its middle.

    sigma = 3 W / (2 pi t**2) ((1 + nu) ln(2 b / (pi r0')) + beta),
    r0' = r0 for r0 >= t/2, else sqrt(1.6 r0**2 + t**2) - 0.675 t

    Args:
        load: W, spread over the circle [N].
        thickness: t, of the plate [m].
        short_side: b, of the plate [m].
        long_side: a, of the plate [m].
        radius: r0, of the circle [m].
        poisson: nu, Poisson's ratio [1].

    Returns:
        sigma, at the middle [Pa].

    Valid for: deflection below half the thickness, r0 well below b/2, nu = 0.3 for beta.
    Source: roark-plates
    """
    ratio = max(1.0, long_side / short_side)
    beta = BETA_LONG if ratio > _SIDES[-1] else 0.0
    for (low, below), (high, above) in zip(
        zip(_SIDES, _BETA, strict=True), zip(_SIDES[1:], _BETA[1:], strict=False), strict=False
    ):
        if low <= ratio <= high:
            beta = below + (above - below) * (ratio - low) / (high - low)
    small = math.sqrt(1.6 * radius**2 + thickness**2) - 0.675 * thickness
    reach = radius if radius >= 0.5 * thickness else small
    spread = (1.0 + poisson) * math.log(2.0 * short_side / (math.pi * reach)) + beta
    return 3.0 * load / (2.0 * math.pi * thickness**2) * spread
