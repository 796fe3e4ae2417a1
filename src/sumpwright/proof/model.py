"""What proves the pan: gear, safe pressure, readings of the finished pan and what they mean."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.geometry import FlatFrame
from sumpwright.kit import FlatPart
from sumpwright.quantities.units import (
    CubicMetre,
    CubicMetrePerSecond,
    FloatArray,
    Joule,
    Kelvin,
    Kilogram,
    Metre,
    Newton,
    NewtonMetre,
    Pascal,
    Ratio,
    Second,
    SquareMetre,
)

State = Literal["free", "pulled down"]
"""How the flange lay while its flatness was read: by its own weight, or clamped as it will be bolted."""

Sealing = Literal["anaerobic", "silicone", "gasket"]


@dataclass(frozen=True, slots=True)
class StraightEdgeReading:
    """The largest feeler that goes under a straight edge along one line of the flange."""

    place: str  # "left rail, h1 to h8"
    span: Metre  # along the straight edge
    feeler: Metre
    state: State


@dataclass(frozen=True, slots=True)
class HeightReading:
    """One height of the sealing face: a dial over a table, or a height gauge."""

    x: Metre
    y: Metre
    height: Metre
    state: State


@dataclass(frozen=True, slots=True)
class BubbleLook:
    """One seam that was watched under soap for a minute."""

    seam: str
    growing: int  # bubbles that grew


@dataclass(frozen=True, slots=True)
class DecayReading:
    """Pressure shut in and read again."""

    start_gauge: Pascal
    end_gauge: Pascal
    start_temperature: Kelvin
    end_temperature: Kelvin
    time: Second
    barometer: Pascal | None  # absolute air pressure outside


@dataclass(frozen=True, slots=True)
class Pour:
    """Oil or water measured into the pan on its stand, and what the stick then showed."""

    poured: CubicMetre  # all that is in the pan
    reading: Metre  # from the stick's shoulder


@dataclass(frozen=True, slots=True)
class Setting:
    """How one seam was welded."""

    seam: str
    words: str  # amps, volts, travel, filler as written down


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """Everything written down about the finished pan, newest word on each thing."""

    entries: tuple[str, ...] = ()  # files it was read from, oldest first
    edges: tuple[StraightEdgeReading, ...] = ()
    heights: tuple[HeightReading, ...] = ()
    bubbles: tuple[BubbleLook, ...] = ()
    leaks: tuple[BubbleLook, ...] = ()  # every seam that ever leaked, even if it was mended since
    decay: DecayReading | None = None
    pours: tuple[Pour, ...] = ()
    settings: tuple[Setting, ...] = ()
    weighed: Kilogram | None = None
    bow: Metre | None = None  # of the flange off the strongback, middle against ends
    hours: Second | None = None  # at the bench
    logs: tuple[str, ...] = ()  # pressure logs kept beside the record
    unread_logs: tuple[tuple[str, str], ...] = ()  # (file, why it cannot be held against the drive)
    notes: tuple[str, ...] = ()
    trouble: tuple[tuple[str, str], ...] = ()  # (file, what is wrong with it)


@dataclass(frozen=True, slots=True, eq=False)
class ProofInputs:
    """What the shop tests with and seals with. None = not given."""

    asked_pressure: Pascal  # test pressure wanted, above the air outside
    atmosphere: Pascal  # taken for the energy; the decay test needs the real one
    gauge_step: Pascal  # how far off one reading of the gauge may be
    temperature_step: Kelvin  # the same of the air's temperature
    hold_time: Second
    bench_temperature: Kelvin
    plate_material: str  # of the blanking plate
    plate_thicknesses: tuple[Metre, ...]  # to be had, ascending
    gasket_thickness: Metre
    port_hole: Metre  # diameter to drill for a port fitting
    sealing: Sealing | None
    sealant: str  # by name, "" = not given
    cure: Second | None
    torque: NewtonMetre | None  # the engine maker's
    bolt_order: str  # the engine maker's, "" = not given
    pressure_is_given: bool = False  # by the job file
    feeler_step: Metre = 50e-6  # from one leaf to the next
    straight_edge_off: Metre = 20e-6  # from straight
    dial_off: Metre = 10e-6  # one reading of dial or height gauge, its table included
    jug_off: Ratio = 0.005  # of the measuring jug, the same for every pour
    stick_off: Metre = 1e-3  # one reading of the stick
    every_panel: bool = True  # False: leave out those that are surely stronger than one that is worked out
    stick: FloatArray | None = (
        None  # (n, 2) reading m, volume m3 in the pan, by computation, ascending volume
    )
    record: AsBuilt | None = None
    earlier: AsBuilt | None = None  # of the pan that this one follows


@dataclass(frozen=True, slots=True)
class PanelStretch:
    """One panel beyond half its thickness, bending and skin together, over all that its edges may do."""

    pressure: Pascal  # that bulge and stress are given for
    bulge_least: Metre
    bulge_most: Metre
    stress_at_weld: Pascal
    stress_inside: Pascal
    metal_limit: Pascal  # pressure at which half the yield strength is reached


@dataclass(frozen=True, slots=True)
class PanelStrength:
    """One panel under air from inside."""

    panel: str
    part: str
    thickness: Metre
    area: SquareMetre
    walls_across: int  # inner walls welded across it that hold it
    patches: int  # bosses that stiffen it
    stress_at_weld: Pascal  # at the asked pressure, edges clamped
    stress_inside: Pascal  # at the asked pressure, edges free to turn
    bulge_clamped: Metre  # at the asked pressure
    bulge_supported: Metre
    metal_limit: Pascal  # pressure at which half the yield strength is reached
    formula_limit: Pascal  # pressure at which the bulge is half the thickness, edges free to turn
    formula_limit_clamped: Pascal
    place: tuple[Metre, Metre, Metre]
    stretch: PanelStretch | None = None  # where the formula's limit is below the asked pressure
    gives_way: bool = False  # so far that neither the formula nor bending and skin together tell


@dataclass(frozen=True, slots=True, eq=False)
class Port:
    """A hole of the blanking plate for a fitting."""

    purpose: str
    x: Metre
    y: Metre
    diameter: Metre


@dataclass(frozen=True, slots=True)
class GearRow:
    """One thing to have on the bench for the test."""

    name: str
    quantity: str
    words: str


@dataclass(frozen=True, slots=True, eq=False)
class TestGear:
    """What closes the pan for the leak test."""

    plate: FlatPart
    gasket: FlatPart
    ports: tuple[Port, ...]
    plate_thickness: Metre
    plate_stress: Pascal
    plate_stress_limit: Pascal
    plate_bulge: Metre
    lift: Metre  # of the plate off its gasket, half way between the two bolts furthest apart
    lift_limit: Metre
    widest_pitch: Metre
    thrust: Newton
    bolt_share: Newton  # of the thrust, the most loaded bolt
    rows: tuple[GearRow, ...]
    curved_lands: tuple[str, ...]  # that a flat plate does not close


@dataclass(frozen=True, slots=True, eq=False)
class Flatness:
    """How even the sealing face is, in one state."""

    state: State
    count: int
    least_gap: Metre | None  # between two flats that hold all points; None = fewer than three points
    least_squares: Metre | None  # highest less lowest over the fitted plane
    largest_feeler: Metre | None
    feeler_place: str
    tolerated: Metre | None  # over the whole face; None = no sealant is named
    tolerated_per_length: Ratio | None  # slope allowed over a short stretch
    take_off: tuple[tuple[Metre, Metre, Metre], ...]  # x, y and how much to take off there
    off_plane: FloatArray  # (n, 3) x, y and height over the lower of the two flats, m
    gap_u95: Metre | None = None  # of the least gap, from what one reading may be off


@dataclass(frozen=True, slots=True)
class DecayResult:
    """What the pressure lost means."""

    leak: CubicMetrePerSecond | None  # standard air; None = no barometer
    leak_u95: CubicMetrePerSecond | None
    corrected_drop: Pascal  # of the gauge, with the air at its first temperature
    raw_drop: Pascal


@dataclass(frozen=True, slots=True)
class CorrectedVolume:
    """One row of the volume curve as the pours put it right."""

    reading: Metre  # from the stick's shoulder
    drawn: CubicMetre
    volume: CubicMetre  # as it is
    volume_u: CubicMetre  # standard uncertainty


@dataclass(frozen=True, slots=True, eq=False)
class StickCorrection:
    """The volume model put right by what was poured; standard uncertainties."""

    scale: Ratio  # true volume over computed, up to the rail
    scale_u: Ratio
    shift: Metre  # by which the stick reads further down than computed
    shift_u: Metre
    residuals: tuple[CubicMetre, ...]  # poured less corrected model, by pour
    marks: tuple[tuple[str, Metre, Metre, Metre], ...]  # name, computed from the shoulder, corrected, u
    fits: bool  # the pours agree with each other within what can be read
    capacity: CorrectedVolume  # level oil up to the rail
    curve: tuple[CorrectedVolume, ...]  # from the stick's lowest reading to its highest
    pours: int  # that lie on the stick
    jug: Ratio  # by which the jug's litre turned out too large
    unknowns: FloatArray  # (k,) what was fitted, for checks


@dataclass(frozen=True, slots=True)
class LiquidTest:
    """Another way to look for leaks, without air."""

    liquid: str
    mass: Kilogram
    deepest_pressure: Pascal
    time: Second
    words: str


@dataclass(frozen=True, slots=True, eq=False)
class ProofResult:
    """Answer of the proof stage."""

    panels: tuple[PanelStrength, ...]  # weakest first
    safe_pressure: Pascal | None  # what the metal of the weakest panel bears, at most the ceiling
    test_pressure: Pascal | None  # what to test with
    ceiling: Pascal
    asked_pressure: Pascal  # pressure that the panels' stress and bulge are given for
    relief_pressure: Pascal | None
    inside_volume: CubicMetre
    energy: Joule | None
    energy_free: Joule | None
    detectable: CubicMetrePerSecond | None
    warming_fakes: Pascal | None  # change of pressure for one kelvin
    gear: TestGear | None
    liquids: tuple[LiquidTest, ...]
    flatness: tuple[Flatness, ...]
    decay: DecayResult | None
    correction: StickCorrection | None
    mass: Kilogram | None = None  # of the kit, computed
    tight_seams: tuple[str, ...] = ()  # names of those that have to hold oil
    not_computed: tuple[tuple[str, str], ...] = ()  # (panel, why)
    frame: FlatFrame | None = None  # of plate and gasket
