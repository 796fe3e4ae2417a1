"""What stands round the pan and in it: keep-outs, ground, engine movement, and what the tools are."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import FloatArray, Metre, Radian

MovesWith = Literal["engine", "vehicle"]
Lies = Literal["outside the pan", "inside the pan"]


@dataclass(frozen=True, slots=True, eq=False)
class KeepOut:
    """Something that the pan must keep clear of, as triangles in the engine frame at ride height."""

    name: str
    moves_with: MovesWith
    lies: Lies
    triangles: FloatArray  # (n, 3, 3) m
    wanted: Metre  # least gap
    u: Metre | None = None  # standard uncertainty of its place; None = not said
    travel: tuple[tuple[Metre, Metre, Metre], ...] = ()  # places it moves to, engine frame
    is_hot: bool = False
    is_convex: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class EngineMovement:
    """How the engine moves on its mounts: rocked about an axis, and shifted any way."""

    axis_point: FloatArray  # (3,) m, on the axis it rocks about
    axis: FloatArray  # (3,) unit vector
    rock: Radian  # either way
    shift: Metre  # in any direction


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground under the vehicle, and what is asked of the pan's height above it."""

    wanted: Metre  # at ride height
    bump: Metre | None = None  # by which the pan comes down at full bump
    wanted_at_bump: Metre | None = None
    wheelbase: Metre | None = None
    front_axle: Metre | None = None  # X of the front axle, ahead of the vehicle's origin
    tyre_radius: Metre | None = None  # under load
    wanted_crest: Radian | None = None  # edge of two slopes that must pass under it
    wanted_approach: Radian | None = None  # slope ahead of the front tyres that it must not touch
    wanted_departure: Radian | None = None  # slope behind the rear tyres that it must not touch


@dataclass(frozen=True, slots=True)
class Socket:
    """A socket on its drive: outside diameter and length, then the extension behind it."""

    across_flats: Metre
    outside: Metre
    length: Metre
    extension: Metre  # diameter of extension or ratchet neck
    reach: Metre  # straight room needed behind the head, socket and extension together
    handle_length: Metre | None = None  # of the ratchet, swung at the end of ``reach``; None = not asked
    handle_width: Metre = 0.0
    click: Radian = 0.0  # from one tooth of the ratchet to the next; 0 = it turns all round or not at all


@dataclass(frozen=True, slots=True)
class Wrench:
    """A flat wrench: width and thickness of its head, length of its handle, least swing per bite."""

    across_flats: Metre
    head_width: Metre
    head_thickness: Metre
    length: Metre
    handle_width: Metre
    swing: Radian


@dataclass(frozen=True, slots=True)
class Tools:
    """What the shop turns bolts with."""

    sockets: tuple[Socket, ...] = ()
    wrenches: tuple[Wrench, ...] = ()
    is_placeholder: bool = True


@dataclass(frozen=True, slots=True)
class DrainPlug:
    """The drain plug's envelope under its floor."""

    across_flats: Metre
    stands_out: Metre  # boss, washer and head below the floor's sheet
    diameter: Metre  # of the widest of them


@dataclass(frozen=True, slots=True, eq=False)
class Surroundings:
    """Everything round the pan that its shape is held against."""

    placement: EnginePlacement = field(default_factory=EnginePlacement)
    keep_outs: tuple[KeepOut, ...] = ()
    movement: EngineMovement | None = None
    ground: Ground | None = None
    tools: Tools | None = None
    plug: DrainPlug | None = None
    washer: Metre = 0.0  # under the rail bolts' heads
    weld_stands: Metre = 0.001  # weld metal proud of the sheet's outer face
    studs: Metre = 0.0  # longest stud or dowel that the pan has to be drawn off
    unreadable: tuple[tuple[str, str], ...] = ()  # (keep-out, why its surface could not be read)


@dataclass(frozen=True, slots=True, eq=False)
class Clearance:
    """Least gap between the pan and one keep-out over all postures."""

    keep_out: str
    gap: Metre  # negative: by how much skin and weld run into it
    part: str  # of the pan
    posture: str  # "as it stands", "engine rocked 2 deg to the left", "axle up 60 mm"
    on_pan: FloatArray  # (3,) m, engine frame
    on_keep_out: FloatArray  # (3,) m
    swallowed: bool  # pan inside it, or it inside the pan where it should not be
    open_sides: int  # of its surface


@dataclass(frozen=True, slots=True, eq=False)
class SlopePassed:
    """The steepest slope, or sharpest edge between two, that passes under the pan."""

    angle: Radian
    place: FloatArray  # (3,) m, engine frame, of the point that touches first


@dataclass(frozen=True, slots=True, eq=False)
class GroundClearance:
    """The pan above the ground."""

    lowest: Metre | None  # above the ground at ride height; None without the datum's height
    part: str
    place: FloatArray  # (3,) m, engine frame
    at_bump: Metre | None
    crest: SlopePassed | None  # between the axles; None: axles or height not given, or nothing between
    approach: SlopePassed | None = None  # ahead of the front axle; None: not given, or nothing there
    departure: SlopePassed | None = None  # behind the rear axle; None: not given, or nothing there


@dataclass(frozen=True, slots=True, eq=False)
class BoltAccess:
    """Whether one bolt can be turned."""

    name: str  # "hole h3", "drain plug"
    tool: str  # "socket 10 mm", "wrench 10 mm", "" = none reaches it
    room: Metre | None  # least gap beside the best tool, negative where it does not fit
    blocked_by: str
    place: FloatArray  # (3,) m
    set_back: Metre  # by which the nearest wall would have to stand back for a socket; 0 where it fits
    why_not: str = ""  # tool sizes that are missing
    free_swing: Radian | None = None  # of the ratchet's handle at its best; None = no handle was asked about
    click: Radian = 0.0  # of that ratchet
    stop: FloatArray | None = None  # (3,) m, what no tool gets past, on its oil side; None: one reaches it


@dataclass(frozen=True, slots=True, eq=False)
class Withdrawal:
    """The way by which the pan comes off."""

    is_clear: bool
    way: tuple[tuple[str, Metre], ...]  # ("down", 0.06), ("to the rear", 0.04), ...
    blocked_by: str
    stuck_at: Metre  # how far down it came
    least_gap: Metre | None


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """How the pan fits where it goes."""

    clearances: tuple[Clearance, ...]
    ground: GroundClearance | None
    access: tuple[BoltAccess, ...]
    withdrawal: Withdrawal | None
