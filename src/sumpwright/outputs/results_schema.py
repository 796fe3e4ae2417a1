"""What stands in ``results.json``, key by key: the schema and the words that explain it.

Keys carry their unit (``level_mm``, ``capacity_l``); numbers are metric whatever the
user reads; nothing is NaN: what is not known is null. ``docs/results.md`` and
``docs/results.schema.json`` are made from these types.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, TypeAdapter
from typing_extensions import TypedDict

from sumpwright.outputs.results_file import SCHEMA
from sumpwright.outputs.schema_proof import ProofPart


def _says(words: str) -> Any:
    return Field(description=words)


Number = float | None
Text = str
Point = Annotated[list[float], Field(min_length=3, max_length=3)]
VerdictWord = Literal["holds", "close", "fails", "cannot say"]


class FileRow(TypedDict):
    """One file that was read."""

    file: Text
    sha256: Annotated[Text, _says("of its bytes as read")]


class AssumptionRow(TypedDict):
    """A default that was taken because the job does not say."""

    key: Annotated[Text, _says("job-file key that would replace it")]
    says: Text
    source: Text


class JobPart(TypedDict):
    """The job as it was read."""

    name: Text
    units: Annotated[Literal["mm", "in"], _says("what the sentences are written in")]
    paper: Literal["A4", "Letter"]
    turned_left_deg: float
    nose_up_deg: float
    lean_right_deg: float
    datum_height_mm: Annotated[Number, _says("datum hole above level ground; null where not given")]
    shop: Text
    files: list[FileRow]
    assumptions: list[AssumptionRow]
    verdict: Annotated[VerdictWord, _says("the worst of all findings")]
    cut_files: Annotated[bool, _says("false where the kit was refused or not made, so no cut file exists")]


class HoleRow(TypedDict):
    """One rail hole; the ellipse holds the true centre 95 times of 100."""

    name: Text
    kind: Literal["bolt", "stud", "dowel"]
    thread: Text | None
    land: Text
    x_mm: Annotated[float, _says("towards the front of the engine")]
    y_mm: Annotated[float, _says("towards the engine's left")]
    off_by_long_mm: Annotated[float, _says("long half axis, whole pattern free to float")]
    off_by_short_mm: float
    off_by_turn_deg: Annotated[float, _says("of the long axis, from the front towards the engine's left")]
    off_from_datum_long_mm: Annotated[float, _says("long half axis, datum hole and bearing fixed")]
    edge_diameter_mm: Number
    edge_diameter_u95_mm: Number


class ReadingRow(TypedDict):
    """One line of the readings file after the adjustment."""

    line: int
    kind: Text
    a: Text
    b: Text | None
    with_hole: Text | None
    value_mm: float
    u95_mm: float
    tool: Text
    computed_mm: float
    residual_mm: Annotated[float, _says("computed less read")]
    redundancy: Annotated[Number, _says("0: nothing checks this reading; 1: the others check it fully")]
    normalised: Annotated[Number, _says("residual against its own spread; null where nothing checks it")]
    least_visible_error_mm: Number
    set_aside: Annotated[bool, _says("named as bad and left out")]
    should_have_been_mm: Number
    should_have_been_u95_mm: Number


class BoltRow(TypedDict):
    """New bolt or stud at one hole."""

    hole: Text
    thread: Text
    is_stud: bool
    old_length_mm: Number
    old_engagement_mm: Number
    clamped_mm: Annotated[float, _says("flange, washer and seal film")]
    needed_engagement_mm: float
    new_length_mm: Annotated[Number, _says("null: no length on the shop's list fits")]
    new_engagement_mm: Number
    bottom_clearance_mm: Annotated[Number, _says("null: the hole's depth is not given")]


class Lack(TypedDict):
    """What is missing or wrong, and what would cure it."""

    what: Text
    cure: Text


class SeenHoleRow(TypedDict):
    """One hole as a scan or picture shows it, in that set-up's own axes."""

    name: Annotated[Text, _says("of the rail's hole; empty where it is none of them")]
    diameter_mm: float
    u_mm: Annotated[float, _says("standard uncertainty of each coordinate, from the fit")]
    arc_deg: Annotated[float, _says("part of the edge that was seen")]
    points: int
    off_mm: Annotated[Number, _says("from where the calipers alone put it; null: nothing to tell by")]


class SeenRow(TypedDict):
    """One scan or picture of the rail."""

    file: Text
    kind: Text
    scale: Annotated[Number, _says("lengths by caliper over lengths in the scan")]
    stretch: Annotated[Number, _says("of a picture, x against y")]
    flatness_mm: Annotated[Number, _says("of the scanned face")]
    widened: Annotated[float, _says("by which the fits' uncertainties were multiplied")]
    holes: list[SeenHoleRow]


class RailPart(TypedDict):
    """The hole pattern."""

    holes: Annotated[list[HoleRow], _says("ring order; empty where the readings cannot be solved")]
    covariance_mm2: Annotated[list[list[float]], _says("x1 y1 x2 y2 ..., datum hole and bearing fixed")]
    readings: list[ReadingRow]
    redundancy: int
    fit: Annotated[Number, _says("weighted sum of squared residuals of what was kept")]
    fit_range: Annotated[list[float] | None, _says("2.5 % and 97.5 % points of chi-square")]
    s0: Number
    covariance_factor: Annotated[float, _says("by which the stated covariances were multiplied")]
    bolts: list[BoltRow]
    cannot: list[Lack]
    seen: Annotated[list[SeenRow], _says("empty without scans and pictures")]


class FaceRow(TypedDict):
    """One plane face of the oil side: normal . p = offset, normal out of the oil."""

    name: Text
    role: Literal["wall", "floor", "roof", "rail"]
    lump: Text
    normal: Point
    offset_mm: float
    area_mm2: float
    loops: Annotated[list[list[int]], _says("rows of vertices_mm; first the outline, then holes")]


class EdgeRow(TypedDict):
    """One straight edge between two faces."""

    face_a: Text
    face_b: Text
    start: int
    end: int
    length_mm: float
    corner_angle_deg: Annotated[float, _says("inside the oil; above 180 at an inward corner")]
    is_inward: bool


class VolumeRow(TypedDict):
    """What one lump adds, or cuts (negative)."""

    lump: Text
    volume_l: float


class PlaceRow(TypedDict):
    """A place where a rule is broken."""

    rule: Text
    where: Text
    value: float
    limit: float
    unit: Annotated[Text, _says("of value and limit, base SI")]
    place_mm: Point
    cure: Text


class CompartmentRow(TypedDict):
    """A part of the oil space that inner walls set apart."""

    name: Text
    volume_l: Annotated[float, _says("up to the rail plane; metal of the walls not taken off")]
    centre_mm: Point


class OpeningRow(TypedDict):
    """A way from one compartment to another."""

    name: Text
    kind: Text
    wall: Text
    from_compartment: Text
    to_compartment: Text
    passes: Literal["both", "forward", "backward"]
    area_mm2: float
    centre_mm: Point


class ClearanceRow(TypedDict):
    """Least gap between the pan and one thing to keep clear of."""

    keep_out: Text
    gap_mm: Annotated[float, _says("negative: by how much skin and weld run into it")]
    part: Text
    posture: Text
    on_pan_mm: Point
    swallowed: bool


class AccessRow(TypedDict):
    """Whether one bolt can be turned."""

    name: Text
    tool: Annotated[Text, _says("empty: none reaches it")]
    room_mm: Number
    blocked_by: Text
    swing_deg: Annotated[Number, _says("free swing of a ratchet's handle; null where none was asked about")]


class RoomPart(TypedDict):
    """How the pan fits where it goes."""

    clearances: list[ClearanceRow]
    lowest_above_ground_mm: Number
    lowest_at_bump_mm: Number
    crest_deg: Number
    approach_deg: Number
    departure_deg: Number
    access: list[AccessRow]
    comes_off: Annotated[bool | None, _says("null: not looked at")]


class BodyPart(TypedDict):
    """The oil-side shape."""

    volume_l: Annotated[Number, _says("all space below the rail plane")]
    vertices_mm: list[Point]
    faces: list[FaceRow]
    edges: list[EdgeRow]
    lumps: list[VolumeRow]
    compartments: list[CompartmentRow]
    openings: list[OpeningRow]
    room: RoomPart | None
    too_small: Annotated[list[PlaceRow], _says("places too small or too sharp for this sheet")]
    cannot: list[Lack]


class MarkRow(TypedDict):
    """A mark on the dipstick."""

    name: Text
    volume_l: float
    from_stop_mm: Annotated[Number, _says("along the stick from its shoulder; null: cannot be read")]
    from_tip_mm: Number
    trouble: Text


class LevelTableRow(TypedDict):
    """Oil at one level, standing attitude."""

    depth_mm: Annotated[float, _says("at the deepest place")]
    below_rail_mm: Annotated[float, _says("surface below the lowest point of the rail opening")]
    volume_l: float


class SlopeRow(TypedDict):
    """How far the full reading moves on a floor that is not level."""

    nose_up_deg: float
    lean_right_deg: float
    shift_mm: Annotated[Number, _says("positive: reads too full; null: the oil is off the stick")]


class PoolRow(TypedDict):
    """A pool that stays when the pan is drained."""

    face: Text
    runs_to: Text
    depth_mm: float
    volume_l: float
    deepest_mm: Point
    crest_mm: Point
    cure_fall_deg: Annotated[Number, _says("extra fall from the deepest point that empties it")]


class DrainedRow(TypedDict):
    """What stays in at one attitude of the vehicle when the plug is out."""

    words: Text
    nose_up_deg: float
    lean_right_deg: float
    left_l: float
    pools: list[PoolRow]


class HeightRow(TypedDict):
    """A crank sweep or port against the oil that comes nearest."""

    name: Text
    kind: Text
    oil_volume_l: Annotated[float, _says("in the pan, hot")]
    height_left_mm: Annotated[float, _says("from the oil up to its lowest point; negative: in the oil")]
    place_mm: Point


class ExtractionRow(TypedDict):
    """What one extraction tube leaves behind, the vehicle level."""

    name: Text
    end_mm: list[float]
    left_l: Annotated[Number, _says("null where its end lies outside the oil space")]
    off_floor_mm: Number


class SensorRow(TypedDict):
    """At how much oil one level sensor switches."""

    name: Text
    switches_at_l: float
    under_low_l: Annotated[Number, _says("below the low mark, engine stopped")]
    under_low_running_l: Annotated[Number, _says("the same with the most oil up in the engine")]
    over_mouth_mm: Annotated[Number, _says("above the pickup's mouth")]


class OldPanLevelRow(TypedDict):
    """Old pan and new with the oil's surface equally far below the rail, each as it stands."""

    below_rail_mm: float
    old_volume_l: float
    new_volume_l: float


class OldPanPart(TypedDict):
    """What the old pan held as it stood, from its scan."""

    side: Annotated[Text, _says("of its sheet that was scanned")]
    room_l: Annotated[float, _says("up to the lowest place of its rail")]
    room_u_l: Annotated[float, _says("standard uncertainty")]
    missed: Annotated[float, _says("part of the opening under which nothing was scanned")]
    hidden: Annotated[float, _says("part of the scan below the rail that is not seen from the rail")]
    fill_below_rail_mm: Number
    levels: Annotated[list[OldPanLevelRow], _says("deepest first")]


class OilPart(TypedDict):
    """Levels are heights along the vehicle's up direction, counted from the datum hole."""

    capacity_l: Annotated[float, _says("level oil at the standing attitude, first touch of the rail")]
    whole_volume_l: float
    level_full_mm: Number
    level_low_mm: Number
    level_running_mm: Number
    level_poured_mm: Number
    level_rail_mm: Annotated[Number, _says("lowest point of the rail opening")]
    level_deepest_mm: Number
    volume_full_l: Number
    volume_low_l: Number
    hold_up_least_l: Number
    hold_up_most_l: Number
    mouth_cover_mm: Annotated[Number, _says("oil over the pickup mouth at the lowest running level")]
    balance_l: Annotated[Number, _says("capacity less the old pan's")]
    old_pan: Annotated[OldPanPart | None, _says("none without a scan of its inside")]
    stick_mm_per_l: Number
    marks: list[MarkRow]
    slopes: list[SlopeRow]
    drained: list[DrainedRow]
    heights: list[HeightRow]
    extractions: list[ExtractionRow]
    sensors: list[SensorRow]
    table: list[LevelTableRow]


class AskedPart(TypedDict):
    """Everything that is held for ever."""

    left_turn_g: float
    right_turn_g: float
    braking_g: float
    accelerating_g: float
    nose_up_deg: float
    nose_down_deg: float
    lean_right_deg: float
    lean_left_deg: float


class MapPart(TypedDict):
    """Oil over the pickup mouth for every load of a map; all lists run along the loads."""

    kind: Literal["accelerations", "slopes"]
    across: Annotated[list[float], _says("accelerations: g to the left; slopes: degrees leaned right")]
    along: Annotated[list[float], _says("accelerations: g forward; slopes: degrees nose up")]
    shape: Annotated[list[int], _says("rings and headings, or lean steps and nose steps")]
    cover_mm: Annotated[list[float], _says("negative: the mouth draws air")]
    above_rail_mm: Annotated[list[float], _says("oil above the lowest point of the rail; negative: below")]


class HeldRow(TypedDict):
    """How hard one direction can be held before the mouth is covered less than wanted."""

    words: Text
    asked_g: float
    held_g: Annotated[Number, _says("null: not even standing still")]


class NearestRow(TypedDict):
    """The slope on which the oil comes nearest to the crank's sweep or to a port."""

    name: Text
    kind: Text
    words: Text
    nose_up_deg: float
    lean_right_deg: float
    height_left_mm: Annotated[float, _says("negative: in the oil")]


class ManoeuvreRow(TypedDict):
    """One manoeuvre or logged lap, driven twice: the surface follows at once, or swings."""

    name: Text
    words: Text
    length_s: float
    allowed_s: Annotated[float, _says("bare for longer on end fails")]
    bare_least_s: Annotated[float, _says("longest on end, kinder run")]
    bare_most_s: Annotated[float, _says("longest on end, worse run")]
    least_cover_mm: Annotated[float, _says("oil over the mouth's highest edge; negative: bare")]
    worst_after_s: float
    least_reserve_s: Annotated[Number, _says("seconds of oil over the mouth at what the pump asks")]
    out_of_reach_l: Annotated[Number, _says("oil not over the mouth at the worst moment")]
    air_l: Annotated[Number, _says("air drawn in all")]
    crank_gap_mm: Annotated[Number, _says("least from the crank's sweep to the oil; null: no crank given")]
    doors: list[DoorRecordRow]


class DoorRecordRow(TypedDict):
    """What one door does in a manoeuvre, the surface swinging."""

    door: Text
    openings: Annotated[int, _says("times that it comes to stand more than half open")]
    open_s: Annotated[float, _says("for so long in all")]


class DoorFailureRow(TypedDict):
    """All manoeuvres with one door failing."""

    door: Text
    how: Text
    worst_in: Text
    bare_s: float
    least_cover_mm: float


class TriedRow(TypedDict):
    """One change driven through every manoeuvre that goes wrong."""

    what: Text
    key: Text
    value: Text
    bare_s: float
    least_cover_mm: float


class LogRow(TypedDict):
    """A log's oil pressure dips against the predicted bare stretches."""

    name: Text
    dips: int
    met: int
    hold_up_times: Annotated[float, _says("of the hold-up that was assumed")]
    leak_times: Annotated[float, _says("of the doors' leak gap")]


class DrivenPart(TypedDict):
    """The pan driven through its manoeuvres: low mark, hot, most oil up in the engine."""

    in_pan_l: Number
    held_up_l: Number
    compartments: list[Text]
    doors: list[Text]
    manoeuvres: list[ManoeuvreRow]
    door_failures: list[DoorFailureRow]
    tried: list[TriedRow]
    logs: list[LogRow]


class FreeSurfaceRow(TypedDict):
    """One manoeuvre with the oil as it really moves, beside the compartments."""

    name: Text
    verdict: Annotated[Text, _says("never better than that of the compartments")]
    engine: Text
    parcels: int
    steps: int
    bare_s: Annotated[float, _says("longest on end with the mouth's edge bare")]
    bare_least_s: Annotated[float, _says("with the surface half a cell higher")]
    bare_most_s: Annotated[float, _says("with the surface half a cell lower")]
    least_cover_mm: float
    least_reserve_s: Number
    elsewhere_percent: Annotated[
        float, _says("of the oil, rms: outside what both runs of the compartments bracket")
    ]
    elsewhere_swinging_percent: Annotated[float, _says("the same beside the run with a swinging surface")]
    in_bracket_percent: Annotated[float, _says("of the time with the cover between both runs")]
    cover_off_mm: Annotated[float, _says("rms distance of the cover from that range")]
    volume_kept_percent: Annotated[float, _says("volume below the surface, mean over a second, the worst")]
    replay: Annotated[Text, _says("file in the pack that holds every moment")]


class NotRunRow(TypedDict):
    """A manoeuvre that was asked for and has no free surface."""

    name: Text
    why: Text


class FreeSurfacePart(TypedDict):
    """The oil as it really moves, in three dimensions."""

    cell_mm: float
    manoeuvres: list[FreeSurfaceRow]
    not_run: list[NotRunRow]


class MotionPart(TypedDict):
    """Whether the pickup stays covered, held for ever."""

    asked: AskedPart
    volume_l: Annotated[Number, _says("low mark, most oil up in the engine")]
    least_cover_mm: float
    held_to: list[HeldRow]
    nearest: list[NearestRow]
    accelerations: MapPart | None
    slopes: MapPart | None
    better_mouth_mm: Annotated[
        list[float] | None,
        _says("same height, covered better at the tightest load; null: none or not needed"),
    ]
    better_cover_mm: Number
    missing: Annotated[list[Text], _says("job-file keys without which no map can be drawn")]
    driven: Annotated[DrivenPart | None, _says("null: the pan was not driven through its manoeuvres")]
    free_surface: Annotated[FreeSurfacePart | None, _says("null: 'drive --free-surface' was not run")]


class LossRow(TypedDict):
    """One part of the pressure that is missing at the pump."""

    element: Text
    loss_kpa: float
    least_kpa: float
    most_kpa: float


class PointRow(TypedDict):
    """One running condition."""

    name: Text
    temperature_c: float
    speed_rpm: float
    flow_l_min: float
    velocity_m_s: float
    reynolds: float
    losses: list[LossRow]
    pressure_kpa: Annotated[float, _says("absolute, at the pump's inlet")]
    pressure_least_kpa: float
    pressure_most_kpa: float
    limit_kpa: float
    fed_flow_l_min: float


class PressurePart(TypedDict):
    """Pressure at the pump over temperature (rows) and engine speed (columns)."""

    temperatures_c: list[float]
    speeds_rpm: list[float]
    pressure_kpa: Annotated[list[list[float]], _says("absolute; below zero: the pump cannot be fed")]
    limit_kpa: list[float]
    is_extrapolated: Annotated[list[bool], _says("the oil's chart does not reach so far")]


class CureRow(TypedDict):
    """One size that would do, the rest unchanged; bore and radius in mm, area in mm2."""

    what: Text
    now: float
    needed: Number


class SuctionPart(TypedDict):
    """How the pump is fed."""

    atmosphere_kpa: float
    points: list[PointRow]
    pressures: PressurePart | None
    lift_mm: Number
    mouth_gap_mm: Number
    submergence_mm: Number
    submergence_wanted_mm: Number
    coldest_fed_c: Number
    fill_time_s: Annotated[Number, _says("at the coldest start asked for; null: never, or not asked")]
    residence_s: Number
    running_volume_l: Number
    cures: list[CureRow]
    cannot: list[Lack]


class CutHoleRow(TypedDict):
    """One round hole of a part, in the part's own axes."""

    name: Text
    x_mm: float
    y_mm: float
    diameter_mm: float


class FoldRow(TypedDict):
    """One bend of a flat part."""

    order: Annotated[int, _says("1 is the first fold")]
    start_mm: Annotated[list[float], _says("of the fold line, on the drawing")]
    end_mm: list[float]
    turn_deg: float
    radius_mm: Annotated[float, _says("inside")]
    allowance_mm: float
    direction: Annotated[Text, _says("up: towards the one who looks at the drawn side")]
    k: float
    k_source: Text


class PartRow(TypedDict):
    """One flat part."""

    name: Text
    file: Annotated[Text | None, _says("null where no cut file was written")]
    material: Text
    thickness_mm: float
    quantity: int
    length_mm: float
    width_mm: float
    mass_kg: float
    holes: list[CutHoleRow]
    origin_mm: Annotated[Point, _says("of the drawing, in the engine frame")]
    x_axis: Point
    y_axis: Point
    note: Text
    folds: Annotated[list[FoldRow], _says("empty where the part stays flat")]


class JointRow(TypedDict):
    """What happens along one edge."""

    part_a: Text
    part_b: Text
    kind: Text
    corner_angle_deg: float
    length_mm: float
    groove_angle_deg: Number
    fill_area_mm2: Annotated[Number, _says("of weld metal, filled flat")]
    start_mm: Point
    end_mm: Point


class FlangeHoleRow(TypedDict):
    """One flange hole and what its radial clearance is made of."""

    hole: Text
    diameter_mm: float
    standard_clearance_mm: float
    from_measuring_mm: float
    from_cutter_mm: float
    from_heat_mm: float
    needed_mm: float


class GapRow(TypedDict):
    """A place where the rebuilt kit does not close or collides."""

    kind: Text
    where: Text
    size: float
    limit: float
    unit: Annotated[Text, _says("mm, or mm3 where two parts share metal or reach into the oil")]
    place_mm: Point


class RebuildPart(TypedDict):
    """The kit built up again from its flats and measured."""

    worst_gap_mm: Number
    overlap_mm3: Number
    intrusion_mm3: Number
    rays: int
    escapes: int
    refused: bool
    why: Text
    gaps: list[GapRow]


class PlacementRow(TypedDict):
    """One piece on a sheet: turned about the part's origin, then moved; never turned over."""

    part: Text
    copy_number: int
    turned_deg: float
    x_mm: float
    y_mm: float
    inside: Annotated[Text, _says("the part in whose cut-out this piece lies")]


class NestRow(TypedDict):
    """One sheet or offcut with its pieces."""

    number: int
    file: Annotated[Text | None, _says("null where no cut file was written")]
    blank: Text
    material: Text
    thickness_mm: float
    length_mm: float
    width_mm: float
    used_length_mm: float
    used_share: Annotated[float, _says("parts' metal over the stretch that is cut off")]
    placements: list[PlacementRow]


class NotNestedRow(TypedDict):
    """A piece that found no sheet."""

    part: Text
    why: Text


class PriceRow(TypedDict):
    """One line of the price."""

    item: Text
    metal: Text
    thickness_mm: Number
    amount: float
    unit: Text
    rate: Number
    is_placeholder: bool
    key: Text
    cost: Number


class PricePart(TypedDict):
    """What the flat parts and their seams cost at the shop's rates."""

    currency: Text
    counted_by: Text
    lines: list[PriceRow]
    total: Annotated[Number, _says("null where a rate is missing")]


class StepRow(TypedDict):
    """A land that lies lower than the datum land."""

    land: Text
    depth_mm: float
    film_mm: Annotated[float, _says("room for the seal between risers and the block's upright faces")]


class SaddleRow(TypedDict):
    """A rolled strip under the block's round."""

    part: Text
    radius_mm: Annotated[float, _says("inside, to roll it to")]
    turn_deg: float
    crown_mm: Annotated[float, _says("z of its face to the block")]


class DabRow(TypedDict):
    """Where two seals meet: a dab of liquid sealant goes here."""

    land: Text
    place_mm: list[float]


class LandsPart(TypedDict):
    """How the flange follows a rail that is not one plane."""

    steps: list[StepRow]
    saddles: list[SaddleRow]
    dabs: list[DabRow]


class KitPart(TypedDict):
    """The flat parts."""

    parts: list[PartRow]
    joints: list[JointRow]
    rebuild: RebuildPart
    flange_holes: list[FlangeHoleRow]
    anchor_mm: Annotated[list[float], _says("x, y of the point from which the flange grows when hot")]
    mass_kg: float
    weld_length_mm: float
    nests: Annotated[list[NestRow], _says("empty where none were asked for")]
    not_nested: list[NotNestedRow]
    price: PricePart | None
    inside: Annotated[InsidePart | None, _says("null where nothing inside is asked for")]
    alternatives: Annotated[list[AlternativeRow], _says("only in a pack; the job itself first")]
    lands: Annotated[LandsPart | None, _says("null where the flange is one flat plate")]


class ProposalRow(TypedDict):
    """A change to the job that would help."""

    key: Text
    value: Text
    says: Text


class FindingRow(TypedDict):
    """One verdict. The sentences are those of the sheet and the screen."""

    code: Text
    verdict: VerdictWord
    where: Text
    says: Text
    value: Number
    limit: Number
    unit: Annotated[Text, _says("of value, limit and u95")]
    u95: Annotated[Number, _says("half width of the 95 % interval; null: not known, how_sure says why")]
    how_sure: Text
    do: Text
    source: Annotated[Text, _says("a key of sources, or words")]
    place_mm: Annotated[list[float] | None, _says("engine frame")]
    cautions: list[Text]
    proposals: list[ProposalRow]


class SourceRow(TypedDict):
    """One entry of the bibliography that a finding or assumption names."""

    title: Text
    how: Annotated[Text, _says("published, memory, practice, derived or user")]


class HeldWallRow(TypedDict):
    """How one inner wall is held."""

    wall: Text
    held: Annotated[Text, _says("tacked or bolted")]
    hole_mm: Number
    bosses_mm: Annotated[list[list[float]], _says("x, y, z of each boss's middle")]


class TubeBendRow(TypedDict):
    """One bend of a tube."""

    along_mm: Annotated[float, _says("from the piece's start to where the bend begins")]
    angle_deg: float
    radius_mm: float
    plane_turned_deg: Annotated[float, _says("against the bend before, right-handed along the tube")]


class TubePieceRow(TypedDict):
    """One length of the pickup's tube."""

    name: Text
    length_mm: Annotated[float, _says("on the middle line, between the cuts")]
    longest_mm: Annotated[float, _says("to saw off")]
    start: Annotated[Text, _says("name of the cut, or square")]
    end: Text
    turned_deg: Annotated[float, _says("outside of the first cut to outside of the second, right-handed")]
    bends: list[TubeBendRow]


class TubeCutRow(TypedDict):
    """One mitre."""

    name: Text
    turn_deg: float
    girth_mm: float
    rise_mm: Annotated[float, _says("highest over lowest point of the cut")]


class BossRow(TypedDict):
    """One boss in the pan's sheet."""

    name: Text
    kind: Text
    face: Text
    thread: Text
    hole_mm: float
    place_mm: list[float]


class PostRow(TypedDict):
    """One post on the pan's sheet."""

    name: Text
    face: Text
    side: Annotated[Text, _says("inside or outside")]
    diameter_mm: float
    length_mm: float
    place_mm: Annotated[list[float], _says("x, y, z of the middle of its foot")]


class SetPlateRow(TypedDict):
    """One round plate on the pan's sheet."""

    name: Text
    face: Text
    diameter_mm: float
    place_mm: list[float]


class BoughtRow(TypedDict):
    """Something to buy."""

    name: Text
    how_many: Text
    size: Text
    made_of: Text
    check: Annotated[Text, _says("how to know it at the bench")]


class InsidePart(TypedDict):
    """What goes inside the pan and onto it."""

    parts: list[Text]
    placed_while_fitting: list[Text]
    walls: list[HeldWallRow]
    tube_pieces: list[TubePieceRow]
    tube_cuts: list[TubeCutRow]
    bosses: list[BossRow]
    posts: list[PostRow]
    plates: list[SetPlateRow]
    bought: list[BoughtRow]


class ChangeRow(TypedDict):
    """One key of the job file written differently."""

    key: Text
    value: Text


class AlternativeRow(TypedDict):
    """The pan made another way; sheet priced by the box round each part."""

    name: Text
    changes: Annotated[list[ChangeRow], _says("none: the job itself")]
    price: Number
    currency: Text | None
    has_placeholder_prices: bool
    mass_kg: Number
    weld_length_mm: Number
    parts: int
    bends: int
    refused: bool
    fails: list[Text]
    why_not: Text
    notes: list[Text]


class SeamRow(TypedDict):
    """One seam."""

    seam: Annotated[int, _says("number, as the seams were found; referred to elsewhere")]
    turn: Annotated[int | None, _says("place in the order of welding, which is its number on the weld map")]
    kind: Text
    part_a: Text
    part_b: Text
    where: Text
    fate: Annotated[Literal["planned", "out of reach", "left bare"], _says("what becomes of it")]
    welded_on: Literal["bench", "plate"]
    side: Text
    oil_tight: Annotated[bool, _says("continuous and tight; else structural, stitched")]
    length_mm: float
    groove_deg: Number
    fill_area_mm2: float
    fill_volume_mm3: float
    fit_up_gap_mm: Annotated[float, _says("that the cutter's tolerance may leave open")]
    thickness_a_mm: float
    thickness_b_mm: float
    material_a: Text
    material_b: Text
    start_mm: Annotated[Point, _says("root of the weld, engine frame")]
    end_mm: Point
    tacks_mm: Annotated[list[float], _says("along the seam, in the order they are set")]
    runs_mm: Annotated[
        list[list[float]],
        _says("start and end of each run along the seam; below 0 or beyond its length: round the corner"),
    ]


class WeldStepRow(TypedDict):
    """One step of the build."""

    step: int
    action: Literal["set", "weld"]
    place: Literal["bench", "plate"]
    parts: Annotated[list[Text], _says("what is set up, as one")]
    seam: Annotated[int | None, _says("what is welded")]
    side: Text
    before_closing: Annotated[bool, _says("it cannot wait until all parts stand")]
    bolts_out: Annotated[list[Text], _says("clamp bolts out while the bead passes them, one at a time")]
    stations_reached: Annotated[int, _says("places along the seam that the torch was tried at and reaches")]


class BlockedRow(TypedDict):
    """A stretch of a seam that the torch does not reach."""

    seam: int
    start_mm: float
    end_mm: float
    place_mm: Point
    by: Annotated[list[Text], _says("what stands in the way, the worst first")]


class HoldPointRow(TypedDict):
    """A stop with a tick."""

    number: int
    name: Text
    after_step: Annotated[int, _says("0 = before the first")]
    checks: list[Text]


class FillerRow(TypedDict):
    """What one pair of metals is welded with."""

    metals: Annotated[list[Text], _says("of the thinner sheet, of the thicker")]
    thin_mm: float
    thick_mm: float
    what: Text
    seams: int
    length_mm: float
    filler: Annotated[Text | None, _says("null: not welded, or nothing is known of the pair")]
    current: Text
    amps: Annotated[list[float] | None, _says("least, most")]
    proven_by_coupon: bool


class MovedHoleRow(TypedDict):
    """What welding does at one hole of the rail."""

    hole: Text
    lift_mm: Annotated[list[float], _says("out of the flange's mean plane, least and most, up positive")]
    draw_mm: Annotated[list[float], _says("in the rail's plane, to the front and to the left, most")]
    seat_tilt_deg: float


class PullingSeamRow(TypedDict):
    """What one seam does to the flange."""

    seam: Text
    joint: Annotated[int | None, _says("counted in kit.joints from 0; null: tacks of an inner wall")]
    heat_j_per_mm: Annotated[list[float], _says("least, most")]
    pull_n: Annotated[list[float], _says("least, most")]
    share_mm: Annotated[float, _says("its part of the bow, welded free; negative flattens")]


class PressedPanelRow(TypedDict):
    """A panel that its seams press."""

    panel: Text
    width_mm: float
    pressed_mpa: Annotated[list[float], _says("least, most")]
    waves_mpa: Annotated[list[float], _says("with edges that turn, with edges that do not")]


class MovementPart(TypedDict):
    """How far the pan moves in welding."""

    doubt: Annotated[Text, _says("what ties it to this shop")]
    trouble: Annotated[Text | None, _says("why it was not worked out")]
    free_mm: Annotated[list[float] | None, _says("flange out of flat, welded lying free, least and most")]
    released_mm: Annotated[list[float] | None, _says("welded on the plate and let go cold")]
    left_after_facing_mm: float | None
    holes: list[MovedHoleRow]
    seams: list[PullingSeamRow]
    panels: list[PressedPanelRow]
    left_out: Annotated[list[Text], _says("inner walls that could not be set in")]


class MetalRow(TypedDict):
    """The pan in one sheet metal."""

    material: Text
    sheet_mm: float
    flange_mm: float
    price: Number
    mass_kg: Number
    slip_mm: Annotated[Number, _says("over the block when hot, at the farthest hole")]
    dent_n: Annotated[Number, _says("force on a small spot that leaves a dent")]
    tearing_j_per_m2: Number
    moves_mm: Annotated[list[float] | None, _says("flange off the plate, out of flat, least and most")]
    distortion_class: Annotated[Text | None, _says("A to D, by the far end of that")]
    welding: VerdictWord | None
    why_not: Text


class WeldPart(TypedDict):
    """The weld stage."""

    seams: list[SeamRow]
    steps: list[WeldStepRow]
    blocked: list[BlockedRow]
    hold_points: list[HoldPointRow]
    replayed_stations: Annotated[int | None, _says("places at which the checker held the torch again")]
    replay_holds: bool | None
    left_out: Annotated[list[Text], _says("welds that this plan says nothing about")]
    fillers: list[FillerRow]
    movement: Annotated[MovementPart | None, _says("null: not asked for")]
    metals: Annotated[list[MetalRow], _says("only in a pack; the job's own first")]


class Results(TypedDict):
    """The whole file."""

    job: JobPart
    rail: RailPart | None
    body: BodyPart | None
    oil: OilPart | None
    motion: MotionPart | None
    suction: SuctionPart | None
    kit: KitPart | None
    weld: Annotated[WeldPart | None, _says("null where 'pack' has not planned it")]
    proof: ProofPart | None
    findings: Annotated[list[FindingRow], _says("in the order of the work")]
    sources: dict[str, SourceRow]
    versions: Annotated[dict[str, str], _says("schema, this program, and what its numbers rest on")]


def json_schema() -> dict[str, Any]:
    """The JSON schema (draft 2020-12); no key may be missing and none may be added."""
    schema = TypeAdapter(Results).json_schema()
    for described in (schema, *schema.get("$defs", {}).values()):
        described.pop("title", None)
        for value in described.get("properties", {}).values():
            value.pop("title", None)
        if described.get("type") == "object" and "properties" in described:
            described["additionalProperties"] = False
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": SCHEMA, **schema}
