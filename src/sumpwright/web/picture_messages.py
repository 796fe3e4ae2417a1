"""The pictures' numbers: engine axes, millimetres and degrees, as the stages worked them out.

Shares its base and its rules with ``messages``. Lists named ``..._mm`` that are flat hold
x, y, z one after the other.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from sumpwright.web.messages import Message, SectionKey, Verdict

Point = tuple[float, float, float]
Flat = tuple[float, float]


# ---------------------------------------------------------------- the pan


class FaceShape(Message):
    """One flat face of the oil space."""

    index: int
    name: str
    role: Literal["wall", "floor", "roof", "rail"]  # rail = the open top
    lump: str
    normal: Point  # out of the oil
    loops: list[list[int]]  # into ``vertices_mm``, first anticlockwise seen from outside
    triangles: list[int]  # three corners each, anticlockwise seen from outside


class EdgeShape(Message):
    """Where two faces meet."""

    face_a: int
    face_b: int
    start: int
    end: int
    length_mm: float
    corner_angle_deg: float
    inward: bool


class CutShape(Message):
    """An opening of an inner wall."""

    name: str
    kind: Literal["window", "door", "drain slot"]
    loop_mm: list[Point]
    passes: Point | None  # a door: the way it lets oil through, unit vector


class WallShape(Message):
    """An inner wall or roof baffle."""

    name: str
    key: str  # of its section in the job file: 'walls."rear baffle"'
    kind: Literal["wall", "roof baffle"]
    loops_mm: list[list[Point]]  # outer lines and holes
    triangles_mm: list[float]  # flat: nine numbers a triangle
    cuts: list[CutShape]
    thickness_mm: float


class KeepOutShape(Message):
    """Something to stay clear of."""

    name: str
    lies: Literal["outside", "inside"]
    moves_with: Literal["engine", "vehicle"]
    wanted_mm: float
    triangles_mm: list[float]  # flat: nine numbers a triangle


class HoleShape(Message):
    """A hole of the rail."""

    name: str
    kind: Literal["bolt", "stud", "dowel"]
    thread: str
    x_mm: float
    y_mm: float
    diameter_mm: float  # of its edge, or of what goes through
    off_by_long_mm: float  # half axes within which it lies 95 times in 100
    off_by_short_mm: float
    off_by_turn_deg: float
    land: str


class PickupShape(Message):
    """Mouth and tube."""

    key: str
    mouth_mm: Point
    mouth_diameter_mm: float
    path_mm: list[Point]  # the tube's centre line from the mouth; empty = not given
    bore_mm: float | None


class StickShape(Message):
    """The dipstick's line and marks."""

    line_mm: list[Point]
    marks: list[StickMark]


class StickMark(Message):
    """One mark."""

    name: str
    from_stop_mm: float | None
    place_mm: Point | None


class CrankShape(Message):
    """What the crank sweeps."""

    rear_mm: Point
    front_mm: Point
    radius_mm: float


class PortShape(Message):
    """A place that must not drown."""

    name: str
    place_mm: Point


class LumpShape(Message):
    """A lump as asked, for dragging its floor."""

    name: str
    key: str  # 'lumps.sump'
    adds: bool
    depth_key: str  # key of its depth; "" = has none
    depth_mm: float | None
    depth_at_mm: Point | None  # the point of its floor that the depth is told for
    floor_normal: Point | None


class Drag(Message):
    """Something that can be dragged along ``axis``: sent as the edit 'drag' with its name."""

    name: str  # "floor of sump", "rear baffle", "mouth, to the front"
    what: Literal["floor", "wall", "door", "pickup"]
    key: str  # the first key that it writes
    place_mm: Point
    axis: Point  # unit vector along which ``value_mm`` grows
    value_mm: float  # what stands in the file now, at ``place_mm``
    least_mm: float
    most_mm: float


class PanPicture(Message):
    """The pan as it is."""

    revision: str
    trouble: list[str]  # why there is no shape
    up: Point  # the vehicle's up
    forward: Point  # the vehicle's forward, level
    left: Point
    ground_mm: float | None  # height of level ground along ``up``, from the datum hole
    vertices_mm: list[float]  # flat
    faces: list[FaceShape]
    edges: list[EdgeShape]
    walls: list[WallShape]
    compartments: list[str]
    lumps: list[LumpShape]
    flange_mm: list[Flat]  # outer edge, closed
    holes: list[HoleShape]
    pickup: PickupShape | None
    drain_mm: Point | None
    stick: StickShape | None
    crank: CrankShape | None
    ports: list[PortShape]
    keep_outs: list[KeepOutShape]
    drags: list[Drag]
    volume_l: float | None


# ---------------------------------------------------------------- leaned over


class LeanRequest(Message):
    """How the vehicle stands and what it does; nought everywhere is standing on level ground.

    Words on the page, signs here: nose up, leaned right, braking and left turn count up.
    """

    nose_up_deg: float = Field(ge=-60.0, le=60.0)
    lean_right_deg: float = Field(ge=-60.0, le=60.0)
    braking_g: float = Field(ge=-3.0, le=3.0)
    left_turn_g: float = Field(ge=-3.0, le=3.0)
    litres: float | None = Field(ge=0.0, le=1000.0)  # None = the low mark, most of the oil up in the engine


class OilSurface(Message):
    """One level of oil: a plane and what it cuts out of the pan."""

    level_mm: float  # along ``up``
    loops_mm: list[list[float]]  # flat: closed lines of the surface inside the pan
    shared: bool  # False: a pool that is cut off from the mouth


class LeanAnswer(Message):
    """Oil at rest under that pull, the space above the rail open."""

    revision: str  # of the pan it was worked out on
    trouble: str  # why nothing can be said
    litres: float
    up: Point  # against the pull, engine axes
    pull_g: float
    surfaces: list[OilSurface]
    cover_mm: float | None  # oil over the mouth's highest edge, the worse of both levels; negative = air
    cover_shared_mm: float | None
    wanted_mm: float
    above_rail_mm: float | None  # surface above the rail's lowest point; negative = below
    crank_gap_mm: float | None  # negative = the crank is in the oil
    verdict: Verdict
    words: str  # "nose 12.0° up, braking 0.40 g"
    says: str  # "The mouth is 14 mm under the oil; 20 mm are wanted."


# ---------------------------------------------------------------- parts


class HoleOfPart(Message):
    """A round hole."""

    label: str
    x_mm: float
    y_mm: float
    diameter_mm: float


class FoldOfPart(Message):
    """A fold line in the flat."""

    order: int
    start_mm: Flat
    end_mm: Flat
    words: str  # "up 90°"


class MarkOfPart(Message):
    """Etched lines."""

    kind: str
    words: str
    lines_mm: list[list[float]]  # flat x, y


class FlatShape(Message):
    """One part, flat and at its place."""

    name: str
    material: str
    thickness_mm: float
    quantity: int
    mass_kg: float
    length_mm: float
    width_mm: float
    note: str
    seen_from: str  # "from below", "from outside"
    outline_mm: list[float]  # flat x, y; closed
    cut_outs_mm: list[list[float]]
    holes: list[HoleOfPart]
    folds: list[FoldOfPart]
    marks: list[MarkOfPart]
    step: int  # in the order of building up, from one
    apart: Point  # unit vector along which it is drawn away
    origin_mm: Point  # of the flat's axes at its place
    x_axis: Point
    y_axis: Point
    solid_mm: list[float]  # flat corners at its place
    triangles: list[int]


class SeamShape(Message):
    """A seam."""

    name: str
    kind: str
    part_a: str
    part_b: str
    start_mm: Point
    end_mm: Point
    length_mm: float
    step: int | None  # in the order of welding; None = not planned


class GapShape(Message):
    """A place where the kit does not close."""

    kind: str
    where: str
    place_mm: Point


class PartsPicture(Message):
    """The flat parts and how they go together."""

    revision: str
    trouble: list[str]
    parts: list[FlatShape]
    seams: list[SeamShape]
    gaps: list[GapShape]


# ---------------------------------------------------------------- rail, maps, traces


class RailLine(Message):
    """A reading between two holes."""

    line: int
    a: str
    b: str
    set_aside: bool


class RailPicture(Message):
    """The rail; the page shows it from below."""

    revision: str
    trouble: list[str]
    holes: list[HoleShape]
    lines: list[RailLine]
    flange_mm: list[Flat]
    opening_mm: list[list[Flat]]
    anchor_mm: Flat | None


class ChartLine(Message):
    """One line of a chart."""

    name: str
    values: list[float | None]  # None = a gap


class LimitLine(Message):
    """A named limit."""

    name: str
    value: float
    least: bool  # True: values below it fail


class Chart(Message):
    """Lines over one common axis, with their limits."""

    id: str
    section: SectionKey
    title: str
    x_label: str  # with its unit
    y_label: str
    x: list[float]
    lines: list[ChartLine]
    limits: list[LimitLine]
    words: str  # one sentence that says what it shows


class CoverGrid(Message):
    """A cover map: rings and headings, or lean and nose steps."""

    kind: Literal["accelerations", "slopes"]
    title: str
    shape: tuple[int, int]
    across: list[float]  # g to the left, or degrees leaned right
    along: list[float]  # g forward (braking is negative), or degrees nose up
    cover_mm: list[float | None]  # None = the mouth stands over nothing that holds oil
    cut_off: list[bool]
    wanted_mm: float
    tightest_across: float
    tightest_along: float
    tightest_words: str
    tightest_cover_mm: float
    held_to: list[HeldRow]


class HeldRow(Message):
    """How hard one direction can be held."""

    words: str
    held_g: float | None  # None = not even standing still
    asked_g: float
    all: bool


class CoverPicture(Message):
    """Both maps."""

    revision: str
    trouble: list[str]
    maps: list[CoverGrid]


class ReplayFrames(Message):
    """One driven trace as levels of each compartment, to be drawn in the pan."""

    name: str
    words: str
    times_s: list[float]
    cover_mm: list[float]
    up: list[float]  # flat: frames, compartments, 3
    level_mm: list[float]  # flat: frames, compartments
    doors: list[str]
    doors_open: list[float]  # flat: frames, doors; 0 shut to 1 open


class ChamberShape(Message):
    """One compartment as it was driven: closed, its walls carried up where they reach the rail."""

    name: str
    vertices_mm: list[float]  # flat
    triangles: list[int]  # three corners each, anticlockwise seen from outside


class TracesPicture(Message):
    """What was driven."""

    revision: str
    trouble: list[str]
    stale: bool
    charts: list[Chart]
    replays: list[ReplayFrames]
    chambers: list[ChamberShape]  # in the order of a replay's compartments


class SuctionPicture(Message):
    """Pressure at the pump over speed, and who takes how much of it."""

    revision: str
    trouble: list[str]
    charts: list[Chart]
    shares: list[ShareBar]


class ShareBar(Message):
    """One running condition, element by element."""

    name: str
    pressure_kpa: float
    limit_kpa: float
    parts: list[ShareOf]


class ShareOf(Message):
    """One element's loss."""

    name: str
    loss_kpa: float
    least_kpa: float
    most_kpa: float


class ReplayRun(Message):
    """One manoeuvre of the free surface; its frames are fetched from the replay file by their places.

    A frame is deflated: one byte for each open cell in grid order, x slowest and z fastest, 0 empty
    to 200 full.
    """

    name: str
    verdict: Verdict
    shape: tuple[int, int, int]
    origin_mm: Point
    cell_mm: float
    open_cells: str  # base64 of the deflated bits of the grid, one for each open cell
    times_s: list[float]
    cover_mm: list[float]
    places: list[int]  # first byte and length of each frame, one after the other


class ReplayPicture(Message):
    """The free-surface runs that belong to the job as it stands."""

    revision: str
    why_not: str  # "" where there are runs
    runs: list[ReplayRun]


class BuildStep(Message):
    """One step of building the pan up: parts are set, a seam is welded, or one stops to check."""

    action: Literal["set", "weld", "stop"]
    number: int  # of the step; of the stop
    place: Literal["bench", "plate"]
    says: str
    parts: list[str]  # set: what comes as one
    seam: int | None  # weld: into ``seams``
    checks: list[str]  # stop: what is ticked
    holds: list[TorchAt]  # weld: how the torch is held, place by place


class TorchAt(Message):
    """How the torch is held at one place of a seam."""

    at_mm: float  # along the seam
    tip_mm: Point
    axis: Point  # from the weld back through the cup
    body: Point  # from the axis along the torch's body
    rod: Point | None  # from the pool to the hand with the filler rod
    stick_out_mm: float


class BuildSeam(Message):
    """One seam as it is planned."""

    turn: int | None  # its number on the weld map; None = it stays unwelded
    where: str
    tight: bool
    length_mm: float
    path_mm: list[float]  # flat


class TorchShape(Message):
    """The torch."""

    cup_mm: float
    cup_length_mm: float
    body_mm: float
    body_length_mm: float
    back_cap_mm: float
    rod_mm: float | None


class BuildPicture(Message):
    """The pan built up in the order of welding; the parts are those of ``PartsPicture``."""

    revision: str
    trouble: list[str]
    stale: bool
    seams: list[BuildSeam]
    steps: list[BuildStep]
    torch: TorchShape | None
    checked: str  # what the checker that built it up again says


class ExploredColumn(Message):
    """One answer that counts."""

    label: str
    unit: str
    want: str  # "more", "less", "only the limit"
    at_least: float | None
    at_most: float | None
    is_hard: bool


class ExploredRow(Message):
    """One variant; lists in the order of the columns."""

    number: int | None  # None = the job as it stood
    varied: list[str]
    answers: list[float | None]
    gives_up: list[float | None]  # against the best of the shown; 0 = the best
    misses: list[float | None]
    checked: bool  # in full, as by 'check'
    worse: list[str]
    better: list[str]


class ExploredShare(Message):
    """How much of an answer's spread each thing that varies causes, alone and in all."""

    answer: str
    alone: list[float | None]
    in_all: list[float | None]
    why_not: str


class ExploredPicture(Message):
    """What 'explore' found in this folder."""

    revision: str
    why_not: str
    plan: str
    says: list[str]
    varied: list[str]
    columns: list[ExploredColumn]
    as_it_stands: ExploredRow | None
    rows: list[ExploredRow]
    dots: list[list[float | None]]
    matters: list[ExploredShare]
    taken: list[str]


for _one in (
    StickShape,
    PanPicture,
    CoverGrid,
    SuctionPicture,
    ShareBar,
    BuildStep,
    BuildPicture,
    ExploredPicture,
):
    _one.model_rebuild()
