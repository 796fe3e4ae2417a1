"""Air in a closed pan, thin plates, and what a lid has to hold."""

from __future__ import annotations

import math

from sumpwright.quantities.units import (
    CubicMetre,
    CubicMetrePerSecond,
    Joule,
    Kelvin,
    KilogramPerCubicMetre,
    Metre,
    MolePerSecond,
    Newton,
    NewtonMetre,
    NewtonPerMetre,
    Pascal,
    Ratio,
    Second,
    SquareMetre,
)

GAS_CONSTANT = 8.314462618
"""J/(mol K), exact by definition of the SI since 2019, to its printed digits."""


def plate_stiffness(modulus: Pascal, thickness: Metre, poisson: Ratio) -> NewtonMetre:
    """How hard a sheet is to bend, for a strip one metre wide.

    D = E t**3 / (12 (1 - nu**2))

    Args:
        modulus: E, Young's modulus [Pa].
        thickness: t, of the sheet [m].
        poisson: nu, Poisson's ratio [1].
    Returns:
        D, bending stiffness [N m].
    Valid for: thin sheet of one even metal.
    Source: timoshenko-plates, chapter 1.
    """
    return modulus * thickness**3 / (12.0 * (1.0 - poisson**2))


def stored_energy(gauge_pressure: Pascal, volume: CubicMetre, atmosphere: Pascal) -> Joule:
    """Energy that the code for gas tests counts for air under pressure.

    E = 2.5 p V (1 - (p0 / p)**0.286), p = p0 + pg

    Args:
        gauge_pressure: pg, above the air outside [Pa].
        volume: V, of the closed space [m3].
        atmosphere: p0, absolute pressure of the air outside [Pa].
    Returns:
        E, stored energy [J].
    Valid for: air or nitrogen; counts the push on the air outside as well, so it is on the safe side.
    Source: asme-pcc-2, appendix 501-II.
    """
    p = atmosphere + gauge_pressure
    return float(2.5 * p * volume * (1.0 - (atmosphere / p) ** 0.286))


def free_energy(gauge_pressure: Pascal, volume: CubicMetre, atmosphere: Pascal) -> Joule:
    """Part of the stored energy that is left after the air outside is pushed away.

    Ef = E - p0 (V2 - V), V2 = V (p / p0)**(1 / 1.4)

    Args:
        gauge_pressure: pg, above the air outside [Pa].
        volume: V, of the closed space [m3].
        atmosphere: p0, absolute pressure of the air outside [Pa].
    Returns:
        Ef, energy that can throw something [J].
    Valid for: air that expands too fast to take up heat.
    Source: gas-law, adiabatic expansion.
    """
    p = atmosphere + gauge_pressure
    grown = volume * (p / atmosphere) ** (1.0 / 1.4)
    return float(stored_energy(gauge_pressure, volume, atmosphere) - atmosphere * (grown - volume))


def lid_thrust(gauge_pressure: Pascal, area: SquareMetre) -> Newton:
    """Force with which the air lifts a flat lid.

    F = pg A

    Args:
        gauge_pressure: pg, above the air outside [Pa].
        area: A, that the air presses on [m2].
    Returns:
        F, thrust [N].
    Valid for: any flat lid.
    Source: gas-law, pressure times area.
    """
    return gauge_pressure * area


def standard_leak(
    start: Pascal,
    end: Pascal,
    start_temperature: Kelvin,
    end_temperature: Kelvin,
    volume: CubicMetre,
    time: Second,
) -> CubicMetrePerSecond:
    """Air lost in a second, counted at 0 degC and 101 325 Pa.

    Q = V (T0 / p0) (p1 / T1 - p2 / T2) / dt

    Args:
        start: p1, absolute pressure at the start [Pa].
        end: p2, absolute pressure at the end [Pa].
        start_temperature: T1, of the air inside [K].
        end_temperature: T2, of the air inside [K].
        volume: V, closed in [m3].
        time: dt, between the two readings [s].
    Returns:
        Q, standard air lost [m3/s].
    Valid for: a vessel that keeps its volume; a thin pan breathes, so only as a screen.
    Source: gas-law, amount of air before and after.
    """
    return volume * (273.15 / 101_325.0) * (start / start_temperature - end / end_temperature) / time


def leak_in_moles(
    start: Pascal,
    end: Pascal,
    start_temperature: Kelvin,
    end_temperature: Kelvin,
    volume: CubicMetre,
    time: Second,
) -> MolePerSecond:
    """Amount of air that passes a leak in a second, by the change of pressure over temperature.

    n = V / R (p2 / T2 - p1 / T1) / dt

    Args:
        start: p1, absolute pressure at the start [Pa].
        end: p2, absolute pressure at the end [Pa].
        start_temperature: T1, of the air inside [K].
        end_temperature: T2, of the air inside [K].
        volume: V, closed in [m3].
        time: dt, between the two readings [s].
    Returns:
        n, amount that comes in, negative where it goes out [mol/s].
    Valid for: a vessel that keeps its volume.
    Source: cfr-1065-644, equation 1065.644-1.
    """
    return volume / GAS_CONSTANT * (end / end_temperature - start / start_temperature) / time


def pressure_of_warming(pressure: Pascal, temperature: Kelvin, warming: Kelvin) -> Pascal:
    """By how much closed-in air changes its pressure when it warms.

    dp = p dT / T

    Args:
        pressure: p, absolute [Pa].
        temperature: T, of the air [K].
        warming: dT, positive where it warms [K].
    Returns:
        dp, change of pressure [Pa].
    Valid for: small changes; a vessel that keeps its volume.
    Source: gas-law, at constant volume.
    """
    return pressure * warming / temperature


def detectable_leak(
    gauge_step: Pascal,
    temperature_step: Kelvin,
    pressure: Pascal,
    temperature: Kelvin,
    volume: CubicMetre,
    time: Second,
) -> CubicMetrePerSecond:
    """Smallest leak that a decay test can tell from nothing, counted as standard air a second.

    Q = 2 V (T0 / p0) / (T dt) sqrt(2 (sp**2 + (p sT / T)**2)), s = step / sqrt(3)

    Args:
        gauge_step: how far off one pressure reading may be, either way [Pa].
        temperature_step: how far off one reading of the air's temperature may be, either way [K].
        pressure: p, absolute, during the test [Pa].
        temperature: T, of the air [K].
        volume: V, closed in [m3].
        time: dt, between the two readings [s].
    Returns:
        Q, twice the standard uncertainty of the leak, standard air [m3/s].
    Valid for: readings off by as much either way with equal chance, a vessel that keeps its volume.
    Source: derived, from the gas law and independent readings.
    """
    pressure_u = gauge_step / math.sqrt(3.0)
    warming_u = pressure * temperature_step / math.sqrt(3.0) / temperature
    drop_u = math.sqrt(2.0 * (pressure_u**2 + warming_u**2))
    return 2.0 * volume * (273.15 / 101_325.0) * drop_u / (temperature * time)


def lift_between_bolts(
    line_load: NewtonPerMetre, pitch: Metre, modulus: Pascal, width: Metre, thickness: Metre
) -> Metre:
    """How far a flat bar lifts off its gasket half way between two bolts.

    y = q s**4 / (384 E I), I = b t**3 / 12

    Args:
        line_load: q, force along the bar for each metre [N/m].
        pitch: s, between the bolts [m].
        modulus: E, Young's modulus [Pa].
        width: b, of the bar [m].
        thickness: t, of the bar [m].
    Returns:
        y, lift [m].
    Valid for: a bar that runs on over its bolts; small against its thickness.
    Source: beam-theory, both ends held.
    """
    return line_load * pitch**4 / (384.0 * modulus * width * thickness**3 / 12.0)


def head_pressure(density: KilogramPerCubicMetre, height: Metre) -> Pascal:
    """Pressure at the bottom of a liquid that stands in the pan.

    p = rho g h

    Args:
        density: rho, of the liquid [kg/m3].
        height: h, of the liquid above the place [m].
    Returns:
        p, above the air outside [Pa].
    Valid for: a liquid at rest.
    Source: gas-law, any text on fluids at rest.
    """
    return density * 9.80665 * height
