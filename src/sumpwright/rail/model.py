"""What is known of the pan rail: holes, fasteners, lands, readings; and the answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.quantities import Measured
from sumpwright.quantities.units import FloatArray, Kelvin, Metre, Radian
from sumpwright.rail.picture_model import PictureInput
from sumpwright.rail.scan_model import ScanInput, SeenRail, SetUpShape

ReadingKind = Literal[
    "centre",
    "inside",
    "outside",
    "same_side",
    "diameter",
    "in_line",
    "offset",
    "on_one_circle",
    "square",
    "mirrored",
    "readout",
    "scan",
    "height",
    "chord",
    "rise",
]
"""centre to centre; jaws inside both holes' near edges ... see docs/job-file.md.

inside: smallest distance between the hole edges (jaws between the holes);
outside: largest distance, far edge to far edge; same_side: left edge to left edge,
hole a being the one whose edge away from the other was used; diameter: of hole a
alone; in_line: hole ``with_hole`` lies on the line a-b (value is its distance from
the line, normally zero); offset: hole a from the straight edge ``group``, to its
centre or to its near or far edge (``part``); on_one_circle: hole a lies on the circle
``group`` (value is its distance outwards, normally zero); square: the line a to
``with_hole`` stands square on the line a to b (value is how far ``with_hole`` leans
towards b); mirrored: holes a and b mirror each other about the axis ``group``
(``part`` "middle": their middle's distance from the axis, "across": how far their
line is out of square to it, both normally zero); readout: coordinate ``part`` ("x" or
"y") of hole a in the set-up ``group``; scan: the same from a scan, whose scale is not
trusted. Out of the plane: height of hole or land a above the datum plane; chord and
rise of the arched land a.
"""


@dataclass(frozen=True, slots=True)
class Reading:
    """One line of the readings file."""

    line: int  # line number in the file, for naming it
    kind: ReadingKind
    a: str
    b: str | None
    value: Metre
    tool: str  # "caliper", "tape", ...: the shop file's default uncertainty
    u: Metre  # standard uncertainty
    u_is_default: bool
    with_hole: str | None = None
    note: str = ""
    group: str = ""  # straight edge, circle, mirror axis or set-up that the reading belongs to
    part: str = ""  # which of two figures, or which edge: see ReadingKind


@dataclass(frozen=True, slots=True)
class Fastener:
    """What goes through a rail hole."""

    kind: Literal["bolt", "stud", "dowel"]
    thread: str | None  # "M6", "5/16-18"; None for a dowel
    diameter: Metre  # nominal thread or dowel diameter
    pitch: Metre | None
    blind_depth: (
        Metre | None
    )  # usable depth of the tapped hole below the rail face; None = through or not given
    is_through: bool = False
    old_bolt_length: Metre | None = None  # under the head


@dataclass(frozen=True, slots=True)
class RailHole:
    """One hole of the rail as the job names it, in ring order."""

    name: str
    fastener: Fastener
    land: str
    edge_diameter: (
        Metre | None
    )  # the hole's own diameter at the rail face where edges are read; None = from readings
    edge_diameter_u: Metre | None = None  # standard uncertainty; None = not given


@dataclass(frozen=True, slots=True)
class Seal:
    """What seals a land."""

    kind: Literal["gasket", "liquid sealant", "end seal"]
    thickness: Metre


@dataclass(frozen=True, slots=True)
class Land:
    """A stretch of the rail: flat at a height, a step, or an arch."""

    name: str
    kind: Literal["flat", "step", "arch"]
    seal: Seal
    height: Metre = 0.0  # above the datum plane (towards the crank)
    radius: Metre | None = None  # arch only
    width: Metre | None = None  # arch: along the engine
    from_hole: str | None = None  # span on the ring, anticlockwise seen from above
    to_hole: str | None = None
    from_line: tuple[tuple[float, float], tuple[float, float]] | None = None  # x, y of two points [m]
    to_line: tuple[tuple[float, float], tuple[float, float]] | None = None
    middle: tuple[float, float] | None = None  # x, y of the middle of an arch's seat [m]

    # The lines lie in the block's upright faces towards from_hole and towards to_hole; one
    # face straight across the rail is both.
    # An arch's height is that of its crown: below the datum plane it hangs into the pan.


@dataclass(frozen=True, slots=True)
class MirrorSide:
    """Which side of the line datum-second one hole lies on: readings alone cannot tell."""

    hole: str
    side: Literal["left", "right"]  # looking from the datum hole to the second hole
    seen_from: Literal["above", "below"]


@dataclass(frozen=True, slots=True)
class RailInputs:
    """Everything the rail stage needs."""

    holes: tuple[RailHole, ...]  # ring order
    readings: tuple[Reading, ...]
    datum: str
    second: str
    bearing_left: (
        Radian | None
    )  # direction datum -> second, counted from the engine's front to its left; None = not given
    mirror: MirrorSide | None
    lands: tuple[Land, ...]  # ring order
    block_material: str  # id in tables/materials
    thread_material: str  # of the tapped holes
    temperature: Kelvin
    coverage_limit: Metre  # largest acceptable u95 of a hole [m], from hole clearance
    washer: Metre = 0.0  # thickness under a new bolt's head
    flange_thickness: Metre = 0.0
    flange_thickness_reason: str = ""
    new_bolt_lengths: tuple[Metre, ...] = ()  # lengths the shop can buy, ascending
    off_plane_limit: Metre = 0.0002
    old_clamped: Metre | None = None  # old pan's flange and gasket together; None = not given
    tool_temperature: Kelvin | None = None  # of caliper, rule or tape; None = 20 degC, as they are graduated
    scans: tuple[ScanInput, ...] = ()
    pictures: tuple[PictureInput, ...] = ()
    setups: tuple[SetUpShape, ...] = ()  # of groups of scan readings that may be out of shape


@dataclass(frozen=True, slots=True, eq=False)
class HolePattern:
    """Adjusted hole centres. What the rest of the program builds on."""

    names: tuple[str, ...]  # n, ring order
    xy: FloatArray  # (n, 2) m, engine frame
    covariance: FloatArray  # (2n, 2n) m2, x1 y1 x2 y2 ..., fixed datum; zeros for the datum
    free_covariance: FloatArray  # (2n, 2n) m2, whole pattern allowed to float
    fasteners: tuple[Fastener, ...]  # n
    edge_diameters: tuple[Measured | None, ...]  # n, m
    lands: tuple[Land, ...]
    land_of_hole: tuple[str, ...]  # n

    def index(self, name: str) -> int:
        """Row of a hole; ValueError if unknown."""
        return self.names.index(name)


@dataclass(frozen=True, slots=True)
class ReadingCheck:
    """One reading after the adjustment."""

    reading: Reading
    computed: Metre  # what the adjusted pattern gives for it
    residual: Metre  # computed - read
    redundancy: float  # 0 = nothing checks it, 1 = fully checked
    normalised: float | None  # |residual| / (u sqrt(redundancy)); None where it cannot be checked
    least_visible_error: Metre | None  # smallest error that would show (power 80 %)
    set_aside: bool  # named as bad and left out
    should_have_been: Metre | None  # prediction from the others, for a set-aside reading
    should_have_been_u: Metre | None
    rivals: tuple[int, ...] = ()  # other checks nearly as likely to be the bad one
    looks_like: tuple[str, ...] = ()  # kinds of slip that would give this figure, likeliest first


@dataclass(frozen=True, slots=True)
class RepeatSpread:
    """What reading the same thing twice says of a tool."""

    tool: str
    spread: Metre  # standard deviation of one reading, from the repeats
    repeats: int  # readings beyond the first of each
    stated: Metre  # standard uncertainty the readings came with
    is_wider: bool  # significantly more than stated
    used: Metre  # standard uncertainty that was used for readings with the tool's own


@dataclass(frozen=True, slots=True)
class LandShape:
    """What was read of a land out of the rail's plane."""

    land: str
    height: Measured | None  # m above the datum plane, mean of its readings
    unevenness: Metre | None  # highest less lowest reading of the land
    radius: Measured | None  # m, of an arch from chord and rise


@dataclass(frozen=True, slots=True)
class LandJoint:
    """Where two lands meet and their seals with them: the classic place for a leak."""

    hole: str  # the hole next to it
    inner: str  # the land that begins or ends here
    outer: str  # the land beside it


@dataclass(frozen=True, slots=True)
class NextReading:
    """A centre distance worth reading, and what it would do."""

    a: str
    b: str
    u: Metre  # standard uncertainty it was tried with
    off_by: Metre  # what the least sure hole could then be off by
    checks: tuple[int, ...]  # checks that nothing checks now and this reading would check


@dataclass(frozen=True, slots=True, eq=False)
class RailResult:
    """Answer of the rail stage. ``pattern`` is None where the network cannot be solved."""

    pattern: HolePattern | None
    cannot: tuple[tuple[str, str], ...]  # (what is missing, reading or key that would cure it)
    checks: tuple[ReadingCheck, ...]
    redundancy: int
    fit: float | None  # T = vT P v of what was kept
    fit_range: tuple[float, float] | None  # chi-square 2.5 % and 97.5 % points
    s0: float | None  # a-posteriori unit weight
    covariance_factor: float = 1.0  # by which the stated covariances were multiplied
    bolts: tuple[BoltLine, ...] = ()
    not_told_apart: tuple[tuple[int, ...], ...] = ()  # indices into checks: one of each group is wrong
    next_readings: tuple[NextReading, ...] = ()  # most useful first
    repeats: tuple[RepeatSpread, ...] = ()
    land_shapes: tuple[LandShape, ...] = ()  # of lands that were read, in ring order
    land_joints: tuple[LandJoint, ...] = ()  # where unlike lands meet, in ring order
    seen: tuple[SeenRail, ...] = ()  # what scans and pictures show


@dataclass(frozen=True, slots=True)
class BoltLine:
    """New bolt at one hole: length, engagement, room at the bottom."""

    hole: str
    thread: str
    old_length: Metre | None
    old_engagement: Metre | None
    clamped: Metre  # flange + washer + seal film
    needed_engagement: Metre
    new_length: Metre | None  # None = no length fits
    new_engagement: Metre | None
    bottom_clearance: Metre | None  # None = depth not given
    is_stud: bool
