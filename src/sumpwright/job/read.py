"""Reading a whole job: three files in, one Job out, or one JobError with everything that is wrong."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal, cast

from sumpwright.findings import Assumption
from sumpwright.job.body_inputs import build_body
from sumpwright.job.body_rules import check_body
from sumpwright.job.edge_joint_sections import build_joint_choices
from sumpwright.job.faults import Fault, JobError
from sumpwright.job.files import as_text, as_toml, read_bytes
from sumpwright.job.fitting_rules import check_fittings
from sumpwright.job.free_surface_sections import asked_of
from sumpwright.job.job_file import JobFile, check_attitude, check_old_pan, read_job_file, setting_of
from sumpwright.job.logs import read_logs
from sumpwright.job.lumps import build_lumps, placement_of
from sumpwright.job.metal_inputs import CutterTrouble, build_kit, cutter_rules, cutting_of, longest_side
from sumpwright.job.model import Job, Sheet, Shop, UnitSystem
from sumpwright.job.motion_inputs import build_motion
from sumpwright.job.oil_inputs import build_oil, check_oil
from sumpwright.job.patch_sections import build_patch_plates, check_patch_plates
from sumpwright.job.proof_inputs import build_proof
from sumpwright.job.rail_inputs import build_rail, hot_temperature, thread_systems
from sumpwright.job.rail_rules import check_rail, lands_of, ring_of
from sumpwright.job.readings import Readings, ReadingSetting, read_readings
from sumpwright.job.record_files import EARLIER, read_record
from sumpwright.job.record_logs import logs_of_record
from sumpwright.job.refusals import OpenFile
from sumpwright.job.sections import FastenersSection, LandSection
from sumpwright.job.seen_inputs import Held, SeenInputs, read_seen
from sumpwright.job.shop import (
    SHOP_FILE,
    ShopFile,
    build_shop,
    read_shop,
    tool_uncertainties,
    tools_taken,
    turning_tools,
)
from sumpwright.job.suction_inputs import build_suction
from sumpwright.job.suction_line import check_suction
from sumpwright.job.surroundings_inputs import build_surroundings, check_surroundings, read_surfaces
from sumpwright.job.wall_inputs import check_walls
from sumpwright.job.weld_inputs import build_weld
from sumpwright.job.welder_inputs import build_bow, build_filler
from sumpwright.motion.logs import Log
from sumpwright.quantities.units import FloatArray

JOB_FILE = "job.toml"
READINGS_FILE = "rail.csv"

Texts = Mapping[str, bytes]


def read_job(path: Path) -> Job:
    """The job in a folder, or of one job file.

    Raises JobError with every fault of the job, shop and readings files. Reads nothing
    outside the job's folder and writes nothing.
    """
    job_path = path / JOB_FILE if path.is_dir() else path
    if not path.is_dir() and not path.exists() and not path.is_symlink():
        raise JobError(
            [Fault(path.name or str(path), None, "", "", "there is no such job folder or job file")]
        )
    folder = job_path.parent
    found: dict[str, bytes | Fault] = {job_path.name: read_bytes(job_path, folder, "the job file")}
    return _read(folder, job_path, found)


def reread_job(job: Job, job_text: str) -> Job:
    """The same job with another text in its job file; the other files as they were read."""
    found: dict[str, bytes | Fault] = dict(job.texts)
    found[job.job_file.name] = job_text.encode("utf-8")
    if SHOP_FILE not in found:
        found[SHOP_FILE] = _NO_SHOP
    held = SeenInputs(job.rail.scans, job.rail.pictures).held()
    return _read(job.folder, job.job_file, found, held)


@dataclass(frozen=True, slots=True, eq=False)
class JobData:
    """A job as its files hold it, for reading it again with other data in its job file."""

    job: Job
    data: Mapping[str, Any]  # of the job file
    text: str  # of the job file
    shop_file: ShopFile | None
    readings_name: str
    readings: Readings | None


def data_of(job: Job) -> JobData:
    """What stands in the files of a job that has been read."""
    found: dict[str, bytes | Fault] = dict(job.texts)
    if SHOP_FILE not in found:
        found[SHOP_FILE] = _NO_SHOP
    faults: list[Fault] = []
    raw = found[job.job_file.name]
    job_open = _open(raw, job.job_file.name, "the job file", faults)
    assert job_open is not None, "a job that was read can be read"
    shop_file = _shop(job.folder, found, faults)
    name, readings = _readings(job.folder, found, job_open, shop_file, faults)
    return JobData(job, job_open.data, job_open.text, shop_file, name, readings)


def reread_data(base: JobData, data: Mapping[str, Any]) -> Job:
    """The same job with other data in its job file, by the same rules; much faster than by its text.

    The lines of a fault are those of the text before the change. The job's texts are left out:
    nothing that was not written stands in them.
    """
    job = base.job
    found: dict[str, bytes | Fault] = dict(job.texts)
    if SHOP_FILE not in found:
        found[SHOP_FILE] = _NO_SHOP
    held = SeenInputs(job.rail.scans, job.rail.pictures).held()
    return replace(_read(job.folder, job.job_file, found, held, (base, data)), texts=())


def read_job_with(job_path: Path, texts: Texts, like: Job | None = None) -> Job:
    """The job of these texts, by file name, with the folder's other files; faults as ``read_job``.

    ``like``: a job of the same folder whose scans and pictures have not changed since.
    """
    found: dict[str, bytes | Fault] = dict(texts)
    if job_path.name not in found:
        found[job_path.name] = read_bytes(job_path, job_path.parent, "the job file")
    held = None if like is None else SeenInputs(like.rail.scans, like.rail.pictures).held()
    return _read(job_path.parent, job_path, found, held)


_NO_SHOP = Fault(SHOP_FILE, None, "", "", "no shop file")


def _read(
    folder: Path,
    job_path: Path,
    found: dict[str, bytes | Fault],
    held: Held | None = None,
    changed: tuple[JobData, Mapping[str, Any]] | None = None,
) -> Job:
    """Read everything; ``found`` and ``held`` hold what is at hand, the rest is fetched."""
    faults: list[Fault] = []
    if changed is None:
        job_open = _open(found[job_path.name], job_path.name, "the job file", faults)
    else:
        job_open = OpenFile(job_path.name, changed[0].text, changed[1])
    job_file = None
    if job_open is not None:
        job_file = read_job_file(job_open)
        check_attitude(job_open)
        check_old_pan(job_open, job_file)
        check_rail(job_open, job_file)
        check_body(job_open, job_file)
        check_oil(job_open, job_file)
        check_suction(job_open, job_file)
        check_surroundings(job_open, job_file)
        check_walls(job_open, job_file)
        check_patch_plates(job_open, job_file.patch_plates)
        check_fittings(job_open, job_file)
    surfaces: dict[str, FloatArray | str] = {}
    if job_open is not None and job_file is not None and job_file.keep_outs:
        surfaces = read_surfaces(folder, found, job_open, job_file)
    logs: tuple[Log, ...] = ()
    if job_open is not None and job_file is not None and job_file.drives:
        logs = read_logs(folder, found, job_open, job_file.drives)
    if changed is not None and all(changed[0].data.get(key) == changed[1].get(key) for key in _READ_BY):
        base = changed[0]
        shop_file, readings_name, readings = base.shop_file, base.readings_name, base.readings
    else:
        shop_file = _shop(folder, found, faults)
        readings_name, readings = _readings(folder, found, job_open, shop_file, faults)
    seen = SeenInputs()
    if job_open is not None and job_file is not None:
        seen = read_seen(folder, job_open, job_file, held or {}, tool_uncertainties(shop_file)["caliper"])
    if job_open is not None:
        if job_file is not None and not faults:
            _check_cutter(job_file, job_open, shop_file, faults)
        faults += job_open.faults
    if faults or job_file is None or job_open is None or readings is None:
        raise JobError(faults)
    used = [job_path.name, *([SHOP_FILE] if shop_file is not None else []), readings_name]
    used += [drive.log for drive in job_file.drives if drive is not None]
    used += sorted(surfaces)
    texts = tuple((name, raw) for name in used if isinstance(raw := found.get(name), bytes))
    return _assemble(
        folder, job_path, job_file, job_open.data, shop_file, readings, texts, logs, surfaces, seen
    )


_READ_BY = ("job", "rail")
"""Sections of the job file on which the reading of the shop and readings files depends."""


def _open(raw: bytes | Fault, name: str, what: str, faults: list[Fault]) -> OpenFile | None:
    """A TOML file's data with its faults noted; None where it cannot be made out."""
    text = raw if isinstance(raw, Fault) else as_text(raw, name, what)
    if isinstance(text, Fault):
        faults.append(text)
        return None
    toml = as_toml(text, name, what)
    faults += toml.faults
    return None if toml.data is None else OpenFile(name, toml.text, toml.data)


def _shop(folder: Path, found: dict[str, bytes | Fault], faults: list[Fault]) -> ShopFile | None:
    """The shop file beside the job; None without one, or where it cannot be read at all."""
    path = folder / SHOP_FILE
    if SHOP_FILE not in found:
        if not path.exists() and not path.is_symlink():
            return None
        found[SHOP_FILE] = read_bytes(path, folder, "the shop file")
    raw = found[SHOP_FILE]
    if raw is _NO_SHOP:
        return None
    shop_open = _open(raw, SHOP_FILE, "the shop file", faults)
    if shop_open is None:
        return None
    shop_file = read_shop(shop_open)
    faults += shop_open.faults
    return shop_file


def _readings(
    folder: Path,
    found: dict[str, bytes | Fault],
    job_open: OpenFile | None,
    shop_file: ShopFile | None,
    faults: list[Fault],
) -> tuple[str, Readings | None]:
    rail: Any = job_open.data.get("rail") if job_open is not None else None
    rail = rail if isinstance(rail, dict) else {}
    name = rail.get("readings", READINGS_FILE)
    if not isinstance(name, str):
        return "", None  # told by its section
    if not re.fullmatch(r"[^/\\:\x00-\x1f]{1,60}", name) or name in (".", ".."):
        if job_open is not None:
            job_open.fault(
                ("rail", "readings"),
                "the readings file stands beside the job file: only its name is wanted here",
                f'readings = "{READINGS_FILE}"',
            )
        return "", None
    if name not in found:
        found[name] = read_bytes(folder / name, folder, "the readings file")
    raw = found[name]
    text = raw if isinstance(raw, Fault) else as_text(raw, name, "the readings file")
    if isinstance(text, Fault):
        faults.append(text)
        return name, None
    # Where the job file itself cannot be read, its readings are not blamed for a missing unit.
    bare = rail.get("readings_in") if job_open is not None else "mm"
    readings = read_readings(
        text,
        name,
        ReadingSetting(
            holes=ring_of(job_open) if job_open is not None else None,
            bare_unit=cast(Literal["mm", "in"], bare) if bare in ("mm", "in") else None,
            tool_u=tool_uncertainties(shop_file),
            lands=lands_of(job_open) if job_open is not None else None,
        ),
    )
    faults += readings.faults
    return name, readings


def _check_cutter(
    job_file: JobFile, job_open: OpenFile, shop_file: ShopFile | None, faults: list[Fault]
) -> None:
    """The cutter's tolerance has to be known in both thicknesses."""
    pan = job_file.pan
    if pan is None or job_open.faults:
        return
    lumps = build_lumps(job_file.lumps, job_open.data["lumps"], job_file.engine, None, pan.sheet)
    cutting = cutting_of(shop_file)
    longest = longest_side(lumps)
    for thickness in (pan.sheet, pan.flange):
        rules = cutter_rules(cutting, thickness, longest)
        if isinstance(rules, CutterTrouble):
            faults.append(
                Fault(SHOP_FILE, None, "cutting.tolerance", "", rules.rule, good='tolerance = "0.3 mm"')
            )
            return


def _assemble(
    folder: Path,
    job_path: Path,
    job_file: JobFile,
    data: Mapping[str, Any],
    shop_file: ShopFile | None,
    readings: Readings,
    texts: tuple[tuple[str, bytes], ...],
    logs: tuple[Log, ...],
    surfaces: dict[str, FloatArray | str],
    seen: SeenInputs,
) -> Job:
    """The stages' inputs; every rule has been checked before."""
    job, rail, pan, old_pan = job_file.job, job_file.rail, job_file.pan, job_file.old_pan
    assert job is not None
    assert rail is not None
    assert pan is not None
    assert old_pan is not None
    groups = tuple(cast(FastenersSection, group) for group in job_file.fasteners)
    lands = tuple(cast(LandSection, land) for land in job_file.lands)
    shop, shop_told = build_shop(shop_file, thread_systems(groups))
    rail_inputs, rail_told = build_rail(
        rail, groups, lands, pan, old_pan.clamped, readings.readings, shop_file, shop.bolt_lengths
    )
    widest = max(hole.fastener.diameter for hole in rail_inputs.holes)
    studs = max(
        (hole.fastener.old_bolt_length or 0.0 for hole in rail_inputs.holes if hole.fastener.kind == "stud"),
        default=0.0,
    )
    around = build_surroundings(job_file, surfaces, turning_tools(shop_file), rail_inputs.washer, studs)
    body, body_told = build_body(job_file, data["lumps"], widest, around)
    heat_told: list[Assumption] = []
    rise = hot_temperature(rail, heat_told) - rail_inputs.temperature
    choices = build_joint_choices(job_file.joints)
    kit = build_kit(pan, body.lumps, rail.block, rise, shop_file, job_file.cutting, choices)
    assert not isinstance(kit, CutterTrouble), "_check_cutter refuses this"
    patch_plates, patch_told = build_patch_plates(job_file.patch_plates)
    tools = frozenset(reading.tool for reading in readings.readings if reading.u_is_default)
    oil = build_oil(job_file)
    line = None if body.pickup is None else body.pickup.line
    suction, suction_told = build_suction(job_file, line, oil)
    filler, filler_told = build_filler(shop_file, oil.hot)
    weld, weld_told = build_weld(
        job_file.weld, pan.sheet, kit[0].material, kit[0].cutter.tolerance, shop_file
    )
    units: UnitSystem = "in" if job.units == "in" else "mm"
    setting = setting_of(job)
    record = read_record(folder, job.name, setting)
    if record is not None and record.logs:
        driven = frozenset(drive.log for drive in job_file.drives if drive is not None)
        more, unread = logs_of_record(folder, setting, driven)
        logs, record = (*logs, *more), replace(record, unread_logs=unread)
    proof, proof_told = build_proof(
        job_file,
        record,
        read_record(folder, None, setting, EARLIER),
        units == "in",
    )
    return Job(
        folder=folder,
        job_file=job_path,
        name=job.name,
        slug=slug_of(job.name),
        units=units,
        paper=cast(Literal["A4", "Letter"], job.paper or ("A4" if units == "mm" else "Letter")),
        placement=placement_of(job_file.engine),
        rail=replace(rail_inputs, scans=seen.scans, pictures=seen.pictures),
        body=body,
        oil=oil,
        kit=replace(kit[0], patch_plates=patch_plates),
        shop=shop,
        assumptions=(
            *rail_told,
            *tools_taken(shop_file, tools),
            *body_told,
            *heat_told,
            *kit[1],
            *patch_told,
            *shop_told,
            *_stock_told(shop, kit[0].material, pan.sheet, kit[0].flange_material, pan.flange),
            *suction_told,
            *filler_told,
            *weld_told,
            *proof_told,
            *_printing_told(job.units, job.paper, units),
        ),
        texts=texts,
        motion=build_motion(job_file),
        suction=suction,
        proof=proof,
        setting=setting,
        logs=logs,
        free_surface=asked_of(job_file.free_surface),
        filler=filler,
        bow=replace(build_bow(shop_file), strongback=weld.strongback),
        weld=weld,
    )


def _printing_told(given_units: str | None, paper: str | None, units: UnitSystem) -> tuple[Assumption, ...]:
    told = []
    if given_units is None:
        told.append(Assumption("job.units", "Millimetres are printed, because the job does not say."))
    if paper is None:
        name = "A4" if units == "mm" else "Letter"
        told.append(
            Assumption(
                "job.paper", f"The sheets are laid out for {name} paper, because the job does not say."
            )
        )
    return tuple(told)


def _stock_told(shop: Shop, sheet: str, t: float, flange: str, flange_t: float) -> tuple[Assumption, ...]:
    """Metal that the shop's own list does not have has to be bought: said, not refused."""
    if not shop.stock:
        return ()
    told = []
    for key, material, thickness in (("pan.sheet", sheet, t), ("pan.flange", flange, flange_t)):
        if not any(_is_such(line, material, thickness) for line in shop.stock):
            from sumpwright.findings import Figure

            told.append(
                Assumption(
                    key,
                    f"{material} in {{thickness}} is not in the shop's stock list; it is taken to be "
                    f"bought for this job.",
                    (Figure("thickness", thickness, "m", "length"),),
                )
            )
    return tuple(told)


def _is_such(line: Sheet, material: str, thickness: float) -> bool:
    return line.material == material and abs(line.thickness - thickness) < 5e-5


def slug_of(name: str) -> str:
    """A name for files: small letters, figures and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii")
    slug = re.sub(r"[^a-z0-9]+", "-", plain.casefold()).strip("-")[:40].strip("-")
    return slug or "pan"
