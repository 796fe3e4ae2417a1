"""What is asked of the oil in motion, and whether the pickup stays covered."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from sumpwright.oil.model import HeightKind
from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import (
    BoolArray,
    CubicMetre,
    FloatArray,
    Metre,
    MetrePerSecondSquared,
    Radian,
)


@dataclass(frozen=True, slots=True)
class Loads:
    """What is held for ever, as asked. None = as the use says, or nothing where no use is named."""

    use: str = ""  # a row of the uses table, "" = only what is given
    left_turn: MetrePerSecondSquared | None = None
    right_turn: MetrePerSecondSquared | None = None
    braking: MetrePerSecondSquared | None = None
    accelerating: MetrePerSecondSquared | None = None
    nose_up: Radian | None = None
    nose_down: Radian | None = None
    lean_right: Radian | None = None
    lean_left: Radian | None = None


@dataclass(frozen=True, slots=True)
class Envelope:
    """Everything that is held: a friction ellipse of four quarters, and a box of slopes.

    The accelerations are what is felt on level ground. On a slope the tyres hold no more,
    so slope and acceleration together stay inside the ellipse and need no map of their own;
    slopes beyond it are held standing still.
    """

    left_turn: MetrePerSecondSquared
    right_turn: MetrePerSecondSquared
    braking: MetrePerSecondSquared
    accelerating: MetrePerSecondSquared
    nose_up: Radian
    nose_down: Radian
    lean_right: Radian
    lean_left: Radian
    from_use: tuple[str, ...]  # the fields taken from the uses table
    use_source: str

    @property
    def moves(self) -> bool:
        """Whether anything is asked at all."""
        return any(
            value > 0.0
            for value in (
                self.left_turn,
                self.right_turn,
                self.braking,
                self.accelerating,
                self.nose_up,
                self.nose_down,
                self.lean_right,
                self.lean_left,
            )
        )


@dataclass(frozen=True, slots=True, eq=False)
class MotionInputs:
    """What the shop asks of the oil in motion."""

    placement: EnginePlacement
    loads: Loads = Loads()
    least_cover: Metre | None = None  # oil wanted over the mouth; None = the usual


@dataclass(frozen=True, slots=True, eq=False)
class CoverMap:
    """Oil over the pickup mouth for every load of a map, all arrays along the loads.

    ``cover`` counts along the pull that the oil feels, from the highest edge of the mouth to
    the surface; negative = air. It is the worse of one shared surface (``cover_shared``) and
    every other pool filled to its crest first.
    """

    kind: Literal["accelerations", "slopes"]
    across: FloatArray  # (k,) accelerations: m/s2 to the left; slopes: rad leaned right
    along: FloatArray  # (k,) accelerations: m/s2 forward; slopes: rad nose up
    shape: tuple[int, int]  # accelerations: rings, headings; slopes: lean steps, nose steps
    up: FloatArray  # (k, 3) unit vectors against the pull, engine axes
    pull: FloatArray  # (k,) m/s2, strength of the pull
    cover: FloatArray  # (k,) m
    cover_shared: FloatArray  # (k,) m
    above_rail: FloatArray  # (k,) m, oil surface above the lowest point of the rail, negative = below
    is_cut_off: BoolArray  # (k,) the other pools keep oil from the mouth


@dataclass(frozen=True, slots=True)
class Tightest:
    """The load at which the mouth is least covered."""

    words: str  # "left turn while braking"
    across: float  # as CoverMap
    along: float
    cover: Metre
    cover_shared: Metre


@dataclass(frozen=True, slots=True)
class HeldTo:
    """How hard one direction can be held before the mouth is covered less than wanted."""

    words: str
    acceleration: MetrePerSecondSquared  # nan: not even standing still
    asked: MetrePerSecondSquared
    is_all: bool  # everything that is asked is held


@dataclass(frozen=True, slots=True)
class NearestOnSlopes:
    """The slope on which the oil comes nearest to the crank's sweep or to a port."""

    name: str
    kind: HeightKind
    words: str  # "nose up and leaned to the right"
    nose_up: Radian
    lean_right: Radian
    height_left: Metre  # negative = in the oil


@dataclass(frozen=True, slots=True)
class BetterPlace:
    """A place at the same height where the mouth is covered better at the tightest load."""

    mouth: tuple[Metre, Metre, Metre]
    cover: Metre


@dataclass(frozen=True, slots=True, eq=False)
class MotionResult:
    """Answer of the motion stage."""

    envelope: Envelope
    volume: CubicMetre | None  # oil in the pan: low mark, most hold-up
    least_cover: Metre
    accelerations: CoverMap | None
    slopes: CoverMap | None
    tightest_acceleration: Tightest | None
    tightest_slope: Tightest | None
    held_to: tuple[HeldTo, ...] = field(default=())
    missing: tuple[str, ...] = field(default=())  # job-file keys without which no map can be drawn
    mouth_is_inside: bool = True
    kinder_cover: tuple[Metre, ...] = field(default=())  # least covers with the least hold-up of a band
    nearest: tuple[NearestOnSlopes, ...] = field(default=())
    better: BetterPlace | None = None  # where the cover is less than wanted and a move helps
