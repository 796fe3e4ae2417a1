"""What the flange is bolted to while it is welded."""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.kit.model import FlatPart
from sumpwright.quantities.units import FloatArray, Metre, NewtonMetre

STIFF_ENOUGH = 8.0
"""Bending stiffness of the plate over the flange's, below which the plate bows with it: common practice."""


@dataclass(frozen=True, slots=True, eq=False)
class ChillBar:
    """A bar that is held along one seam and takes its heat away."""

    seam: str
    length: Metre
    side: str  # "inside" or "outside"
    bar: str = ""  # name of its drawing


@dataclass(frozen=True, slots=True, eq=False)
class StrongbackGear:
    """What the flange is bolted to, and what else holds and cools."""

    plate: FlatPart
    clamps: FloatArray  # (n, 2) m, engine x and y
    between: tuple[tuple[str, str], ...]  # the bolts on either side of each clamp
    chills: tuple[ChillBar, ...]
    chill_metal: str
    stiffness: float  # of the plate against the flange in bending, for the same width
    mass: float  # kg
    torques: tuple[tuple[str, NewtonMetre], ...]  # by thread, steel bolts of class 8.8 in nuts, dry
    bars: tuple[FlatPart, ...] = ()  # the chill bars as flats
