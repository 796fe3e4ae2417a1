"""The proof part of ``results.json``, key by key."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field
from typing_extensions import TypedDict


def _says(words: str) -> Any:
    return Field(description=words)


class StretchedRow(TypedDict):
    """A panel that bends and pulls like a skin, over all that its edges may do."""

    at_kpa: float
    bulge_least_mm: float
    bulge_most_mm: float
    stress_at_weld_mpa: float
    stress_inside_mpa: float


class PanelRow(TypedDict):
    """One panel under air from inside; stresses and bulges at the asked pressure."""

    panel: str
    part: str
    thickness_mm: float
    area_mm2: float
    walls_across: Annotated[int, _says("inner walls welded across it that hold it")]
    bosses: int
    stress_at_weld_mpa: Annotated[float, _says("edges that do not turn")]
    stress_inside_mpa: Annotated[float, _says("edges free to turn")]
    bulge_clamped_mm: float
    bulge_supported_mm: float
    metal_limit_kpa: Annotated[float, _says("pressure at which half the yield strength is reached")]
    formula_limit_kpa: Annotated[float, _says("pressure at which it bulges half its thickness, edges free")]
    formula_limit_clamped_kpa: float
    place_mm: list[float]
    stretched: Annotated[
        StretchedRow | None, _says("where it bulges beyond half its thickness before the asked pressure")
    ]
    gives_way: Annotated[bool, _says("bulges too far to be worked out")]


class PortHoleRow(TypedDict):
    """A hole of the blanking plate for a fitting, in the plate's drawing."""

    purpose: str
    x_mm: float
    y_mm: float
    hole_mm: float


class GearItemRow(TypedDict):
    """One thing to have on the bench."""

    name: str
    quantity: str
    words: str


class GearPart(TypedDict):
    """What closes the pan for the leak test."""

    plate_thickness_mm: float
    plate_stress_mpa: float
    plate_bulge_mm: float
    lift_mm: Annotated[float, _says("of the plate off its gasket between the two bolts furthest apart")]
    thrust_n: float
    bolt_share_n: float
    ports: list[PortHoleRow]
    items: list[GearItemRow]


class TakeOffRow(TypedDict):
    """A place of the sealing face that is too high."""

    x_mm: float
    y_mm: float
    off_mm: float


class FlatnessRow(TypedDict):
    """The sealing face in one state."""

    state: str
    points: int
    least_gap_mm: Annotated[float | None, _says("between two flats that hold all points")]
    least_gap_u95_mm: float | None
    least_squares_mm: float | None
    largest_feeler_mm: float | None
    tolerated_mm: Annotated[float | None, _says("null where no sealant is named")]
    take_off: list[TakeOffRow]


class DecayPart(TypedDict):
    """What the pressure lost means; a screen only."""

    leak_ml_per_min: Annotated[float | None, _says("at 0 degC and 101 325 Pa; null without a barometer")]
    leak_u95_ml_per_min: float | None
    drop_kpa: float
    drop_corrected_kpa: Annotated[float, _says("with the air put back to its first temperature")]


class CorrectedMarkRow(TypedDict):
    """A mark of the stick before and after, from the shoulder."""

    name: str
    computed_mm: float
    corrected_mm: float
    u_mm: Annotated[float, _says("standard uncertainty")]


class CorrectedVolumeRow(TypedDict):
    """One row of the volume curve as the pours put it right."""

    reading_mm: Annotated[float, _says("from the stick's shoulder")]
    drawn_l: float
    volume_l: float
    u_l: Annotated[float, _says("standard uncertainty")]


class StickPart(TypedDict):
    """The volume model put right by what was poured in."""

    scale: Annotated[float, _says("true volume over computed, level to the rail")]
    scale_u: float
    shift_mm: Annotated[float, _says("by which the stick reads further down than computed")]
    shift_u_mm: float
    fits: bool
    capacity_l: Annotated[float, _says("level to the rail")]
    capacity_u_l: float
    capacity_drawn_l: float
    curve: list[CorrectedVolumeRow]
    marks: list[CorrectedMarkRow]


class BubbleRow(TypedDict):
    """One seam under soap."""

    seam: str
    growing: int


class SettingRow(TypedDict):
    """How one seam was welded."""

    seam: str
    words: str


class TroubleRow(TypedDict):
    """An entry of the record that was left out."""

    file: str
    what: str


class BuiltPart(TypedDict):
    """What was written down about the finished pan."""

    entries: Annotated[list[str], _says("files, oldest first")]
    mass_kg: float | None
    bow_mm: float | None
    hours_h: float | None
    bubbles: list[BubbleRow]
    settings: list[SettingRow]
    logs: list[str]
    notes: list[str]
    trouble: list[TroubleRow]


class ProofPart(TypedDict):
    """Leak test, flatness, record."""

    asked_kpa: float
    safe_kpa: Annotated[float | None, _says("what the weakest panel's metal bears, at most the ceiling")]
    test_kpa: float | None
    relief_kpa: float | None
    ceiling_kpa: float
    inside_l: float
    energy_j: float | None
    energy_free_j: float | None
    detectable_ml_per_min: Annotated[float | None, _says("smallest leak that the decay test can show")]
    one_kelvin_kpa: Annotated[float | None, _says("change of the gauge for one kelvin")]
    panels: Annotated[list[PanelRow], _says("weakest first")]
    gear: GearPart | None
    flatness: list[FlatnessRow]
    decay: DecayPart | None
    dipstick: StickPart | None
    record: BuiltPart | None
