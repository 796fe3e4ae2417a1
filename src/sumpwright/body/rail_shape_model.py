"""What of a rail is not one plane: steps, seats of arched ends, and lands the pan cannot follow."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sumpwright.quantities.units import FloatArray, Metre, Radian


@dataclass(frozen=True, slots=True, eq=False)
class StepFace:
    """One upright face of the block, where the rail steps down to a land."""

    point: FloatArray  # (2,) m, x, y on the face
    into: FloatArray  # (2,) unit vector from the face into the land
    is_given: bool  # False: taken midway between two holes


@dataclass(frozen=True, slots=True, eq=False)
class StepLand:
    """A flat stretch of the rail below the datum plane.

    It is all that lies beyond its faces and, where they are two, on its own side of the
    opening's middle.
    """

    name: str
    top: Metre  # z of the flange's face there
    film: Metre  # room for the seal between the pan's metal and the block's upright faces
    faces: tuple[StepFace, ...]  # one that runs across the whole rail, or two
    between: tuple[FloatArray, ...]  # (2,) m each: midway between the holes on either side of a crossing
    side: StepFace | None  # the opening's middle, where the faces are two

    def bounds(self, beyond: Metre) -> tuple[tuple[FloatArray, FloatArray, Metre], ...]:
        """Half planes (point, into, level) of the land, its faces moved by ``beyond`` into it."""
        found = [(face.point, face.into, beyond) for face in self.faces]
        if self.side is not None:
            found.append((self.side.point, self.side.into, 0.0))
        return tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class ArchSeat:
    """A round seat across the rail at the pan's front or rear; its axis runs along the engine."""

    name: str
    hangs: bool  # the block's round hangs into the pan; False: the pan's round stands into the block
    radius: Metre  # of the seat's face on the metal
    centre: tuple[float, float]  # y, z of the axis [m]
    forward: float  # +1 at the front end, -1 at the rear
    wall: int  # face of the cavity under the seat
    wall_x: Metre  # its oil side
    inner_x: Metre  # edge of the seal on the oil's side
    outer_x: Metre
    middle_is_given: bool

    @property
    def half_turn(self) -> Radian:
        """From the crown to where the seat's face meets the flange's face."""
        return math.acos(min(1.0, abs(self.centre[1]) / self.radius))

    @property
    def crown(self) -> Metre:
        """z of the seat's lowest (hanging) or highest place."""
        return self.centre[1] - self.radius if self.hangs else self.centre[1] + self.radius


@dataclass(frozen=True, slots=True)
class LandTrouble:
    """A land that the pan cannot follow, and what would cure it."""

    land: str
    what: str
    cure: str


@dataclass(frozen=True, slots=True)
class UnevenRail:
    """What of the rail is not one plane."""

    steps: tuple[StepLand, ...]
    arches: tuple[ArchSeat, ...]
    trouble: tuple[LandTrouble, ...]


def flange_face_at(uneven: UnevenRail | None, place: FloatArray) -> Metre:
    """z of the flange's face at a place (x, y) of the ring; saddles are left out."""
    for step in () if uneven is None else uneven.steps:
        if all(float((place - point) @ into) > 0.0 for point, into, _ in step.bounds(0.0)):
            return step.top
    return 0.0
