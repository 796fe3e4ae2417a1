"""Flat parts, their joints, and the proof that they go together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.body import PanBody
from sumpwright.body.rail_shape_model import LandTrouble
from sumpwright.geometry import Circle, FlatFrame, Outline, Stroke
from sumpwright.kit.internals_model import RUBBER, FixingWay, Internals
from sumpwright.kit.nest_model import NestPlan, Offcut, Price, Rates
from sumpwright.kit.patch_model import Patches, PatchPlate
from sumpwright.quantities.units import CubicMetre, FloatArray, Kilogram, Metre, Radian, SquareMetre
from sumpwright.tables.materials import find_material

JointKind = Literal[
    "open corner",
    "overlapped",
    "full lap",
    "wall under flange",
    "inward cut back",
    "inward lap",
    "bend",
    "flange joint",
    "patch plate",
]


@dataclass(frozen=True, slots=True)
class JointChoice:
    """A joint that the user wants along the seam between two faces, instead of the usual one.

    ``part_a`` is the sheet that covers (full lap, overlapped) or runs through (inward lap).
    """

    part_a: str  # name of a face
    part_b: str
    kind: JointKind


@dataclass(frozen=True, slots=True)
class Folder:
    """What this shop bends sheet with: a hand folder or a press brake, set up for the pan's sheet."""

    kind: Literal["hand folder", "press brake"]
    radius: Metre  # inside radius that it makes in this sheet
    thickest: Metre  # sheet that it can bend
    longest: Metre  # fold
    least_leg: Metre  # measured outside
    sharpest: Radian  # greatest angle by which it turns a sheet
    behind: Metre  # depth that the clamp or punch needs clear behind the fold line, on the hollow side
    above: Metre  # height of clamp or punch over the sheet
    only_square: bool = False


@dataclass(frozen=True, slots=True)
class BendCoupon:
    """A strip bent in this shop and measured; it beats the table."""

    material: str  # id in tables/materials
    thickness: Metre
    radius: Metre
    k: float


@dataclass(frozen=True, slots=True)
class CutterRules:
    """What the cutting process can do in this thickness (shop file)."""

    process: str
    tolerance: Metre  # +- on position and size
    least_hole: Metre
    least_web: Metre
    least_edge: Metre
    kerf: Metre | None  # None = the cutter compensates
    tolerance_class: Literal[1, 2] | None = None  # of ISO 9013, where the tolerance comes from there


@dataclass(frozen=True, slots=True)
class StockSheet:
    """A size in which the shop can get one metal in one thickness."""

    material: str  # id in tables/materials
    thickness: Metre
    length: Metre
    width: Metre


@dataclass(frozen=True, slots=True, eq=False)
class KitInputs:
    """Everything the kit stage needs besides the body."""

    material: str  # id in tables/materials
    flange_material: str
    density: float  # kg/m3
    flange_density: float  # kg/m3
    expansion_pan: float  # 1/K
    expansion_block: float  # 1/K
    temperature_rise: float  # K, rail measured to engine hot
    cutter: CutterRules
    flange_cutter: CutterRules
    seam_overlap: float = 0.0  # of the thickness, 0 = open corner
    seed: int = 1
    stock: tuple[StockSheet, ...] = ()  # sheet sizes at hand; none named for a metal = any size
    flange_in_segments: bool = False  # cut in pieces and welded together, instead of whole
    nests: bool = False  # lay the parts on sheets: the shop cuts itself, or asks for it
    sheet_margin: Metre = 0.010  # kept free along the edge of every sheet in a nest
    offcuts: tuple[Offcut, ...] = ()
    rates: Rates | None = None  # None = no price is worked out
    joint_choices: tuple[JointChoice, ...] = ()
    folder: Folder | None = None  # None = nothing is bent
    coupons: tuple[BendCoupon, ...] = ()
    etched: bool = True  # False: parts get no marks, where only numbers are wanted
    baffle_fixing: FixingWay = "bolted"  # of roof baffles; inner walls are tacked
    patch_plates: tuple[PatchPlate, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """Etched lines: a name, 'inside', 'front', match marks."""

    words: str
    strokes: tuple[Stroke, ...]
    kind: Literal["name", "side", "front", "match", "fold", "place"]


@dataclass(frozen=True, slots=True)
class Fold:
    """One bend of a flat part, in the flat's own axes.

    The line is the middle of the strip of ``allowance`` width that the bend takes up.
    """

    edge: int  # of the cavity
    fixed: int  # cavity face on the side that is folded first, or the base
    moving: int  # cavity face on the other side
    start: tuple[float, float]  # m
    end: tuple[float, float]  # m
    turn: Radian
    radius: Metre  # inside
    allowance: Metre
    towards_viewer: bool  # the moving side comes up towards the one who looks at the drawn side
    order: int = 0  # 1 = first fold
    k: float = 0.0  # neutral line's depth from the inside over the thickness
    source: str = ""  # of k


@dataclass(frozen=True, slots=True, eq=False)
class Roll:
    """A strip rolled round an axis: its length (x of the flat) goes round, its width along the axis.

    The middle of its length lies at the crown, straight below the axis where the hollow
    faces up, straight above it otherwise; the drawn side is the lower one.
    """

    frame: FlatFrame  # across the axis, y up; the strip's width runs along its normal from its origin
    centre: tuple[float, float]  # of the round, in that frame [m]
    radius: Metre  # inside
    hollow_up: bool
    dressed_to: Metre | None  # height (y of the frame) at which its ends are dressed off; None = left square


@dataclass(frozen=True, slots=True, eq=False)
class FlatPart:
    """One part to cut, drawn as seen from the pan's outside (the flange: from below)."""

    name: str
    face: int | None  # cavity face; None for the flange and loose parts
    outline: Outline
    cut_outs: tuple[Outline, ...]
    holes: tuple[Circle, ...]
    marks: tuple[Mark, ...]
    frame: FlatFrame  # of the drawn side; metal lies from the frame's plane along -normal
    thickness: Metre
    material: str
    quantity: int = 1
    note: str = ""
    folds: tuple[Fold, ...] = ()  # a bent part: ``face`` and ``frame`` are those of its base
    faces: tuple[tuple[int, float, float], ...] = ()  # bent part: face and a point of it in the flat, m
    roll: Roll | None = None  # ``frame`` then lies against the crown

    # frame.normal points to the viewer; for a wall or floor it points out of the pan and
    # the drawn side is the outer skin, so the oil side is at depth ``thickness``.


RUBBER_DENSITY = 1850.0
"""kg/m3, of fluoro rubber: from memory."""


def is_flange(part: FlatPart) -> bool:
    """Flange and flange pieces belong to no face of the oil side, and bear the name."""
    return part.face is None and part.name.split()[0] == "flange"


def density_of(part: FlatPart, inputs: KitInputs) -> float:
    """Density of a part's stuff [kg/m3]."""
    if part.material == RUBBER:
        return RUBBER_DENSITY
    if part.material not in (inputs.material, inputs.flange_material):
        # The pickup's plates follow their tube.
        other = find_material(part.material)
        if other is not None:
            return other.density.value
    return inputs.flange_density if is_flange(part) else inputs.density


@dataclass(frozen=True, slots=True)
class Joint:
    """What happens along one edge of the cavity."""

    edge: int | None  # cavity edge index; None where a wall meets the flange
    part_a: str
    part_b: str
    kind: JointKind
    corner_angle: Radian
    length: Metre
    groove_angle: Radian | None
    fill_area: SquareMetre | None  # of weld metal, filled flat
    start: tuple[float, float, float]  # engine frame m, on the oil-side edge
    end: tuple[float, float, float]
    legs: tuple[tuple[float, float, float], tuple[float, float, float]] | None = None

    # A seam off the cavity's edges runs along its own root, and has legs: unit vectors from
    # there along the skins of parts a and b, on the welder's side.


@dataclass(frozen=True, slots=True)
class Gap:
    """A place where the rebuilt kit does not close or collides."""

    kind: Literal["gap", "overlap", "intrusion", "escape", "outline"]
    where: str
    size: float  # m, or m3 for overlap and intrusion
    limit: float
    place: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class RebuildReport:
    """The kit built up again from its flats and measured."""

    worst_gap: Metre
    overlap: CubicMetre
    intrusion: CubicMetre
    rays: int
    escapes: int
    gaps: tuple[Gap, ...]
    refused: bool
    why: str = ""
    slits: int = 0  # of the rays, those that find a slit narrower than the gap allowed


@dataclass(frozen=True, slots=True)
class FlangeHole:
    """One hole of the flange and why it has that size."""

    hole: str
    diameter: Metre
    standard_clearance: Metre  # radial, ISO 273 medium
    from_measuring: Metre  # radial, u95
    from_cutter: Metre  # radial
    from_heat: Metre  # radial, thermal slip from the anchor
    needed: Metre  # radial total


@dataclass(frozen=True, slots=True)
class LandSpot:
    """Where two seals meet and a dab of liquid sealant goes."""

    land: str
    place: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class OnLands:
    """How the flange follows a rail that is not one plane."""

    spots: tuple[LandSpot, ...]
    trouble: tuple[LandTrouble, ...]  # lands that the kit could not follow


@dataclass(frozen=True, slots=True, eq=False)
class SheetKit:
    """Answer of the kit stage."""

    body: PanBody
    parts: tuple[FlatPart, ...]
    joints: tuple[Joint, ...]
    rebuild: RebuildReport
    flange_holes: tuple[FlangeHole, ...]
    anchor: FloatArray  # (2,) m, point from which the flange slips when hot
    mass: Kilogram
    weld_length: Metre
    nests: NestPlan | None = None  # None = not asked for
    price: Price | None = None  # None = no rates
    internals: Internals | None = None  # None = nothing inside is asked for
    lands: OnLands | None = None  # None = the flange is one flat plate
    patches: Patches | None = None  # None = none are asked for
