"""Flat panels that share corners, cut into triangles that share nodes along every common line.

Every straight side is divided once, whoever uses it; each panel is then filled with a
regular set of points and joined by the triangles that leave every side of it whole.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from sumpwright.quantities.units import FloatArray, IntArray, Metre, Pascal
from sumpwright.weld.bow_elements import SheetMesh

if TYPE_CHECKING:
    from shapely import Polygon

TOUCHES: Metre = 2e-6
"""A corner this near to a side lies on it."""

MOST_ROUNDS = 8
"""So often sides that the triangles cut across are halved."""


@dataclass(frozen=True, slots=True)
class Panel:
    """One flat panel: its lines as rings of corners, and lines inside on which others stand."""

    name: str
    rings: tuple[tuple[int, ...], ...]  # outer ring first, others are holes
    lines: tuple[tuple[int, int], ...]  # corner to corner, inside the panel
    normal: tuple[float, float, float]  # the outer ring runs anticlockwise seen against it
    thickness: Metre
    modulus: Pascal
    poisson: float


@dataclass(slots=True)
class _Work:
    """Nodes so far, and the nodes along every elementary piece between two corners."""

    nodes: list[FloatArray]
    chains: dict[tuple[int, int], list[int]] = field(default_factory=dict)


class CannotMeshError(Exception):
    """A panel that no triangles fill: its name."""


def mesh_panels(corners: FloatArray, panels: tuple[Panel, ...], size: Metre) -> tuple[SheetMesh, Chains]:
    """Triangles of about a size over all panels, and where the corners' lines run in them.

    A panel whose sides cannot be kept whole raises ``CannotMeshError``.
    """
    work = _Work([np.asarray(corner) for corner in corners])
    pieces = [_pieces(corners, panel) for panel in panels]
    for own in pieces:
        for a, b, _ in own:
            _divide(work, a, b, size)
    for _ in range(MOST_ROUNDS):
        filled = []
        missing: set[tuple[int, int]] = set()
        for panel, own in zip(panels, pieces, strict=True):
            triangles, points, lost = _fill(work, panel, own, size)
            filled.append((triangles, points))
            missing |= lost
        if not missing:
            return _gathered(work, panels, filled), Chains(work.chains, corners)
        _halve(work, missing)
    raise CannotMeshError(", ".join(panel.name for panel in panels[:1]))


@dataclass(frozen=True, slots=True, eq=False)
class Chains:
    """The nodes along every piece between neighbouring corners."""

    pieces: dict[tuple[int, int], list[int]]
    corners: FloatArray  # (n, 3) m

    def along(self, start: int, end: int) -> IntArray:
        """All nodes from one corner to another on a straight line, corners between included."""
        stops = _stops(self.corners, start, end, np.arange(len(self.corners)))
        nodes = [start]
        for a, b in pairwise(stops):
            chain = self.pieces.get((min(a, b), max(a, b)))
            if chain is None:
                raise KeyError(f"no panel has a side from corner {a} to {b}")
            nodes += chain[1:] if a < b else chain[::-1][1:]
        return np.array(nodes)


def _stops(corners: FloatArray, start: int, end: int, others: IntArray) -> list[int]:
    """Corners on the straight line between two, in order, both ends included."""
    along = corners[end] - corners[start]
    length = float(np.linalg.norm(along))
    if length < TOUCHES:
        return [start, end]
    away = corners[others] - corners[start]
    share = away @ along / length**2
    off = np.linalg.norm(away - np.outer(share, along), axis=1)
    between = (off < TOUCHES) & (share * length > TOUCHES) & (share * length < length - TOUCHES)
    found = others[between][np.argsort(share[between], kind="stable")]
    return [start, *(int(k) for k in found), end]


def _pieces(corners: FloatArray, panel: Panel) -> list[tuple[int, int, bool]]:
    """The panel's sides and inner lines cut at every corner that lies on them; True on a ring."""
    everyone = np.arange(len(corners))
    found = []
    for ring in panel.rings:
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
            stops = _stops(corners, a, b, everyone)
            found += [(p, q, True) for p, q in pairwise(stops)]
    on_ring = {frozenset(piece[:2]) for piece in found}
    for a, b in panel.lines:
        stops = _stops(corners, a, b, everyone)
        for p, q in pairwise(stops):
            if frozenset((p, q)) not in on_ring:
                found.append((p, q, False))
    return found


def _divide(work: _Work, a: int, b: int, size: Metre) -> None:
    key = (min(a, b), max(a, b))
    if key in work.chains:
        return
    start, end = work.nodes[key[0]], work.nodes[key[1]]
    count = max(1, round(float(np.linalg.norm(end - start)) / size))
    chain = [key[0]]
    for k in range(1, count):
        chain.append(len(work.nodes))
        work.nodes.append(start + (end - start) * (k / count))
    work.chains[key] = [*chain, key[1]]


def _halve(work: _Work, missing: set[tuple[int, int]]) -> None:
    """A node in the middle of each piece of a side that the triangles cut across."""
    for key, chain in sorted(work.chains.items()):
        new = [chain[0]]
        for p, q in pairwise(chain):
            if (min(p, q), max(p, q)) in missing:
                new.append(len(work.nodes))
                work.nodes.append(0.5 * (work.nodes[p] + work.nodes[q]))
            new.append(q)
        work.chains[key] = new


def _fill(
    work: _Work, panel: Panel, pieces: list[tuple[int, int, bool]], size: Metre
) -> tuple[IntArray, FloatArray, set[tuple[int, int]]]:
    """Triangles of one panel, the points inside it, and the sides that the triangles cut across.

    Numbers from the count of all nodes upwards stand for the points inside.
    """
    import shapely
    from scipy.spatial import Delaunay

    normal = np.asarray(panel.normal)
    rings = [np.array([work.nodes[corner] for corner in ring]) for ring in panel.rings]
    origin = rings[0][0]
    sides = np.roll(rings[0], -1, axis=0) - rings[0]
    x_axis = sides[int(np.argmax(np.linalg.norm(sides, axis=1)))]
    x_axis = x_axis - (x_axis @ normal) * normal
    x_axis = x_axis / np.linalg.norm(x_axis)
    axes = np.stack([x_axis, np.cross(normal, x_axis)])
    area = shapely.Polygon((rings[0] - origin) @ axes.T, [(ring - origin) @ axes.T for ring in rings[1:]])
    subs = []
    nudge: dict[int, FloatArray] = {}
    for a, b, on_ring in pieces:
        chain = work.chains[(min(a, b), max(a, b))]
        chain = chain if a < b else chain[::-1]
        subs += list(pairwise(chain))
        if on_ring and len(chain) > 2:
            # A side is bent outwards by a hair for joining up, or rounding makes flat triangles on it.
            ends = (np.array([work.nodes[a], work.nodes[b]]) - origin) @ axes.T
            along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
            outwards = np.array([along[1], -along[0]])
            for node in chain[1:-1]:
                share = float(((work.nodes[node] - origin) @ axes.T - ends[0]) @ along) / float(
                    np.linalg.norm(ends[1] - ends[0])
                )
                nudge[node] = outwards * (4e-4 * size * share * (1.0 - share))
    used = sorted({node for sub in subs for node in sub})
    flat = (np.array([work.nodes[node] for node in used]) - origin) @ axes.T
    place = {node: k for k, node in enumerate(used)}
    inside = _points_inside(area, flat, np.array([(place[p], place[q]) for p, q in subs]), size)
    for node, shift in nudge.items():
        flat[place[node]] += shift
    points = np.concatenate([flat, inside])
    triangles = Delaunay(points).simplices
    one, two, three = (points[triangles[:, k]] for k in range(3))
    double = _cross(two - one, three - one)
    triangles = np.where((double < 0.0)[:, None], triangles[:, [0, 2, 1]], triangles)
    middle = (one + two + three) / 3.0
    keep = shapely.contains_xy(area, middle[:, 0], middle[:, 1]) & (np.abs(double) > 1e-7 * size**2)
    triangles = triangles[keep]
    joined = {
        (min(p, q), max(p, q))
        for t in triangles.tolist()
        for p, q in ((t[0], t[1]), (t[1], t[2]), (t[2], t[0]))
    }
    lost = {
        (min(p, q), max(p, q))
        for p, q in subs
        if (min(place[p], place[q]), max(place[p], place[q])) not in joined
    }
    names = np.array([*used, *(-1 - np.arange(len(inside)))], dtype=np.int64)
    return names[triangles], inside @ axes + origin, lost


def _cross(one: FloatArray, two: FloatArray) -> FloatArray:
    """Twice the areas that pairs of plane vectors (n, 2) span."""
    return np.asarray(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])


def _points_inside(area: Polygon, flat: FloatArray, subs: IntArray, size: Metre) -> FloatArray:
    """A regular set of points, clear of every side (n, 2)."""
    import shapely

    low, high = flat.min(axis=0), flat.max(axis=0)
    rise = size * math.sqrt(0.75)
    rows = np.arange(low[1] + 0.5 * rise, high[1], rise)
    columns = np.arange(low[0], high[0] + size, size)
    x = columns[None, :] + (np.arange(len(rows)) % 2)[:, None] * 0.5 * size
    points = np.stack([x.ravel(), np.repeat(rows, len(columns))], axis=1)
    points = points[shapely.contains_xy(area, points[:, 0], points[:, 1])]
    if not len(points):
        return points
    start, end = flat[subs[:, 0]], flat[subs[:, 1]]
    along = end - start
    length2 = np.einsum("sk,sk->s", along, along)
    away = points[:, None] - start[None]
    share = np.clip(np.einsum("psk,sk->ps", away, along) / length2, 0.0, 1.0)
    off = np.linalg.norm(away - share[..., None] * along, axis=2)
    return np.asarray(points[off.min(axis=1) > 0.55 * size])


def _gathered(work: _Work, panels: tuple[Panel, ...], filled: list[tuple[IntArray, FloatArray]]) -> SheetMesh:
    nodes = [np.array(work.nodes)]
    triangles, owner = [], []
    count = len(work.nodes)
    for number, (own, points) in enumerate(filled):
        triangles.append(np.where(own < 0, count - 1 - own, own))
        owner.append(np.full(len(own), number))
        nodes.append(points.reshape(-1, 3))
        count += len(points)
    panel = np.concatenate(owner)
    return SheetMesh(
        np.concatenate(nodes),
        np.concatenate(triangles),
        panel,
        np.array([p.thickness for p in panels])[panel],
        np.array([p.modulus for p in panels])[panel],
        np.array([p.poisson for p in panels])[panel],
    )
