"""The whole job, in base SI, ready for the stages. Seen by job, outputs and flow only."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from sumpwright.body import BodyInputs, PanBody
from sumpwright.findings import Assumption, Finding, Proposal, Verdict
from sumpwright.job.fields import Setting
from sumpwright.kit import KitInputs, SheetKit
from sumpwright.kit.nest_model import Price
from sumpwright.motion.drives import DriveResult
from sumpwright.motion.free_surface.model import FreeSurfaceAsked
from sumpwright.motion.free_surface.outcome import FreeSurfaceResult
from sumpwright.motion.logs import Log
from sumpwright.motion.model import MotionInputs, MotionResult
from sumpwright.oil import OilInputs, OilResult
from sumpwright.proof.model import ProofInputs, ProofResult
from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import Kilogram, Metre, Newton, NewtonPerMetre
from sumpwright.rail import RailInputs, RailResult
from sumpwright.suction.model import SuctionInputs, SuctionResult
from sumpwright.weld.bow_model import BowInputs, BowResult
from sumpwright.weld.filler_model import FillerInputs, FillerPlan
from sumpwright.weld.model import WeldInputs, WeldResult

UnitSystem = Literal["mm", "in"]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One line of the shop's stock."""

    material: str  # id in tables/materials
    thickness: Metre
    size: tuple[Metre, Metre] | None  # None = any
    price_per_kg: float | None  # in the shop's currency
    is_placeholder: bool  # shipped figure, not the shop's own


@dataclass(frozen=True, slots=True)
class Shop:
    """This shop, from shop.toml. Later stages add fields in their own sections."""

    name: str
    currency: str
    stock: tuple[Sheet, ...]
    bolt_lengths: tuple[Metre, ...]
    tool_u: tuple[tuple[str, Metre], ...]  # standard uncertainty of one reading by tool
    placeholders: tuple[str, ...]  # keys whose shipped figure was used


@dataclass(frozen=True, slots=True)
class Job:
    """One pan: where it was read from, how to print it, and each stage's inputs."""

    folder: Path
    job_file: Path
    name: str
    slug: str  # folder-safe short name, for file names
    units: UnitSystem
    paper: Literal["A4", "Letter"]
    placement: EnginePlacement
    rail: RailInputs
    body: BodyInputs
    oil: OilInputs
    kit: KitInputs
    shop: Shop
    assumptions: tuple[Assumption, ...]
    texts: tuple[tuple[str, bytes], ...] = field(
        default=()
    )  # (file name, bytes as read): job, shop, readings
    motion: MotionInputs = field(default_factory=lambda: MotionInputs(EnginePlacement()))
    suction: SuctionInputs | None = None  # None = the job has no pickup
    weld: WeldInputs | None = None  # None only in jobs made by hand
    logs: tuple[Log, ...] = ()  # laps that were logged
    proof: ProofInputs | None = None
    setting: Setting = field(default_factory=Setting)  # for reading the job's other files
    free_surface: FreeSurfaceAsked = field(default_factory=FreeSurfaceAsked)
    filler: FillerInputs | None = None  # None = made by hand, without a shop
    bow: BowInputs | None = None


def without_pack_work(job: Job) -> Job:
    """The job without what only the pack shows: etched marks, and panels too strong to decide anything."""
    proof = None if job.proof is None else replace(job.proof, every_panel=False)
    return replace(job, kit=replace(job.kit, etched=False), proof=proof)


@dataclass(frozen=True, slots=True)
class Alternative:
    """The pan made another way."""

    name: str  # "flange in segments"
    changes: tuple[tuple[str, str], ...]  # (job-file key, what would stand there); none = the job itself
    price: Price | None = None  # None = the shop file has no rates
    mass: Kilogram | None = None
    weld_length: Metre | None = None
    parts: int = 0
    bends: int = 0
    refused: bool = False  # by its own rebuild
    fails: tuple[str, ...] = ()  # code and place of what fails in shape and parts
    why_not: str = ""  # why it could not be worked out
    notes: tuple[str, ...] = ()  # what stands in for a figure that the shop has not


@dataclass(frozen=True, slots=True)
class MaterialChoice:
    """The pan in one sheet metal."""

    material: str
    sheet: Metre
    flange: Metre
    changes: tuple[tuple[str, str], ...]  # none = the job itself
    price: Price | None = None
    mass: Kilogram | None = None
    slip: Metre | None = None  # over the block, hot, at the farthest hole
    dent: Newton | None = None  # on a small spot, that leaves a dent to stay
    tearing: NewtonPerMetre | None = None  # work until it tears, J/m2
    moves: tuple[Metre, Metre] | None = None  # flange off the plate, out of flat
    distortion: str = ""  # class by the far end of that
    welding: Verdict | None = None  # worst of filler and machine
    welding_findings: tuple[Finding, ...] = ()  # what does not hold
    refused: bool = False
    fails: tuple[str, ...] = ()
    why_not: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class JobResults:
    """What flow hands to the outputs. A stage that could not run is None."""

    rail: RailResult | None
    body: PanBody | None
    oil: OilResult | None
    kit: SheetKit | None
    findings: tuple[Finding, ...]  # all stages, in the order of the work
    proposals: tuple[Proposal, ...]
    assumptions: tuple[Assumption, ...]
    versions: tuple[tuple[str, str], ...]  # (name, version)
    motion: MotionResult | None = None
    suction: SuctionResult | None = None
    drive: DriveResult | None = None  # None = not driven
    proof: ProofResult | None = None
    free_surface: FreeSurfaceResult | None = None  # None = not run
    filler: FillerPlan | None = None
    bow: BowResult | None = None  # None = not asked for
    weld: WeldResult | None = None  # None = not planned
    materials: tuple[MaterialChoice, ...] = ()  # in every sheet metal, the job itself first
    alternatives: tuple[Alternative, ...] = ()  # other ways to make it, the job itself first
