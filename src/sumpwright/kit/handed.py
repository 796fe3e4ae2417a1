"""Which parts are each other's mirror image: the pair that gets bent or welded wrong."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sumpwright.kit.metal import metal_of
from sumpwright.kit.model import FlatPart
from sumpwright.quantities.units import FloatArray, Metre

if TYPE_CHECKING:
    from shapely import Polygon

ALIKE: Metre = 1e-4
"""Parts whose edges agree this closely are one shape to the person holding them."""


@dataclass(frozen=True, slots=True)
class HandedPair:
    """Two parts that are mirror images and not the same shape, with the word for each."""

    one: str
    one_word: str  # "left", "right", "front", "rear", "upper", "lower"
    other: str
    other_word: str


def handed_pairs(parts: tuple[FlatPart, ...]) -> tuple[HandedPair, ...]:
    """All handed pairs, each part in at most one."""
    shapes = [metal_of(part) for part in parts]
    taken: set[int] = set()
    found = []
    for i, one in enumerate(parts):
        for j in range(i + 1, len(parts)):
            other = parts[j]
            if i in taken or j in taken or not _could_be_alike(one, shapes[i], other, shapes[j]):
                continue
            if same_shape(shapes[i], shapes[j]) or not same_shape(_turned_over(shapes[i]), shapes[j]):
                continue
            taken |= {i, j}
            words = _words(_middle(one, shapes[i]), _middle(other, shapes[j]))
            found.append(HandedPair(one.name, words[0], other.name, words[1]))
    return tuple(found)


def same_shape(one: Polygon, other: Polygon) -> bool:
    """Whether one shape can be slid and turned, not turned over, onto the other."""
    from shapely.affinity import affine_transform

    corners_one, corners_two = _corners(one), _corners(other)
    if len(corners_one) < 3 or len(corners_two) < 3:
        return False
    # Lay the longest side of the one on every side of the other of that length.
    sides_one = np.roll(corners_one, -1, axis=0) - corners_one
    sides_two = np.roll(corners_two, -1, axis=0) - corners_two
    lengths_one, lengths_two = np.hypot(*sides_one.T), np.hypot(*sides_two.T)
    k = int(np.argmax(lengths_one))
    allowed = ALIKE * (one.length + other.length) / 2
    for m in np.flatnonzero(np.abs(lengths_two - lengths_one[k]) < 2 * ALIKE):
        angle = math.atan2(*sides_two[m][::-1]) - math.atan2(*sides_one[k][::-1])
        turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        start = 0.5 * (corners_one[k] + corners_one[(k + 1) % len(corners_one)])
        end = 0.5 * (corners_two[m] + corners_two[(m + 1) % len(corners_two)])
        laid = affine_transform(one, [*turn.ravel(), *(end - turn @ start)])
        if laid.symmetric_difference(other).area < allowed:
            return True
    return False


def _could_be_alike(one: FlatPart, a: Polygon, other: FlatPart, b: Polygon) -> bool:
    return (
        one.material == other.material
        and abs(one.thickness - other.thickness) < 1e-6
        and abs(a.area - b.area) < ALIKE * (a.length + b.length) / 2
        and abs(a.length - b.length) < 0.01 * a.length
    )


def _corners(shape: Polygon) -> FloatArray:
    """Corners of the outer edge without those on straight runs, anticlockwise."""
    import shapely

    plain = shapely.get_exterior_ring(shapely.orient_polygons(shape.simplify(ALIKE / 5)))
    return np.asarray(shapely.get_coordinates(plain)[:-1])


def _turned_over(shape: Polygon) -> Polygon:
    import shapely

    return shapely.transform(shape, lambda xy: xy * np.array([-1.0, 1.0]))


def _middle(part: FlatPart, shape: Polygon) -> FloatArray:
    centre = np.array([[shape.centroid.x, shape.centroid.y]])
    return np.asarray(part.frame.to_space(centre)[0])


def _words(one: FloatArray, other: FloatArray) -> tuple[str, str]:
    """How to tell the two apart on the engine: by the axis in which they lie farthest apart."""
    apart = one - other
    axis = int(np.argmax(np.abs(apart)))
    words = (("front", "rear"), ("left", "right"), ("upper", "lower"))[axis]
    return words if apart[axis] > 0.0 else (words[1], words[0])
