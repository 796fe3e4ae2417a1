"""Outlines made from what the shop says: rounded corners as facets, mirrored copies."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.geometry.polygons import signed_area
from sumpwright.quantities.units import FloatArray, Metre, frozen_array


def rounded_outline(corners: FloatArray, radii: tuple[Metre, ...], least_facet: Metre) -> FloatArray | None:
    """Outline (n, 2) with each corner's arc drawn as flat facets no shorter than ``least_facet``.

    The ends of every arc and of every facet lie on the arc; at least one facet is made. A
    radius of nought leaves the corner. None where the arcs of two neighbouring corners do
    not both fit on the side between them.
    """
    count = len(corners)
    before = np.roll(corners, 1, axis=0) - corners
    after = np.roll(corners, -1, axis=0) - corners
    lengths = np.hypot(after[:, 0], after[:, 1])
    taken = np.zeros(count)
    turns = np.zeros(count)
    for k in range(count):
        inwards, outwards = -before[k], after[k]
        cross = float(inwards[0] * outwards[1] - inwards[1] * outwards[0])
        turns[k] = math.atan2(cross, float(inwards @ outwards))
        taken[k] = radii[k] * math.tan(0.5 * abs(turns[k])) if radii[k] > 0.0 else 0.0
    for k in range(count):
        if taken[k] + taken[(k + 1) % count] > lengths[k] + 1e-12:
            return None
    points: list[FloatArray] = []
    for k in range(count):
        if taken[k] == 0.0:
            points.append(corners[k])
            continue
        start = corners[k] + before[k] / np.hypot(*before[k]) * taken[k]
        turn = float(turns[k])
        facets = max(1, int(2.0 * radii[k] * math.sin(0.5 * abs(turn)) / least_facet))
        while facets > 1 and 2.0 * radii[k] * math.sin(0.5 * abs(turn) / facets) < least_facet:
            facets -= 1
        heading = -before[k] / np.hypot(*before[k])
        square = math.copysign(1.0, turn) * np.array([-heading[1], heading[0]])
        centre = start + radii[k] * square
        away = start - centre
        for step in range(facets + 1):
            c, s = math.cos(turn * step / facets), math.sin(turn * step / facets)
            points.append(centre + np.array([[c, -s], [s, c]]) @ away)
    return frozen_array(points)


def mirrored_outline(points: FloatArray, about: Metre) -> FloatArray:
    """Outline (n, 2) of the copy on the other side of the line y = ``about``, same way round."""
    copy = np.array(points)
    copy[:, 1] = 2.0 * about - copy[:, 1]
    turned = signed_area(copy) * signed_area(np.asarray(points)) < 0.0
    return frozen_array(copy[::-1] if turned else copy)
