"""Seams, the torch that must reach them, the order in which they are welded, and where to stop."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from sumpwright.quantities.units import (
    Ampere,
    CubicMetre,
    FloatArray,
    Metre,
    Radian,
    Ratio,
    SquareMetre,
)

SeamKind = Literal[
    "open corner",
    "overlapped",
    "full lap",
    "wall under flange",
    "inward cut back",
    "inward lap",
    "flange joint",
    "corner inside",  # the oil side of a closed corner
    "inner wall",
    "boss",
    "ring",
    "bracket",
    "patch plate",
]

Side = Literal["outside", "inside", "either", "both"]
Process = Literal["TIG", "MIG"]
Current = Literal["AC/DC", "AC", "DC"]
Place = Literal["bench", "plate"]
"""Where a seam is welded: on a part by itself, or on the pan bolted to the strongback."""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One side from which a seam can be welded: where the bead lies and between what it lies.

    The bead fills the corner between the two legs; the torch comes from between them.
    """

    side: str  # "outside", "inside", "front side", "rear side"
    path: FloatArray  # (n, 3) m, root of the weld
    leg_a: FloatArray  # (n, 3) unit, from the root along the metal of part a
    leg_b: FloatArray  # (n, 3) unit, along part b
    middle: FloatArray  # (n, 3) unit, from the root out of the middle of the corner


@dataclass(frozen=True, slots=True, eq=False)
class Seam:
    """One seam of the pan."""

    number: int  # counted as the seams were found; the weld map counts in welding order
    joint: int | None  # index in SheetKit.joints; None for what has no joint there
    kind: SeamKind
    part_a: str
    part_b: str
    where: str  # in shop words: "tray left wall to sump floor"
    path: FloatArray  # (n, 3) m, root of the weld, from start to end
    length: Metre
    is_closed: bool  # runs round to its own start
    groove_angle: Radian | None
    fill_area: SquareMetre  # weld metal across the seam
    fill_volume: CubicMetre
    is_oil_tight: bool  # continuous and tight; else structural, stitched
    side: Side
    fit_up_gap: Metre  # what the cutter's tolerance may leave open
    thickness_a: Metre
    thickness_b: Metre
    material_a: str  # id in tables/materials; "bought" for a boss
    material_b: str
    ways: tuple[Way, ...]  # "either": any of them will do; "both": all are welded
    place: Place = "plate"


@dataclass(frozen=True, slots=True)
class Torch:
    """What has to get to the seam, and how it may be held.

    The axis runs from the weld back through the cup; the body leaves it behind the cup at
    ``body_angle`` and ends in the hand.
    """

    cup: Metre  # outside diameter of cup or nozzle
    cup_length: Metre
    stick_out: Metre  # from the cup's end to the root of the weld
    body: Metre  # diameter of torch body or neck
    body_angle: Radian  # from the axis' way back, away from the work, to the body; 0 = a straight torch
    body_length: Metre  # from the axis to the middle of the hand
    hand: Metre  # diameter of the hand on it
    arm: Metre  # length of forearm behind either hand, taken straight
    back_cap: Metre  # from the back of the cup to the end of what sticks out behind the body
    tilt: Radian  # most that it may lean out of the middle of the corner, across the seam
    drag: Radian  # most that it may lean along the seam
    filler: Metre | None  # free length of filler rod between pool and hand; None = the torch feeds wire
    filler_hand: Metre = 0.060  # diameter of that hand
    filler_low: Radian = 0.26  # least angle between rod and seam
    filler_high: Radian = 0.79  # greatest
    stick_out_most: Metre | None = None  # where it has to be long, with a gas lens; None = no more than usual


@dataclass(frozen=True, slots=True)
class Welder:
    """The welder card of this shop."""

    process: Process
    current: Current
    least_amps: Ampere
    most_amps: Ampere
    duty: Ratio  # share of ten minutes at which it stands the duty's current
    duty_amps: Ampere
    has_purge: bool = False  # argon to the back of the seam


@dataclass(frozen=True, slots=True)
class Strongback:
    """The plate to which the flange is bolted before the first tack."""

    thickness: Metre
    beyond: Metre  # plate outside the flange's edge
    is_open: bool  # its middle is cut out, so that a torch can reach in from the rail side
    rim: Metre  # an open plate's metal inside the opening of the pan
    vent: Metre = 0.010  # diameter of the hole that a closed plate has in its middle


@dataclass(frozen=True, slots=True)
class OrderRules:
    """What the order is held to."""

    station: Metre  # between two places along a seam where reach is tried
    end_clear: Metre  # nearest place to a seam's end; the rest is run from round the corner
    stitch: Metre  # most that a structural seam may stay bare
    long_from: Metre  # seams longer than this come late
    tack_pitch: Metre
    back_step: Metre
    past_corner: Metre  # by which a run is carried round the corner before it stops


@dataclass(frozen=True, slots=True)
class WeldInputs:
    """Everything the weld stage needs besides the kit."""

    torch: Torch
    welder: Welder | None  # None = the shop file has no welder card
    strongback: Strongback
    rules: OrderRules
    cut_tolerance: Metre  # of the sheet's cutter


@dataclass(frozen=True, slots=True, eq=False)
class TorchHold:
    """How the torch is held at one place of a seam; unit vectors of the engine frame."""

    at: Metre  # along the seam
    tip: FloatArray  # (3,) m
    axis: FloatArray  # (3,) from the weld back through the cup
    body: FloatArray  # (3,) from the axis along the body, to the hand
    rod: FloatArray | None  # (3,) from the pool to the hand with the filler rod
    towards_end: bool  # welded from the seam's start to its end; else the other way
    stick_out: Metre


@dataclass(frozen=True, slots=True)
class Blocked:
    """A stretch of a seam that the torch cannot reach."""

    seam: int
    start: Metre  # along the seam
    end: Metre
    place: tuple[float, float, float]  # m, its middle
    by: tuple[str, ...]  # what stands in the way, the most obstructive first

    @property
    def length(self) -> Metre:
        """How long it is."""
        return self.end - self.start


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One step of the build."""

    number: int
    action: Literal["set", "weld"]
    place: Place
    parts: tuple[str, ...] = ()  # set: what comes as one; the first thing set on a bench is what lies there
    seam: int | None = None
    side: str = ""  # weld: the way that is used
    built: tuple[str, ...] = ()  # parts that stand when it is welded, sorted
    holds: tuple[TorchHold, ...] = ()  # weld: one for each place that is reached
    before_closing: bool = False  # weld: it cannot wait until everything stands
    bolts_out: tuple[str, ...] = ()  # clamp bolts that come out while the bead passes them, one at a time


@dataclass(frozen=True, slots=True)
class Run:
    """One run of a bead, along its seam; negative or beyond the length: carried round the corner."""

    start: Metre
    end: Metre


@dataclass(frozen=True, slots=True)
class SeamRuns:
    """Tacks, starts and stops of one seam."""

    seam: int
    tacks: tuple[Metre, ...]  # along the seam, in the order they are set
    runs: tuple[Run, ...]  # in welding order
    round_start: int | None  # seam onto which a run is carried past the start
    round_end: int | None


@dataclass(frozen=True, slots=True)
class HoldPoint:
    """A stop with a tick: nothing goes on before it is done."""

    number: int
    name: str
    after_step: int  # 0 = before the first step
    checks: tuple[str, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReplayReport:
    """What the checker found when it built the pan again, step by step, from solids alone."""

    stations: int  # places tried
    stuck: tuple[Blocked, ...]  # the torch hits something
    faults: tuple[str, ...] = ()  # steps that cannot be as written

    @property
    def holds(self) -> bool:
        """Whether every step can be done as written."""
        return not self.stuck and not self.faults


@dataclass(frozen=True, slots=True, eq=False)
class WeldPlan:
    """The order of the build."""

    steps: tuple[Step, ...]
    order: tuple[int, ...]  # seam numbers in welding order
    left_over: tuple[int, ...]  # seams that cannot be finished in any order found
    bare: tuple[int, ...]  # sides of inner walls that stay unwelded
    bench: tuple[int, ...]  # seams of the pan itself that have to be welded on the bench
    blocked: tuple[Blocked, ...]  # where and by what: of the seams left over and bare, and between stitches
    unseen: tuple[int, ...]  # tight seams that nobody sees from outside at the leak test
    pull: float  # m4, greatest moment of weld metal about the flange's middle on the way
    pull_in_order_found: float  # m4, the same had the seams been welded as they were found
    runs: tuple[SeamRuns, ...] = ()
    hold_points: tuple[HoldPoint, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class WeldResult:
    """Answer of the weld stage."""

    seams: tuple[Seam, ...]
    plan: WeldPlan | None = None  # None = there is no kit to weld
    replay: ReplayReport | None = None
    left_out: tuple[str, ...] = field(default=())  # welds that are not planned, in words
