"""The job file's sections together, and what has to hold between their keys."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, cast

from sumpwright.body.model import DutyKind
from sumpwright.job.drive_sections import DriveSection
from sumpwright.job.edge_joint_sections import EdgeJointSection
from sumpwright.job.fields import Setting, UnitSystem
from sumpwright.job.file_sections import take_sections
from sumpwright.job.fitting_sections import (
    FittingSection,
    JackingSection,
    StandOffSection,
    StoneGuardSection,
)
from sumpwright.job.free_surface_sections import FreeSurfaceSection
from sumpwright.job.metals import gauges_of
from sumpwright.job.nearest import nearest
from sumpwright.job.patch_sections import PatchPlateSection
from sumpwright.job.proof_sections import InstallSection, ProofSection
from sumpwright.job.refusals import OpenFile
from sumpwright.job.sections import (
    ATTACHED_MOVES,
    LISTED,
    NEEDED,
    NEEDED_LISTS,
    PRESSURE,
    PRESSURE_MOVES,
    RESERVED,
    SINGLE,
    STRUCTURAL,
    STRUCTURAL_MOVES,
    CrankSection,
    DipstickSection,
    DrainSection,
    EngineSection,
    FastenersSection,
    JobSection,
    KitCuttingSection,
    LandSection,
    LoadsSection,
    LumpSection,
    OilSection,
    OldPanSection,
    PanSection,
    PickupSection,
    PortSection,
    PumpSection,
    RailSection,
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
from sumpwright.quantities.text import Gallons

OPPOSITES = (
    ("turned_left", "turned_right"),
    ("nose_up", "nose_down"),
    ("lean_left", "lean_right"),
    ("datum_forward", "datum_back"),
    ("datum_left", "datum_right"),
)

ATTITUDE_WORDS = tuple(word for pair in OPPOSITES[:3] for word in pair)


@dataclass(frozen=True, slots=True)
class JobFile:
    """A job file's sections; None where it has none, or where they are faulty."""

    job: JobSection | None
    old_pan: OldPanSection | None
    engine: EngineSection | None
    rail: RailSection | None
    fasteners: tuple[FastenersSection | None, ...]
    lands: tuple[LandSection | None, ...]
    pan: PanSection | None
    lumps: tuple[LumpSection | None, ...]
    oil: OilSection | None
    pump: PumpSection | None
    dipstick: DipstickSection | None
    pickup: PickupSection | None
    drain: DrainSection | None
    suction: SuctionSection | None
    suction_corners: tuple[CornerSection | None, ...]
    suction_joints: tuple[JointSection | None, ...]
    drives: tuple[DriveSection | None, ...]
    crank: CrankSection | None
    ports: tuple[PortSection | None, ...]
    loads: LoadsSection | None = None
    cutting: KitCuttingSection | None = None
    vehicle: VehicleSection | None = None
    keep_outs: tuple[KeepOutSection | None, ...] = ()
    walls: tuple[WallSection | None, ...] = ()
    fittings: tuple[FittingSection | None, ...] = ()
    joints: tuple[EdgeJointSection | None, ...] = ()
    patch_plates: tuple[PatchPlateSection | None, ...] = ()
    roof_baffles: tuple[RoofSection | None, ...] = ()
    scan: ScanSection | None = None
    scan_marks: tuple[ScanMarkSection | None, ...] = ()
    gasket_picture: GasketPictureSection | None = None
    picture_marks: tuple[PictureMarkSection | None, ...] = ()
    proof: ProofSection | None = None
    install: InstallSection | None = None
    free_surface: FreeSurfaceSection | None = None
    weld: WeldSection | None = None
    stand_offs: tuple[StandOffSection | None, ...] = ()
    stone_guard: StoneGuardSection | None = None
    jacking: JackingSection | None = None


def read_job_file(file: OpenFile) -> JobFile:
    """The sections of a job file; what is wrong inside them is noted in ``file``."""
    setting = setting_of_file(file)
    single, listed = take_sections(
        file,
        SINGLE,
        LISTED,
        RESERVED,
        lambda path, data: _with_gauges(setting, data) if path == ("pan",) else setting,
    )
    strangers = [name for name in file.data if name not in SINGLE]
    for name in NEEDED:
        if name not in file.data and not any(nearest(stranger, [name]) for stranger in strangers):
            file.fault((name,), f"the section [{name}] is needed and is missing", good=f"[{name}]", read="")
    for path in NEEDED_LISTS:
        outer = file.data.get(path[0])
        absent = outer is None or (len(path) == 2 and isinstance(outer, dict) and path[1] not in outer)
        if absent and path[0] in ("lumps", *file.data):
            name = ".".join(path)
            file.fault(path, f"at least one [[{name}]] is needed", good=f"[[{name}]]", read="")
    return JobFile(
        job=cast(JobSection | None, single.get("job")),
        old_pan=cast(OldPanSection | None, single.get("old_pan")),
        engine=cast(EngineSection | None, single.get("engine")),
        rail=cast(RailSection | None, single.get("rail")),
        fasteners=cast(tuple[FastenersSection | None, ...], tuple(listed["rail", "fasteners"])),
        lands=cast(tuple[LandSection | None, ...], tuple(listed["rail", "lands"])),
        pan=cast(PanSection | None, single.get("pan")),
        lumps=cast(tuple[LumpSection | None, ...], tuple(listed["lumps",])),
        oil=cast(OilSection | None, single.get("oil")),
        pump=cast(PumpSection | None, single.get("pump")),
        dipstick=cast(DipstickSection | None, single.get("dipstick")),
        pickup=cast(PickupSection | None, single.get("pickup")),
        drain=cast(DrainSection | None, single.get("drain")),
        suction=cast(SuctionSection | None, single.get("suction")),
        suction_corners=cast(tuple[CornerSection | None, ...], tuple(listed["suction", "corners"])),
        suction_joints=cast(tuple[JointSection | None, ...], tuple(listed["suction", "joints"])),
        drives=cast(tuple[DriveSection | None, ...], tuple(listed["drives",])),
        crank=cast(CrankSection | None, single.get("crank")),
        ports=cast(tuple[PortSection | None, ...], tuple(listed["ports",])),
        loads=cast(LoadsSection | None, single.get("loads")),
        cutting=cast(KitCuttingSection | None, single.get("cutting")),
        vehicle=cast(VehicleSection | None, single.get("vehicle")),
        keep_outs=cast(tuple[KeepOutSection | None, ...], tuple(listed["keep_outs",])),
        walls=cast(tuple[WallSection | None, ...], tuple(listed["walls",])),
        fittings=cast(tuple[FittingSection | None, ...], tuple(listed["fittings",])),
        joints=cast(tuple[EdgeJointSection | None, ...], tuple(listed["joints",])),
        patch_plates=cast(tuple[PatchPlateSection | None, ...], tuple(listed["patch_plates",])),
        roof_baffles=cast(tuple[RoofSection | None, ...], tuple(listed["roof_baffles",])),
        scan=cast(ScanSection | None, single.get("scan")),
        scan_marks=cast(tuple[ScanMarkSection | None, ...], tuple(listed["scan", "marks"])),
        gasket_picture=cast(GasketPictureSection | None, single.get("gasket_picture")),
        proof=cast(ProofSection | None, single.get("proof")),
        install=cast(InstallSection | None, single.get("install")),
        picture_marks=cast(tuple[PictureMarkSection | None, ...], tuple(listed["gasket_picture", "marks"])),
        free_surface=cast(FreeSurfaceSection | None, single.get("free_surface")),
        weld=cast(WeldSection | None, single.get("weld")),
        stand_offs=cast(tuple[StandOffSection | None, ...], tuple(listed["stand_offs",])),
        stone_guard=cast(StoneGuardSection | None, single.get("stone_guard")),
        jacking=cast(JackingSection | None, single.get("jacking")),
    )


def setting_of(job: JobSection) -> Setting:
    """What reading a value depends on, in the job's other files."""
    gallons = job.gallons if job.gallons in ("us", "imperial") else None
    return Setting(units="in" if job.units == "in" else "mm", gallons=cast(Gallons | None, gallons))


def setting_of_file(file: OpenFile) -> Setting:
    """What reading a value depends on, even where the section that says so is faulty elsewhere."""
    job = file.data.get("job")
    job = job if isinstance(job, dict) else {}
    units: UnitSystem = "in" if job.get("units") in ("in", "inch", "inches") else "mm"
    gallons = job.get("gallons")
    return Setting(units=units, gallons=gallons if gallons in ("us", "imperial") else None)


def _with_gauges(setting: Setting, data: Any) -> Setting:
    material = data.get("material") if isinstance(data, dict) else None
    return Setting(units=setting.units, gallons=setting.gallons, gauges=gauges_of(material))


def check_attitude(file: OpenFile) -> None:
    """Opposite words must not both be given: one would have to be left out in silence."""
    for section in ("engine", "old_pan"):
        data = file.data.get(section)
        given = data if isinstance(data, dict) else {}
        words = list(given)
        for pair in OPPOSITES:
            if all(word in given for word in pair):
                first, later = sorted(pair, key=words.index)
                file.fault(
                    (section, later), f"{first!r} and {later!r} are both given; keep the one that is meant"
                )


def check_old_pan(file: OpenFile, job_file: JobFile) -> None:
    """What was moved must have been there, and each duty is told once."""
    section = job_file.old_pan
    if section is None:
        return
    for at, duty in enumerate(section.carries):
        if duty in section.carries[:at]:
            file.fault(("old_pan", "carries", at), f"{duty!r} stands here twice")
    for written, to in (section.moved or {}).items():
        duty = duty_word(written)
        if duty not in section.carries:
            file.fault(
                ("old_pan", "moved", written),
                "this is not among the things the old pan carries",
                allowed=", ".join(section.carries) or "nothing is carried",
            )
        elif to not in moves_of(duty):
            what = {"pressure": "oil under pressure", "structural": "load"}.get(duty_kind(duty), "it")
            file.fault(
                ("old_pan", "moved", written),
                f"{what} cannot go there",
                good=f'"{duty}" = "{moves_of(duty)[0]}"',
                allowed=", ".join(moves_of(duty)),
            )


def duty_word(written: str) -> str:
    """A duty as the list of duties writes it."""
    return " ".join(written.replace("_", " ").split()).casefold()


def duty_kind(duty: str) -> DutyKind:
    """What kind of duty it is."""
    if duty in PRESSURE:
        return "pressure"
    return "structural" if duty in STRUCTURAL else "attached"


def moves_of(duty: str) -> tuple[str, ...]:
    """Where such a duty can go: oil under pressure and load never into a plain sheet pan."""
    kinds: dict[DutyKind, tuple[str, ...]] = {"pressure": PRESSURE_MOVES, "structural": STRUCTURAL_MOVES}
    return kinds.get(duty_kind(duty), ATTACHED_MOVES)
