"""Book formulas of oil under a steady pull: floats in, floats out."""

from __future__ import annotations

import math

from sumpwright.quantities.units import (
    STANDARD_GRAVITY,
    Metre,
    MetrePerSecondSquared,
    Radian,
    RadianPerSecond,
    Ratio,
    SquareMetrePerSecond,
)


def ellipse_radius(
    heading: Radian, ahead: MetrePerSecondSquared, aside: MetrePerSecondSquared
) -> MetrePerSecondSquared:
    """Largest acceleration that the tyres hold in one direction.

    (a cos(h) / mx)^2 + (a sin(h) / my)^2 = 1

    Args:
        heading: h, direction of the acceleration, 0 straight ahead, positive to the left [rad].
        ahead: mx, half axis along the vehicle on that side [m/s2].
        aside: my, half axis across the vehicle on that side [m/s2].

    Returns:
        a, acceleration on the rim of the friction ellipse [m/s2].

    Valid for: half axes of zero and more; where one is zero, nothing is held outside the other.
    Source: friction-circle
    """
    c, s = abs(math.cos(heading)), abs(math.sin(heading))
    # A direction along an axis has no share across it, whatever rounding leaves.
    c, s = (0.0 if c < 1e-12 else c), (0.0 if s < 1e-12 else s)
    if (c > 0.0 and ahead <= 0.0) or (s > 0.0 and aside <= 0.0):
        return 0.0
    along = c / ahead if c > 0.0 else 0.0
    across = s / aside if s > 0.0 else 0.0
    return 1.0 / math.hypot(along, across)


def surface_angle(across: MetrePerSecondSquared, down: MetrePerSecondSquared) -> Radian:
    """How far the oil's surface turns from level under a steady acceleration.

    tan(angle) = a / g

    Args:
        across: a, acceleration along the level [m/s2].
        down: g, pull along the vertical [m/s2].

    Returns:
        angle [rad].

    Valid for: an acceleration held long enough for the oil to come to rest.
    Source: plane-geometry
    """
    return math.atan2(across, down)


def mouth_rise(diameter: Metre, cosine: Ratio) -> Metre:
    """How far the highest edge of a round mouth stands above its centre.

    rise = D / 2 sqrt(1 - c^2)

    Args:
        diameter: D, across the mouth [m].
        cosine: c, cosine of the angle between the mouth's axis and the pull [1].

    Returns:
        rise along the pull [m].

    Valid for: a flat round mouth.
    Source: plane-geometry
    """
    return 0.5 * diameter * math.sqrt(max(0.0, 1.0 - cosine * cosine))


def slosh_frequency(
    length: Metre, depth: Metre, pull: MetrePerSecondSquared, mode: Ratio = 1.0
) -> RadianPerSecond:
    """Own frequency of oil swinging to and fro in a rectangular space.

    omega = sqrt(g k tanh(k h)), k = n pi / L

    Args:
        length: L, along the swing [m].
        depth: h, of the oil at rest [m].
        pull: g, effective [m/s2].
        mode: n, 1 for the first [1].

    Returns:
        omega [rad/s].

    Valid for: small swings of thin oil, upright walls.
    Source: sloshing-theory
    """
    k = mode * math.pi / length
    return math.sqrt(pull * k * math.tanh(k * depth))


def slosh_damping(length: Metre, width: Metre, depth: Metre, viscosity: SquareMetrePerSecond) -> Ratio:
    """Damping of the first swing of oil in a smooth rectangular space, as a share of critical.

    zeta = sqrt(nu / 2 omega) [k / sinh 2kh + 1/b + (1 - 2kh / sinh 2kh) / L] + 2 nu k^2 / omega

    Args:
        length: L, along the swing [m].
        width: b, across it [m].
        depth: h, of the oil at rest [m].
        viscosity: nu, kinematic [m2/s].

    Returns:
        zeta [1].

    Valid for: a boundary layer sqrt(2 nu / omega) small against depth and width; standard gravity.
    Source: derived
    """
    k = math.pi / length
    omega = slosh_frequency(length, depth, STANDARD_GRAVITY)
    steep = min(2.0 * k * depth, 300.0)  # sinh of more is beyond floats, and its part is nothing
    walls = k / math.sinh(steep) + 1.0 / width + (1.0 - steep / math.sinh(steep)) / length
    return math.sqrt(viscosity / (2.0 * omega)) * walls + 2.0 * viscosity * k**2 / omega
