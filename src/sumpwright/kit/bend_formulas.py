"""Book formulas of bends: how much flat metal a bend takes, and where its tangents lie."""

from __future__ import annotations

import math

from sumpwright.quantities.units import Metre, Radian, Ratio


def bend_allowance(turn: Radian, radius: Metre, k: Ratio, thickness: Metre) -> Metre:
    """Length of flat metal between the two tangent lines of a bend.

    BA = beta (r + K t)

    Args:
        turn: beta, angle by which the sheet is turned [rad].
        radius: r, inside radius of the bend [m].
        k: K, depth of the neutral line from the inside over the thickness [1].
        thickness: t, thickness of the sheet [m].

    Returns:
        BA, bend allowance [m].

    Valid for: 0 < beta < pi, 0 <= K <= 0.5.
    Source: sheet-metal-bends
    """
    return turn * (radius + k * thickness)


def bend_deduction(turn: Radian, radius: Metre, k: Ratio, thickness: Metre) -> Metre:
    """What two legs measured to the outside corner are longer than the flat they are bent from.

    BD = 2 tan(beta/2) (r + t) - BA

    Args:
        turn: beta, angle by which the sheet is turned [rad].
        radius: r, inside radius of the bend [m].
        k: K, depth of the neutral line from the inside over the thickness [1].
        thickness: t, thickness of the sheet [m].

    Returns:
        BD, bend deduction [m].

    Valid for: beta up to 150 deg; the outside corner runs away towards 180 deg.
    Source: sheet-metal-bends
    """
    return 2.0 * math.tan(0.5 * turn) * (radius + thickness) - bend_allowance(turn, radius, k, thickness)


def outward_setback(turn: Radian, radius: Metre) -> Metre:
    """How far before an outward corner of the oil side the flat of each face ends.

    s = r tan(beta/2)

    Args:
        turn: beta, angle by which the sheet is turned [rad].
        radius: r, inside radius of the bend [m].

    Returns:
        s, setback from the oil-side corner [m].

    Valid for: 0 < beta < pi; the oil side is the inside of the bend.
    Source: plane-geometry
    """
    return radius * math.tan(0.5 * turn)


def inward_setback(turn: Radian, radius: Metre, thickness: Metre) -> Metre:
    """How far before an inward corner of the oil side the flat of each face ends.

    s = (r + t) tan(beta/2)

    Args:
        turn: beta, angle by which the sheet is turned [rad].
        radius: r, inside radius of the bend [m].
        thickness: t, thickness of the sheet [m].

    Returns:
        s, setback from the oil-side corner [m].

    Valid for: 0 < beta < pi; the oil side is the outside of the bend.
    Source: plane-geometry
    """
    return (radius + thickness) * math.tan(0.5 * turn)


def k_of_coupon(allowance: Metre, turn: Radian, radius: Metre, thickness: Metre) -> Ratio:
    """K from a coupon bent in the shop: flat length before less the two straight legs after.

    K = (BA/beta - r) / t

    Args:
        allowance: BA, flat length that went into the bend [m].
        turn: beta, angle by which the coupon was turned [rad].
        radius: r, inside radius measured on it [m].
        thickness: t, thickness of the sheet [m].

    Returns:
        K, depth of the neutral line from the inside over the thickness [1].

    Valid for: one bend, legs measured to the tangents.
    Source: sheet-metal-bends
    """
    return (allowance / turn - radius) / thickness


def least_leg(die_opening: Metre, radius: Metre, thickness: Metre) -> Metre:
    """Shortest leg that stays on a press brake's die, measured outside.

    L = max(0.7 V, 2 t + r)

    Args:
        die_opening: V, width of the die's opening [m].
        radius: r, inside radius of the bend [m].
        thickness: t, thickness of the sheet [m].

    Returns:
        L, leg [m].

    Valid for: right-angle bends in an open die; a folder has its own figure.
    Source: common-practice
    """
    return max(0.7 * die_opening, 2.0 * thickness + radius)


def hole_to_fold(radius: Metre, thickness: Metre) -> Metre:
    """How far a hole's edge must stay from a fold line so as not to be drawn oval.

    d = 2 t + r

    Args:
        radius: r, inside radius of the bend [m].
        thickness: t, thickness of the sheet [m].

    Returns:
        d, hole edge to fold line [m].

    Valid for: round holes; slots along the fold want 2.5 t + r.
    Source: common-practice
    """
    return 2.0 * thickness + radius


def outside_leg(inside: Metre, turn: Radian, thickness: Metre) -> Metre:
    """A leg measured to the outside corner from the same leg measured to the oil-side corner.

    L = l + t tan(beta/2)

    Args:
        inside: l, leg to the oil-side corner of an outward bend [m].
        turn: beta, angle by which the sheet is turned [rad].
        thickness: t, thickness of the sheet [m].

    Returns:
        L, leg outside [m].

    Valid for: outward bends; at an inward one the oil side is the outside.
    Source: plane-geometry
    """
    return inside + thickness * math.tan(0.5 * turn)
