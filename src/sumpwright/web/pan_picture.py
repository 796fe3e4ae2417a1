"""The pan's picture: the oil space, what stands in it and round it, in the engine's axes."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sumpwright.body import Cavity, PanBody, WallCut
from sumpwright.body.wall_model import PlacedWall
from sumpwright.job.model import Job
from sumpwright.oil.dipstick import StickPath
from sumpwright.oil.model import OilResult
from sumpwright.outputs.plan import hole_off_by
from sumpwright.quantities.units import FloatArray
from sumpwright.rail import HolePattern
from sumpwright.web.drags import drags_of
from sumpwright.web.fields import quoted_key
from sumpwright.web.picture_messages import (
    CrankShape,
    CutShape,
    EdgeShape,
    FaceShape,
    Flat,
    HoleShape,
    KeepOutShape,
    LumpShape,
    PanPicture,
    PickupShape,
    PortShape,
    StickMark,
    StickShape,
    WallShape,
)
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.wire_numbers import (
    degrees,
    flat_list_mm,
    outline_mm,
    point_mm,
    points_mm,
    unit_vector,
)


def pan_picture(now: Snapshot, revision: str) -> PanPicture:
    """Everything to draw of the pan; parts that are not known are empty."""
    job, results = now.job, now.results()
    body = results.body
    placement = np.eye(3) if job is None else job.placement.attitude.matrix()
    cavity = None if body is None else body.cavity
    return PanPicture(
        revision=revision,
        trouble=[] if body is None else [reason for reason, _ in body.trouble],
        up=unit_vector(placement.T @ np.array([0.0, 0.0, 1.0])),
        forward=unit_vector(placement.T @ np.array([1.0, 0.0, 0.0])),
        left=unit_vector(placement.T @ np.array([0.0, 1.0, 0.0])),
        ground_mm=None
        if job is None or job.placement.datum_height is None
        else -round(job.placement.datum_height * 1e3, 4),
        vertices_mm=[] if cavity is None else flat_list_mm(cavity.vertices),
        faces=[] if cavity is None else _faces(cavity),
        edges=[] if cavity is None else _edges(cavity),
        walls=[] if body is None or body.division is None else [_wall(one) for one in body.division.walls],
        compartments=[]
        if body is None or body.division is None
        else [one.name for one in body.division.compartments],
        lumps=[] if job is None else _lumps(job, now),
        flange_mm=_flange(body),
        holes=[] if results.rail is None or results.rail.pattern is None else holes_of(results.rail.pattern),
        pickup=None if job is None else _pickup(job),
        drain_mm=_drain(job, results.body),
        stick=None if job is None else _stick(job, results.oil),
        crank=None if job is None else _crank(job),
        ports=[]
        if job is None
        else [PortShape(name=port.name, place_mm=point_mm(port.lowest)) for port in job.oil.ports],
        keep_outs=[] if job is None else _keep_outs(job),
        drags=[] if job is None else drags_of(now),
        volume_l=None if cavity is None else round(cavity.volume * 1e3, 5),
    )


def holes_of(pattern: HolePattern) -> list[HoleShape]:
    """The rail's holes with how far each could be off."""
    found = []
    for k, name in enumerate(pattern.names):
        off, fastener, edge = hole_off_by(pattern, k), pattern.fasteners[k], pattern.edge_diameters[k]
        found.append(
            HoleShape(
                name=name,
                kind=fastener.kind,
                thread=fastener.thread or "",
                x_mm=round(float(pattern.xy[k, 0]) * 1e3, 4),
                y_mm=round(float(pattern.xy[k, 1]) * 1e3, 4),
                diameter_mm=round((fastener.diameter if edge is None else edge.value) * 1e3, 4),
                off_by_long_mm=round(off.long * 1e3, 5),
                off_by_short_mm=round(off.short * 1e3, 5),
                off_by_turn_deg=degrees(off.turn),
                land=pattern.land_of_hole[k],
            )
        )
    return found


def _faces(cavity: Cavity) -> list[FaceShape]:
    return [
        FaceShape(
            index=face.index,
            name=face.name,
            role=face.role,
            lump=face.lump,
            normal=unit_vector(face.plane.normal),
            loops=[[int(vertex) for vertex in loop] for loop in face.loops],
            triangles=cavity.triangles[cavity.face_of_triangle == face.index].ravel().tolist(),
        )
        for face in cavity.faces
    ]


def _edges(cavity: Cavity) -> list[EdgeShape]:
    return [
        EdgeShape(
            face_a=int(edge.face_a),
            face_b=int(edge.face_b),
            start=int(edge.start),
            end=int(edge.end),
            length_mm=round(edge.length * 1e3, 3),
            corner_angle_deg=degrees(edge.corner_angle),
            inward=bool(edge.is_inward),
        )
        for edge in cavity.edges
    ]


def _wall(placed: PlacedWall) -> WallShape:
    from manifold3d import triangulate

    wall = placed.wall
    loops = [np.ascontiguousarray(loop) for loop in placed.outlines]
    loops += [np.ascontiguousarray(cut.outline[::-1]) for cut in placed.cuts if len(cut.outline) > 2]
    flat = np.vstack(loops) if loops else np.zeros((0, 2))
    triangles = (
        np.asarray(triangulate(loops), dtype=np.int64).reshape(-1, 3) if loops else np.zeros((0, 3), int)
    )
    listed = "walls" if wall.kind == "wall" else "roof_baffles"
    return WallShape(
        name=wall.name,
        key=f"{listed}.{quoted_key(wall.name)}",
        kind=wall.kind,
        loops_mm=[points_mm(wall.frame.to_space(loop)) for loop in placed.outlines],
        triangles_mm=flat_list_mm(wall.frame.to_space(flat)[triangles].reshape(-1, 3)),
        cuts=[
            CutShape(
                name=cut.cut.name,
                kind=cut.cut.kind,
                loop_mm=points_mm(wall.frame.to_space(cut.outline)),
                passes=_passes(cut.cut, wall.frame.normal),
            )
            for cut in placed.cuts
        ],
        thickness_mm=round(wall.thickness * 1e3, 4),
    )


def _passes(cut: WallCut, normal: FloatArray) -> tuple[float, float, float] | None:
    if cut.door is None:
        return None
    return unit_vector(normal if cut.door.passes == "with normal" else -normal)


def _lumps(job: Job, now: Snapshot) -> list[LumpShape]:
    listed = now.files.data("job").get("lumps")
    asked: list[dict[str, Any]] = (
        [one for one in listed if isinstance(one, dict)] if isinstance(listed, list) else []
    )
    found = []
    for lump in job.body.lumps:
        own = next((one for one in asked if one.get("name") == lump.name), {})
        key = f"lumps.{quoted_key(lump.name)}"
        floor = lump.floor
        place = None
        if floor is not None and abs(float(floor.normal[2])) > 1e-6:
            x, y = (float(value) for value in np.mean(lump.outline, axis=0))
            z = (floor.offset - float(floor.normal[0]) * x - float(floor.normal[1]) * y) / float(
                floor.normal[2]
            )
            place = point_mm((x, y, z)) if math.isfinite(z) else None
        found.append(
            LumpShape(
                name=lump.name,
                key=key,
                adds=lump.adds,
                depth_key=f"{key}.depth" if "depth" in own else "",
                depth_mm=None if place is None else -place[2],
                depth_at_mm=place,
                floor_normal=None if floor is None else unit_vector(floor.normal),
            )
        )
    return found


def _flange(body: PanBody | None) -> list[Flat]:
    if body is None or body.flange_outside is None:
        return []
    flat = outline_mm(body.flange_outside)
    return list(zip(flat[::2], flat[1::2], strict=True))


def _pickup(job: Job) -> PickupShape | None:
    pickup = job.body.pickup
    if pickup is None:
        return None
    line = pickup.line
    return PickupShape(
        key="pickup",
        mouth_mm=point_mm(pickup.mouth),
        mouth_diameter_mm=round(pickup.mouth_diameter * 1e3, 4),
        path_mm=[] if line is None else points_mm(line.path),
        bore_mm=None if line is None else round(line.section.hydraulic_diameter * 1e3, 4),
    )


def _drain(job: Job | None, body: PanBody | None) -> tuple[float, float, float] | None:
    if job is not None and job.body.drain is not None:
        return point_mm(job.body.drain)
    if body is None or body.cavity is None:
        return None
    vertices = body.cavity.vertices
    return point_mm(vertices[int(np.argmin(vertices @ body.inputs.up))])


def _stick(job: Job, oil: OilResult | None) -> StickShape | None:
    tube = job.body.dipstick
    if tube is None:
        return None
    path = StickPath.of(tube)
    bends = [] if tube.bends is None else list(tube.bends)
    line = [tube.stop, *bends, path.at(tube.stick_length)]
    marks = () if oil is None else oil.marks
    return StickShape(
        line_mm=[point_mm(place) for place in line],
        marks=[
            StickMark(
                name=mark.name,
                from_stop_mm=None if mark.from_stop is None else round(mark.from_stop * 1e3, 3),
                place_mm=None if mark.place is None else point_mm(mark.place),
            )
            for mark in marks
        ],
    )


def _crank(job: Job) -> CrankShape | None:
    crank = job.oil.crank
    if crank is None:
        return None
    return CrankShape(
        rear_mm=point_mm(crank.rear),
        front_mm=point_mm(crank.front),
        radius_mm=round(crank.sweep_radius * 1e3, 4),
    )


def _keep_outs(job: Job) -> list[KeepOutShape]:
    return [
        KeepOutShape(
            name=one.name,
            lies="inside" if one.lies == "inside the pan" else "outside",
            moves_with=one.moves_with,
            wanted_mm=round(one.wanted * 1e3, 4),
            triangles_mm=flat_list_mm(one.triangles.reshape(-1, 3)),
        )
        for one in job.body.surroundings.keep_outs
    ]
