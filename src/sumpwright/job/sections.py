"""The sections of the job file, one model each.

Optional keys hold None where the file says nothing; what then stands in is decided, and
told, in ``assemble``. The description of a field is the sentence in docs/job-file.md.
"""

from __future__ import annotations

import math
from typing import Annotated

from pydantic import Field

from sumpwright.job.drive_sections import DriveSection
from sumpwright.job.edge_joint_sections import EdgeJointSection
from sumpwright.job.fields import Asked, Flag, Name, OneOf
from sumpwright.job.fitting_sections import (
    FittingSection,
    JackingSection,
    StandOffSection,
    StoneGuardSection,
)
from sumpwright.job.free_surface_sections import FreeSurfaceSection
from sumpwright.job.patch_sections import PatchPlateSection
from sumpwright.job.proof_sections import InstallSection, ProofSection
from sumpwright.job.section_types import (
    ATTITUDE as _ATTITUDE,
)
from sumpwright.job.section_types import (
    BEARING as _BEARING,
)
from sumpwright.job.section_types import (
    CELSIUS_0,
    DEGREE,
    MOST_CORNERS,
    Coordinate,
    FlatPoint,
    Hole,
    Section,
    SpacePoint,
)
from sumpwright.job.section_types import (
    HEIGHT as _HEIGHT,
)
from sumpwright.job.section_types import (
    HOLE as _HOLE,
)
from sumpwright.job.section_types import (
    length as _length,
)
from sumpwright.job.section_types import (
    volume as _volume,
)
from sumpwright.job.seen_sections import (
    GasketPictureSection,
    PictureMarkSection,
    ScanMarkSection,
    ScanSection,
)
from sumpwright.job.suction_sections import CornerSection, JointSection, SuctionSection
from sumpwright.job.surroundings_sections import KeepOutSection, VehicleSection
from sumpwright.job.wall_sections import RoofSection, WallSection
from sumpwright.job.weld_sections import WeldSection
from sumpwright.tables.uses import uses

MOST_HOLES = 120
MOST_LUMPS = 30

PRESSURE = ("pressure passage", "filter", "cooler")
STRUCTURAL = ("gearbox brace", "balance shaft", "engine mount")
ATTACHED = (
    "pickup",
    "level sensor",
    "temperature sensor",
    "turbo return",
    "breather return",
    "tray",
    "drain",
    "dipstick",
)
PRESSURE_MOVES = ("adapter", "remote filter", "remote cooler", "hose", "on the engine", "plugged")
STRUCTURAL_MOVES = ("adapter", "separate brace", "on the engine")
ATTACHED_MOVES = ("new pan", "on the engine", "adapter", "hose", "left out")
MOVES = tuple(dict.fromkeys((*PRESSURE_MOVES, *STRUCTURAL_MOVES, *ATTACHED_MOVES)))


_VISCOSITY = Asked("kinematic viscosity", 1e-6, 2e-3, "63 cSt", "63 cSt")
_OIL_TEMPERATURE = Asked("temperature", CELSIUS_0 - 50, CELSIUS_0 + 180, "110 degC", "230 degF")
_ACCELERATION = Asked("acceleration", 0.0, 60.0, "1.2 g", "1.2 g")
_SPEED = Asked("rotation", 2 * math.pi, 640 * math.pi, "7000 rpm", "7000 rpm")


class JobSection(Section):
    """What this pan is called and how the sheet is printed."""

    name: Annotated[str, Name(60, "Hill-climb four")] = Field(description="What the sheet is headed with.")
    units: Annotated[str | None, OneOf(("mm", "in"), {"inch": "in", "inches": "in", "metric": "mm"})] = Field(
        None,
        description="What the sheet prints. Every quantity may be written in either, whatever stands here.",
    )
    paper: Annotated[str | None, OneOf(("A4", "Letter"))] = Field(None, description="Sheets in the printer.")
    gallons: Annotated[str | None, OneOf(("us", "imperial"))] = Field(
        None,
        description='Which gallon, quart and pint a bare "gal", "qt" or "pt" means. Without it, write '
        '"us gal" or '
        '"imp gal".',
    )


class OldPanSection(Section):
    """What the old pan did besides holding oil. Asked first: it decides whether a plain sheet pan can do."""

    carries: list[Annotated[str, OneOf((*ATTACHED, *PRESSURE, *STRUCTURAL))]] = Field(
        examples=['["pickup", "tray"]'],
        description="Everything the old pan carried; an empty list if it held oil and nothing else.",
        max_length=30,
    )
    moved: dict[str, Annotated[str, OneOf(MOVES)]] | None = Field(
        None,
        examples=['{ "pressure passage" = "adapter" }'],
        description='Where each duty went: { "pressure passage" = "adapter" }.',
    )
    clamped: Annotated[float | None, _length(0.3, 100, "3.5 mm", "1/8 in")] = Field(
        None, description="Thickness of the old pan's flange and its gasket together, under the bolt heads."
    )
    nose_up: Annotated[float | None, _ATTITUDE] = Field(
        None, description="How the engine stood when the old pan was on it: front raised."
    )
    nose_down: Annotated[float | None, _ATTITUDE] = Field(None, description="The same: front lowered.")
    lean_left: Annotated[float | None, _ATTITUDE] = Field(
        None, description="The same: top over to the left, seen from behind."
    )
    lean_right: Annotated[float | None, _ATTITUDE] = Field(
        None, description="The same: top over to the right. What a scan of the old pan held is counted so."
    )


class EngineSection(Section):
    """How the engine stands in the vehicle, seen from behind: first turned, then nose up, then leaned."""

    turned_left: Annotated[float | None, _ATTITUDE] = Field(None, description="Front swung to the left.")
    turned_right: Annotated[float | None, _ATTITUDE] = Field(None, description="Front swung to the right.")
    nose_up: Annotated[float | None, _ATTITUDE] = Field(None, description="Front raised.")
    nose_down: Annotated[float | None, _ATTITUDE] = Field(None, description="Front lowered.")
    lean_left: Annotated[float | None, _ATTITUDE] = Field(None, description="Top over to the left.")
    lean_right: Annotated[float | None, _ATTITUDE] = Field(None, description="Top over to the right.")
    displacement: Annotated[float | None, _volume(0.02, 100, "2.0 L", "122 in3")] = Field(
        None, description="Of the engine, for a first guess of the pump where nothing better is known."
    )
    datum_height: Annotated[float | None, _HEIGHT] = Field(
        None, description="Datum hole above level ground at ride height."
    )
    datum_forward: Annotated[float | None, _HEIGHT] = Field(
        None, description="Datum hole ahead of the vehicle's origin."
    )
    datum_back: Annotated[float | None, _HEIGHT] = Field(None, description="Datum hole behind it.")
    datum_left: Annotated[float | None, _HEIGHT] = Field(None, description="Datum hole left of it.")
    datum_right: Annotated[float | None, _HEIGHT] = Field(None, description="Datum hole right of it.")


class RailSection(Section):
    """The block's pan rail: its holes, where they are read, and which way round they lie."""

    ring: list[Hole] = Field(
        examples=['["h1", "h2", "h3"]'],
        description="All holes in the order you meet them going once round the rail.",
        min_length=3,
        max_length=MOST_HOLES,
    )
    datum: Hole = Field(description="The hole everything is measured from: the origin of the engine's axes.")
    second: Hole = Field(description="A second hole far from it; the line between them gives the direction.")
    bearing_left: Annotated[float | None, _BEARING] = Field(
        None, description="Direction from datum to second hole, counted from the engine's front to its left."
    )
    bearing_right: Annotated[float | None, _BEARING] = Field(
        None, description="The same, counted to its right."
    )
    side_hole: Annotated[str | None, _HOLE] = Field(
        None,
        description="A hole well to one side of the line datum-second. Readings fit the mirrored rail "
        "just as well, "
        "so it has to be said once which side it lies on.",
    )
    side: Annotated[str | None, OneOf(("left", "right"))] = Field(
        None, description="The side it lies on when you look from the datum hole to the second hole."
    )
    seen_from: Annotated[str | None, OneOf(("above", "below"))] = Field(
        None, description="From where you looked: below = lying under the engine."
    )
    ring_runs: Annotated[
        str | None, OneOf(("clockwise", "anticlockwise"), {"counterclockwise": "anticlockwise"})
    ] = Field(
        None,
        description="Which way round `ring` goes, seen from there. Needed where a land spans part of the "
        "ring.",
    )
    readings: Annotated[str | None, Name(60, "rail.csv")] = Field(
        None, description="The readings file beside the job file."
    )
    readings_in: Annotated[str | None, OneOf(("mm", "in"))] = Field(
        None, description="Unit of readings written without one."
    )
    block: Annotated[str, Name(40, "grey iron")] = Field(description="Metal of the block.")
    threads: Annotated[str | None, Name(40, "grey iron")] = Field(
        None, description="Metal the threads are cut in, if not the block's."
    )
    temperature: Annotated[
        float | None, Asked("temperature", CELSIUS_0 - 30, CELSIUS_0 + 60, "20 degC", "68 degF")
    ] = Field(None, description="Of the block (and of the caliper) when the rail was read.")
    tool_temperature: Annotated[
        float | None, Asked("temperature", CELSIUS_0 - 30, CELSIUS_0 + 60, "20 degC", "68 degF")
    ] = Field(None, description="Of caliper, rule and tape, where it was not the block's.")
    hot: Annotated[
        float | None, Asked("temperature", CELSIUS_0 + 20, CELSIUS_0 + 180, "110 degC", "230 degF")
    ] = Field(None, description="Of pan and rail when the engine is hot.")
    hole_off_at_most: Annotated[float | None, _length(0.01, 2, "0.3 mm", "0.012 in")] = Field(
        None, description="How far a hole may be off (95 in 100) before the rail must be read better."
    )


class FastenersSection(Section):
    """What goes through a group of rail holes. One group for each kind; every hole is in exactly one."""

    holes: list[Hole] = Field(
        examples=['["h1", "h2"]'], description="The holes of this group.", min_length=1, max_length=MOST_HOLES
    )
    kind: Annotated[str, OneOf(("bolt", "stud", "dowel"), {"screw": "bolt", "dowel pin": "dowel"})] = Field(
        description="What goes through them."
    )
    thread: Annotated[str | None, Name(20, "M6")] = Field(
        None, description='Thread, "M6", "M8x1" or "5/16-18". Not for dowels.'
    )
    diameter: Annotated[float | None, _length(2, 30, "8 mm", "5/16 in")] = Field(
        None, description="Dowel diameter. Not for bolts and studs: their thread says it."
    )
    blind_depth: Annotated[float | None, _length(2, 200, "14 mm", "9/16 in")] = Field(
        None, description="Usable depth of the tapped hole below the rail face, measured with a rod."
    )
    through: Annotated[bool | None, Flag()] = Field(
        None, description="The hole goes through: there is no bottom to run against."
    )
    old_bolt_length: Annotated[float | None, _length(4, 300, "16 mm", "5/8 in")] = Field(
        None,
        description="Length of the old bolt under its head; of a stud, how far it stands out of the rail.",
    )
    hole_diameter: Annotated[float | None, _length(2, 40, "6.8 mm", "0.266 in")] = Field(
        None,
        description="Diameter of the hole's edge at the rail face, where the jaws touch. Or give "
        "diameter readings.",
    )


class LandSection(Section):
    """A stretch of the rail. One without `from_hole` and `to_hole` is the rest of the ring."""

    name: Annotated[str, Name(30, "main")] = Field(description="What it is called.")
    kind: Annotated[str, OneOf(("flat", "step", "arch"))] = Field(
        description="flat: a plane face. step: a flat at another height. arch: a round end."
    )
    from_hole: Annotated[str | None, _HOLE] = Field(
        None,
        description="Last hole before it, in the order of the ring. The holes strictly between lie on it.",
    )
    to_hole: Annotated[str | None, _HOLE] = Field(None, description="First hole behind it.")
    above: Annotated[float | None, _length(0, 200, "4 mm", "5/32 in")] = Field(
        None,
        description="Its height above the plane of the datum hole, towards the crank; of an arch, the "
        "height of its crown.",
    )
    below: Annotated[float | None, _length(0, 200, "12 mm", "15/32 in")] = Field(
        None, description="Its height below that plane, towards the ground; an arch then hangs into the pan."
    )
    radius: Annotated[float | None, _length(5, 500, "52 mm", "2 in")] = Field(None, description="Of an arch.")
    width: Annotated[float | None, _length(1, 200, "14 mm", "9/16 in")] = Field(
        None, description="Of an arch, along the engine."
    )
    middle: FlatPoint | None = Field(
        None,
        examples=['["452 mm", "-107 mm"]'],
        description="Middle of an arch's seat (x, y). Without it, midway between the two holes.",
    )
    from_line: Annotated[list[FlatPoint], Field(min_length=2, max_length=2)] | None = Field(
        None,
        examples=['[["12 mm", "0 mm"], ["12 mm", "-200 mm"]]'],
        description="Two points (x, y) of the block's upright face between `from_hole` and a step. A face "
        "straight across the rail need be given once only. Without it, midway between the holes, and the "
        "job sheet asks for it.",
    )
    to_line: Annotated[list[FlatPoint], Field(min_length=2, max_length=2)] | None = Field(
        None,
        examples=['[["-10 mm", "-170 mm"], ["20 mm", "-170 mm"]]'],
        description="The same of the face between a step and `to_hole`.",
    )
    seal: Annotated[str, OneOf(("gasket", "liquid sealant", "end seal"), {"sealant": "liquid sealant"})] = (
        Field(description="What seals it.")
    )
    seal_thickness: Annotated[float | None, _length(0.02, 10, "0.3 mm", "0.012 in")] = Field(
        None, description="Of the seal when clamped."
    )


class PanSection(Section):
    """The metal of the new pan."""

    material: Annotated[str, Name(40, "5052-H32")] = Field(description="Of the sheet.")
    sheet: Annotated[float, Asked("length", 0.0005, 0.0127, "3 mm", "1/8 in", may_be_gauge=True)] = Field(
        description='Thickness of the sheet; a gauge number ("16 ga") is read for its metal.'
    )
    flange: Annotated[float, _length(2, 30, "10 mm", "3/8 in")] = Field(
        description="Thickness of the flange."
    )
    flange_material: Annotated[str | None, Name(40, "5052-H32")] = Field(
        None, description="Of the flange, if not the sheet's."
    )
    flange_outside: Annotated[float | None, _length(2, 80, "11 mm", "7/16 in")] = Field(
        None, description="Metal beyond the hole centres."
    )
    beside_opening: Annotated[float | None, _length(1, 40, "8 mm", "5/16 in")] = Field(
        None, description="Flange metal beyond the walls' outer face, for the seam."
    )
    sealing_land: Annotated[float | None, _length(1, 40, "5 mm", "3/16 in")] = Field(
        None, description="Least width between a hole's edge and the oil side."
    )
    washer: Annotated[float | None, _length(0, 10, "1.6 mm", "1/16 in")] = Field(
        None, description='Thickness of the washer under a new bolt\'s head; "0 mm" for none.'
    )
    seam_overlap: Annotated[float | None, Asked("ratio", 0.0, 0.3, "10 %", "10 %")] = Field(
        None, description="How far outward corners lap for easy fitting up, in parts of the thickness."
    )


class Rectangle(Section):
    """A plan with square corners, by its four sides."""

    rear: Coordinate = Field(description="x of the rear side.")
    front: Coordinate = Field(description="x of the front side.")
    right: Coordinate = Field(description="y of the right side; the engine's left counts positive.")
    left: Coordinate = Field(description="y of the left side.")


class LumpSection(Section):
    """A rough solid. Lumps are added and cut in the order they stand in; what is left is the oil space."""

    name: Annotated[str, Name(30, "sump")] = Field(description="What it is called; faces are named after it.")
    does: Annotated[str, OneOf(("adds", "cuts"))] = Field(description="Whether it adds room or cuts it away.")
    view: Annotated[str | None, OneOf(("plan", "side"))] = Field(
        None,
        description="plan (without the key): the outline is seen from above, in x and y, and goes down "
        "to a floor. "
        "side: it is seen from the side, in x and z, and goes across from right to left.",
    )
    outline: Annotated[list[FlatPoint], Field(min_length=3, max_length=MOST_CORNERS)] | None = Field(
        None,
        examples=['[["0 mm", "0 mm"], ["200 mm", "0 mm"], ["200 mm", "-150 mm"]]'],
        description="Corners in order round it, either way round.",
    )
    rectangle: Rectangle | None = Field(
        None,
        examples=['{ rear = "0 mm", front = "200 mm", right = "-150 mm", left = "0 mm" }'],
        description="Instead of an outline: { rear, front, right, left }. Plan only.",
    )
    floor: Annotated[str | None, OneOf(("parallel to rail", "level with ground", "above ground"))] = Field(
        None, description="How the floor lies; above ground: level, so far above it. Plan only."
    )
    depth: Annotated[float | None, _length(1, 1000, "118 mm", "4 5/8 in")] = Field(
        None, description="Of the floor below the rail plane. Plan only."
    )
    depth_at: FlatPoint | None = Field(
        None,
        examples=['["100 mm", "-75 mm"]'],
        description="Where the floor has that depth (x, y). Needed where the floor is level with the ground.",
    )
    top_below: Annotated[float | None, _length(0, 1000, "40 mm", "1 1/2 in")] = Field(
        None, description="Its top below the rail plane. Without it, it starts at the rail."
    )
    above_ground: Annotated[float | None, _length(0, 3000, "120 mm", "4 3/4 in")] = Field(
        None, description="Height of a floor `above ground` over the ground at ride height, oil side."
    )
    fall: Annotated[float | None, Asked("angle", 0.0, 15 * DEGREE, "2 %", "2 %")] = Field(
        None, description="By how much a level floor falls from `depth_at` towards the drain."
    )
    falls_to: FlatPoint | None = Field(
        None,
        examples=['["245 mm", "-150 mm"]'],
        description="Where the floor falls to (x, y). Without it, to the drain.",
    )
    corner_radius: Annotated[float | None, _length(1, 500, "30 mm", "1 3/16 in")] = Field(
        None, description="Rounds the outline's corners with flat facets as short as the sheet allows."
    )
    mirrored_about: Coordinate | None = Field(
        None,
        examples=['"-107 mm"'],
        description="Makes a second, mirrored lump on the other side of this y. Engine's axes only.",
    )
    axes: Annotated[str | None, OneOf(("engine", "vehicle"))] = Field(
        None,
        description="vehicle: its places are given in the vehicle's axes, heights above the ground. "
        "Without it the engine's.",
    )
    wall_slope: Annotated[float | None, Asked("angle", 0.0, 60 * DEGREE, "5 deg", "5 deg")] = Field(
        None, description="How far the walls lean inwards on the way down. Without it they go straight down."
    )
    across: FlatPoint | None = Field(
        examples=['["-150 mm", "0 mm"]'],
        default=None,
        description="Side only: y of its right and of its left end.",
    )


class OilSection(Section):
    """How much oil, and where it goes. What is not given is not guessed; the sheet says what is missing."""

    fill: Annotated[float | None, _volume(0.05, 200, "4.8 L", "5 us qt")] = Field(
        None, description="Poured into the dry engine, up to the full mark."
    )
    between_marks: Annotated[float | None, _volume(0.02, 50, "1 L", "1 us qt")] = Field(
        None, description="From the full mark down to the low mark."
    )
    old_capacity: Annotated[float | None, _volume(0.05, 200, "4.8 L", "5 us qt")] = Field(
        None, description="What the old pan was filled with; the new one is held against it."
    )
    hold_up: Annotated[float | None, _volume(0, 50, "0.9 L", "1 us qt")] = Field(
        None, description="Up in the running engine, not in the pan."
    )
    trapped: Annotated[float | None, _volume(0, 50, "0.2 L", "1/4 us qt")] = Field(
        None, description="Held in the engine for ever at this attitude, running or not."
    )
    grade: Annotated[str | None, Name(20, "5W-30")] = Field(None, description="SAE grade on the can.")
    viscosity_40: Annotated[float | None, _VISCOSITY] = Field(
        None, description="Measured at 40 degC, from the oil's data sheet; with `viscosity_100`."
    )
    viscosity_100: Annotated[float | None, _VISCOSITY] = Field(None, description="Measured at 100 degC.")
    density: Annotated[float | None, Asked("density", 801.0, 1164.0, "865 kg/m3", "865 kg/m3")] = Field(
        None, description="At 15 degC, from the oil's data sheet."
    )
    poured_at: Annotated[float | None, _OIL_TEMPERATURE] = Field(
        None, description="Temperature at which the litres are counted when it is filled."
    )
    read_at: Annotated[float | None, _OIL_TEMPERATURE] = Field(
        None, description="Temperature at which the dipstick is read."
    )
    hot: Annotated[float | None, _OIL_TEMPERATURE] = Field(None, description="Hottest oil in the pan.")
    coldest_start: Annotated[float | None, _OIL_TEMPERATURE] = Field(None, description="Coldest start.")


class PumpSection(Section):
    """The oil pump, as far as it moves oil out of the pan. Speeds are the engine's."""

    delivers: Annotated[float | None, Asked("flow", 1e-6, 0.02, "54 L/min", "14 us gal/min")] = Field(
        None, description="What it moves at `at_speed`."
    )
    at_speed: Annotated[float | None, _SPEED] = Field(None, description="Engine speed of that figure.")
    idle_speed: Annotated[float | None, _SPEED] = Field(None, description="Idle.")
    top_speed: Annotated[float | None, _SPEED] = Field(None, description="The highest the engine is run at.")
    return_time: Annotated[float | None, Asked("time", 0.05, 60.0, "1 s", "1 s")] = Field(
        None, description="How long the oil takes from the pump back to the pan, on average."
    )


class DipstickSection(Section):
    """The dipstick tube, in the engine's axes."""

    bends: Annotated[list[SpacePoint], Field(min_length=1, max_length=10)] | None = Field(
        None,
        examples=['[["320 mm", "-150 mm", "40 mm"]]'],
        description="Corners of a bent tube's centre line, from the stop down. Without them the tube is "
        "straight.",
    )
    stop: SpacePoint = Field(
        examples=['["330 mm", "-190 mm", "80 mm"]'], description="Where the stick's shoulder rests (x, y, z)."
    )
    towards: SpacePoint = Field(
        examples=['["310 mm", "-110 mm", "-90 mm"]'],
        description="A point further down that the stick runs through; in a bent tube, below its last bend.",
    )
    length: Annotated[float, _length(20, 2000, "230 mm", "9 in")] = Field(
        description="Of the stick, from its shoulder to its tip."
    )


class PickupSection(Section):
    """Where the pump draws."""

    mouth: SpacePoint = Field(
        examples=['["300 mm", "-100 mm", "-100 mm"]'], description="Centre of the mouth (x, y, z)."
    )
    mouth_diameter: Annotated[float, _length(4, 200, "32 mm", "1 1/4 in")] = Field(
        description="Across the mouth."
    )


class CrankSection(Section):
    """The cylinder that rod bolts and counterweights sweep, in the engine's axes."""

    rear: SpacePoint = Field(
        examples=['["20 mm", "-107 mm", "60 mm"]'],
        description="On the crank's axis, at the rear end of what sweeps (x, y, z).",
    )
    front: SpacePoint = Field(
        examples=['["430 mm", "-107 mm", "60 mm"]'], description="The same at the front end."
    )
    sweep_radius: Annotated[float, _length(10, 500, "62 mm", "2 7/16 in")] = Field(
        description="From the axis to the furthest rod bolt or counterweight."
    )


class PortSection(Section):
    """A place of the engine that the oil must not drown."""

    name: Annotated[str, Name(30, "rear seal")] = Field(description="What it is called.")
    kind: Annotated[str, OneOf(("rear seal", "breather", "return"))] = Field(
        description="rear seal: at the flywheel. breather. return: a drain-back or turbo outlet."
    )
    at: SpacePoint = Field(
        examples=['["-12 mm", "-107 mm", "12 mm"]'], description="Its lowest opening point (x, y, z)."
    )
    traps: Annotated[float | None, _volume(0, 20, "0.1 L", "3 us fl oz")] = Field(
        None,
        description="Of a return: oil that stays behind it for ever, the vehicle level. Instead of "
        "`oil.trapped`: measure what runs out of it once the engine is tipped upright.",
    )
    traps_nose_up: Annotated[float | None, _volume(0, 20, "0.2 L", "6 us fl oz")] = Field(
        None, description="The same with the front raised as far as `loads` asks. Without it, as level."
    )
    traps_nose_down: Annotated[float | None, _volume(0, 20, "0.2 L", "6 us fl oz")] = Field(
        None, description="With the front lowered as far."
    )
    traps_lean_right: Annotated[float | None, _volume(0, 20, "0.2 L", "6 us fl oz")] = Field(
        None, description="Leaned to the right as far."
    )
    traps_lean_left: Annotated[float | None, _volume(0, 20, "0.2 L", "6 us fl oz")] = Field(
        None, description="Leaned to the left as far."
    )
    share: Annotated[float | None, Asked("ratio", 0.0, 1.0, "60 %", "60 %")] = Field(
        None,
        description="Of a return: its part of all the oil that comes back. Without it, an equal part of what "
        "the others leave.",
    )


class LoadsSection(Section):
    """What is asked of the oil, held for ever. What is not given comes from the named use, if any."""

    use: Annotated[str | None, OneOf(tuple(use.use for use in uses()))] = Field(
        None, description="Fills in everything below that is not given; the sheet lists what it took."
    )
    left_turn: Annotated[float | None, _ACCELERATION] = Field(None, description="Held in left turns.")
    right_turn: Annotated[float | None, _ACCELERATION] = Field(None, description="Held in right turns.")
    braking: Annotated[float | None, _ACCELERATION] = Field(None, description="Held while braking.")
    accelerating: Annotated[float | None, _ACCELERATION] = Field(None, description="Held while accelerating.")
    nose_up: Annotated[float | None, _ATTITUDE] = Field(
        None, description="The vehicle on a slope or in trim, its front raised."
    )
    nose_down: Annotated[float | None, _ATTITUDE] = Field(None, description="Its front lowered.")
    lean_right: Annotated[float | None, _ATTITUDE] = Field(
        None, description="The vehicle on a side slope or heeled, its right side low."
    )
    lean_left: Annotated[float | None, _ATTITUDE] = Field(None, description="Its left side low.")
    least_cover: Annotated[float | None, _length(0, 300, "20 mm", "3/4 in")] = Field(
        None, description="Oil wanted over the highest edge of the pickup's mouth."
    )


class DrainSection(Section):
    """Where the drain plug should sit, and how well it has to drain."""

    most_left: Annotated[float | None, _volume(0, 20, "0.1 L", "3 us fl oz")] = Field(
        None, description="Oil that may stay behind in pockets when it is drained."
    )

    at: FlatPoint | None = Field(
        None,
        examples=['["300 mm", "-100 mm"]'],
        description="Of the plug, seen from above (x, y). Without it the lowest place is taken.",
    )
    plug_head: Annotated[float | None, _length(5, 60, "17 mm", "11/16 in")] = Field(
        None, description="Across the flats of the plug's head."
    )
    plug_stands_out: Annotated[float | None, _length(0, 80, "14 mm", "9/16 in")] = Field(
        None, description="How far boss, washer and head stand out below the floor's sheet."
    )
    plug_diameter: Annotated[float | None, _length(5, 100, "26 mm", "1 in")] = Field(
        None, description="Of the widest of them."
    )


class KitCuttingSection(Section):
    """How this pan's parts are cut out. What the cutter can do stands in the shop file."""

    flange_in_segments: Annotated[bool | None, Flag("false")] = Field(
        None,
        description="true: the flange is cut in pieces and welded together; without it, whole.",
    )
    bends: Annotated[bool | None, Flag("false")] = Field(
        None,
        description="false: every corner is welded, whatever the shop can bend.",
    )
    baffle_fixing: Annotated[str | None, OneOf(("bolted", "tacked"))] = Field(
        None,
        description="How roof baffles are held: bolted to welded bosses (without the key), so that they come "
        "out for cleaning, or tacked for good.",
    )


SINGLE: dict[str, type[Section]] = {
    "job": JobSection,
    "old_pan": OldPanSection,
    "engine": EngineSection,
    "rail": RailSection,
    "pan": PanSection,
    "oil": OilSection,
    "pump": PumpSection,
    "dipstick": DipstickSection,
    "pickup": PickupSection,
    "drain": DrainSection,
    "crank": CrankSection,
    "loads": LoadsSection,
    "cutting": KitCuttingSection,
    "suction": SuctionSection,
    "scan": ScanSection,
    "gasket_picture": GasketPictureSection,
    "vehicle": VehicleSection,
    "stone_guard": StoneGuardSection,
    "jacking": JackingSection,
    "proof": ProofSection,
    "install": InstallSection,
    "free_surface": FreeSurfaceSection,
    "weld": WeldSection,
}
"""Sections that stand once."""

LISTED: dict[tuple[str, ...], type[Section]] = {
    ("rail", "fasteners"): FastenersSection,
    ("rail", "lands"): LandSection,
    ("lumps",): LumpSection,
    ("ports",): PortSection,
    ("suction", "corners"): CornerSection,
    ("suction", "joints"): JointSection,
    ("drives",): DriveSection,
    ("scan", "marks"): ScanMarkSection,
    ("gasket_picture", "marks"): PictureMarkSection,
    ("keep_outs",): KeepOutSection,
    ("walls",): WallSection,
    ("fittings",): FittingSection,
    ("stand_offs",): StandOffSection,
    ("joints",): EdgeJointSection,
    ("patch_plates",): PatchPlateSection,
    ("roof_baffles",): RoofSection,
}
"""Sections that stand as often as needed, in double brackets."""

NEEDED = ("job", "old_pan", "rail", "pan")
NEEDED_LISTS = (("rail", "fasteners"), ("rail", "lands"), ("lumps",))

RESERVED: dict[str, str] = {
    "bends": "which edges are bent instead of welded",
    "record": "which older job's record this one starts from",
    "explore": "which keys to vary, and how far",
}
"""Section names whose stage has not come yet: kept free, and refused with 'not read yet'."""
