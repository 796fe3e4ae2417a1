"""The gap along every seam, measured in sections a millimetre apart.

Sections only point at places: near a corner a third sheet may close what two leave
open, so each place is then judged with a ball.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from sumpwright.body import Cavity, Edge
from sumpwright.kit.solids import Sheet
from sumpwright.quantities.units import FloatArray, Metre

STATION: Metre = 1e-3
"""Distance between sections along a seam."""


@dataclass(frozen=True, slots=True, eq=False)
class SeamSections:
    """Distances between two sheets across one edge."""

    edge: int
    places: FloatArray  # (n, 3) m on the oil-side edge
    gaps: FloatArray  # (n,) m, inf where a sheet has no metal in reach


def sections_along(cavity: Cavity, edge: Edge, sheet_a: Sheet, sheet_b: Sheet) -> SeamSections:
    """Gaps between the sheets of the two faces in sections square to their edge."""
    start, end = cavity.vertices[edge.start], cavity.vertices[edge.end]
    along = (end - start) / edge.length
    count = max(1, int(np.ceil(edge.length / STATION)))
    distance = (np.arange(count) + 0.5) * (edge.length / count)
    places = start + distance[:, None] * along
    reach = 8.0 * max(sheet_a.thickness, sheet_b.thickness)
    rectangles_a = _section_rectangles(sheet_a, cavity.faces[edge.face_a].plane.normal, places, along, reach)
    rectangles_b = _section_rectangles(sheet_b, cavity.faces[edge.face_b].plane.normal, places, -along, reach)
    # One pair of section axes for both: along face A into it, and its normal.
    into_a = np.cross(cavity.faces[edge.face_a].plane.normal, along)
    axes = np.stack([into_a, cavity.faces[edge.face_a].plane.normal])
    flat_a = _as_polygons(rectangles_a, places, axes)
    flat_b = _as_polygons(rectangles_b, places, axes)
    gaps = shapely.distance(flat_a, flat_b)
    return SeamSections(edge.index, places, np.where(np.isnan(gaps), np.inf, gaps))


def _section_rectangles(
    sheet: Sheet, normal: FloatArray, places: FloatArray, along: FloatArray, reach: Metre
) -> FloatArray:
    """Corners (n, 4, 3) of the metal nearest to the edge in each section; nan where there is none."""
    into = np.cross(normal, along)
    ends = np.stack([places - reach * into, places + reach * into], axis=1)
    flat = sheet.frame.to_flat(ends.reshape(-1, 3)).reshape(-1, 2, 2)
    shapely.prepare(sheet.outline)
    cut = shapely.intersection(shapely.linestrings(flat), sheet.outline)
    out = np.full((len(places), 4, 3), np.nan)
    into_flat = np.array([into @ sheet.frame.x_axis, into @ sheet.frame.y_axis])
    pieces, owner = shapely.get_parts(cut, return_index=True)
    lines = (shapely.get_type_id(pieces) == 1) & ~shapely.is_empty(pieces)
    pieces, owner = pieces[lines], owner[lines]
    low = shapely.get_coordinates(shapely.get_point(pieces, 0))
    high = shapely.get_coordinates(shapely.get_point(pieces, -1))
    centre = sheet.frame.to_flat(places)[owner]
    s_low = np.einsum("nc,c->n", low - centre, into_flat)
    s_high = np.einsum("nc,c->n", high - centre, into_flat)
    s_low, s_high = np.minimum(s_low, s_high), np.maximum(s_low, s_high)
    # The piece nearest to the edge on the sheet's own side.
    nearness = np.maximum(0.0, np.maximum(s_low, -s_high))
    for k in np.lexsort((nearness, owner))[::-1]:
        place = places[owner[k]]
        foot, head = place + s_low[k] * into, place + s_high[k] * into
        lift = sheet.thickness * normal
        out[owner[k]] = [foot, head, head + lift, foot + lift]
    return out


def _as_polygons(rectangles: FloatArray, places: FloatArray, axes: FloatArray) -> list[Polygon | None]:
    flat = np.einsum("nkc,ac->nka", rectangles - places[:, None, :], axes)
    missing = np.isnan(flat).any(axis=(1, 2))
    flat[missing] = 0.0
    made = np.asarray(shapely.polygons(np.concatenate([flat, flat[:, :1]], axis=1)))
    return [None if gone else polygon for polygon, gone in zip(made, missing, strict=True)]
