"""Wall law and relaxation numbers of the viscous step, the same for both back ends."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from sumpwright.quantities.units import Metre, RadianPerSecond, Ratio, Second, SquareMetrePerSecond


@dataclass(frozen=True, slots=True)
class ViscousStep:
    """Numbers of one implicit viscous step."""

    alpha: Ratio  # viscosity * dt / cell2
    drag: Ratio  # of the wall, for one wall area over volume of 1/cell
    relax: Ratio
    sweeps: int


def oscillating_wall_factor(s: float) -> float:
    """Wall stress over viscosity * velocity / delta, where the velocity is known at s * delta from the wall.

    From Stokes' oscillating layer u = U (1 - exp(-(1 + i) y / delta)). Of the layer's loss,
    nu U^2 / delta, the part exp(-2 s) falls beyond y = s * delta and is left to the cells'
    own viscosity; the wall takes the rest: (1 - exp(-2 s)) / |1 - exp(-(1 + i) s)|^2. This is
    1/s close to the wall, where the cells resolve the layer, and 1 far outside it.
    """
    if s < 1e-6:
        return 1.0 / max(s, 1e-12)
    return (1.0 - math.exp(-2.0 * s)) / abs(1.0 - cmath.exp(-complex(1.0, 1.0) * s)) ** 2


def wall_drag(
    viscosity: SquareMetrePerSecond, omega: RadianPerSecond, cell: Metre, dt: Second
) -> ViscousStep:
    """Numbers of the implicit step for oil swinging at ``omega``."""
    delta = math.sqrt(2.0 * viscosity / omega)
    factor = oscillating_wall_factor(0.5 * cell / delta)
    alpha = viscosity * dt / cell**2
    jacobi = 6.0 * alpha / (1.0 + 6.0 * alpha)
    relax = 2.0 / (1.0 + math.sqrt(1.0 - jacobi * jacobi))
    rate = max(relax - 1.0, jacobi * jacobi * 0.25, 1e-6)
    sweeps = min(max(math.ceil(math.log(1e-3) / math.log(rate)), 1), 80)
    return ViscousStep(alpha, viscosity * dt / (delta * cell) * factor, relax, sweeps)
