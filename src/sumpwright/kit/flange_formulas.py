"""Flange: slip when hot, clearance a hole needs, pitch and bow between bolts."""

from __future__ import annotations

import math

from sumpwright.quantities.units import (
    Kelvin,
    Metre,
    NewtonPerMetre,
    Pascal,
    PerKelvin,
    Radian,
    Ratio,
    SquareMetre,
)


def thermal_slip(
    distance: Metre, expansion_pan: PerKelvin, expansion_block: PerKelvin, temperature_rise: Kelvin
) -> Metre:
    """How far the flange creeps over the block at one hole when both get hot.

    dL = |alpha_pan - alpha_block| L |dT|

    Args:
        distance: L, from the point that does not move to the hole [m].
        expansion_pan: alpha_pan, linear expansion of the flange [1/K].
        expansion_block: alpha_block, linear expansion of the block [1/K].
        temperature_rise: dT, from the temperature at which the rail was measured [K].

    Returns:
        dL, slip at the hole [m].

    Valid for: flange and block at the same temperature, bolts that let the flange slip.
    Source: derived
    """
    return abs(expansion_pan - expansion_block) * distance * abs(temperature_rise)


def ellipse_reach(var_x: SquareMetre, var_y: SquareMetre, cov_xy: SquareMetre) -> Metre:
    """How far off a hole could be: the longer half axis of its 95 % ellipse.

    u95 = sqrt(-2 ln 0.05) sqrt(((sxx + syy) + sqrt((sxx - syy)**2 + 4 sxy**2)) / 2)

    Args:
        var_x: sxx, variance along x [m2].
        var_y: syy, variance along y [m2].
        cov_xy: sxy, covariance [m2].

    Returns:
        u95, half the longer axis [m].

    Valid for: two normally distributed coordinates with known variances.
    Source: chi-square-tables
    """
    largest = 0.5 * (var_x + var_y + math.hypot(var_x - var_y, 2.0 * cov_xy))
    return math.sqrt(-2.0 * math.log(0.05)) * math.sqrt(max(largest, 0.0))


def needed_radial_clearance(from_measuring: Metre, from_cutter: Metre, from_heat: Metre) -> Metre:
    """Room a bolt needs all round so that it enters cold and is not pinched hot.

    c = u95 + e + dL

    Args:
        from_measuring: u95, how far off the hole could be measured [m].
        from_cutter: e, plus and minus of the cutter [m].
        from_heat: dL, thermal slip [m].

    Returns:
        c, radial clearance [m].

    Valid for: the three adding up in the worst direction; cautious.
    Source: derived
    """
    return from_measuring + from_cutter + from_heat


def hole_for_clearance(bolt: Metre, clearance: Metre, step: Metre) -> Metre:
    """The next standard hole that gives a bolt its clearance.

    D = step ceil((d + 2 c) / step)

    Args:
        bolt: d, nominal diameter [m].
        clearance: c, radial clearance needed [m].
        step: steps in which holes are ordered or drilled [m].

    Returns:
        D, hole diameter [m].

    Valid for: step > 0.
    Source: derived
    """
    # A thousandth of a step is forgiven, or a rounding error would cost a whole one.
    return math.ceil((bolt + 2.0 * clearance) / step - 1e-3) * step


def largest_hole_under_washer(bolt: Metre, washer_inside: Metre, washer_outside: Metre) -> Metre:
    """The widest hole that a washer still covers when everything has slid to one side.

    D = (W + 2 d - w) / 2

    The hole's far edge is D - d/2 from the bolt's middle; the washer, itself shifted by
    (w - d)/2 the other way, reaches W/2 - (w - d)/2.

    Args:
        bolt: d, nominal diameter [m].
        washer_inside: w, bore of the washer [m].
        washer_outside: W, outside diameter of the washer [m].

    Returns:
        D, hole diameter [m].

    Valid for: bolt against one side of the hole, washer against the other side of the bolt.
    Source: derived
    """
    return 0.5 * (washer_outside + 2.0 * bolt - washer_inside)


def clamp_footprint(head: Metre, thickness: Metre, spread: Radian) -> Metre:
    """Width of the seal face that one bolt presses.

    b = D + 2 t tan(phi)

    Args:
        head: D, bearing diameter of the head or washer [m].
        thickness: t, of the flange [m].
        spread: phi, half angle of the pressure cone, 30 to 45 degrees [rad].

    Returns:
        b, diameter pressed at the seal face [m].

    Valid for: a flange wider than b.
    Source: from-memory
    """
    return head + 2.0 * thickness * math.tan(spread)


def greatest_bolt_pitch(bolt: Metre, thickness: Metre, gasket_factor: Ratio) -> Metre:
    """The widest bolt spacing that still presses a gasket between the bolts.

    p = 2 d + 6 t / (m + 0.5)

    Args:
        bolt: d, nominal diameter [m].
        thickness: t, of the flange [m].
        gasket_factor: m, how much more pressure a gasket wants than it holds back [1].

    Returns:
        p, bolt to bolt [m].

    Valid for: gasketed metal flanges with m from 0.5 (soft rubber) to about 3.
    Source: from-memory
    """
    return 2.0 * bolt + 6.0 * thickness / (gasket_factor + 0.5)


def thickness_for_pitch(bolt: Metre, pitch: Metre, gasket_factor: Ratio) -> Metre:
    """The flange thickness at which a given bolt spacing still presses a gasket.

    t = (p - 2 d) (m + 0.5) / 6

    Args:
        bolt: d, nominal diameter [m].
        pitch: p, bolt to bolt [m].
        gasket_factor: m, as in the greatest pitch [1].

    Returns:
        t, thickness of the flange [m].

    Valid for: the range of the greatest pitch formula; below zero means any thickness does.
    Source: from-memory
    """
    return (pitch - 2.0 * bolt) * (gasket_factor + 0.5) / 6.0


def bow_between_bolts(
    seal_load: NewtonPerMetre, span: Metre, modulus: Pascal, width: Metre, thickness: Metre
) -> Metre:
    """How far the flange lifts off the seal halfway between two bolts.

    y = q s**4 / (384 E I),  I = b t**3 / 12

    Args:
        seal_load: q, what the seal pushes back along its length [N/m].
        span: s, bolt to bolt [m].
        modulus: E, Young's modulus [Pa].
        width: b, of the flange [m].
        thickness: t, of the flange [m].

    Returns:
        y, bow [m].

    Valid for: a straight strip held level at both bolts, without the wall's help: the worst case.
    Source: derived
    """
    inertia = width * thickness**3 / 12.0
    return seal_load * span**4 / (384.0 * modulus * inertia)


def bow_on_wall(
    seal_load: NewtonPerMetre,
    span: Metre,
    modulus: Pascal,
    width: Metre,
    thickness: Metre,
    wall: Metre,
    depth: Metre,
) -> Metre:
    """How far the flange lifts between two bolts if the wall below bends with it as one piece.

    y = q s**4 / (384 E I),  I = b t**3 / 12 + w h**3 / 12 + (b t w h / (b t + w h)) ((t + h) / 2)**2

    Args:
        seal_load: q, what the seal pushes back along its length [N/m].
        span: s, bolt to bolt [m].
        modulus: E, Young's modulus [Pa].
        width: b, of the flange [m].
        thickness: t, of the flange [m].
        wall: w, thickness of the wall below [m].
        depth: h, of the wall that is counted, at most half the span [m].

    Returns:
        y, bow [m].

    Valid for: the best case: wall upright and welded all along, no twist of the flange.
    Source: derived
    """
    flange, web = width * thickness, wall * depth
    inertia = width * thickness**3 / 12.0 + wall * depth**3 / 12.0
    if web > 0.0:
        inertia += flange * web / (flange + web) * (0.5 * (thickness + depth)) ** 2
    return seal_load * span**4 / (384.0 * modulus * inertia)


def film_shear(slip: Metre, film: Metre) -> Ratio:
    """How much a film of sealant is sheared by the flange's creep.

    gamma = dL / t

    Args:
        slip: dL, of the flange over the block [m].
        film: t, thickness of the sealant [m].

    Returns:
        gamma, shear [1].

    Valid for: film > 0, slip small beside the film's width.
    Source: derived
    """
    return slip / film


def butt_shrinkage(weld_area: SquareMetre, thickness: Metre) -> Metre:
    """How much a butt weld draws its two parts together.

    dS = 0.10 A / t

    Args:
        weld_area: A, section of the weld [m2].
        thickness: t, of the plates [m].

    Returns:
        dS, shrinkage across the weld [m].

    Valid for: free plates, full penetration; clamped ones move less and hold more stress.
    Source: blodgett-1966
    """
    return 0.10 * weld_area / thickness


def full_groove_area(thickness: Metre, groove: Radian) -> SquareMetre:
    """Section of a full-penetration weld in a groove cut from one side.

    A = t**2 tan(g / 2)

    Args:
        thickness: t, of the plates [m].
        groove: g, whole angle of the groove [rad].

    Returns:
        A, filled flat, without root gap [m2].

    Valid for: 0 < g < pi.
    Source: plane-geometry
    """
    return thickness**2 * math.tan(0.5 * groove)
