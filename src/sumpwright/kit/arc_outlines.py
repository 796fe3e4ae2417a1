"""Plane shapes cut with straight-sided tools, given back with their true arcs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sumpwright.geometry import Outline
from sumpwright.kit.metal import CHORD_SAGITTA, arc_of
from sumpwright.quantities.units import FloatArray, Metre, frozen_array


@dataclass(frozen=True, slots=True)
class Round:
    """A circle of which pieces bound a shape."""

    x: Metre
    y: Metre
    radius: Metre


def rounds_of(outlines: Sequence[Outline]) -> tuple[Round, ...]:
    """The circles on which the arcs of some outlines lie."""
    found = []
    for outline in outlines:
        for k, bulge in enumerate(outline.bulges):
            if bulge != 0.0:
                start, end = outline.points[k], outline.points[(k + 1) % len(outline.points)]
                centre, radius, _, _ = arc_of(np.asarray(start), np.asarray(end), float(bulge))
                found.append(Round(float(centre[0]), float(centre[1]), radius))
    return tuple(found)


def with_arcs(ring: FloatArray, rounds: Sequence[Round]) -> Outline:
    """An outline from a ring of chords: chords of a known circle that follow each other become one arc.

    A chord's ends lie on its circle, or (where a cut ended it) within a chord's rise of it.
    """
    count = len(ring)
    owner = [_round_under(ring[k], ring[(k + 1) % count], rounds) for k in range(count)]
    starts = [k for k in range(count) if owner[k] is None or owner[k] != owner[k - 1]]
    if not starts:
        starts = [0, count // 2]  # a whole circle is two arcs
    points, bulges = [], []
    for j, first in enumerate(starts):
        last = starts[(j + 1) % len(starts)]
        own = owner[first]
        points.append(ring[first])
        steps = (last - first) % count or count
        if own is None or steps == 1:
            bulges.append(0.0)
            continue
        corners = ring[[(first + k) % count for k in range(steps + 1)]]
        angles = np.arctan2(corners[:, 1] - own.y, corners[:, 0] - own.x)
        turns = (np.diff(angles) + math.pi) % (2.0 * math.pi) - math.pi
        bulges.append(math.tan(0.25 * float(turns.sum())))
    return Outline(frozen_array(np.array(points)), frozen_array(np.array(bulges)))


def _round_under(start: FloatArray, end: FloatArray, rounds: Sequence[Round]) -> Round | None:
    chord = math.hypot(*(end - start))
    for each in rounds:
        if each.radius <= CHORD_SAGITTA:
            continue
        longest = 2.0 * math.sqrt(2.0 * each.radius * CHORD_SAGITTA) * 1.02
        if chord > longest:
            continue
        off = [abs(math.hypot(p[0] - each.x, p[1] - each.y) - each.radius) for p in (start, end)]
        middle = 0.5 * (start + end)
        inside = each.radius - math.hypot(middle[0] - each.x, middle[1] - each.y)
        if (
            max(off) < 1.05 * CHORD_SAGITTA
            and -1e-9 < inside < 1.05 * CHORD_SAGITTA + 1e-9
            and min(off) < 1e-8
        ):
            return each
    return None
