"""Book formulas of the rail: readings to centres, tests of readings, bolt lengths."""

from __future__ import annotations

import math

from sumpwright.quantities.units import Count, Kelvin, Metre, Ratio, SquareMetre

LARGEST_NORMALISED: Ratio = 3.2905267314919255
"""Two-sided 0.1 % point of the normal distribution: beyond it a reading is a suspect [1]."""

SHIFT_SEEN: Ratio = LARGEST_NORMALISED + 0.8416212335729143
"""Shift of the test value that is found with 80 % power at 0.1 % false alarms [1]."""


def centre_from_inside(reading: Metre, diameter_a: Metre, diameter_b: Metre) -> Metre:
    """Centre distance from the smallest gap between two hole edges (jaws between the holes).

    D = d + (d_a + d_b) / 2

    Args:
        reading: d, near edge to near edge [m].
        diameter_a: d_a, diameter of the first hole where the jaw touched [m].
        diameter_b: d_b, diameter of the second hole where the jaw touched [m].

    Returns:
        D, centre to centre [m].

    Valid for: round holes, jaws on the line of the centres.
    Source: plane-geometry
    """
    return reading + (diameter_a + diameter_b) / 2.0


def centre_from_outside(reading: Metre, diameter_a: Metre, diameter_b: Metre) -> Metre:
    """Centre distance from the largest distance between two hole edges (far edge to far edge).

    D = d - (d_a + d_b) / 2

    Args:
        reading: d, far edge to far edge [m].
        diameter_a: d_a, diameter of the first hole where the jaw touched [m].
        diameter_b: d_b, diameter of the second hole where the jaw touched [m].

    Returns:
        D, centre to centre [m].

    Valid for: round holes, jaws on the line of the centres.
    Source: plane-geometry
    """
    return reading - (diameter_a + diameter_b) / 2.0


def centre_from_same_side(reading: Metre, diameter_a: Metre, diameter_b: Metre) -> Metre:
    """Centre distance from equal-handed edges: the far edge of the first hole, the near edge of the second.

    D = d - (d_a - d_b) / 2

    Args:
        reading: d, from the edge of the first hole away from the second to the near edge of the second [m].
        diameter_a: d_a, diameter of the first hole where the jaw touched [m].
        diameter_b: d_b, diameter of the second hole where the jaw touched [m].

    Returns:
        D, centre to centre [m].

    Valid for: round holes, jaws on the line of the centres.
    Source: plane-geometry
    """
    return reading - (diameter_a - diameter_b) / 2.0


def tool_scale(temperature: Kelvin) -> Ratio:
    """Length for each unit of length read on a steel caliper, rule or tape that is warm or cold.

    k = 1 + alpha (T - 293.15)

    Args:
        temperature: T, of the tool while reading [K].

    Returns:
        k, true length over length read [1].

    Valid for: steel tools graduated for 20 degC, 250 to 330 K; alpha = 11.5e-6 per kelvin.
    Source: expansion-coefficients
    """
    return 1.0 + 11.5e-6 * (temperature - 293.15)


def arch_radius(chord: Metre, rise: Metre) -> Metre:
    """Radius of an arch from a straight edge across it and the depth under its middle.

    R = c**2 / (8 h) + h / 2

    Args:
        chord: c, across the arch [m].
        rise: h, from the chord's middle to the arch [m].

    Returns:
        R [m].

    Valid for: a circular arch no deeper than half a circle.
    Source: plane-geometry
    """
    return chord**2 / (8.0 * rise) + rise / 2.0


def pooled_spread(squares: SquareMetre, repeats: Count) -> Metre:
    """Standard deviation of one reading from several things each read more than once.

    s = sqrt(Q / f)

    Args:
        squares: Q, squared differences of all readings from the mean of their own thing [m2].
        repeats: f, readings beyond the first of each thing [1].

    Returns:
        s [m].

    Valid for: f at least 1, the same tool and hand.
    Source: adjustment-computations
    """
    return math.sqrt(squares / repeats)


def unit_weight(weighted_sum: Ratio, redundancy: Count) -> Ratio:
    """How far the readings scatter, as a multiple of their stated uncertainty.

    s0 = sqrt(T / r)

    Args:
        weighted_sum: T, sum of (residual / standard uncertainty) squared [1].
        redundancy: r, readings beyond what the shape needs [1].

    Returns:
        s0, 1 when the stated uncertainties are right [1].

    Valid for: r at least 1.
    Source: adjustment-computations
    """
    return math.sqrt(weighted_sum / redundancy)


def agreement_range(redundancy: Count, risk: Ratio = 0.05) -> tuple[Ratio, Ratio]:
    """Between which values the weighted sum lies when readings and uncertainties are honest.

    T_low = chi2(risk / 2, r), T_high = chi2(1 - risk / 2, r)

    Args:
        redundancy: r, readings beyond what the shape needs [1].
        risk: share of honest sets of readings that fall outside [1].

    Returns:
        T_low and T_high [1].

    Valid for: r at least 1, normally distributed readings.
    Source: chi-square-tables
    """
    # scipy.special alone: scipy.stats costs most of a second to import.
    from scipy.special import chdtri

    return float(chdtri(redundancy, 1.0 - risk / 2.0)), float(chdtri(redundancy, risk / 2.0))


def normalised_residual(residual: Metre, u: Metre, redundancy: Ratio) -> Ratio:
    """Residual of one reading in units of what is usual for that residual.

    w = abs(v) / (sigma sqrt(r_i))

    Args:
        residual: v, computed minus read [m].
        u: sigma, standard uncertainty of the reading [m].
        redundancy: r_i, share of an error that shows in this residual [1].

    Returns:
        w, beyond 3.29 in one of a thousand honest readings [1].

    Valid for: r_i above 0; a reading with r_i below 0.1 is as good as unchecked.
    Source: baarda-1968
    """
    return abs(residual) / (u * math.sqrt(redundancy))


def likely_error(residual: Metre, redundancy: Ratio) -> Metre:
    """How wrong a reading must have been to leave this residual.

    e = -v / r_i

    Args:
        residual: v, computed minus read, with the reading still used [m].
        redundancy: r_i, share of an error that shows in this residual [1].

    Returns:
        e, read minus what it should have been [m].

    Valid for: one bad reading, errors small against the distances.
    Source: baarda-1968
    """
    return -residual / redundancy


def least_visible_error(u: Metre, redundancy: Ratio) -> Metre:
    """Smallest error of one reading that the others would show four times out of five.

    e_min = delta0 sigma / sqrt(r_i), delta0 = 4.13

    Args:
        u: sigma, standard uncertainty of the reading [m].
        redundancy: r_i, share of an error that shows in this residual [1].

    Returns:
        e_min [m].

    Valid for: 0.1 % false alarms, 80 % power, one bad reading at a time.
    Source: baarda-1968
    """
    return SHIFT_SEEN * u / math.sqrt(redundancy)


def off_by_axes(
    variance_x: SquareMetre, covariance_xy: SquareMetre, variance_y: SquareMetre
) -> tuple[Metre, Metre]:
    """Long and short half axis of the ellipse that holds the true hole centre 95 times of 100.

    lambda = (sxx + syy) / 2 +- sqrt(((sxx - syy) / 2)**2 + sxy**2), half axis = sqrt(5.991 lambda)

    Args:
        variance_x: sxx [m2].
        covariance_xy: sxy [m2].
        variance_y: syy [m2].

    Returns:
        Long and short half axis [m].

    Valid for: normally distributed readings, uncertainties known beforehand.
    Source: chi-square-tables
    """
    middle = (variance_x + variance_y) / 2.0
    reach = math.hypot((variance_x - variance_y) / 2.0, covariance_xy)
    # 95 % point of chi-square with two degrees is -2 ln 0.05, exactly.
    factor = -2.0 * math.log(0.05)
    return math.sqrt(factor * (middle + reach)), math.sqrt(factor * max(middle - reach, 0.0))


def clamped_stack(flange: Metre, washer: Metre, seal: Metre) -> Metre:
    """What the bolt reaches through before it enters its thread.

    c = t + w + s

    Args:
        flange: t, thickness of the new flange [m].
        washer: w, thickness under the head [m].
        seal: s, thickness of the gasket or sealant film [m].

    Returns:
        c [m].

    Valid for: a head that bears on the washer, no counterbore.
    Source: plane-geometry
    """
    return flange + washer + seal


def thread_engagement(length: Metre, clamped: Metre) -> Metre:
    """Thread held in the block.

    e = L - c

    Args:
        length: L, bolt length under the head [m].
        clamped: c, flange, washer and seal together [m].

    Returns:
        e, negative when the bolt does not reach [m].

    Valid for: thread cut to the end of the bolt, hole tapped from the rail face.
    Source: plane-geometry
    """
    return length - clamped


def needed_engagement(diameter: Metre, times: Ratio) -> Metre:
    """Thread that must be held in the block.

    e_min = k d

    Args:
        diameter: d, nominal thread diameter [m].
        times: k, 1 in steel, 1.25 to 1.5 in iron, 2 in aluminium [1].

    Returns:
        e_min [m].

    Valid for: ordinary bolts up to class 8.8 in sound threads.
    Source: common-practice
    """
    return times * diameter


def stud_standing(clamped: Metre, diameter: Metre, pitch: Metre) -> Metre:
    """How far a stud must stand out of the rail face to take its nut.

    h = c + 0.8 d + 2 P

    Args:
        clamped: c, flange, washer and seal together [m].
        diameter: d, nominal thread diameter [m].
        pitch: P, thread pitch; two threads show beyond the nut [m].

    Returns:
        h [m].

    Valid for: ordinary full-height hexagon nuts.
    Source: common-practice
    """
    return clamped + 0.8 * diameter + 2.0 * pitch
