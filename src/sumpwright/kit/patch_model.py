"""Patch plates: an opening in a panel through which the torch reaches, and the plate that closes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.geometry import Outline
from sumpwright.kit.internals_model import InternalTrouble
from sumpwright.quantities.units import FloatArray, Metre

PatchFit = Literal["lapped", "let in"]


@dataclass(frozen=True, slots=True, eq=False)
class PatchPlate:
    """An opening asked for, and how its plate goes in."""

    name: str  # of the plate among the parts
    panel: str  # name of the face whose sheet is opened
    at: FloatArray  # (3,) m, engine frame: a point on the panel, the opening's middle
    width: Metre  # of the opening, across the panel's drawing
    height: Metre  # of the opening, up the panel's drawing
    corner: Metre  # inside radius of its corners
    fit: PatchFit = "lapped"  # lapped: outside on the panel; let in: flush with it


@dataclass(frozen=True, slots=True, eq=False)
class PlacedPatch:
    """A patch plate in its panel."""

    plate: PatchPlate
    face: int  # cavity face of the panel
    panel: str  # name of the part that has the opening
    part: str  # name of the plate among the parts
    overlap: Metre  # of the plate over the panel, all round; 0 where it is let in
    opening: Outline  # as cut, in the axes of the face's own flat
    edge: FloatArray  # (n, 3) m, evenly spaced, closed: the root of its weld, on the panel's outer skin
    length: Metre  # of that weld


@dataclass(frozen=True, slots=True)
class Patches:
    """All patch plates of a kit."""

    placed: tuple[PlacedPatch, ...]
    trouble: tuple[InternalTrouble, ...]  # asked for, and not drawn
