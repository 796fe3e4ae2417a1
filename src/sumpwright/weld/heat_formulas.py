"""Heat of the arc, and how far it melts into a shop's welder."""

from __future__ import annotations

from sumpwright.quantities.units import Ampere, JoulePerMetre, MetrePerSecond, Ratio, Volt


def heat_input(current: Ampere, voltage: Volt, speed: MetrePerSecond, efficiency: Ratio) -> JoulePerMetre:
    """Heat that goes into a seam for every length of it.

    H = eta V I / v

    Args:
        current: I, of the arc [A].
        voltage: V, of the arc [V].
        speed: v, of travel [m/s].
        efficiency: eta, share of the arc's heat that enters the metal [1].

    Returns:
        H, heat for every length of seam [J/m].

    Valid for: a steady arc; 0.6 for tungsten arc, 0.8 for wire, both from memory.
    Source: arc-heat
    """
    return efficiency * voltage * current / speed


def working_share(current: Ampere, rated_current: Ampere, rated_duty: Ratio) -> Ratio:
    """Share of ten minutes that a machine can weld at a current, from its rating plate.

    d = min(1, d_r (I_r / I)**2)

    The same heat in the windings: what a plate's pairs of current and duty follow nearly.

    Args:
        current: I, asked for [A].
        rated_current: I_r, on the plate [A].
        rated_duty: d_r, that belongs to it [1].

    Returns:
        d, share of the time [1].

    Valid for: currents within the machine's range; a plate's own figure for the current goes first.
    Source: from-memory
    """
    return min(1.0, rated_duty * (rated_current / current) ** 2)
