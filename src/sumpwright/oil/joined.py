"""The oil space with its inner walls: compartments laid side by side, and the ways between them.

Each compartment keeps its own closed surface. A way through or past a wall is one more
corner, at the lowest point of the opening, joined with the corners of the wall's face on
either side; a one-way door joins them one way only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.body import Cavity, PanBody
from sumpwright.body.wall_model import Opening
from sumpwright.geometry import Surface
from sumpwright.geometry.solid_shapes import cross_rows
from sumpwright.oil.level import carried_up
from sumpwright.oil.pools import NO_LINKS, Neighbours
from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre, frozen_array, frozen_indices

ON_FACE: Metre = 1e-6
"""So near to a triangle a point counts as on it."""


@dataclass(frozen=True, slots=True, eq=False)
class OilSpace:
    """A closed surface and its corners' neighbours, and further ways that oil can run between corners.

    The last corners of the surface may belong to no triangle: they are the outlines of openings.
    """

    surface: Surface
    neighbours: Neighbours
    links: IntArray  # (l, 2) from and to, sorted by to


def oil_space(body: PanBody, open_top: bool) -> OilSpace:
    """The oil space of a body; ``open_top`` carries the walls on upwards from the rail.

    The metal of inner walls takes no room here; they are sheet.
    """
    cavity = body.cavity
    if cavity is None:
        raise ValueError("the body has no cavity: nothing can hold oil")
    division = body.division
    if division is None or len(division.compartments) < 2:
        surface = carried_up(cavity) if open_top else cavity.surface()
        return OilSpace(surface, Neighbours.of(surface), NO_LINKS)
    pieces = [one.surface for one in division.compartments]
    surface, firsts = _side_by_side(pieces)
    parts = np.repeat(np.arange(len(pieces)), [len(piece.triangles) for piece in pieces])
    if open_top:
        surface, new_number, parts = _with_open_top(surface, cavity, parts)
    else:
        new_number = np.arange(len(surface.vertices))
    vertices = [surface.vertices]
    links: set[tuple[int, int]] = set()
    count = len(surface.vertices)
    for opening in division.openings:
        for outline in opening.outlines:
            sides = [
                _corners_under(outline, pieces[index], new_number[firsts[index] : firsts[index + 1]])
                for index in (opening.from_compartment, opening.to_compartment)
            ]
            links |= _links_of(count, sides, opening)
            vertices.append(outline)
            count += len(outline)
    whole = Surface(frozen_array(np.vstack(vertices)), surface.triangles)
    ordered = sorted(links, key=lambda link: (link[1], link[0]))
    return OilSpace(
        whole,
        Neighbours.of(whole, parts),
        np.array(ordered, dtype=np.int64).reshape(-1, 2) if ordered else NO_LINKS,
    )


def _links_of(first: int, sides: list[list[tuple[int, ...]]], opening: Opening) -> set[tuple[int, int]]:
    """Ways along an opening's outline, and between it and the corners on both of its sides."""
    links: set[tuple[int, int]] = set()
    number = len(sides[0])
    for k in range(number):
        sill, beside = first + k, first + (k + 1) % number
        links |= {(sill, beside), (beside, sill)}
        for corner in sides[0][k]:
            links |= {(corner, sill)} if opening.passes != "backward" else set()
            links |= {(sill, corner)} if opening.passes != "forward" else set()
        for corner in sides[1][k]:
            links |= {(sill, corner)} if opening.passes != "backward" else set()
            links |= {(corner, sill)} if opening.passes != "forward" else set()
    return links


def _side_by_side(pieces: list[Surface]) -> tuple[Surface, list[int]]:
    firsts = np.cumsum([0, *(len(piece.vertices) for piece in pieces)]).tolist()
    vertices = np.vstack([piece.vertices for piece in pieces])
    triangles = np.vstack([piece.triangles + first for piece, first in zip(pieces, firsts[:-1], strict=True)])
    return Surface(frozen_array(vertices), frozen_indices(triangles)), firsts


def _corners_under(outline: FloatArray, piece: Surface, numbers: IntArray) -> list[tuple[int, ...]]:
    """For each point of an outline the corners of the compartment's triangle that carries it."""
    found: list[tuple[int, ...]] = []
    for nearest, distance in nearest_triangles(piece, outline):
        corners = piece.triangles[nearest] if distance <= 100.0 * ON_FACE else ()
        found.append(tuple(int(numbers[corner]) for corner in corners))
    return found


def nearest_triangle(surface: Surface, point: FloatArray) -> tuple[int, Metre]:
    """The triangle nearest to a point, and how far that is."""
    return nearest_triangles(surface, point[None])[0]


def nearest_triangles(surface: Surface, points: FloatArray) -> list[tuple[int, Metre]]:
    """For each of the points (n, 3) the triangle nearest to it, and how far that is."""
    a, b, c = (surface.vertices[surface.triangles[:, k]] for k in range(3))
    normal = cross_rows(b - a, c - a)
    weight = np.einsum("mk,mk->m", normal, normal)
    safe = np.where(weight > 0.0, weight, 1.0)
    p = points[:, None, :]
    height = np.einsum("mk,nmk->nm", normal, p - a) / np.sqrt(safe)
    u = np.einsum("nmk,mk->nm", cross_rows(c - b, p - b), normal) / safe
    v = np.einsum("nmk,mk->nm", cross_rows(a - c, p - c), normal) / safe
    is_over = (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0) & (weight > 0.0)
    best = np.where(is_over, np.abs(height), np.inf)
    for start, end in ((a, b), (b, c), (c, a)):
        along = end - start
        square = np.einsum("mk,mk->m", along, along)
        share = np.einsum("nmk,mk->nm", p - start, along) / np.where(square > 0.0, square, 1.0)
        foot = start + np.clip(share, 0.0, 1.0)[..., None] * along
        best = np.minimum(best, np.linalg.norm(p - foot, axis=2))
    nearest = np.argmin(best, axis=1)
    return [(int(k), float(best[row, k])) for row, k in enumerate(nearest)]


def _with_open_top(joined: Surface, cavity: Cavity, parts: IntArray) -> tuple[Surface, IntArray, IntArray]:
    """The compartments without their rail faces, under one common space above the rail.

    And the new number of each old corner, and the part that each triangle belongs to.
    """
    upper = carried_up(cavity)
    first_new = len(cavity.vertices)
    above: BoolArray = np.any(upper.triangles >= first_new, axis=1)
    on_rail = np.array([_lies_in_rail(cavity, joined.vertices[t]) for t in joined.triangles])
    vertices = np.vstack([joined.vertices, upper.vertices])
    triangles = np.vstack([joined.triangles[~on_rail], upper.triangles[above] + len(joined.vertices)])
    # Corners in the rail plane are one corner for all that meet there; below it a wall keeps them apart.
    used = np.unique(triangles)
    in_rail = used[np.array([_point_in_rail(cavity, vertices[v]) for v in used], dtype=np.bool_)]
    one_for_all = np.arange(len(vertices))
    seen: dict[tuple[float, ...], int] = {}
    for corner in in_rail.tolist():
        key = tuple(np.round(vertices[corner] / ON_FACE).tolist())
        one_for_all[corner] = seen.setdefault(key, corner)
    new_parts = np.concatenate([parts[~on_rail], np.full(int(np.count_nonzero(above)), parts.max() + 1)])
    return Surface(frozen_array(vertices), frozen_indices(one_for_all[triangles])), one_for_all, new_parts


def _lies_in_rail(cavity: Cavity, corners: FloatArray) -> bool:
    return all(_point_in_rail(cavity, corner) for corner in corners) and (
        float(np.cross(corners[1] - corners[0], corners[2] - corners[0])[2]) > 0.0
    )


def _point_in_rail(cavity: Cavity, point: FloatArray) -> bool:
    return any(
        face.role == "rail" and abs(float(face.plane.normal @ point) - face.plane.offset) <= ON_FACE
        for face in cavity.faces
    )
