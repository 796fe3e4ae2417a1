"""From the [suction] section to the pickup's line, which both sides read."""

from __future__ import annotations

from typing import Literal, cast

import numpy as np

from sumpwright.body.pickup_line import PickupLine, Screen, SuctionJoint, TubeCorner, TubeSection
from sumpwright.job.job_file import JobFile
from sumpwright.job.refusals import OpenFile
from sumpwright.job.suction_sections import CornerSection, JointSection, SuctionSection
from sumpwright.quantities.units import KilogramPerCubicMetre, Metre, Pascal, frozen_array

INCH: Metre = 0.0254

Place = Literal["pump", "pan", "cap", "wall"]

_TUBES: dict[str, tuple[Pascal, KilogramPerCubicMetre]] = {
    "mild steel": (207e9, 7850.0),
    "stainless": (193e9, 8000.0),
    "aluminium": (69e9, 2700.0),
    "copper": (120e9, 8900.0),
}

_SHEETS = {"mild steel": "mild", "stainless": "304", "aluminium": "5052-H32"}
"""Sheet that welds to each tube; copper is brazed and has none."""


def check_suction(file: OpenFile, job_file: JobFile) -> None:
    """What has to hold between the suction line's keys."""
    section = job_file.suction
    if section is None:
        return
    if job_file.pickup is None:
        file.fault(
            ("suction",), "a tube needs a mouth: the section [pickup] is missing", good="[pickup]", read=""
        )
        return
    path = _path(job_file.pickup.mouth, section)
    runs = np.linalg.norm(np.diff(path, axis=0), axis=1)
    for at, run in enumerate(runs):
        if run < 1e-4:
            file.fault(
                ("suction", "path", at), "the tube has no run here: two points in a row are the same", read=""
            )
    corners = len(path) - 2
    if len(job_file.suction_corners) > corners:
        file.fault(
            ("suction", "corners"),
            f"there are more corners named than the path has ({corners})",
            read=str(len(job_file.suction_corners)),
        )
    for at, corner in enumerate(job_file.suction_corners):
        if corner is not None and corner.kind == "bend" and corner.radius is None:
            file.fault(
                ("suction", "corners", at, "radius"), "a bend needs its radius", 'radius = "33 mm"', read=""
            )
    if section.shape == "round" and section.height is not None:
        file.fault(("suction", "height"), "a round tube has no height of its own; leave it out")
    _check_screen(file, section)
    if section.relief_from is not None and section.relief_returns_to is None:
        file.fault(
            ("suction", "relief_returns_to"),
            "where the relief valve spills to belongs to the speed at which it opens",
            'relief_returns_to = "pan"',
            read="",
        )


def _check_screen(file: OpenFile, section: SuctionSection) -> None:
    wanted = {
        "woven": ("screen_area", "screen_count", "screen_wire"),
        "perforated": ("screen_area", "hole", "hole_pitch", "hole_plate"),
    }.get(section.screen or "none", ())
    good = {
        "screen_area": '"20 cm2"',
        "screen_count": "20",
        "screen_wire": '"0.41 mm"',
        "hole": '"2 mm"',
        "hole_pitch": '"3.5 mm"',
        "hole_plate": '"1 mm"',
    }
    for key in wanted:
        if getattr(section, key) is None:
            file.fault(
                ("suction", key), f"a {section.screen} screen needs it", f"{key} = {good[key]}", read=""
            )
    given = (
        "screen_area",
        "screen_count",
        "screen_wire",
        "hole",
        "hole_pitch",
        "hole_plate",
        "bypass",
        "blocked",
    )
    for key in given:
        if key not in (*wanted, "bypass", "blocked") and getattr(section, key) is not None:
            file.fault(
                ("suction", key),
                "it belongs to no screen"
                if not wanted
                else "it does not belong to a {section.screen} screen",
            )
    if section.screen_count is not None and section.screen_wire is not None:
        pitch = INCH / section.screen_count
        if section.screen_wire >= 0.9 * pitch:
            file.fault(
                ("suction", "screen_wire"),
                f"such wires fill the mesh: at this count they stand {pitch * 1e3:.2f} mm apart, "
                f"centre to centre",
                'screen_wire = "0.41 mm"',
            )
    if section.hole is not None and section.hole_pitch is not None and section.hole >= section.hole_pitch:
        file.fault(("suction", "hole_pitch"), "the holes run into each other", 'hole_pitch = "3.5 mm"')


def _path(mouth: list[float], section: SuctionSection) -> np.ndarray:
    return np.array([mouth, *section.path], dtype=np.float64)


def build_line(job_file: JobFile) -> PickupLine | None:
    """The pickup's line, None where the job gives no tube."""
    section, pickup = job_file.suction, job_file.pickup
    if section is None or pickup is None:
        return None
    path = _path(pickup.mouth, section)
    named = [cast(CornerSection, corner) for corner in job_file.suction_corners]
    default = (
        TubeCorner("mitre", None, 1)
        if section.bend_radius is None
        else TubeCorner("bend", section.bend_radius)
    )
    corners = tuple(
        TubeCorner(
            cast(Literal["bend", "mitre"], named[at].kind), named[at].radius, int(named[at].welds or 1)
        )
        if at < len(named)
        else default
        for at in range(len(path) - 2)
    )
    stiff = None if section.material is None else _TUBES[section.material]
    return PickupLine(
        section=TubeSection(
            cast(Literal["round", "square"], section.shape),
            section.bore,
            section.bore if section.height is None else section.height,
            section.wall,
        ),
        path=frozen_array(path),
        corners=corners,
        port=frozen_array(section.port),
        port_bore=section.port_bore,
        joints=tuple(
            _joint(cast(JointSection, joint), section.bore + 2.0 * section.wall)
            for joint in job_file.suction_joints
        ),
        held_at=cast(tuple[Place, ...], tuple(section.held_at or ())),
        slides_at=cast(tuple[Place, ...], tuple(section.slides_at or ())),
        free_length=section.free_length,
        end_mass=section.end_mass,
        elastic_modulus=None if stiff is None else stiff[0],
        tube_density=None if stiff is None else stiff[1],
        screen=_screen(section),
        floor_gap=section.floor_gap,
        has_feet=section.feet,
        metal=None if section.material is None else _SHEETS.get(section.material),
    )


def _joint(joint: JointSection, diameter: Metre) -> SuctionJoint:
    return SuctionJoint(
        joint.name,
        cast(Literal["O-ring", "gasket", "brazed", "welded", "hose"], joint.kind),
        joint.along,
        diameter,
        joint.squeeze,
        cast(Literal["bubble", "vacuum"] | None, joint.tested),
    )


def _screen(section: SuctionSection) -> Screen | None:
    blocked, bypass = section.blocked or 0.0, section.bypass or 0.0
    if section.screen == "woven":
        assert section.screen_area
        assert section.screen_count
        assert section.screen_wire
        pitch = INCH / section.screen_count
        wire = section.screen_wire
        return Screen("woven", section.screen_area, pitch - wire, pitch, wire, blocked, bypass)
    if section.screen == "perforated":
        assert section.screen_area
        assert section.hole
        assert section.hole_pitch
        assert section.hole_plate
        return Screen(
            "perforated",
            section.screen_area,
            section.hole,
            section.hole_pitch,
            section.hole_plate,
            blocked,
            bypass,
        )
    return None
