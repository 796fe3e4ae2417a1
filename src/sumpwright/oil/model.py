"""How much oil, how high, and what the dipstick says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import (
    CubicMetre,
    CubicMetrePerSecond,
    FloatArray,
    Hertz,
    Kelvin,
    KilogramPerCubicMetre,
    Metre,
    MetrePerCubicMetre,
    Radian,
    Ratio,
    Second,
    SquareMetre,
    SquareMetrePerSecond,
)
from sumpwright.rail.scan_model import PanInside

StickTrouble = Literal[
    "",
    "no oil to read",  # the pan cannot hold the volume of this mark
    "lies along the surface",  # the stick is parallel to the surface
    "above the shoulder",  # the surface lies above the stick's shoulder
    "tip does not reach",  # the stick ends above the surface
    "outside the oil space",  # the stick crosses the surface's height outside the cavity
]


@dataclass(frozen=True, slots=True)
class OilChoice:
    """Which oil, by grade or by two measured viscosities. Empty = not given."""

    grade: str = ""  # "5W-30", "SAE 30"
    points: tuple[tuple[Kelvin, SquareMetrePerSecond], ...] = ()  # two of them
    density_15: KilogramPerCubicMetre | None = None  # at 15 degC


@dataclass(frozen=True, slots=True)
class Pump:
    """What the pump asks of the pan. None = not given."""

    flow: CubicMetrePerSecond | None = None
    at_speed: Hertz | None = None  # engine speed of that flow
    engine_displacement: CubicMetre | None = None
    idle_speed: Hertz | None = None
    top_speed: Hertz | None = None
    return_time: Second | None = None  # mean, from the pump back to the pan


@dataclass(frozen=True, slots=True, eq=False)
class CrankSweep:
    """The cylinder that rod bolts and counterweights sweep."""

    rear: FloatArray  # (3,) m, on the crank's axis, rear end of the sweep
    front: FloatArray  # (3,) m
    sweep_radius: Metre


PortKind = Literal["rear seal", "breather", "return"]
"""What stands in the engine and must not drown: the seal at the flywheel, a breather, a drain-back or
return outlet into the pan."""


@dataclass(frozen=True, slots=True, eq=False)
class Port:
    """A place with its own limit on the oil's height."""

    name: str
    port: PortKind
    lowest: FloatArray  # (3,) m, its lowest opening point
    share: Ratio | None = None  # of all the oil that comes back; None = an equal part of what is left


@dataclass(frozen=True, slots=True)
class HeldBehind:
    """Oil that stays behind one drain-back. On a slope: as measured there; None = as level."""

    name: str
    held_level: CubicMetre  # the vehicle level
    held_nose_up: CubicMetre | None = None
    held_nose_down: CubicMetre | None = None
    held_lean_right: CubicMetre | None = None
    held_lean_left: CubicMetre | None = None


@dataclass(frozen=True, slots=True)
class Trapped:
    """Oil that never drains back, and how that is known."""

    trapped_least: CubicMetre
    trapped_most: CubicMetre
    more_on_slopes: CubicMetre  # beyond that, on the worst slope it was measured on
    basis: Literal["given", "measured", "band", "taken as none"]


@dataclass(frozen=True, slots=True, eq=False)
class OilInputs:
    """What the shop wants of the oil. None = not given."""

    fill: CubicMetre | None  # poured into the dry engine
    low_below_full: CubicMetre | None  # litres between the marks
    target_capacity: CubicMetre | None  # the old pan's, for the balance
    hold_up: CubicMetre | None  # up in the running engine
    trapped: CubicMetre | None  # never drains back at this attitude
    up: FloatArray  # (3,) unit vector, the vehicle's up in engine axes, level ground
    oil: OilChoice = OilChoice()
    pump: Pump = Pump()
    poured_at: Kelvin | None = None  # temperature at which the litres are counted
    read_at: Kelvin | None = None  # temperature at which the dipstick is read
    hot: Kelvin | None = None  # hottest oil in the pan
    coldest_start: Kelvin | None = None
    placement: EnginePlacement | None = None  # for the slopes of drain and dipstick; None = as ``up`` alone
    crank: CrankSweep | None = None
    ports: tuple[Port, ...] = ()
    most_left: CubicMetre | None = None  # oil that may stay in pockets after draining
    old_inside: PanInside | None = None  # from a scan of the old pan, in engine axes
    old_up: FloatArray | None = (
        None  # (3,) the vehicle's up in engine axes as the old pan stood; None = level
    )
    held_behind: tuple[HeldBehind, ...] = ()  # behind each drain-back, where ``trapped`` is not given


@dataclass(frozen=True, slots=True)
class HoldUp:
    """Oil that is up in the running engine, and how that is known."""

    hold_up_least: CubicMetre
    hold_up_most: CubicMetre
    basis: Literal[
        "given", "flow", "band"
    ]  # flow = delivery times return time; band = 10 to 25 % of the fill


@dataclass(frozen=True, slots=True)
class DipMark:
    """A mark on the stick."""

    name: str  # "full", "low"
    volume: CubicMetre  # oil in the pan at that mark
    from_stop: Metre | None  # along the stick from its shoulder; None = stick misses the surface
    from_tip: Metre | None
    trouble: StickTrouble = ""
    place: tuple[Metre, Metre, Metre] | None = None  # where the stick's line meets the surface


@dataclass(frozen=True, slots=True)
class StickReach:
    """What the stick meets on its way down."""

    tip: tuple[Metre, Metre, Metre]
    tip_is_inside: bool  # the tip hangs in the oil space
    meets: str  # name of the face the stick runs into before its tip, "" if none
    free_length: Metre | None  # from the shoulder to that face


@dataclass(frozen=True, slots=True)
class StickSlope:
    """How far the full reading moves on a floor that is not level; positive = reads too full."""

    nose_up: Radian
    lean_right: Radian
    shift: Metre | None  # along the stick; None = off the stick


@dataclass(frozen=True, slots=True, eq=False)
class StickTruth:
    """How true the stick reads."""

    per_degree_nose: Metre | None  # reading per degree of nose up, along the stick
    per_degree_lean: Metre | None  # reading per degree of lean to the right
    best_place: tuple[Metre, Metre, Metre]  # middle of the oil's surface: there slopes move it least
    off_best: Metre  # from there to where the stick meets the surface, along the surface
    drains_in: Metre | None  # how much too low it reads before the running oil is back
    slopes: tuple[StickSlope, ...]  # correction table


@dataclass(frozen=True, slots=True)
class HeldPool:
    """A pool that stays when the pan is drained."""

    face: str  # the face it stands on
    deepest: tuple[Metre, Metre, Metre]
    crest: tuple[Metre, Metre, Metre]  # where it runs next
    runs_to: str  # the face beyond the crest, "" where the plug's hole is the crest
    pool_depth: Metre
    pool_volume: CubicMetre
    cure_fall: Radian | None  # extra fall from the deepest point to the crest that empties it
    at_plug: bool = False  # the plug sits higher than this pool's floor
    wall: str = ""  # the inner wall that holds it, "" = the floor's own shape


@dataclass(frozen=True, slots=True)
class Drained:
    """What stays in the pan at one attitude of the vehicle when the plug is out."""

    words: str  # "level", "nose up"
    nose_up: Radian
    lean_right: Radian
    left_behind: CubicMetre
    pools: tuple[HeldPool, ...]  # largest first


@dataclass(frozen=True, slots=True)
class Extraction:
    """What an extraction tube leaves behind, the vehicle level."""

    name: str
    end: tuple[Metre, Metre, Metre]  # its open inner end
    end_is_inside: bool
    left_behind: CubicMetre | None  # None where the end lies outside the oil space
    pools: tuple[HeldPool, ...]  # largest first
    off_floor: Metre | None  # from the end straight down to the floor
    across: Metre  # outside diameter of the tube


@dataclass(frozen=True, slots=True)
class SensorReach:
    """At how much oil a level sensor switches, level and at rest."""

    name: str
    place: tuple[Metre, Metre, Metre]  # where it switches
    switches_at: CubicMetre  # in the pan
    under_low: CubicMetre | None  # low mark less that; None without a low mark
    under_low_running: CubicMetre | None  # the same with the most hold-up
    over_mouth: Metre | None  # height over the pickup's mouth; None without a pickup


HeightKind = Literal["crank", "rear seal", "breather", "return"]


@dataclass(frozen=True, slots=True)
class HeightLeft:
    """A crank sweep or port against the oil that comes nearest."""

    name: str
    kind: HeightKind
    oil_volume: CubicMetre  # in the pan, hot
    height_left: Metre  # from the oil's surface up to its lowest point, negative = in the oil
    place: tuple[Metre, Metre, Metre]


@dataclass(frozen=True, slots=True)
class LevelRow:
    """One row of the volume-against-level table."""

    depth_at_deepest: Metre
    below_rail: Metre  # least distance of the surface below the rail face's lowest opening point
    volume: CubicMetre


@dataclass(frozen=True, slots=True)
class OldPanRow:
    """Old pan and new with the oil's surface equally far below the rail, each as it stands."""

    below_rail: Metre
    old_volume: CubicMetre
    new_volume: CubicMetre


@dataclass(frozen=True, slots=True, eq=False)
class OldPanHeld:
    """What the old pan held as it stood, from its scan."""

    space: CubicMetre  # up to the lowest place of its opening
    space_u: CubicMetre  # standard uncertainty
    deepest: Metre  # below that place
    fill_below_rail: (
        Metre | None
    )  # surface of what it was filled with; None = not given, or more than it held
    rows: tuple[OldPanRow, ...]  # deepest first
    inside: PanInside


@dataclass(frozen=True, slots=True, eq=False)
class OilResult:
    """Answer of the oil stage. Levels are ``up . p`` of the surface in the engine frame."""

    capacity_to_rail: CubicMetre  # level surface at the standing attitude, first touch of the rail
    whole_volume: CubicMetre  # everything below the rail plane
    level_full: Metre | None  # engine run, stopped and drained back: the fill less what stays trapped
    level_low: Metre | None
    level_running: Metre | None  # fill less most hold-up and trapped
    marks: tuple[DipMark, ...]
    table: tuple[LevelRow, ...]
    balance: tuple[tuple[str, CubicMetre], ...]  # lump by lump
    balance_gap: CubicMetre | None  # capacity to the rail less the target
    stick_mm_per_litre: MetrePerCubicMetre | None  # m per m3 at the full mark, along the stick
    level_rail: Metre = float("nan")  # lowest point of the rail opening
    level_deepest: Metre = float("nan")
    level_poured: Metre | None = None  # the whole fill in the pan, before the first start
    level_lowest_running: Metre | None = None  # low mark less most hold-up
    hold_up: HoldUp | None = None  # None: neither given nor to be had from the fill
    volume_full: CubicMetre | None = None
    volume_low: CubicMetre | None = None
    wall_area: SquareMetre = float("nan")  # all faces but the rail opening
    stick: StickReach | None = None
    mouth_cover: Metre | None = None  # oil over the pickup mouth at level_lowest_running
    stick_truth: StickTruth | None = None
    drained: tuple[Drained, ...] = ()  # level first
    drain_is_inside: bool = True
    heights: tuple[HeightLeft, ...] = ()
    swell_to_reading: Ratio = 1.0  # volume when the stick is read over volume when poured
    crank: CrankSweep | None = None  # as asked, for the slopes of the motion stage
    trapped: Trapped | None = None
    extractions: tuple[Extraction, ...] = ()
    sensors: tuple[SensorReach, ...] = ()
    old_pan: OldPanHeld | None = None  # None without a scan of the old pan's inside
    target: CubicMetre | None = None  # what the old pan held, as the job says, else by its scan
