"""How a sheet stands up to knocks: where it dents, and how much work tears it."""

from __future__ import annotations

import math

from sumpwright.quantities.units import Metre, Newton, NewtonPerMetre, Pascal, Ratio


def dent_load(yield_strength: Pascal, thickness: Metre) -> Newton:
    """Force on a small spot in the middle of a panel that leaves a dent to stay.

    P = 2 pi M, with M = sigma_y t**2 / 4

    The limit load of a plate under a point force; the panel's size does not enter.

    Args:
        yield_strength: sigma_y, of the sheet away from seams [Pa].
        thickness: t [m].

    Returns:
        P [N].

    Valid for: thin flat panels, a spot of a few thicknesses, slowly pressed.
    Source: plate-limit-load
    """
    return 2.0 * math.pi * 0.25 * yield_strength * thickness**2


def tearing_work(tensile_strength: Pascal, elongation: Ratio, thickness: Metre) -> NewtonPerMetre:
    """Work that a square metre of sheet takes up until it tears, for comparing metals.

    W = R_m A t

    Args:
        tensile_strength: R_m [Pa].
        elongation: A, at break [1].
        thickness: t [m].

    Returns:
        W, in joules for every square metre [N/m].

    Valid for: comparing sheets only; aluminium is weaker beside its seams.
    Source: derived
    """
    return tensile_strength * elongation * thickness
