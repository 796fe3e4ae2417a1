"""Book formulas of a seam: weld metal, and how a torch fits into a corner."""

from __future__ import annotations

import math

from sumpwright.quantities.units import CubicMetre, Metre, Radian, SquareMetre


def fill_volume(area: SquareMetre, length: Metre) -> CubicMetre:
    """Weld metal in a straight seam of one cross-section.

    V = A L

    Args:
        area: A, of weld metal across the seam [m2].
        length: L, of the seam [m].
    Returns:
        V, volume [m3].
    Valid for: a seam of constant cross-section.
    Source: plane-geometry
    """
    return area * length


def sharp_corner_fill(groove: Radian, thickness: Metre) -> SquareMetre:
    """Area of weld metal that fills the groove of an open corner up to a sharp outer edge.

    A = t**2 tan(g / 2)

    Args:
        groove: g, angle between the two cut edges [rad].
        thickness: t, of both sheets [m].
    Returns:
        A, area across the seam [m2].
    Valid for: 0 < g < pi, equal sheets, edges square.
    Source: plane-geometry
    """
    return thickness * thickness * math.tan(0.5 * groove)


def gap_fill(gap: Metre, thickness: Metre) -> SquareMetre:
    """Area of weld metal that a fit-up gap takes besides the groove.

    A = g t

    Args:
        gap: g, between the two edges [m].
        thickness: t, of the thinner sheet [m].
    Returns:
        A, area across the seam [m2].
    Valid for: gap with parallel sides, filled through.
    Source: plane-geometry
    """
    return gap * thickness


def edge_gap(tolerance: Metre) -> Metre:
    """Gap that two cut edges may leave between them, each off by the cutter's tolerance.

    g = sqrt(2) a

    Args:
        tolerance: a, plus and minus on the place of either edge [m].
    Returns:
        g, gap [m].
    Valid for: two edges cut independently, nominally touching.
    Source: derived
    """
    return math.sqrt(2.0) * tolerance


def ring_fill_volume(leg: Metre, diameter: Metre) -> CubicMetre:
    """Weld metal of an equal-legged flat fillet round a cylinder that stands on a sheet.

    V = pi z**2 (d / 2 + z / 3), the triangle z**2 / 2 carried round by its centroid (Pappus)

    Args:
        leg: z, of the fillet [m].
        diameter: d, of the cylinder [m].
    Returns:
        V, volume [m3].
    Valid for: a fillet outside the cylinder, square to the sheet.
    Source: plane-geometry
    """
    return math.pi * leg * leg * (0.5 * diameter + leg / 3.0)


def least_torch_angle(cup: Metre, stick_out: Metre) -> Radian:
    """Least angle between a torch's axis and a flat sheet at which its cup clears the sheet.

    a = atan(r / s)

    Args:
        cup: 2 r, outside diameter of the cup [m].
        stick_out: s, from the cup's end to the weld [m].
    Returns:
        a, angle [rad]; in a corner of angle c the torch has from a to c - a.
    Valid for: a cup that ends square to its axis.
    Source: plane-geometry
    """
    return math.atan2(0.5 * cup, stick_out)


def least_stick_out(cup: Metre, corner: Radian) -> Metre:
    """Least stick-out at which a cup fits into a corner, held in its middle.

    s = r / tan(c / 2)

    Args:
        cup: 2 r, outside diameter of the cup [m].
        corner: c, angle between the two sheets [rad].
    Returns:
        s, from the cup's end to the weld [m].
    Valid for: 0 < c < pi, both sheets longer than the cup is wide.
    Source: plane-geometry
    """
    return 0.5 * cup / math.tan(0.5 * corner)
