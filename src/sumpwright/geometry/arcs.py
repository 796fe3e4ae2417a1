"""Outlines with arcs: where an arc's centre is, chords along it, exact area, box.

      q             bulge = tan(sweep / 4), positive when the arc from p to q
    .               turns left; sweep is the angle at the centre.
  .   sweep
p ------- centre
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.geometry.plane_shapes import Outline
from sumpwright.quantities.units import FloatArray, Metre, Radian, SquareMetre, frozen_array


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece of a circle, run through from ``start`` by ``sweep`` (left turn positive)."""

    x: Metre
    y: Metre
    radius: Metre
    start: Radian
    sweep: Radian

    def point(self, share: float) -> tuple[Metre, Metre]:
        """The point after this share (0 to 1) of the way."""
        angle = self.start + share * self.sweep
        return self.x + self.radius * math.cos(angle), self.y + self.radius * math.sin(angle)


def arc_of(p: FloatArray, q: FloatArray, bulge: float) -> Arc:
    """The arc from p to q; the bulge must not be zero."""
    chord_x, chord_y = float(q[0] - p[0]), float(q[1] - p[1])
    # From the chord's middle to the centre, along the chord turned left.
    away = (1.0 - bulge * bulge) / (4.0 * bulge)
    x = 0.5 * float(p[0] + q[0]) - away * chord_y
    y = 0.5 * float(p[1] + q[1]) + away * chord_x
    radius = math.hypot(chord_x, chord_y) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    return Arc(x, y, radius, math.atan2(float(p[1]) - y, float(p[0]) - x), 4.0 * math.atan(bulge))


def chord_count(radius: Metre, sweep: Radian, sag: Metre) -> int:
    """How many chords keep within ``sag`` of an arc."""
    if radius <= sag:
        return max(1, math.ceil(abs(sweep) / (math.pi / 4)))
    return max(1, math.ceil(abs(sweep) / (2.0 * math.acos(1.0 - sag / radius)) - 1e-9))


def chorded(outline: Outline, sag: Metre) -> FloatArray:
    """The outline as a closed line of straight pieces (n, 2), corners on the arcs [m]."""
    points = []
    for p, q, bulge in zip(outline.points, np.roll(outline.points, -1, axis=0), outline.bulges, strict=True):
        points.append((float(p[0]), float(p[1])))
        if bulge != 0.0:
            arc = arc_of(p, q, float(bulge))
            count = chord_count(arc.radius, arc.sweep, sag)
            points.extend(arc.point(k / count) for k in range(1, count))
    return frozen_array(np.array(points).reshape(-1, 2))


def circle_points(x: Metre, y: Metre, radius: Metre, sag: Metre) -> FloatArray:
    """A circle as a closed anticlockwise line of straight pieces (n, 2) [m]."""
    angles = 2.0 * np.pi * np.arange(count := max(8, chord_count(radius, 2.0 * math.pi, sag))) / count
    return frozen_array(np.stack([x + radius * np.cos(angles), y + radius * np.sin(angles)], axis=1))


def outline_area(outline: Outline) -> SquareMetre:
    """Exact area within the outline [m2], positive when it runs anticlockwise."""
    away = outline.points - outline.points[0]
    x, y = away[:, 0], away[:, 1]
    total = 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    for p, q, bulge in zip(outline.points, np.roll(outline.points, -1, axis=0), outline.bulges, strict=True):
        if bulge != 0.0:
            arc = arc_of(p, q, float(bulge))
            total += 0.5 * arc.radius**2 * (arc.sweep - math.sin(arc.sweep))
    return total


def outline_box(outline: Outline) -> tuple[FloatArray, FloatArray]:
    """Least and greatest coordinates of the outline, arcs included, (2,) each [m]."""
    points = [np.asarray(point) for point in outline.points]
    for p, q, bulge in zip(outline.points, np.roll(outline.points, -1, axis=0), outline.bulges, strict=True):
        if bulge == 0.0:
            continue
        arc = arc_of(p, q, float(bulge))
        low, high = sorted((arc.start, arc.start + arc.sweep))
        for quarter in range(math.ceil(low / (math.pi / 2)), math.floor(high / (math.pi / 2)) + 1):
            angle = quarter * math.pi / 2
            points.append(
                np.array([arc.x + arc.radius * math.cos(angle), arc.y + arc.radius * math.sin(angle)])
            )
    stacked = np.array(points)
    return frozen_array(stacked.min(axis=0)), frozen_array(stacked.max(axis=0))
