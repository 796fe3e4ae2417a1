"""Place pieces one after the other, each in the leftmost free corner: any blank, any hole.

        +------------------+
        |  free  |#####|   |     Where the reference point of a piece may lie is found exactly:
        x--------+#####|   |     all places that keep it inside, less those where it would
        |########|#####|   |     touch what lies there already. The corners of that region
        +------------------+     are where the piece touches something: x is the leftmost.

The places that a convex piece A forbids to a convex piece B are the hull of all sums of a
corner of A and a corner of B turned half round; other shapes are parted into convex ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from manifold3d import triangulate
from shapely import Polygon

from sumpwright.kit.nest_model import Placement
from sumpwright.kit.nest_shapes import Piece, turned
from sumpwright.quantities.units import FloatArray, Metre, Radian

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SLACK: Metre = 1e-6
"""A gap short of the asked one by a micrometre counts as kept, so that an exact fit is one."""

MITRE = 1.5
"""Corners of the gap are squared up to a right angle, bevelled beyond: never less than the gap."""


def convex_pieces(shape: Polygon) -> tuple[FloatArray, ...]:
    """The shape (no holes) parted into convex pieces, corners (n, 2) each."""
    ring = np.ascontiguousarray(shapely.get_coordinates(shapely.orient_polygons(shape).exterior)[:-1])
    if shape.convex_hull.area - shape.area <= 1e-12 + 1e-9 * shape.area:
        return (ring,)
    pieces = [Polygon(ring[corner]) for corner in np.asarray(triangulate([ring]), dtype=np.int64)]
    pieces = [piece for piece in pieces if piece.area > 1e-12]
    k = 0
    while k < len(pieces):
        for j in range(k + 1, len(pieces)):
            if shapely.intersection(pieces[k], pieces[j]).length < 1e-9:
                continue
            hull = shapely.union(pieces[k], pieces[j]).convex_hull
            if isinstance(hull, Polygon) and hull.area - pieces[k].area - pieces[j].area <= 1e-12:
                pieces[k] = hull
                del pieces[j]
                break
        else:
            k += 1
    return tuple(shapely.get_coordinates(piece.exterior)[:-1] for piece in pieces)


# A nest asks for the same few dozen outlines, each in four turns, at every place it tries.
@lru_cache(maxsize=512)
def _turned_round(ring: bytes) -> tuple[FloatArray, ...]:
    """The convex pieces of an outline (n, 2), given by its bytes, each turned half round."""
    corners = np.frombuffer(ring, dtype=np.float64).reshape(-1, 2)
    return tuple(-piece for piece in convex_pieces(Polygon(corners)))


def whole_sum(one: Sequence[FloatArray], other: Sequence[FloatArray]) -> BaseGeometry:
    """All sums of a point of one shape and a point of the other, both given in convex pieces."""
    sums = [(a[:, None, :] + b[None, :, :]).reshape(-1, 2) for a in one for b in other]
    whose = np.repeat(np.arange(len(sums)), [len(corners) for corners in sums])
    hulls: Any = shapely.convex_hull(shapely.multipoints(np.concatenate(sums), indices=whose))
    return hulls[0] if len(hulls) == 1 else shapely.union_all(hulls)


@dataclass(slots=True)
class Room:
    """A blank or a hole that is being filled; lives only while one nest is made."""

    region: Polygon  # what the pieces must stay inside, margin taken off already
    gap: Metre
    taken: list[tuple[FloatArray, ...]] = field(default_factory=list)  # convex pieces, gap added
    _walls: tuple[tuple[FloatArray, ...], ...] | None = None
    _known: dict[tuple[int, Radian, int], BaseGeometry] = field(default_factory=dict)

    def take(self, shape: Polygon) -> None:
        """Mark a shape on the blank as metal that is used."""
        grown = shape.buffer(self.gap - SLACK, join_style="mitre", mitre_limit=MITRE)
        self.taken.append(convex_pieces(Polygon(grown.exterior)))

    def free_places(self, ring: FloatArray, key: tuple[int, Radian] | None = None) -> BaseGeometry:
        """Where the origin of a piece with this outer line (n, 2) may lie."""
        low, high = ring.min(axis=0), ring.max(axis=0)
        box_low, box_high = (np.array(side) for side in (self.region.bounds[:2], self.region.bounds[2:]))
        first, last = box_low - low - SLACK, box_high - high + SLACK
        if np.any(last <= first):
            return Polygon()
        inside: BaseGeometry = shapely.box(*first, *last)
        turned_round = _turned_round(ring.tobytes())
        forbidden = list(self._outside(turned_round))
        for number, pieces in enumerate(self.taken):
            at = None if key is None else (*key, number)
            if at is None or at not in self._known:
                area = whole_sum(pieces, turned_round)
                if at is not None:
                    self._known[at] = area
            else:
                area = self._known[at]
            forbidden.append(area)
        if not forbidden:
            return inside
        return shapely.difference(inside, shapely.union_all(forbidden))

    def _outside(self, turned_round: Sequence[FloatArray]) -> list[BaseGeometry]:
        """Places forbidden because the region is no rectangle."""
        if self._walls is None:
            box = shapely.box(*self.region.bounds)
            beyond = shapely.difference(box, self.region.buffer(SLACK, join_style="mitre"))
            found = [p for p in shapely.get_parts(beyond) if isinstance(p, Polygon) and p.area > 1e-12]
            self._walls = tuple(
                piece_set
                for part in found
                for piece_set in (convex_pieces(cut) for cut in without_holes(part))
            )
        return [whole_sum(pieces, turned_round) for pieces in self._walls]


def without_holes(shape: Polygon) -> list[Polygon]:
    """The shape as polygons without holes: cut upright through the middle of each hole."""
    if not shape.interiors:
        return [shape]
    low_x, low_y, high_x, high_y = shape.bounds
    x = float(Polygon(shape.interiors[0]).centroid.x)
    halves = [
        shapely.intersection(shape, shapely.box(low_x - 1.0, low_y - 1.0, x, high_y + 1.0)),
        shapely.intersection(shape, shapely.box(x, low_y - 1.0, high_x + 1.0, high_y + 1.0)),
    ]
    parts = [
        p for half in halves for p in shapely.get_parts(half) if isinstance(p, Polygon) and p.area > 1e-12
    ]
    return [cut for part in parts for cut in without_holes(part)]


def put(room: Room, piece: Piece, number: int | None = None, upwards: bool = False) -> Placement | None:
    """The piece in the leftmost free corner, in the turn that reaches least far to the right.

    With ``upwards`` it is the lowest corner and the least reach upwards instead.

    ``number`` names the shape, so that copies share what was found for the first. The room
    is marked as taken. None where the piece finds no place.
    """
    best: tuple[tuple[float, float, float], Radian, FloatArray] | None = None
    ring = shapely.get_coordinates(piece.shape.exterior)[:-1]
    for angle in piece.angles:
        laid = turned(ring, angle)
        places = room.free_places(laid, None if number is None else (number, angle))
        if places.is_empty:
            continue
        corners = shapely.get_coordinates(places)
        reach = laid.max(axis=0)
        score = np.round(corners + reach, 7)
        first, second = (1, 0) if upwards else (0, 1)
        k = int(np.lexsort((score[:, second], score[:, first]))[0])
        key = (float(score[k, first]), float(score[k, second]), angle)
        if best is None or key < best[0]:
            best = (key, angle, corners[k])
    if best is None:
        return None
    _, angle, at = best
    room.take(Polygon(turned(ring, angle) + at))
    return Placement(piece.part, piece.copy, angle, float(at[0]), float(at[1]))


def fill(
    room: Room, pieces: Sequence[Piece], upwards: bool = False
) -> tuple[list[tuple[Piece, Placement]], list[Piece]]:
    """Pieces placed in this order, and those that found no place."""
    numbers: dict[int, int] = {}
    done: list[tuple[Piece, Placement]] = []
    left: list[Piece] = []
    failed: set[int] = set()
    for piece in pieces:
        number = numbers.setdefault(id(piece.shape), len(numbers))
        placement = None if number in failed else put(room, piece, number, upwards)
        if placement is None:
            failed.add(number)
            left.append(piece)
        else:
            done.append((piece, placement))
    return done, left


def with_guests(
    host: Piece, holes: Sequence[Polygon], gap: Metre, others: Sequence[Piece]
) -> tuple[Piece, list[Piece]]:
    """The host with as many of the others as its cut-outs take, and what is left."""
    guests: list[Placement] = []
    left = list(others)
    grain = host.grain
    for hole in sorted(holes, key=lambda hole: -hole.area):
        inner = hole.buffer(-gap, join_style="mitre", mitre_limit=5.0)
        for region in sorted(
            (p for p in shapely.get_parts(inner) if isinstance(p, Polygon) and p.area > 1e-8),
            key=lambda p: -p.area,
        ):
            room = Room(region, gap)
            kept: list[Piece] = []
            for piece in left:
                fitting = _beside(piece, grain)
                placement = put(room, fitting) if fitting is not None else None
                if placement is None:
                    kept.append(piece)
                    continue
                if piece.grain is not None and grain is None:
                    # From now on the host may not be turned across the grain.
                    grain = 0.0
                guests.append(replace(placement, inside=host.part))
            left = kept
    if not guests:
        return host, left
    angles = host.angles if grain is None else (-grain, np.pi - grain)
    return replace(host, guests=tuple(guests), grain=grain, angles=tuple(angles)), left


def _beside(piece: Piece, host_grain: Radian | None) -> Piece | None:
    """The piece as it may be turned in a host whose own grain runs in this direction."""
    if piece.grain is None or host_grain is None:
        return piece
    return replace(piece, angles=tuple(angle + host_grain for angle in piece.angles))
