"""A scan of the rail or of the old pan, and what was seen of the rail in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.quantities.units import CubicMetre, FloatArray, IntArray, Metre, Radian, Ratio, SquareMetre

FileUnit = Literal["mm", "in", "m"]
Skin = Literal["inside", "outside"]
"""Which side of the old pan's metal a scan shows."""


@dataclass(frozen=True, slots=True)
class ScanMark:
    """A hole pointed out in the scan by hand, in the figures of the file."""

    hole: str
    at: tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class ScanInput:
    """Points of a scan as they stand in the file, with the triangles between them if it has any."""

    name: str  # of the file
    of: Literal["old pan", "block"]
    points: FloatArray  # (n, 3) in the file's own unit
    faces: IntArray | None  # (k, 3) rows of points; None = points only
    unit: FileUnit | None  # as the job says; None = found by size
    marks: tuple[ScanMark, ...] = ()
    skin: Skin | None = None  # of an old pan; None = told by the triangles' own sides, if it has any
    metal: Metre | None = None  # thickness of the old pan's wall and flange; None = not given


@dataclass(frozen=True, slots=True, eq=False)
class PanInside:
    """The old pan's oil space under its flange's plane, as upright columns seen from the rail.

    Columns of negative area belong to a grid twice as coarse; together with the fine ones
    they leave out what a grid loses along walls. As seen from the rail: what hides under an
    overhang is not in it.
    """

    skin: Skin
    is_skin_told: bool  # by the job or by the triangles; else the inside is taken
    columns: FloatArray  # (n, 2) m, middle of each column, seen from above
    depths: FloatArray  # (n,) m, from the flange's plane down to the inside
    areas: FloatArray  # (n,) m2, that each column stands for
    rim: FloatArray  # (k, 2) m, edge of the opening, in no order
    space: CubicMetre  # whole, up to the plane
    space_u: CubicMetre  # standard uncertainty, from walls between columns and from what was not scanned
    opening: SquareMetre
    missed: Ratio  # part of the opening under which nothing was scanned
    hidden: Ratio  # part of the scanned surface below the rail that is not seen from the rail
    metal: Metre | None = None  # taken off an outer skin


@dataclass(frozen=True, slots=True)
class SeenHole:
    """One hole seen in a scan or picture, in the plane of the rail."""

    name: str | None  # None = it is none of the job's holes, or which is not known
    x: Metre  # in the scan's own plane, seen from above
    y: Metre
    u: Metre  # standard uncertainty of each coordinate, from the fit
    diameter: Metre  # of the edge as it was seen
    arc: Radian  # part of the edge that was seen, as an angle
    points: int  # edge points in the fit
    off: Metre | None = None  # way to where the calipers alone put it, once laid over them as well as it goes
    off_u: Metre | None = None  # standard uncertainty of that way


@dataclass(frozen=True, slots=True)
class SeenTrouble:
    """Something wrong with a scan or picture: kept from use, or to be known."""

    kind: str  # see seen_check
    says: str  # what follows the name of the file; may have gaps {value} and {limit}
    do: str
    value: float = 0.0
    limit: float = 0.0
    unit: str = "1"
    is_fatal: bool = False  # nothing of it is used


@dataclass(frozen=True, slots=True)
class SetUpShape:
    """How a set-up may be out of shape: a looseness of None is free, 0 is held.

    A stretch of s makes the picture's x wider and its y narrower by s parts of themselves; a
    lean of k makes it smaller by k parts for each ARM that one goes along.
    """

    group: str
    stretch: Ratio | None = 0.0
    shear: Ratio | None = 0.0
    lean: Ratio | None = 0.0  # both directions


@dataclass(frozen=True, slots=True, eq=False)
class SeenRail:
    """What was seen of the rail in one scan or picture."""

    name: str  # of the file
    kind: Literal["scan", "picture"]
    holes: tuple[SeenHole, ...]
    outline: FloatArray  # (k, 2) m in the same plane; no rows where none was found
    troubles: tuple[SeenTrouble, ...]
    unit: FileUnit | None = None  # of a scan
    unit_is_found: bool = False  # by size or by the calipers, not told
    scale: Ratio | None = None  # lengths by caliper over lengths in the scan; None = nothing to tell by
    stretch: Ratio | None = None  # of a picture, x against y; None = not told by the calipers
    flatness: Metre | None = None  # highest less lowest of the rail's face, 95 in 100 points
    noise: Metre | None = None  # scatter of the points about the face
    widened: Ratio = 1.0  # by which the fits' uncertainties were multiplied, from how they meet the calipers
    shape: SetUpShape | None = None
    inside: PanInside | None = None  # of an old pan; in the engine's axes once the holes are placed
