"""From vehicle, keep-outs and drain plug to what the body stage needs."""

from __future__ import annotations

from pathlib import Path
from typing import cast

import numpy as np

from sumpwright.body.floors import vehicle_frame
from sumpwright.body.keep_outs import box, cylinder, in_engine_frame, swept_profile
from sumpwright.body.surroundings import (
    DrainPlug,
    EngineMovement,
    Ground,
    KeepOut,
    Lies,
    MovesWith,
    Surroundings,
    Tools,
)
from sumpwright.geometry.polygons import is_simple, signed_area
from sumpwright.geometry.stl import StlError, read_stl
from sumpwright.job.faults import Fault
from sumpwright.job.files import read_bytes
from sumpwright.job.job_file import JobFile
from sumpwright.job.lumps import placement_of
from sumpwright.job.refusals import OpenFile
from sumpwright.job.refusals import Path as KeyPath
from sumpwright.job.surroundings_sections import (
    KeepOutSection,
    VehicleSection,
)
from sumpwright.quantities.measured import COVERAGE_95
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

LARGEST_SURFACE = 128 * 1024 * 1024
INCH: Metre = 0.0254
SHAPES = ("box", "bar", "profile", "surface")
LEAST_RUN: Metre = 0.001


# --- what has to hold between the keys -------------------------------------------------


def check_surroundings(file: OpenFile, job_file: JobFile) -> None:
    """Everything about vehicle and keep-outs that one key alone cannot tell."""
    _check_vehicle(file, job_file)
    names: list[str] = []
    for at, out in enumerate(job_file.keep_outs):
        if out is not None:
            _check_keep_out(file, ("keep_outs", at), out, names)
            names.append(out.name)


def _check_vehicle(file: OpenFile, job_file: JobFile) -> None:
    vehicle = job_file.vehicle
    if vehicle is None:
        return
    if vehicle.clearance_at_bump is not None and vehicle.bump is None:
        file.fault(
            ("vehicle", "bump"), "how far the pan comes down at full bump is missing", 'bump = "45 mm"'
        )
    asked = [key for key in ("crest", "approach", "departure") if getattr(vehicle, key) is not None]
    for key, good in (("wheelbase", "2400 mm"), ("front_axle", "350 mm"), ("tyre_radius", "290 mm")):
        need = [slope for slope in asked if key != "wheelbase" or slope != "approach"]
        if need and getattr(vehicle, key) is None:
            article = "an" if need[0] == "approach" else "a"
            file.fault(("vehicle", key), f"{article} {need[0]} needs this too", f'{key} = "{good}"', read="")
    if asked and vehicle.ground_clearance is None:
        file.fault(
            ("vehicle", "ground_clearance"),
            "slopes are looked at with the ground, whose clearance is missing",
            'ground_clearance = "90 mm"',
            read="",
        )
    moves = vehicle.rock is not None or vehicle.mounts_give is not None
    if moves and vehicle.rocks_about is None and job_file.crank is None:
        file.fault(
            ("vehicle", "rocks_about"),
            "the axis the engine rocks about is not known without a [crank] section",
            'rocks_about = ["0 mm", "-107 mm", "58 mm"]',
            read="",
        )


def _check_keep_out(file: OpenFile, base: KeyPath, out: KeepOutSection, names: list[str]) -> None:
    if out.name in names:
        file.fault((*base, "name"), "another keep-out is called so already")
    given = [key for key in SHAPES if getattr(out, key) is not None]
    if len(given) != 1:
        file.fault(
            (*base, given[1] if given else "box"),
            "a keep-out has one shape" + ("; keep the one that is meant" if given else ", and it has none"),
            allowed="box, bar, profile or surface",
            read="",
        )
    if (out.surface is None) != (out.surface_in is None):
        key = "surface_in" if out.surface is not None else "surface"
        file.fault(
            (*base, key), "an STL file holds no unit: file and unit go together", 'surface_in = "mm"', read=""
        )
    if out.surface is not None and ("/" in out.surface or "\\" in out.surface or out.surface in (".", "..")):
        file.fault(
            (*base, "surface"),
            "the surface stands beside the job file: only its name is wanted here",
            'surface = "cross-member.stl"',
        )
    if (
        out.box is not None
        and min(abs(a - b) for a, b in zip(out.box.corner, out.box.opposite, strict=True)) < LEAST_RUN
    ):
        file.fault((*base, "box"), "the two corners span no box; they differ in all three places", read="")
    if out.bar is not None and float(np.linalg.norm(np.subtract(out.bar.end, out.bar.start))) < LEAST_RUN:
        file.fault((*base, "bar"), "the two ends are the same place", read="")
    if out.profile is not None:
        points = np.array(out.profile.outline)
        if not is_simple(points) or abs(signed_area(points)) < LEAST_RUN**2:
            file.fault((*base, "profile"), "the outline crosses itself or encloses nothing", read="")
        if not out.profile.between[0] < out.profile.between[1]:
            file.fault((*base, "profile"), "the lesser end of 'between' comes first", read="")


# --- surfaces in files -----------------------------------------------------------------


def read_surfaces(
    folder: Path, found: dict[str, bytes | Fault], job_open: OpenFile, job_file: JobFile
) -> dict[str, FloatArray | str]:
    """Triangles [m] of every named surface file, or why it cannot be read; missing files are faults."""
    surfaces: dict[str, FloatArray | str] = {}
    for out in job_file.keep_outs:
        if out is None or out.surface is None or out.surface_in is None or "/" in out.surface:
            continue
        if out.surface not in found:
            found[out.surface] = read_bytes(folder / out.surface, folder, "the surface", LARGEST_SURFACE)
        raw = found[out.surface]
        if isinstance(raw, Fault):
            job_open.faults.append(raw)
            continue
        try:
            surfaces[out.surface] = read_stl(raw) * (INCH if out.surface_in == "in" else 0.001)
        except StlError as trouble:
            surfaces[out.surface] = str(trouble)
    return surfaces


# --- the inputs ------------------------------------------------------------------------


def build_surroundings(
    job_file: JobFile, surfaces: dict[str, FloatArray | str], tools: Tools, washer: Metre, studs: Metre
) -> Surroundings:
    """Everything round the pan, in the engine frame."""
    placement = placement_of(job_file.engine)
    vehicle, drain = job_file.vehicle, job_file.drain
    outs: list[KeepOut] = []
    unreadable: list[tuple[str, str]] = []
    for section in job_file.keep_outs:
        assert section is not None
        built = _keep_out(section, surfaces, job_file)
        if isinstance(built, str):
            unreadable.append((section.name, built))
        else:
            outs.append(built)
    plug = None
    if drain is not None and drain.plug_head is not None:
        plug = DrainPlug(
            drain.plug_head, drain.plug_stands_out or 0.0, drain.plug_diameter or drain.plug_head
        )
    return Surroundings(
        placement=placement,
        keep_outs=tuple(outs),
        movement=None if vehicle is None else _movement(vehicle, job_file),
        ground=None if vehicle is None else _ground(vehicle),
        tools=tools,
        plug=plug,
        washer=washer,
        studs=studs,
        unreadable=tuple(unreadable),
    )


def _ground(vehicle: VehicleSection) -> Ground | None:
    if vehicle.ground_clearance is None:
        return None
    return Ground(
        vehicle.ground_clearance,
        vehicle.bump,
        vehicle.clearance_at_bump,
        vehicle.wheelbase,
        vehicle.front_axle,
        vehicle.tyre_radius,
        vehicle.crest,
        vehicle.approach,
        vehicle.departure,
    )


def _movement(vehicle: VehicleSection, job_file: JobFile) -> EngineMovement | None:
    if vehicle.rock is None and vehicle.mounts_give is None:
        return None
    crank = job_file.crank
    axis = np.array([1.0, 0.0, 0.0])
    point = vehicle.rocks_about
    if crank is not None:
        if point is None:
            point = crank.rear
        axis = np.subtract(crank.front, crank.rear) / float(
            np.linalg.norm(np.subtract(crank.front, crank.rear))
        )
    assert point is not None
    return EngineMovement(
        frozen_array(point), frozen_array(axis), vehicle.rock or 0.0, vehicle.mounts_give or 0.0
    )


def _keep_out(
    section: KeepOutSection, surfaces: dict[str, FloatArray | str], job_file: JobFile
) -> KeepOut | str:
    axes, origin = np.eye(3), np.zeros(3)
    if (section.axes or section.moves_with) == "vehicle":
        own_axes, own_origin = vehicle_frame(placement_of(job_file.engine))
        axes, origin = np.asarray(own_axes), np.asarray(own_origin)
    triangles: FloatArray
    if section.box is not None:
        triangles = box(np.array(section.box.corner), np.array(section.box.opposite))
    elif section.bar is not None:
        triangles = cylinder(np.array(section.bar.start), np.array(section.bar.end), section.bar.radius)
    elif section.profile is not None:
        start, end = section.profile.between
        across = {"above": (0, 1, 2), "side": (0, 2, 1), "front": (1, 2, 0)}[section.profile.seen]
        ways = np.eye(3)[:, across]
        triangles = swept_profile(np.array(section.profile.outline), start * ways[:, 2], ways, end - start)
    else:
        assert section.surface is not None
        read = surfaces.get(section.surface, "the file is not there")
        if isinstance(read, str):
            return read
        triangles = read
    return KeepOut(
        name=section.name,
        moves_with=cast(MovesWith, section.moves_with),
        lies=cast(Lies, f"{section.lies} the pan"),
        triangles=in_engine_frame(triangles, axes, origin),
        wanted=section.gap,
        u=None if section.off_by is None else section.off_by / COVERAGE_95,
        travel=tuple(
            (float(way[0]), float(way[1]), float(way[2]))
            for way in (np.array(section.travel) @ axes.T if section.travel else ())
        ),
        is_hot=bool(section.hot),
        is_convex=section.box is not None or section.bar is not None,
    )
