"""Close every corner of the pan, one spot after the other, and report what stays open."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from manifold3d import Manifold
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.body import Cavity
from sumpwright.kit.closing import close_spot
from sumpwright.kit.joints import Seam, inward_cut_back, inward_lap
from sumpwright.kit.packing import tidy, without_specks
from sumpwright.kit.panels import face_sheets
from sumpwright.kit.solids import Sheet, common, joined, less, polygons_of
from sumpwright.kit.spots import Spot, corner_spots
from sumpwright.kit.surroundings import Sheets, look_round
from sumpwright.quantities.units import Metre, Radian

REACH = 3.0
"""How far from a corner sheets may change, in thicknesses."""

UPRIGHT: Radian = 1e-6
"""A wall that leans less than this stands square to the flange."""


@dataclass(frozen=True, slots=True, eq=False)
class CornerWork:
    """The sheets after the corners were closed, and the corners that were not."""

    sheets: Sheets
    left_open: tuple[str, ...]
    changed: int  # corners where outlines were changed
    tests: int


def other_joints(
    cavity: Cavity, seams: Mapping[int, Seam], thickness: Mapping[int, Metre], spot: Spot
) -> Iterator[dict[int, BaseGeometry]]:
    """Outlines of the sheets at a spot with its inward corners done in every other way."""
    near = [
        cavity.edges[index] for index in spot.edges if seams[index].kind in ("inward lap", "inward cut back")
    ]
    choices = []
    for edge in near[:3]:
        t_a, t_b = thickness[edge.face_a], thickness[edge.face_b]
        choices.append(
            (
                inward_lap(edge, t_a, t_b, edge.face_a),
                inward_lap(edge, t_a, t_b, edge.face_b),
                inward_cut_back(edge, t_a, t_b),
            )
        )
    for choice in itertools.product(*choices):
        if all(seam == seams[seam.edge] for seam in choice):
            continue
        mixed = {**seams, **{seam.edge: seam for seam in choice}}
        sheets = face_sheets(cavity, mixed, thickness, spot.faces)
        yield {key: sheet.outline for key, sheet in sheets.items()}


def close_corners(
    cavity: Cavity,
    solid: Manifold,
    sheets: Mapping[int, Sheet],
    faces: Mapping[int, Polygon],
    flange: Sheet,
    seams: Mapping[int, Seam],
) -> CornerWork:
    """Visit every corner; change outlines only where it leaks or collides."""
    current = dict(sheets)
    thicknesses = {key: sheet.thickness for key, sheet in sheets.items()}
    left_open, changed, tests = [], 0, 0
    for spot in corner_spots(cavity, current, flange.thickness, REACH):
        if closes_by_itself(cavity, seams, spot):
            continue
        around = look_round(spot, current, faces, flange, solid)
        closed = close_spot(around, other_joints(cavity, seams, thicknesses, spot))
        tests += closed.tests
        if not closed.is_shut:
            left_open.append(spot.name)
        changed += closed.stage not in (0, 9)
        for key, local in closed.sheets.items():
            if local is not around.base[key]:
                current[key] = merged(current[key], local, around.zones[key])
    return CornerWork(current, tuple(left_open), changed, tests)


def closes_by_itself(cavity: Cavity, seams: Mapping[int, Seam], spot: Spot) -> bool:
    """Whether all edges at a spot are outward open corners, and walls stand square under the flange.

    Sheets on the faces of a convex corner neither collide nor leave a hole: every point
    outside has one nearest face, and the oil-side edges meet.
    """
    for index in spot.edges:
        edge = cavity.edges[index]
        if seams[index].kind == "wall under flange":
            if abs(edge.corner_angle - 0.5 * math.pi) > UPRIGHT:
                return False
        elif seams[index].kind not in ("open corner", "bend"):
            return False
    return True


def merged(whole: Sheet, local: Sheet, zone: Polygon) -> Sheet:
    """The whole sheet with what was found inside the zone."""
    shape = joined([less(whole.outline, zone), common(local.outline, zone)])
    return whole.with_outline(without_specks(polygons_of(tidy(shape))[0]))
