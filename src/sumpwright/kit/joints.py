"""Which joint each edge of the cavity gets, and how far each sheet is trimmed for it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sumpwright.body import Cavity, Edge
from sumpwright.kit import formulas
from sumpwright.kit.model import JointChoice, JointKind
from sumpwright.quantities.units import FloatArray, Metre, Radian, SquareMetre

USUAL_OVERLAP = 0.2
"""Share of the thickness by which an overlapped corner runs past, where a choice names no figure."""

FULL_LAP_WITHIN: Radian = math.radians(12.0)
"""How far from square a corner may be for a full lap."""

LAP_UP_TO: Radian = math.radians(100.0)
"""An inward corner is lapped up to this outside angle, beyond it both sheets are cut back."""


@dataclass(frozen=True, slots=True)
class Seam:
    """One edge with its joint: how far each sheet stays back from the edge (negative: runs past it)."""

    edge: int
    kind: JointKind
    trim_a: Metre  # of edge.face_a
    trim_b: Metre  # of edge.face_b
    groove_angle: Radian | None
    fill_area: SquareMetre | None
    runner: int | None = None  # face that runs through a lap


def section_corners(angle: Radian, thickness: Metre, trim: Metre, reach: Metre) -> FloatArray:
    """Sheet B's section as a rectangle (4, 2) in sheet A's section axes (s, h)."""
    along = np.array([math.cos(angle), -math.sin(angle)])
    out = np.array([-math.sin(angle), -math.cos(angle)])
    corners = [(trim, 0.0), (reach, 0.0), (reach, thickness), (trim, thickness)]
    return np.array([s * along + h * out for s, h in corners])


def trim_by_section(angle: Radian, thickness_a: Metre, thickness_b: Metre, trim_a: Metre) -> Metre:
    """Trim of sheet B that just clears sheet A: the one rule behind every joint.

    A's section {s >= trim_a, 0 <= h <= t_A} is clipped by B's thickness; B begins
    beyond the farthest point of what is left.
    """
    far = 50.0 * (thickness_a + thickness_b + abs(trim_a))
    rectangle = np.array([(trim_a, 0.0), (far, 0.0), (far, thickness_a), (trim_a, thickness_a)])
    s, h = rectangle.T
    in_b = np.stack(
        [s * math.cos(angle) - h * math.sin(angle), -s * math.sin(angle) - h * math.cos(angle)], axis=1
    )
    clipped = _clip(_clip(in_b, 0.0, +1.0), thickness_b, -1.0)
    return float(clipped[:, 0].max()) if len(clipped) else 0.0


def _clip(ring: FloatArray, level: Metre, keep: float) -> FloatArray:
    """The part of a convex ring where keep * (h - level) >= 0."""
    out = []
    for here, there in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        inside_here, inside_there = keep * (here[1] - level) >= 0.0, keep * (there[1] - level) >= 0.0
        if inside_here:
            out.append(here)
        if inside_here != inside_there:
            share = (level - here[1]) / (there[1] - here[1])
            out.append(here + share * (there - here))
    return np.array(out).reshape(-1, 2)


def section_gap(angle: Radian, thickness_a: Metre, thickness_b: Metre, trim_a: Metre, trim_b: Metre) -> Metre:
    """Distance between the two rectangles of a section [m]; zero where they touch or overlap."""
    import shapely

    reach = 50.0 * (thickness_a + thickness_b + abs(trim_a) + abs(trim_b))
    one = shapely.Polygon([(trim_a, 0.0), (reach, 0.0), (reach, thickness_a), (trim_a, thickness_a)])
    other = shapely.Polygon(section_corners(angle, thickness_b, trim_b, reach))
    return float(one.distance(other))


def open_corner(edge: Edge, thickness_a: Metre, thickness_b: Metre) -> Seam:
    """Square edges that meet at the oil side; the groove outside is filled."""
    theta = edge.corner_angle
    fill = formulas.groove_fill(theta, thickness_a, thickness_b, 0.0, 0.0)
    return Seam(edge.index, "open corner", 0.0, 0.0, formulas.open_corner_groove(theta), fill)


def overlapped(edge: Edge, thickness_a: Metre, thickness_b: Metre, overlap: Metre, cover: int) -> Seam:
    """The covering sheet runs a little past the corner so that the other can be set on it while tacking."""
    theta = edge.corner_angle
    covers_a = cover == edge.face_a
    t_cover, t_other = (thickness_a, thickness_b) if covers_a else (thickness_b, thickness_a)
    other = formulas.overlapped_trim(theta, overlap)
    fill = formulas.groove_fill(theta, t_cover, t_other, -overlap, other)
    trims = (-overlap, other) if covers_a else (other, -overlap)
    return Seam(edge.index, "overlapped", *trims, formulas.open_corner_groove(theta), fill, cover)


def full_lap(edge: Edge, thickness_a: Metre, thickness_b: Metre, cover: int) -> Seam:
    """The covering sheet hides the other's whole edge; flush outside, no groove. Within 90 +- 12 deg only."""
    theta = edge.corner_angle
    covers_a = cover == edge.face_a
    t_other = thickness_b if covers_a else thickness_a
    reach, other = -formulas.full_lap_reach(theta, t_other), formulas.full_lap_trim(theta, t_other)
    trims = (reach, other) if covers_a else (other, reach)
    return Seam(edge.index, "full lap", *trims, math.pi, 0.0, cover)


def inward_cut_back(edge: Edge, thickness_a: Metre, thickness_b: Metre) -> Seam:
    """Both sheets end where their outer skins cross."""
    phi = 2.0 * math.pi - edge.corner_angle
    return Seam(
        edge.index,
        "inward cut back",
        formulas.inward_cut_back(phi, thickness_a, thickness_b),
        formulas.inward_cut_back(phi, thickness_b, thickness_a),
        phi,
        formulas.fillet_fill(phi, min(thickness_a, thickness_b)),
    )


def inward_lap(edge: Edge, thickness_a: Metre, thickness_b: Metre, runner: int) -> Seam:
    """The runner's sheet goes through to the corner, the other stops on its outer skin."""
    phi = 2.0 * math.pi - edge.corner_angle
    fill = formulas.fillet_fill(phi, min(thickness_a, thickness_b))
    if runner == edge.face_a:
        trim_a = formulas.inward_lap_runner(phi, thickness_a)
        trim_b = formulas.inward_lap_stopper(phi, thickness_a, thickness_b)
    else:
        trim_b = formulas.inward_lap_runner(phi, thickness_b)
        trim_a = formulas.inward_lap_stopper(phi, thickness_b, thickness_a)
    return Seam(edge.index, "inward lap", trim_a, trim_b, phi, fill, runner)


def wall_under_flange(edge: Edge, wall: int, thickness: Metre, flange_thickness: Metre) -> Seam:
    """The wall's square top meets the flange's underside or the lower edge of its inner side.

    A wall that leans out going up (theta below 90 deg) reaches up to the lower inner
    edge of the flange, or, leaning more, to its inner side; one that leans in going up is
    lowered until its outer edge clears the underside.
    """
    theta = edge.corner_angle
    if theta < 0.5 * math.pi:
        trim = min(flange_thickness * math.sin(theta), thickness * math.tan(theta))
    else:
        trim = flange_thickness / math.sin(theta) + formulas.wall_under_flange_trim(theta, thickness)
    weld_angle = math.pi - theta  # wall's outer skin against the underside
    fill = formulas.fillet_fill(weld_angle, min(thickness, flange_thickness))
    trims = (trim, 0.0) if edge.face_a == wall else (0.0, trim)
    return Seam(edge.index, "wall under flange", *trims, weld_angle, fill)


def choose_seams(
    cavity: Cavity,
    thickness: Mapping[int, Metre],
    flange_thickness: Metre,
    seam_overlap: float,
    choices: Sequence[JointChoice] = (),
) -> dict[int, Seam]:
    """One seam an edge: open corners outwards, laps or equal cut-backs inwards, walls under the flange.

    Of two sheets at an inward lap the one with the larger share of inward edges runs
    through (a tray floor over its sump walls), because then the groove's end is covered
    by metal that is there anyway. A choice that the corner cannot have leaves the usual
    joint; the check names it.
    """
    shares = _inward_shares(cavity)
    wanted = {frozenset((choice.part_a, choice.part_b)): choice for choice in choices}
    seams: dict[int, Seam] = {}
    for edge in cavity.edges:
        face_a, face_b = cavity.faces[edge.face_a], cavity.faces[edge.face_b]
        if "rail" in (face_a.role, face_b.role):
            wall = edge.face_b if face_a.role == "rail" else edge.face_a
            seams[edge.index] = wall_under_flange(edge, wall, thickness[wall], flange_thickness)
            continue
        choice = wanted.get(frozenset((face_a.name, face_b.name)))
        first = edge.face_a if choice is None or choice.part_a == face_a.name else edge.face_b
        kind = choice.kind if choice is not None and can_have(edge, choice.kind) else None
        t_a, t_b = thickness[edge.face_a], thickness[edge.face_b]
        if edge.is_inward:
            if choice is None:
                first = max(edge.face_a, edge.face_b, key=lambda f: (*shares[f], -f))
            seams[edge.index] = _inward(edge, kind, t_a, t_b, first)
        else:
            seams[edge.index] = _outward(edge, kind, t_a, t_b, first, seam_overlap)
    return seams


def can_have(edge: Edge, kind: JointKind) -> bool:
    """Whether an edge can have a joint of this kind."""
    if edge.is_inward:
        return kind in ("inward lap", "inward cut back")
    if kind == "full lap":
        return abs(edge.corner_angle - 0.5 * math.pi) <= FULL_LAP_WITHIN
    return kind in ("open corner", "overlapped")


def _inward(edge: Edge, kind: JointKind | None, t_a: Metre, t_b: Metre, runner: int) -> Seam:
    usual = "inward lap" if 2.0 * math.pi - edge.corner_angle <= LAP_UP_TO else "inward cut back"
    if (kind or usual) == "inward lap":
        return inward_lap(edge, t_a, t_b, runner)
    return inward_cut_back(edge, t_a, t_b)


def _outward(
    edge: Edge, kind: JointKind | None, t_a: Metre, t_b: Metre, cover: int, seam_overlap: float
) -> Seam:
    if kind == "full lap":
        return full_lap(edge, t_a, t_b, cover)
    share = seam_overlap if seam_overlap > 0.0 else USUAL_OVERLAP
    if kind == "overlapped" or (kind is None and seam_overlap > 0.0):
        return overlapped(edge, t_a, t_b, share * min(t_a, t_b), cover)
    return open_corner(edge, t_a, t_b)


def _inward_shares(cavity: Cavity) -> dict[int, tuple[float, float]]:
    """For each face the share of its edges that turn inwards, and its area."""
    inward: dict[int, int] = {}
    for edge in cavity.edges:
        if edge.is_inward:
            for face in (edge.face_a, edge.face_b):
                inward[face] = inward.get(face, 0) + 1
    return {
        face.index: (inward.get(face.index, 0) / sum(len(loop) for loop in face.loops), face.area)
        for face in cavity.faces
    }
