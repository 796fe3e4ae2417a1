"""What has to hold between the keys of the pan, its lumps, dipstick and drain."""

from __future__ import annotations

import numpy as np

from sumpwright.geometry.polygons import contains, is_simple, signed_area
from sumpwright.job.job_file import JobFile
from sumpwright.job.lumps import has_floor_below_top, outline_of, rounded, up_of
from sumpwright.job.metals import metal_rule
from sumpwright.job.refusals import OpenFile, Path
from sumpwright.job.sections import EngineSection, LumpSection, PortSection
from sumpwright.quantities.units import FloatArray, Metre, SquareMetre

LEAST_AREA: SquareMetre = 1e-6
"""An outline smaller than a square millimetre encloses nothing."""

LEAST_LEG: Metre = 0.001
"""Two places nearer than this give no direction."""

STEEPEST_UP = 0.26
"""Below this share of straight up (75 deg over), a floor level with the ground would stand upright."""


def check_body(file: OpenFile, job_file: JobFile) -> None:
    """Everything about pan, lumps, dipstick and drain that one key alone cannot tell."""
    pan = job_file.pan
    if pan is not None:
        for key, name in (("material", pan.material), ("flange_material", pan.flange_material)):
            trouble = metal_rule(name, "sheet") if name is not None else None
            if trouble is not None:
                file.fault(("pan", key), trouble[0], f'{key} = "{trouble[1]}"', trouble[2])
    for at, lump in enumerate(job_file.lumps):
        if lump is not None:
            _check_lump(file, ("lumps", at), lump, job_file.lumps[:at], job_file)
    if job_file.lumps and all(lump is not None and lump.does == "cuts" for lump in job_file.lumps):
        file.fault(("lumps",), "every lump cuts; there is nothing to cut from", good='does = "adds"', read="")
    stick = job_file.dipstick
    if stick is not None:
        last = stick.bends[-1] if stick.bends else stick.stop
        if float(np.linalg.norm(np.subtract(stick.towards, last))) < LEAST_LEG:
            where = "the last bend" if stick.bends else "where the shoulder rests"
            file.fault(("dipstick", "towards"), f"this is {where}; a point further down the stick is wanted")
    crank = job_file.crank
    if crank is not None and float(np.linalg.norm(np.subtract(crank.front, crank.rear))) < LEAST_LEG:
        file.fault(("crank", "front"), "the two ends of the crank's sweep are the same place")
    names = [port.name for port in job_file.ports if port is not None]
    for at, port in enumerate(job_file.ports):
        if port is not None and port.name in names[:at]:
            file.fault(("ports", at, "name"), "another place is called so already")
        if port is not None and trapped_keys(port):
            if port.kind != "return":
                file.fault(("ports", at, trapped_keys(port)[0]), "only a return holds oil back here")
            elif job_file.oil is not None and job_file.oil.trapped is not None:
                file.fault(
                    ("oil", "trapped"), "the returns say what stays trapped behind each; leave this out"
                )
            elif port.traps is None:
                file.fault(
                    ("ports", at, "traps"),
                    "what stays behind it with the vehicle level is missing",
                    'traps = "0.1 L"',
                    read="",
                )
        if port is not None and port.share is not None and port.kind != "return":
            file.fault(("ports", at, "share"), "only a return brings oil back; leave the share out here")
    shares = [(at, port.share) for at, port in enumerate(job_file.ports) if port is not None and port.share]
    carried = sum(share for _, share in shares)
    if carried > 1.0 + 1e-9:
        file.fault(
            ("ports", shares[-1][0], "share"),
            f"the returns together carry {carried:.0%}, more than comes back",
        )
    _check_drain(file, job_file)


def trapped_keys(port: PortSection) -> list[str]:
    """Keys of a port that say what stays behind it."""
    return [
        key for key in type(port).model_fields if key.startswith("traps") and getattr(port, key) is not None
    ]


def _check_lump(
    file: OpenFile,
    base: Path,
    lump: LumpSection,
    earlier: tuple[LumpSection | None, ...],
    job_file: JobFile,
) -> None:
    if lump.name in (other.name for other in earlier if other is not None):
        file.fault(
            (*base, "name"), "another lump is called so already; faces and proposals go by these names"
        )
    if lump.outline is not None and lump.rectangle is not None:
        file.fault((*base, "rectangle"), "outline and rectangle are both given; keep the one that is meant")
        return
    if lump.outline is None and lump.rectangle is None:
        file.fault(
            (*base, "outline"),
            "its outline is missing",
            good='rectangle = { rear = "0 mm", front = "200 mm", right = "-150 mm", left = "0 mm" }',
            read="",
        )
        return
    is_sound = _check_outline(file, base, lump)
    if lump.view == "side":
        _check_side(file, base, lump)
    else:
        _check_plan(file, base, lump, job_file.engine, is_sound)
    sheet = None if job_file.pan is None else job_file.pan.sheet
    if is_sound and sheet is not None and rounded(lump, sheet) is None:
        file.fault((*base, "corner_radius"), "two rounded corners do not both fit on the side between them")
    if lump.mirrored_about is not None and lump.axes == "vehicle":
        file.fault((*base, "mirrored_about"), "only a lump in the engine's axes can be mirrored")
    if lump.axes == "vehicle" and (job_file.engine is None or job_file.engine.datum_height is None):
        file.fault(
            ("engine", "datum_height"),
            "heights above the ground need the datum hole's height above it",
            good='datum_height = "262 mm"',
            read="",
        )


def _check_outline(file: OpenFile, base: Path, lump: LumpSection) -> bool:
    """Whether the outline encloses something and does not cross itself."""
    box = lump.rectangle
    if box is not None:
        count = len(file.faults)
        if not box.rear < box.front:
            file.fault(
                (*base, "rectangle", "front"),
                "the front side has to lie ahead of the rear side (x grows forwards)",
            )
        if not box.right < box.left:
            file.fault(
                (*base, "rectangle", "left"),
                "the left side has to lie left of the right side (y grows to the left)",
            )
        return len(file.faults) == count
    points = outline_of(lump)
    is_crossing = len(points) > 3 and _spread_area(points) >= LEAST_AREA and not is_simple(points)
    if len(points) < 3 or (abs(signed_area(points)) < LEAST_AREA and not is_crossing):
        file.fault(
            (*base, "outline"),
            "the outline encloses nothing: its corners lie on one line, or are the same",
            read="",
        )
        return False
    if is_crossing or not is_simple(points):
        file.fault(
            (*base, "outline"),
            "the outline crosses or touches itself; give its corners in order round it, two shapes as "
            "two lumps",
            read="",
        )
        return False
    return True


def _spread_area(points: FloatArray) -> SquareMetre:
    """Twice the largest triangle of the first corner, the one furthest from it and any third.

    Nothing only where all corners lie on one line; an outline that crosses itself can enclose
    as much to the left as to the right and still spread.
    """
    arms = points - points[0]
    far = arms[np.argmax(np.hypot(arms[:, 0], arms[:, 1]))]
    return float(np.max(np.abs(far[0] * arms[:, 1] - far[1] * arms[:, 0])))


def _check_side(file: OpenFile, base: Path, lump: LumpSection) -> None:
    if lump.rectangle is not None:
        file.fault(
            (*base, "rectangle"),
            "a rectangle is a plan; a lump seen from the side needs an outline in x and z",
        )
    for key in ("floor", "depth", "depth_at", "top_below", "wall_slope", "above_ground", "fall", "falls_to"):
        if getattr(lump, key) is not None:
            file.fault((*base, key), "a lump seen from the side has its floor in the outline; leave this out")
    if lump.across is None:
        file.fault(
            (*base, "across"),
            "a lump seen from the side needs the y of its right and of its left end",
            good='across = ["-150 mm", "0 mm"]',
            read="",
        )
    elif not lump.across[0] < lump.across[1]:
        file.fault(
            (*base, "across"), "the right end comes first, then the left end (y grows to the left)", read=""
        )


def _check_plan(
    file: OpenFile, base: Path, lump: LumpSection, engine: EngineSection | None, is_sound: bool
) -> None:
    if lump.across is not None:
        file.fault(
            (*base, "across"), 'only a lump seen from the side has this; say view = "side", or leave it out'
        )
    is_level = lump.floor == "level with ground"
    is_above = lump.floor == "above ground"
    needed = [("floor", 'floor = "parallel to rail"')]
    needed.append(("above_ground", 'above_ground = "120 mm"') if is_above else ("depth", 'depth = "118 mm"'))
    for key, good in needed:
        if getattr(lump, key) is None:
            file.fault((*base, key), f"its {key} is missing", good=good, read="")
    for key in ("depth", "depth_at") if is_above else ("above_ground",):
        if getattr(lump, key) is not None:
            file.fault((*base, key), f"this has no meaning with floor = {lump.floor!r}; leave it out")
    if is_level and lump.depth_at is None:
        file.fault(
            (*base, "depth_at"),
            "a floor level with the ground slopes against the rail: say where it has its depth",
            good='depth_at = ["300 mm", "-100 mm"]',
            read="",
        )
    if not is_level and not is_above and lump.floor is not None and lump.depth_at is not None:
        file.fault(
            (*base, "depth_at"), "a floor parallel to the rail has the same depth everywhere; leave this out"
        )
    for key in ("fall", "falls_to"):
        if getattr(lump, key) is not None and not is_level:
            file.fault((*base, key), "only a floor level with the ground falls; leave this out")
    if is_above and (engine is None or engine.datum_height is None):
        file.fault(
            ("engine", "datum_height"),
            "a floor above the ground needs the datum hole's height above it",
            good='datum_height = "262 mm"',
            read="",
        )
        return
    if lump.axes == "vehicle":
        if lump.floor is not None and not is_above:
            file.fault(
                (*base, "floor"),
                "a lump in the vehicle's axes has its floor above the ground",
                read=lump.floor,
            )
        if lump.top_below is not None:
            file.fault(
                (*base, "top_below"), "a lump in the vehicle's axes starts at the rail; leave this out"
            )
    if lump.floor is None or (lump.depth is None and not is_above) or (is_level and lump.depth_at is None):
        return
    if (is_level or is_above) and up_of(engine)[2] < STEEPEST_UP:
        file.fault(
            (*base, "floor"),
            "the engine lies so far over that a floor level with the ground would stand upright",
        )
        return
    if is_sound and not has_floor_below_top(lump, engine):
        key, good = ("above_ground", "a height lower down") if is_above else ("depth", "a greater depth")
        file.fault(
            (*base, key), "the floor lies above the lump's own top everywhere; nothing is left of it", good
        )


def _check_drain(file: OpenFile, job_file: JobFile) -> None:
    if job_file.drain is None or job_file.drain.at is None:
        return
    spot = np.array([job_file.drain.at])
    for lump in job_file.lumps:
        if lump is None or (lump.outline is None and lump.rectangle is None) or lump.view == "side":
            return  # where that lump's floor is, only the body can tell
        if lump.does == "adds" and bool(contains(outline_of(lump), spot)[0]):
            return
    file.fault(("drain", "at"), "the drain lies outside every lump", good='at = ["300 mm", "-100 mm"]')
