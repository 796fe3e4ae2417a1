"""Book formulas of oil at rest: floats in, floats out."""

from __future__ import annotations

import math

from sumpwright.quantities.units import (
    CubicMetre,
    CubicMetrePerSecond,
    Kelvin,
    KilogramPerCubicMetre,
    Metre,
    MetrePerCubicMetre,
    Ratio,
    Second,
    SquareMetre,
)


def stick_length_per_volume(surface_area: SquareMetre, rise_along_stick: Ratio) -> MetrePerCubicMetre:
    """How far the reading moves along a straight stick for each bit of oil added.

    ds/dV = 1 / (A (n . u))

    Args:
        surface_area: A, oil surface at the mark [m2].
        rise_along_stick: n . u, fall in height per length of stick, as a positive number [1].

    Returns:
        ds/dV, length along the stick per volume [m/m3].

    Valid for: small changes about the mark, a surface that stays level.
    Source: plane-geometry
    """
    return 1.0 / (surface_area * rise_along_stick)


def stick_reading(level: Metre, shoulder_level: Metre, rise_along_stick: Ratio) -> Metre:
    """Where along the stick, counted from its shoulder, the oil's surface stands.

    s = (n . p0 - c) / f, with f = -(n . u) the fall in height per length of stick

    Args:
        level: c, height of the surface along up [m].
        shoulder_level: n . p0, height of the stick's shoulder along up [m].
        rise_along_stick: f, fall in height per length of stick [1].

    Returns:
        s, length from the shoulder [m].

    Valid for: a straight stick that is not parallel to the surface.
    Source: plane-geometry
    """
    return (shoulder_level - level) / rise_along_stick


def hold_up_from_flow(flow: CubicMetrePerSecond, return_time: Second) -> CubicMetre:
    """Oil on its way back to the pan while the engine runs.

    Vh = Q tau

    Args:
        flow: Q, pump delivery [m3/s].
        return_time: tau, mean time from pump back to pan [s].

    Returns:
        Vh, hold-up [m3].

    Valid for: steady running, return times of 0.5 to 2 s.
    Source: common-practice
    """
    return flow * return_time


def volume_correction(density_15: KilogramPerCubicMetre, temperature: Kelvin) -> Ratio:
    """How much less a litre of 15 degC oil weighs per litre when hot: its density over that at 15 degC.

    CTL = exp(-alpha dt (1 + 0.8 alpha dt)), alpha = 0.6278 / rho15, dt = T - 288.15 K

    Args:
        density_15: rho15, density at 15 degC [kg/m3].
        temperature: T, oil temperature [K].

    Returns:
        CTL, density at T over density at 15 degC [1].

    Valid for: lubricating oils with densities of 801 to 1164 kg/m3 at 15 degC, -50 to 150 degC.
    Source: api-11-1, lubricating-oil group
    """
    alpha = 0.6278 / density_15
    dt = temperature - 288.15
    return math.exp(-alpha * dt * (1.0 + 0.8 * alpha * dt))
