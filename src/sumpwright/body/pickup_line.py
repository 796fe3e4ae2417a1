"""The pickup's line from mouth to pump port: read by the oil side (losses) and the metal side (cuts).

mouth o==========o corner          path[0] is the mouth's centre, path[-1] the port;
       path[0]    \\  path[1]      each corner between is a bend or a mitre.
                   o port
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre, Radian, Ratio, SquareMetre, frozen_array

CornerKind = Literal["bend", "mitre"]
SuctionJointKind = Literal["O-ring", "gasket", "brazed", "welded", "hose"]


@dataclass(frozen=True, slots=True)
class TubeSection:
    """Clear section of the tube."""

    shape: Literal["round", "square"]
    clear_width: Metre  # bore of a round tube, clear side of a square one
    clear_height: Metre  # same as the width unless the tube is rectangular
    wall: Metre

    @property
    def area(self) -> SquareMetre:
        """Clear area."""
        if self.shape == "round":
            return float(np.pi * self.clear_width**2 / 4.0)
        return self.clear_width * self.clear_height

    @property
    def hydraulic_diameter(self) -> Metre:
        """Four times the clear area over the wetted girth."""
        if self.shape == "round":
            return self.clear_width
        return 2.0 * self.clear_width * self.clear_height / (self.clear_width + self.clear_height)


@dataclass(frozen=True, slots=True)
class TubeCorner:
    """How the tube goes round one corner of its path."""

    kind: CornerKind
    radius: Metre | None  # of the tube's centre line; bends only
    welds: int = 1  # mitres only: cuts in the corner


@dataclass(frozen=True, slots=True)
class SuctionJoint:
    """A place where air could be drawn in."""

    name: str
    kind: SuctionJointKind
    along: Metre  # distance from the mouth along the path
    diameter: Metre
    squeeze: Ratio | None = None  # O-ring: share of its thickness that is squeezed; None = not given
    tested: Literal["bubble", "vacuum"] | None = None


@dataclass(frozen=True, slots=True)
class Screen:
    """What keeps lumps out of the pump: woven wire or a perforated plate."""

    kind: Literal["woven", "perforated"]
    area: SquareMetre  # face of the screen that the oil meets
    opening: Metre  # clear width of a mesh, or hole diameter
    pitch: Metre  # centre to centre of wires, or of holes
    thickness: Metre  # wire diameter, or plate thickness
    blocked: Ratio = 0.0  # share of the face that is choked
    bypass_area: SquareMetre = 0.0  # notch or hole past the screen

    @property
    def wires_per_metre(self) -> float:
        """Count of a woven screen [1/m]."""
        return 1.0 / self.pitch


@dataclass(frozen=True, slots=True, eq=False)
class PickupLine:
    """Tube from the mouth to the pump's port."""

    section: TubeSection
    path: FloatArray  # (n, 3) m, engine frame, mouth first, port last
    corners: tuple[TubeCorner, ...]  # n - 2
    port: FloatArray  # (3,) m, where the pump's inlet really is
    port_bore: Metre | None = None
    joints: tuple[SuctionJoint, ...] = ()
    held_at: tuple[Literal["pump", "pan", "cap", "wall"], ...] = ()  # where it is fixed
    slides_at: tuple[Literal["pump", "pan", "cap", "wall"], ...] = ()  # fixed crosswise, free endways
    free_length: Metre | None = None  # longest stretch without support; None = path's end to mouth
    end_mass: float | None = None  # kg, screen, mouth and what hangs on the free end
    elastic_modulus: float | None = None  # Pa, of the tube
    tube_density: float | None = None  # kg/m3, of the tube
    screen: Screen | None = None
    floor_gap: Metre | None = None  # mouth's rim to the floor below it; None = from the cavity
    has_feet: bool = False  # spacer feet keep a dented floor off the mouth
    metal: str | None = None  # of the tube, as tables.materials knows it; None = not said, or none to weld

    def runs(self) -> FloatArray:
        """Straight lengths between the path's points, (n - 1,) m."""
        return frozen_array(np.linalg.norm(np.diff(self.path, axis=0), axis=1))

    def turns(self) -> FloatArray:
        """Angle by which the tube turns at each corner, (n - 2,) rad."""
        steps = np.diff(self.path, axis=0)
        units = steps / np.linalg.norm(steps, axis=1)[:, None]
        cosines = np.clip(np.einsum("ij,ij->i", units[:-1], units[1:]), -1.0, 1.0)
        return frozen_array(np.arccos(cosines))

    def at(self, along: Metre) -> tuple[float, float, float]:
        """Point of the path a distance along it from the mouth."""
        left = along
        for start, run, end in zip(self.path[:-1], self.runs(), self.path[1:], strict=True):
            if left <= run:
                point = start + (end - start) * (left / run if run > 0.0 else 0.0)
                return float(point[0]), float(point[1]), float(point[2])
            left -= float(run)
        x, y, z = (float(c) for c in self.path[-1])
        return x, y, z


def bent_length(runs: FloatArray, turns: FloatArray, corners: tuple[TubeCorner, ...]) -> tuple[Metre, Radian]:
    """Length of the tube's centre line with its bends rounded, and the whole turn.

    A bend of radius R through angle a replaces 2 R tan(a / 2) of straight by R a.
    """
    length = float(np.sum(runs))
    for turn, corner in zip(turns, corners, strict=True):
        if corner.kind == "bend" and corner.radius is not None:
            length += corner.radius * (float(turn) - 2.0 * float(np.tan(turn / 2.0)))
    return length, float(np.sum(turns))
