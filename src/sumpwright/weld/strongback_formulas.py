"""How hard the bolts of the strongback are drawn."""

from __future__ import annotations

import math

from sumpwright.quantities.units import Metre, Newton, NewtonMetre, Pascal, Ratio, SquareMetre


def stress_area(diameter: Metre, pitch: Metre) -> SquareMetre:
    """Section of a metric or unified bolt that carries its pull.

    A = pi/4 (d - 0.9382 p)**2

    Args:
        diameter: d, nominal [m].
        pitch: p [m].

    Returns:
        A [m2].

    Valid for: threads of the 60 degree ISO profile.
    Source: iso-898-1
    """
    return 0.25 * math.pi * (diameter - 0.9382 * pitch) ** 2


def bolt_pull(area: SquareMetre, proof: Pascal, share: Ratio) -> Newton:
    """Pull of a bolt drawn to a share of its proof stress.

    F = k sigma_p A

    Args:
        area: A, stress area [m2].
        proof: sigma_p, 600 MPa for class 8.8 up to M16 [Pa].
        share: k, 0.75 where the bolt is used again [1].

    Returns:
        F [N].

    Valid for: steel bolts in nuts of their class.
    Source: iso-898-1
    """
    return share * proof * area


def bolt_torque(pull: Newton, diameter: Metre, friction: Ratio) -> NewtonMetre:
    """Torque that draws a bolt to a pull.

    T = K F d

    Args:
        pull: F [N].
        diameter: d, nominal [m].
        friction: K, about 0.20 dry and 0.15 oiled [1].

    Returns:
        T [N m].

    Valid for: an estimate within a quarter either way.
    Source: from-memory
    """
    return friction * pull * diameter
