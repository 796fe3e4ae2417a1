"""Rough lumps in, one exact cavity with named faces out.

The cavity is the oil-side size: sheet lies wholly outside it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from sumpwright.body.fittings import Fitting, Jacking, StandOff, StoneGuard
from sumpwright.body.pickup_line import PickupLine
from sumpwright.body.rail_shape_model import UnevenRail
from sumpwright.body.surroundings import Fit, Surroundings
from sumpwright.body.wall_model import Division, InnerWall
from sumpwright.geometry import Outline, Plane, Surface
from sumpwright.quantities.units import FloatArray, IntArray, Metre, Radian
from sumpwright.rail import HolePattern

FaceRole = Literal["wall", "floor", "roof", "rail"]
"""rail = the open top in the rail plane; it becomes no sheet."""


@dataclass(frozen=True, slots=True, eq=False)
class Lump:
    """A rough solid: an outline swept between its top and its floor plane.

    plan: outline in x, y, swept down from ``top`` to ``floor``; walls slope inwards
    (positive) going down. side: outline in x, z swept across from ``across_from`` to
    ``across_to`` (y). A lump drawn in the vehicle's axes carries them as its own; its floor
    is a plane of the engine frame all the same.
    """

    name: str
    adds: bool  # False cuts it away
    view: Literal["plan", "side"]
    outline: FloatArray  # (n, 2) m, anticlockwise
    floor: Plane | None  # plan only; normal points out of the lump (down)
    top: Metre = 0.0  # plan only; z of the top
    wall_slope: Radian = 0.0
    across_from: Metre = 0.0
    across_to: Metre = 0.0
    floor_words: str = ""  # "level with the ground, 118 mm deep at x 60 mm, y 0 mm"
    own_axes: FloatArray | None = None  # (3, 3) columns: the lump's own x, y, z in engine axes; None = these
    own_origin: FloatArray | None = None  # (3,) m, engine frame; outline, top and across count from it
    drawn_as: Literal["", "outline", "rectangle"] = ""  # key whose corners are the outline's; "" = none is
    drawn_depth: Metre | None = None  # of the floor, where the key ``depth`` alone moves it


@dataclass(frozen=True, slots=True, eq=False)
class DipstickTube:
    """``stop`` is where the stick's shoulder rests, ``axis`` points down the stick's last straight leg.

    A straight tube has no bends; in a bent one the stick runs from the stop through the
    bends, and from the last bend along the axis.
    """

    stop: FloatArray  # (3,) m
    axis: FloatArray  # (3,) unit vector
    stick_length: Metre  # shoulder to tip, along the stick
    bends: FloatArray | None = None  # (n, 3) m, corners of the tube's centre line below the stop


@dataclass(frozen=True, slots=True, eq=False)
class Pickup:
    """Where the pump draws."""

    mouth: FloatArray  # (3,) m, centre of the mouth
    mouth_diameter: Metre
    line: PickupLine | None = None  # tube, screen and joints; None = not given


@dataclass(frozen=True, slots=True, eq=False)
class FlangeOutline:
    """What the rail face leaves for the flange."""

    outside: Metre  # metal beyond hole centres
    land: Metre  # least sealing width between a hole's edge and the oil side


DutyKind = Literal["storage", "pressure", "structural", "attached"]
"""What the old pan did: held oil, carried oil under pressure, carried load, held a part."""


@dataclass(frozen=True, slots=True)
class OldPanDuty:
    """One thing the old pan did; ``moved_to`` says what does it now, None = nothing yet."""

    name: str  # "filter pressure passage", "gearbox brace", "pickup"
    kind: DutyKind
    moved_to: str | None = None


@dataclass(frozen=True, slots=True)
class OldPan:
    """What the old pan did besides holding oil."""

    duties: tuple[OldPanDuty, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class BodyInputs:
    """Everything the body stage needs besides the hole pattern."""

    lumps: tuple[Lump, ...]
    sheet: Metre
    flange_thickness: Metre
    flange: FlangeOutline
    up: FloatArray  # (3,) unit vector, the vehicle's up in engine axes
    dipstick: DipstickTube | None = None
    pickup: Pickup | None = None
    drain: FloatArray | None = None  # (3,) m, where the user wants the plug; None = lowest point
    snap_distance: Metre = 2e-6  # nearly equal planes of the input are one plane
    snap_angle: Radian = 2e-4
    old_pan: OldPan = OldPan()
    beside_opening: Metre = 0.008  # flange metal beyond the walls' outer face, for the bead
    walls: tuple[InnerWall, ...] = ()  # inner walls and roof baffles
    surroundings: Surroundings = field(default_factory=Surroundings)
    fittings: tuple[Fitting, ...] = ()
    stand_offs: tuple[StandOff, ...] = ()
    guard: StoneGuard | None = None
    jacking: Jacking | None = None  # None = not said


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One exact plane face of the cavity; ``plane.normal`` points out of the oil."""

    index: int
    name: str  # shop words, unique: "sump floor", "tray left wall"
    role: FaceRole
    lump: str  # the lump whose surface it is
    plane: Plane
    loops: tuple[IntArray, ...]  # vertex indices; first anticlockwise seen from outside, others are holes
    area: float  # m2


@dataclass(frozen=True, slots=True)
class Edge:
    """A straight edge between two faces.

    ``start`` to ``end`` runs anticlockwise round ``face_a`` seen from outside.
    ``corner_angle`` is the angle inside the oil (below pi at an outward corner, above
    pi at an inward one).
    """

    index: int
    face_a: int
    face_b: int
    start: int
    end: int
    length: Metre
    corner_angle: Radian
    is_inward: bool


@dataclass(frozen=True, slots=True, eq=False)
class Cavity:
    """The oil space: exact planes, exact corners, and the triangles that follow from them."""

    vertices: FloatArray  # (n, 3) m; a corner of three or more faces each
    faces: tuple[Face, ...]
    edges: tuple[Edge, ...]
    triangles: IntArray  # (m, 3) into vertices, anticlockwise seen from outside
    face_of_triangle: IntArray  # (m,)
    lump_volumes: tuple[tuple[str, float], ...]  # m3 each lump adds (or cuts, negative), in order
    volume: float  # m3, below the rail plane

    def surface(self) -> Surface:
        """The closed surface including the rail face."""
        return Surface(self.vertices, self.triangles)


@dataclass(frozen=True, slots=True)
class GateBreach:
    """A place where the shape is too small or too sharp for this sheet."""

    rule: Literal["edge", "face", "angle", "corner", "solid"]
    where: str
    value: float
    limit: float
    unit: str
    place: tuple[float, float, float]
    cure: str


@dataclass(frozen=True, slots=True, eq=False)
class PanBody:
    """Answer of the body stage; ``cavity`` is None where the lumps make no single solid."""

    inputs: BodyInputs
    pattern: HolePattern
    cavity: Cavity | None
    trouble: tuple[tuple[str, str], ...]  # (what is wrong with the lumps, what would cure it)
    gate: tuple[GateBreach, ...]
    flange_outside: Outline | None  # the flange's outer edge, seen from above, anticlockwise
    division: Division | None = None  # compartments and the ways between them; None without inner walls
    fit: Fit | None = None  # None where nothing is known of what stands round the pan
    uneven: UnevenRail | None = None  # None where the rail is one plane
