"""What goes inside the pan and onto it: cut parts without a face, the pickup's cuts, bought parts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.body.fittings import Fitting, StandOff
from sumpwright.findings import Figure
from sumpwright.quantities.units import FloatArray, Metre, Radian

RUBBER = "rubber"
"""Stands where a part's metal would: cut with a knife, on no sheet of the shop's stock."""

FixingWay = Literal["tacked", "bolted"]


@dataclass(frozen=True, slots=True, eq=False)
class PlacedBoss:
    """A boss in its face."""

    fitting: Fitting
    face: str
    place: FloatArray  # (3,) m, middle of its hole on the oil side
    hole: Metre  # diameter of the hole in the sheet
    ring: str  # name of its ring; "" = none


@dataclass(frozen=True, slots=True, eq=False)
class PlacedPost:
    """A post on its face."""

    post: StandOff
    face: str
    place: FloatArray  # (3,) m, middle of its foot, on the skin it is welded to
    from_corner: tuple[Metre, Metre]  # right and up from the lower left of its flat, drawn side


@dataclass(frozen=True, slots=True, eq=False)
class PlacedPlate:
    """A round plate welded onto the outside of a face."""

    plate: str  # name of the part
    face: str
    place: FloatArray  # (3,) m, middle of its foot on the outer skin
    plate_diameter: Metre


@dataclass(frozen=True, slots=True, eq=False)
class Fixing:
    """How one inner wall is held, and what that means later."""

    wall: str
    way: FixingWay
    places: FloatArray  # (n, 3) m, middles of the bosses; none where it is tacked
    hole: Metre | None  # in the wall, for the bolts
    boss_diameter: Metre | None


@dataclass(frozen=True, slots=True)
class DoorSet:
    """What one door is made of; every piece fits one way round only."""

    wall: str
    opening: str
    flap: str  # part names
    bar: str
    stops: str
    holes: tuple[Metre, Metre]  # from the flap's left end, looking at its etched side
    opens: Radian  # how far the stops let it swing


@dataclass(frozen=True, slots=True, eq=False)
class TubeCut:
    """One mitre: the same template serves both tubes that meet there."""

    name: str  # "cut 1"
    place: FloatArray  # (3,) m
    turn: Radian  # by which the tube turns here
    girth: Metre  # round the outside of the tube
    curve: FloatArray  # (n, 2) m: along the girth from the back of the turn's outside, height over the lowest
    folds: FloatArray  # (k,) m, where a square tube's edges lie along the girth; none on a round one
    rise: Metre  # highest over lowest point of the cut


@dataclass(frozen=True, slots=True, eq=False)
class TubeBend:
    """One bend in a tube."""

    along: Metre  # from the tube's start on its centre line to where the bend begins
    angle: Radian
    radius: Metre  # of the centre line
    twist: Radian  # by which the bend's plane is turned against the one before, right-handed along the tube


@dataclass(frozen=True, slots=True, eq=False)
class TubePiece:
    """One length of tube between two cuts."""

    name: str  # "tube 1"
    length: Metre  # on the centre line, between the cuts
    longest: Metre  # to saw off: the longest line along its wall
    start_cut: str  # name of the cut; "square" at an open end
    end_cut: str
    twist: Radian  # from the outside of the start cut to that of the end cut, right-handed along the tube
    bends: tuple[TubeBend, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PickupTube:
    """The pickup's tube in pieces."""

    pieces: tuple[TubePiece, ...]
    cuts: tuple[TubeCut, ...]
    outside: Metre  # width over the outside
    stock_length: Metre  # of straight tube to buy, with a saw cut and 20 mm to hold for each piece


@dataclass(frozen=True, slots=True)
class BoughtPart:
    """Something to buy, and how to know at the bench that it is the right thing."""

    name: str
    quantity: str  # "16"; a sentence with {gaps} as size
    size: str  # a sentence with {gaps}
    material: str
    check: str  # magnet, stamp, measured wall
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class InternalTrouble:
    """A part inside the pan that cannot be made as asked."""

    where: str
    what: str  # a sentence about it, no full stop
    cure: str
    place: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class InternalClash:
    """Two parts that want the same place, or one that leaves the oil space."""

    parts: str
    volume: float  # m3
    place: tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Internals:
    """Everything inside; its flat parts stand among the kit's parts."""

    names: tuple[str, ...]  # of the flat parts
    loose: tuple[str, ...]  # those whose place in the pan is found while fitting
    fixings: tuple[Fixing, ...] = ()
    doors: tuple[DoorSet, ...] = ()
    tube: PickupTube | None = None
    bosses: tuple[PlacedBoss, ...] = ()
    bought: tuple[BoughtPart, ...] = ()
    trouble: tuple[InternalTrouble, ...] = ()
    clashes: tuple[InternalClash, ...] = ()
    posts: tuple[PlacedPost, ...] = ()
    plates: tuple[PlacedPlate, ...] = ()
