"""Book formulas of oil at rest: floats in, floats out."""

from __future__ import annotations

import math

from sumpwright.quantities.units import (
    CubicMetre,
    CubicMetrePerSecond,
    Hertz,
    Kelvin,
    KilogramPerCubicMetre,
    Metre,
    MetrePerCubicMetre,
    Ratio,
    Second,
    SquareMetre,
    SquareMetrePerSecond,
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


def viscosity_line_slope(
    viscosity_1: SquareMetrePerSecond,
    temperature_1: Kelvin,
    viscosity_2: SquareMetrePerSecond,
    temperature_2: Kelvin,
) -> Ratio:
    """Slope of an oil's line on the viscosity-temperature chart, from two measured points.

    B = (W1 - W2) / (log10 T2 - log10 T1), W = log10 log10 (nu + 0.7), nu in mm2/s

    Args:
        viscosity_1: nu1, kinematic viscosity at T1 [m2/s].
        temperature_1: T1 [K].
        viscosity_2: nu2, kinematic viscosity at T2 [m2/s].
        temperature_2: T2 [K].

    Returns:
        B, slope [1].

    Valid for: viscosities of 2 mm2/s and more, above the cloud point, below initial boiling.
    Source: astm-d341
    """
    rise = _chart_height(viscosity_1) - _chart_height(viscosity_2)
    return rise / (math.log10(temperature_2) - math.log10(temperature_1))


def viscosity_line_height(viscosity_1: SquareMetrePerSecond, temperature_1: Kelvin, slope: Ratio) -> Ratio:
    """Height of an oil's line on the viscosity-temperature chart.

    A = log10 log10 (nu1 + 0.7) + B log10 T1, nu in mm2/s

    Args:
        viscosity_1: nu1, kinematic viscosity at T1 [m2/s].
        temperature_1: T1 [K].
        slope: B [1].

    Returns:
        A, height [1].

    Valid for: viscosities of 2 mm2/s and more, above the cloud point, below initial boiling.
    Source: astm-d341
    """
    return _chart_height(viscosity_1) + slope * math.log10(temperature_1)


def viscosity_at(height: Ratio, slope: Ratio, temperature: Kelvin) -> SquareMetrePerSecond:
    """Kinematic viscosity of an oil at a temperature, from its line on the chart.

    log10 log10 (nu + 0.7) = A - B log10 T, nu in mm2/s

    Args:
        height: A [1].
        slope: B [1].
        temperature: T [K].

    Returns:
        nu, kinematic viscosity [m2/s].

    Valid for: viscosities of 2 mm2/s and more, above the cloud point, below initial boiling; below 0 degC it
        leaves out wax and yield stress.
    Source: astm-d341
    """
    chart_height = height - slope * math.log10(temperature)
    return (math.pow(10.0, math.pow(10.0, chart_height)) - 0.7) * 1e-6


def pump_flow_at_speed(
    known_flow: CubicMetrePerSecond, known_speed: Hertz, speed: Hertz
) -> CubicMetrePerSecond:
    """Pump delivery at another speed, up to the delivery known.

    Q = Q1 min(n / n1, 1)

    Args:
        known_flow: Q1, delivery at n1 [m3/s].
        known_speed: n1, engine speed of the known delivery [Hz].
        speed: n, engine speed [Hz].

    Returns:
        Q, delivery [m3/s].

    Valid for: a crank-driven displacement pump. Above n1 the relief valve is taken to be open. Where it is
        open at n1 already, the true delivery below n1 is up to 1.6 times larger.
    Source: common-practice
    """
    return known_flow * min(speed / known_speed, 1.0)


def pump_flow_from_engine(engine_displacement: CubicMetre, speed: Hertz, share: Ratio) -> CubicMetrePerSecond:
    """Pump delivery where nothing is known but the engine's size.

    Q = q V n, q = 0.003 to 0.0045

    Args:
        engine_displacement: V, swept volume of the engine [m3].
        speed: n, engine speed [Hz].
        share: q, pump delivery per turn over engine displacement [1].

    Returns:
        Q, delivery [m3/s].

    Valid for: crank-driven pumps of 2.4 to 3.5 L petrol engines, relief closed.
    Source: pump-service-sheets
    """
    return share * engine_displacement * speed


def _chart_height(viscosity: SquareMetrePerSecond) -> float:
    return math.log10(math.log10(viscosity * 1e6 + 0.7))
