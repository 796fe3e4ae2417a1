"""Tabs and slots: how wide, how long, how deep, at any angle."""

from __future__ import annotations

import math

from sumpwright.quantities.units import Metre, Radian


def slot_width(tab: Metre, plate: Metre, angle: Radian, clearance: Metre) -> Metre:
    """Width of a square-cut slot through which a leaning sheet passes.

    w = (t + T |cos(a)|) / sin(a) + c

    Args:
        tab: t, thickness of the sheet with the tab [m].
        plate: T, thickness of the sheet with the slot [m].
        angle: a, between the two sheets [rad].
        clearance: c, room in the slot [m].

    Returns:
        w, slot width [m].

    Valid for: 0 < a < pi.
    Source: plane-geometry
    """
    return (tab + plate * abs(math.cos(angle))) / math.sin(angle) + clearance


def tab_depth(tab: Metre, plate: Metre, angle: Radian, proud: float) -> Metre:
    """How far a tab reaches beyond its sheet's edge.

    d = T / sin(a) + t |cot(a)| + p t

    Args:
        tab: t, thickness of the sheet with the tab [m].
        plate: T, thickness of the sheet with the slot [m].
        angle: a, between the two sheets [rad].
        proud: p, how far it stands out on the far side, in sheet thicknesses, 0 to 0.5 [1].

    Returns:
        d, measured on the sheet from where its nearer skin meets the plate [m].

    Valid for: 0 < a < pi.
    Source: plane-geometry
    """
    return plate / math.sin(angle) + tab * abs(math.cos(angle) / math.sin(angle)) + proud * tab


def slot_width_clearance(cutter_tolerance: Metre) -> Metre:
    """Room across a slot: enough for the slot's own cut, never less than a tenth and a half.

    c = max(0.15 mm, e)

    Args:
        cutter_tolerance: e, plus and minus of the cutter [m].

    Returns:
        c, clearance [m].

    Valid for: sheet whose thickness is as ordered; measure it.
    Source: common-practice
    """
    return max(1.5e-4, cutter_tolerance)


def slot_length_clearance(cutter_tolerance: Metre) -> Metre:
    """Room along a slot: tab and slot are both cut.

    c = max(0.25 mm, 2 e)

    Args:
        cutter_tolerance: e, plus and minus of the cutter [m].

    Returns:
        c, clearance [m].

    Valid for: tab and slot cut by the same process.
    Source: common-practice
    """
    return max(2.5e-4, 2.0 * cutter_tolerance)
