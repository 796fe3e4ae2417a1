"""Shrinkage of seams in thin sheet, and when a panel buckles under it."""

from __future__ import annotations

import math

from sumpwright.quantities.units import (
    JoulePerKilogramKelvin,
    JoulePerMetre,
    KilogramPerCubicMetre,
    Metre,
    MetreToTheFourth,
    Newton,
    Pascal,
    PerKelvin,
    Ratio,
    SquareMetre,
)


def weld_pull(
    heat: JoulePerMetre,
    expansion: PerKelvin,
    modulus: Pascal,
    density: KilogramPerCubicMetre,
    specific_heat: JoulePerKilogramKelvin,
    share: Ratio = 0.335,
) -> Newton:
    """Force with which a cold seam pulls along itself.

    F = c (alpha E / (rho c_p)) q

    About 0.2 kN for every J/mm in mild steel.

    Args:
        heat: q, heat that entered the metal for every length of seam [J/m].
        expansion: alpha, linear expansion [1/K].
        modulus: E, Young's modulus [Pa].
        density: rho [kg/m3].
        specific_heat: c_p [J/(kg K)].
        share: c, the part of free shrinkage that is left as pull [1].

    Returns:
        F, pull along the seam [N].

    Valid for: seams whose strained zone is narrow beside the sheet; see ``greatest_pull`` for the end
        of that.
    Source: weld-tendon-force
    """
    return share * expansion * modulus / (density * specific_heat) * heat


def greatest_pull(yield_at_weld: Pascal, metal: SquareMetre) -> Newton:
    """The most that a seam can pull before the sheet beside it yields in turn.

    F = sigma_y A / 2

    The seam's zone pulls with its yield; the metal that holds against it must stay below
    yield, so at most half of the metal can be zone.

    Args:
        yield_at_weld: sigma_y, of the metal as welded [Pa].
        metal: A, section of the sheet that belongs to the seam [m2].

    Returns:
        F, the cap [N].

    Valid for: zone and sheet of the same strength; on the safe side where the sheet is harder.
    Source: derived
    """
    return 0.5 * yield_at_weld * metal


def transverse_shrinkage_wide(weld_area: SquareMetre, thickness: Metre, gap: Metre) -> Metre:
    """How far a butt seam draws two sheets together, by the upper of two rules.

    S = 0.2 A / t + 0.05 g

    The rule has the same length unit throughout. Copies that give 5.08 A / t + 1.27 g are
    this rule in inches with its result turned into millimetres; fed with millimetres they
    answer 25.4 times too much.

    Args:
        weld_area: A, section of the weld metal [m2].
        thickness: t, of the sheet [m].
        gap: g, between the edges before welding [m].

    Returns:
        S, draw of the two sheets together [m].

    Valid for: free butt joints, t up to 25 mm.
    Source: spraragen-ettinger-1950
    """
    return 0.2 * weld_area / thickness + 0.05 * gap


def transverse_shrinkage(weld_area: SquareMetre, thickness: Metre) -> Metre:
    """How far a butt seam draws two sheets together, by the lower of two rules.

    S = 0.10 A / t

    Args:
        weld_area: A, section of the weld metal [m2].
        thickness: t, of the sheet [m].

    Returns:
        S, draw of the two sheets together [m].

    Valid for: free butt joints.
    Source: blodgett-1966
    """
    return 0.10 * weld_area / thickness


ANGULAR_FROM: Metre = 0.006
"""Sheet thinner than this is outside the rule for the turn of a fillet."""


def fillet_turn(width: Metre, leg: Metre, thickness: Metre) -> Metre | None:
    """How far the free edge of a plate is lifted by a fillet on it; None on sheet.

    D = 0.02 W w**1.3 / t**2 (inches)

    On sheet of 2 mm the rule lifts the edge of a strip of 100 mm by 12 mm: it was fitted to
    plate, so that here it refuses instead of answering.

    Args:
        width: W, from the seam to the free edge [m].
        leg: w, of the fillet [m].
        thickness: t, of the plate [m].

    Returns:
        D, lift of the free edge [m].

    Valid for: plate of 6 mm and more, leg not above the thickness.
    Source: blodgett-1966
    """
    if thickness < ANGULAR_FROM or leg > thickness:
        return None
    inch = 0.0254
    return inch * 0.02 * (width / inch) * math.pow(leg / inch, 1.3) / (thickness / inch) ** 2


def strip_bow(
    pull: Newton, beside: Metre, length: Metre, modulus: Pascal, inertia: MetreToTheFourth
) -> Metre:
    """Bow of a strip that a seam pulls along, beside its middle.

    y = F e L**2 / (8 E I)

    Args:
        pull: F, of the seam [N].
        beside: e, from the strip's middle line to the seam [m].
        length: L, of the strip [m].
        modulus: E [Pa].
        inertia: I, second moment of area of its section [m4].

    Returns:
        y, height of the bow over a straight line through its ends [m].

    Valid for: bows small against the length, seam over the whole length.
    Source: beam-theory
    """
    return pull * beside * length**2 / (8.0 * modulus * inertia)


def strip_pull(bow: Metre, width: Metre, thickness: Metre, length: Metre, modulus: Pascal) -> Newton:
    """Pull of a seam along one edge of a strip, from the bow that it left.

    F = 8 E I y / (e L**2), with I = t b**3 / 12 and e = b / 2

    Args:
        bow: y, measured in the strip's plane over a straight line through its ends [m].
        width: b, of the strip [m].
        thickness: t, of the strip [m].
        length: L, of the strip [m].
        modulus: E [Pa].

    Returns:
        F, pull of the seam [N].

    Valid for: a bead along the whole of one long edge, strip free while welded.
    Source: beam-theory
    """
    inertia = thickness * width**3 / 12.0
    return 8.0 * modulus * inertia * bow / (0.5 * width * length**2)


def buckling_stress(
    modulus: Pascal, poisson: Ratio, thickness: Metre, width: Metre, factor: Ratio = 4.0
) -> Pascal:
    """Compression at which a long panel waves.

    sigma_cr = k pi**2 E / (12 (1 - nu**2)) (t / b)**2

    Args:
        modulus: E [Pa].
        poisson: nu [1].
        thickness: t [m].
        width: b, across the compression, between supported edges [m].
        factor: k, 4 for edges that may turn, 6.97 for edges that may not [1].

    Returns:
        sigma_cr [Pa].

    Valid for: flat panels longer than wide, compressed along their length.
    Source: plate-buckling
    """
    return factor * math.pi**2 * modulus / (12.0 * (1.0 - poisson**2)) * (thickness / width) ** 2
