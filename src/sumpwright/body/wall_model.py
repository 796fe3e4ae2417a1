"""Inner walls, roof baffles and their openings as asked, and the compartments that follow.

Both sides read them: the oil side for flow, the metal side for parts.

          y_axis (up in the wall)
             |   +--window--+
   origin    |   |          |        normal = x_axis cross y_axis, towards the viewer
       o-----+---+----------+----> x_axis (along the wall)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.geometry import FlatFrame, Plane, Surface
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre, SquareMetre

WallKind = Literal["wall", "roof baffle"]
CutKind = Literal["window", "door", "drain slot"]
OpeningKind = Literal["window", "door", "drain slot", "past the wall"]


@dataclass(frozen=True, slots=True)
class Door:
    """A flap over an opening that lets oil through one way only."""

    passes: Literal["with normal", "against normal"]
    leak_gap: Metre  # between flap and wall when shut
    overlap: Metre  # of the flap beyond the opening, each side
    material: str = "not said"  # rubber compound or hinged metal
    lag: float = 0.05  # s, to open or shut
    hinge: Literal["top", "side"] = "top"


@dataclass(frozen=True, slots=True, eq=False)
class WallCut:
    """An opening cut into an inner wall, in the wall's own axes."""

    name: str
    kind: CutKind
    outline: FloatArray  # (n, 2) m, anticlockwise seen against the normal
    diameter: Metre | None = None  # of a round opening; the outline then has the same area
    door: Door | None = None


@dataclass(frozen=True, slots=True, eq=False)
class InnerWall:
    """A flat panel in the cavity; where nothing limits it, it reaches from wall to wall."""

    name: str
    kind: WallKind
    frame: FlatFrame  # the panel's middle plane and its own axes
    thickness: Metre
    limits: tuple[Plane, ...] = ()  # the panel keeps to the inner side of each
    outline: FloatArray | None = None  # (n, 2) m in the wall's axes; None = as far as the limits go
    cuts: tuple[WallCut, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class PlacedCut:
    """An opening as far as it lies in its panel."""

    cut: WallCut
    outline: FloatArray  # (n, 2) m in the wall's axes, anticlockwise
    area: SquareMetre


@dataclass(frozen=True, slots=True, eq=False)
class PanelSide:
    """One straight side of a panel and what it meets."""

    start: FloatArray  # (2,) m in the wall's axes
    end: FloatArray  # (2,) m
    meets: str  # name of a cavity face or of another inner wall; "" = a free edge
    face: int | None  # cavity face index


@dataclass(frozen=True, slots=True, eq=False)
class PlacedWall:
    """A panel as it lies in the cavity, middle plane, before clearances of the metal."""

    wall: InnerWall
    outlines: tuple[FloatArray, ...]  # (n, 2) m in the wall's axes; anticlockwise = metal, clockwise = hole
    cuts: tuple[PlacedCut, ...]
    sides: tuple[PanelSide, ...]  # of the outer lines
    area: SquareMetre  # metal, less its cuts
    displaced: CubicMetre  # oil that the metal takes the place of


@dataclass(frozen=True, slots=True, eq=False)
class Compartment:
    """A part of the cavity that inner walls set apart."""

    index: int
    name: str  # "around the pickup", "front", ...
    surface: Surface  # closed, exact planes and corners, partitions included
    plane_normals: FloatArray  # (m, 3) of each triangle, out of the compartment
    volume: CubicMetre  # up to the rail plane; metal of the walls not taken off
    centre: FloatArray  # (3,) m, of its volume
    faces: tuple[int, ...]  # cavity faces that bound it


@dataclass(frozen=True, slots=True, eq=False)
class Opening:
    """A way from one compartment to another through or past a wall."""

    index: int
    name: str
    kind: OpeningKind
    wall: str
    from_compartment: int
    to_compartment: int
    outlines: tuple[FloatArray, ...]  # (n, 3) m, engine frame; outer line first, then islands
    area: SquareMetre
    centre: FloatArray  # (3,) m
    normal: FloatArray  # (3,) unit, from the first compartment to the second
    thickness: Metre  # of the wall round it; 0 past a wall
    hydraulic_diameter: Metre  # four times the area over the girth
    reaches_rail: bool  # carried on upwards, where the space above the rail is open
    door: Door | None = None
    passes: Literal["both", "forward", "backward"] = "both"  # forward = from the first to the second


@dataclass(frozen=True, slots=True, eq=False)
class Division:
    """The cavity parted by its inner walls."""

    compartments: tuple[Compartment, ...]
    openings: tuple[Opening, ...]
    walls: tuple[PlacedWall, ...]
    trouble: tuple[tuple[str, str, str], ...]  # (wall, what is wrong, what would cure it)
