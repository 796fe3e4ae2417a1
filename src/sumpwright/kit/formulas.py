"""Book formulas of joints between two flat sheets along one edge.

The section across an edge. Sheet A lies along s with its oil side at h = 0 and its
outer skin at h = t_A; sheet B leaves the same oil-side corner at the corner angle:

        h ^   outside
          |
          +--------------------  outer skin of A
    edge  O====================> s   oil side of A
           \\ theta
            \\      oil
             \\
              B

A trim is the distance, along the sheet, from the oil-side corner to where the sheet
begins; negative means that it runs past the corner.
"""

from __future__ import annotations

import math

from sumpwright.quantities.units import Metre, Radian, SquareMetre


def open_corner_groove(theta: Radian) -> Radian:
    """Angle of the groove between two square edges that meet at the oil-side corner.

    g = pi - theta

    Args:
        theta: theta, corner angle inside the oil [rad].
    Returns:
        g, groove angle [rad].
    Valid for: 0 < theta < pi.
    Source: plane-geometry
    """
    return math.pi - theta


def groove_fill(
    theta: Radian, thickness_a: Metre, thickness_b: Metre, trim_a: Metre, trim_b: Metre
) -> SquareMetre:
    """Area of weld metal that fills the groove of an outward corner flat, from outer edge to outer edge.

    A = |u x v| / 2, u and v from the groove's root to the two outer edges

    Args:
        theta: theta, corner angle inside the oil [rad].
        thickness_a: t_A, thickness of sheet A [m].
        thickness_b: t_B, thickness of sheet B [m].
        trim_a: a, trim of sheet A (zero or negative) [m].
        trim_b: b, trim of sheet B [m].
    Returns:
        A, area across the seam [m2].
    Valid for: 0 < theta < pi, overlap -a below t_B; the root is A's oil-side edge.
    Source: plane-geometry
    """
    outer_a = (0.0, thickness_a)
    outer_b = (
        trim_b * math.cos(theta) - thickness_b * math.sin(theta) - trim_a,
        -trim_b * math.sin(theta) - thickness_b * math.cos(theta),
    )
    return 0.5 * abs(outer_a[0] * outer_b[1] - outer_a[1] * outer_b[0])


def overlapped_trim(theta: Radian, overlap: Metre) -> Metre:
    """Trim of the sheet that stands on the other's overlap.

    b = max(0, -o cos(theta))

    Args:
        theta: theta, corner angle inside the oil [rad].
        overlap: o, how far the other sheet runs past the corner [m].
    Returns:
        b, trim [m].
    Valid for: 0 < theta < pi, 0 <= o <= 0.3 t.
    Source: plane-geometry
    """
    return max(0.0, -overlap * math.cos(theta))


def full_lap_reach(theta: Radian, thickness_b: Metre) -> Metre:
    """How far the covering sheet runs past the corner to lie flush over the other's edge.

    -a = t_B / sin(theta)

    Args:
        theta: theta, corner angle inside the oil [rad].
        thickness_b: t_B, thickness of the covered sheet [m].
    Returns:
        -a, reach past the corner [m].
    Valid for: theta within 90 +- 12 deg.
    Source: plane-geometry
    """
    return thickness_b / math.sin(theta)


def full_lap_trim(theta: Radian, thickness_b: Metre) -> Metre:
    """Trim of the covered sheet of a full lap.

    b = t_B |cot(theta)| if theta > pi/2, else 0

    Args:
        theta: theta, corner angle inside the oil [rad].
        thickness_b: t_B, thickness of the covered sheet [m].
    Returns:
        b, trim [m].
    Valid for: theta within 90 +- 12 deg.
    Source: plane-geometry
    """
    return max(0.0, -thickness_b / math.tan(theta))


def wall_under_flange_trim(theta: Radian, thickness: Metre) -> Metre:
    """Extra trim of a leaning wall's square top so that its outer edge clears the flange above.

    b = max(0, -t cot(theta))

    Args:
        theta: theta, angle between the wall's oil side and the flange plane, inside the oil [rad].
        thickness: t, thickness of the wall [m].
    Returns:
        b, trim below the line where the oil side meets the flange's underside [m].
    Valid for: 0 < theta < pi.
    Source: plane-geometry
    """
    return max(0.0, -thickness / math.tan(theta))


def inward_cut_back(phi: Radian, thickness_a: Metre, thickness_b: Metre) -> Metre:
    """Trim of sheet A at an inward corner where both outer skins end on one line.

    a = (t_B + t_A cos(phi)) / sin(phi); equal thickness: t cot(phi/2)

    Args:
        phi: phi, outside angle between the two outer skins [rad].
        thickness_a: t_A, thickness of the sheet being trimmed [m].
        thickness_b: t_B, thickness of the other sheet [m].
    Returns:
        a, trim [m].
    Valid for: 0 < phi < pi.
    Source: plane-geometry
    """
    return (thickness_b + thickness_a * math.cos(phi)) / math.sin(phi)


def inward_lap_runner(phi: Radian, thickness_a: Metre) -> Metre:
    """Trim of the sheet that runs through to an inward corner.

    a = t_A cot(phi) if phi <= pi/2, else 0

    Args:
        phi: phi, outside angle between the two outer skins [rad].
        thickness_a: t_A, thickness of the sheet that runs through [m].
    Returns:
        a, trim [m].
    Valid for: 0 < phi < pi.
    Source: plane-geometry
    """
    return max(0.0, thickness_a / math.tan(phi))


def inward_lap_stopper(phi: Radian, thickness_a: Metre, thickness_b: Metre) -> Metre:
    """Trim of the sheet that stops on the outer skin of the one running through.

    b = (t_A + t_B cos(phi)) / sin(phi) if phi <= pi/2,
    else min(t_A sin(phi), t_B |tan(phi)|)

    Args:
        phi: phi, outside angle between the two outer skins [rad].
        thickness_a: t_A, thickness of the sheet that runs through [m].
        thickness_b: t_B, thickness of the sheet that stops [m].
    Returns:
        b, trim [m].
    Valid for: 0 < phi < pi.
    Source: plane-geometry
    """
    if phi <= 0.5 * math.pi:
        return (thickness_a + thickness_b * math.cos(phi)) / math.sin(phi)
    return min(thickness_a * math.sin(phi), -thickness_b * math.tan(phi))


def fillet_fill(angle: Radian, leg: Metre) -> SquareMetre:
    """Area of a flat fillet with equal legs between two skins.

    A = z**2 sin(angle) / 2

    Args:
        angle: angle between the two skins on the weld's side [rad].
        leg: z, leg of the fillet [m].
    Returns:
        A, area across the seam [m2].
    Valid for: 0 < angle < pi.
    Source: plane-geometry
    """
    return 0.5 * leg * leg * math.sin(angle)
