"""Mitred tubes: where the saw cut lies along the wall, and legs of a bend made of cuts."""

from __future__ import annotations

import math

from sumpwright.quantities.units import Metre, Radian


def mitre_rise(offset: Metre, turn: Radian) -> Metre:
    """How far a line along the tube's wall reaches beyond the centre line at a mitre.

    y = d tan(theta / 2)

    Args:
        offset: d, of the line from the tube's axis, towards the outside of the turn [m].
        turn: theta, by which the tube turns [rad].

    Returns:
        y, beyond the point where the centre lines meet [m].

    Valid for: 0 <= theta < pi.
    Source: plane-geometry
    """
    return offset * math.tan(0.5 * turn)


def round_mitre_rise(radius: Metre, around: Radian, turn: Radian) -> Metre:
    """The wrap template of a round tube: height of the cut over the centre point round the tube.

    y = r tan(theta / 2) cos(phi)

    Args:
        radius: r, outside radius of the tube [m].
        around: phi, round the tube from the outside of the turn [rad].
        turn: theta, by which the tube turns [rad].

    Returns:
        y, beyond the point where the centre lines meet [m].

    Valid for: 0 <= theta < pi.
    Source: plane-geometry
    """
    return mitre_rise(radius * math.cos(around), turn)


def tangent_length(radius: Metre, turn: Radian) -> Metre:
    """What a bend takes off each straight leg, from the corner to where it begins.

    l = R tan(theta / 2)

    Args:
        radius: R, of the centre line [m].
        turn: theta, of the bend [rad].

    Returns:
        l, along each leg [m].

    Valid for: 0 <= theta < pi.
    Source: plane-geometry
    """
    return radius * math.tan(0.5 * turn)
