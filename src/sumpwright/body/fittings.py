"""What is set into the pan's sheet or onto it: bosses, stand-offs, the stone guard, where a jack may push."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from sumpwright.geometry.polygons import contains
from sumpwright.geometry.solid_shapes import FlatFrame
from sumpwright.quantities.units import FloatArray, Metre, Newton, frozen_array

if TYPE_CHECKING:
    from sumpwright.body.model import Cavity, Face

FittingKind = Literal["drain", "dipstick", "sensor", "return", "breather", "extraction tube"]

FACE_REACH: Metre = 0.030
"""A thing further than this from every face is not on the pan's sheet."""


@dataclass(frozen=True, slots=True, eq=False)
class Fitting:
    """A boss asked for: a turned or bought piece that is welded into a hole of the pan.

    ``inside`` runs from the boss into the pan: an extraction tube's centre line down to its
    open end, a sensor's down to the point where it switches.
    """

    name: str
    kind: FittingKind
    at: FloatArray  # (3,) m, engine frame, on or near the face it goes into
    thread: str  # "M18x1.5", or "plain" for a tube
    boss_diameter: Metre  # outside, where it goes through the sheet
    ring: bool = True  # a ring round it that spreads its load
    head: Metre | None = None  # across the flats of what a tool turns; None = nothing is turned
    stands_out: Metre = 0.0  # boss and all that is in it beyond the sheet's outer face
    has_magnet: bool = False  # in the drain's plug
    inside: FloatArray | None = None  # (n, 3) m, ends at its inner end; None = not given
    inside_diameter: Metre | None = None  # of the tube or probe in there
    comes_from: FloatArray | None = None  # (3,) m, upper end of a return's or breather's hose


@dataclass(frozen=True, slots=True, eq=False)
class StandOff:
    """A post welded onto a face, that holds a tray, a scraper or the stone guard; it pierces nothing."""

    name: str
    at: FloatArray  # (3,) m, on or near its face
    side: Literal["inside", "outside"]
    diameter: Metre
    long: Metre  # off the face
    thread: str  # "M6", "plain"


@dataclass(frozen=True, slots=True, eq=False)
class StoneGuard:
    """A plate under the lowest floor that takes stones and the odd kerb."""

    stand_off: Metre  # from the floor's sheet to the guard
    guard_thickness: Metre
    material: str  # as the tables have it
    beyond: Metre  # past the floor's outer edge, all round
    feet: FloatArray  # (n, 2) m, x and y of the posts it is bolted to
    foot_diameter: Metre
    foot_thread: str
    drain_opening: Metre | None  # diameter of its hole under the drain; None = none


@dataclass(frozen=True, slots=True, eq=False)
class Jacking:
    """Where a jack may push: nowhere, or on one round plate under a floor."""

    way: Literal["nowhere", "load plate"]
    at: FloatArray | None = None  # (2,) m, x and y of the plate's middle
    plate_diameter: Metre = 0.0
    plate_thickness: Metre = 0.0
    load: Newton | None = None  # that the jack brings; None = not said


@dataclass(frozen=True, slots=True, eq=False)
class OnFace:
    """A place on a face of the cavity."""

    face: Face
    place: FloatArray  # (3,) m, on the oil side


def on_face(cavity: Cavity, at: FloatArray, reach: Metre = FACE_REACH) -> OnFace | None:
    """The nearest face that a point lies square off, and the place on it; None beyond reach."""
    best: tuple[Metre, OnFace] | None = None
    for face in cavity.faces:
        if face.role == "rail":
            continue
        normal = np.asarray(face.plane.normal)
        away = float(normal @ at) - face.plane.offset
        if abs(away) > reach or (best is not None and abs(away) >= best[0]):
            continue
        place = np.asarray(at) - away * normal
        if lies_on(cavity, face, place):
            best = abs(away), OnFace(face, frozen_array(place))
    return None if best is None else best[1]


def under(cavity: Cavity, at: FloatArray) -> OnFace | None:
    """The lowest floor below x and y, and the place on it; None where there is none."""
    best: OnFace | None = None
    for face in cavity.faces:
        normal = np.asarray(face.plane.normal)
        if face.role != "floor" or normal[2] > -1e-6:
            continue
        z = (face.plane.offset - float(normal[:2] @ at[:2])) / float(normal[2])
        place = np.array([at[0], at[1], z])
        if lies_on(cavity, face, place) and (best is None or z < best.place[2]):
            best = OnFace(face, frozen_array(place))
    return best


def lies_on(cavity: Cavity, face: Face, place: FloatArray) -> bool:
    """Whether a point of a face's plane lies on the face."""
    frame = frame_on(face, np.asarray(cavity.vertices[face.loops[0][0]]))
    point = frame.to_flat(np.asarray(place)[None])
    loops = [frame.to_flat(cavity.vertices[loop]) for loop in face.loops]
    inside = [bool(contains(loop, point)[0]) for loop in loops]
    return inside[0] and not any(inside[1:])


def frame_on(face: Face, origin: FloatArray) -> FlatFrame:
    """A frame in a face's plane at a point, seen from outside."""
    from sumpwright.geometry.solid_shapes import axes_in_plane

    x_axis, y_axis = axes_in_plane(np.asarray(face.plane.normal))
    return FlatFrame(frozen_array(origin), x_axis, y_axis)
