"""What each pair of metals is welded with, and whether this shop's welder can."""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.quantities.units import Ampere, Kelvin, Metre, Ratio
from sumpwright.tables.welding import FillerChoice, Settings
from sumpwright.weld.model import Welder


@dataclass(frozen=True, slots=True)
class SoundCoupon:
    """A pair that this shop has welded as a test, and cut through or bent."""

    metal_a: str
    metal_b: str
    thickness: Metre  # of the thinner sheet


@dataclass(frozen=True, slots=True)
class FillerInputs:
    """Everything the choice of filler needs besides the kit."""

    welder: Welder
    hot_oil: Kelvin
    rods: tuple[str, ...] | None = None  # fillers on the rack, by their ids; None = not said
    welder_said: bool = True  # the shop's own card, not the shipped one
    sound: tuple[SoundCoupon, ...] = ()


@dataclass(frozen=True, slots=True)
class WeldPair:
    """One pair of metals and thicknesses that is welded in this pan."""

    metal_a: str  # of the thinner sheet
    metal_b: str
    thin: Metre
    thick: Metre
    what: str  # "sheet to sheet", "sheet to flange", "flange joints", or kinds of seams inside
    seams: int
    length: Metre
    first: str  # one of its seams, in shop words
    place: tuple[float, float, float]
    choice: FillerChoice | None  # None = not welded, or nothing is known
    filler: str  # what will be used: from the rack where it is known; "" = none
    settings: Settings | None  # None = outside the table
    current: str  # "AC" or "DC"
    working_share: Ratio | None  # of the time at the middle of the range; None = outside the machine
    amps: tuple[Ampere, Ampere] | None  # range for this pair
    needs_purge: bool
    proven: bool  # by a coupon of this pair


@dataclass(frozen=True, slots=True)
class FillerPlan:
    """Answer: every pair once, the longest first."""

    pairs: tuple[WeldPair, ...]
    hot_oil: Kelvin
