"""The rail and flange as seen from below: what the template and the sheet draw in plan.

               u (front of the engine)
+---------------->        seen from below: u = x, v = y, so that the
|                         engine's left points down the page.
v (engine's left)
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.geometry import Outline
from sumpwright.geometry.arcs import chorded
from sumpwright.job.model import JobResults
from sumpwright.kit import FlatPart
from sumpwright.kit.model import is_flange
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array
from sumpwright.rail import HolePattern

_SAG: Metre = 1e-5


@dataclass(frozen=True, slots=True)
class OffBy:
    """The ellipse that holds the true hole centre 95 times of 100, seen from below."""

    long: Metre
    short: Metre
    turn: Radian  # of the long axis, from the front towards the engine's left


@dataclass(frozen=True, slots=True)
class PlanHole:
    """One rail hole in plan."""

    name: str
    u: Metre
    v: Metre
    diameter: Metre | None  # as it will be cut; None where no flange hole is known
    thread: Metre  # nominal diameter of what goes through
    off_by: OffBy  # whole pattern allowed to float


@dataclass(frozen=True, slots=True, eq=False)
class RailPlan:
    """Everything to draw in plan [m], u to the front, v to the engine's left."""

    holes: tuple[PlanHole, ...]
    outside: tuple[FloatArray, ...]  # closed lines (n, 2)
    inside: tuple[FloatArray, ...]

    def box(self) -> tuple[Metre, Metre, Metre, Metre]:
        """Least u, least v, greatest u, greatest v."""
        points = [np.array([[hole.u, hole.v]]) for hole in self.holes]
        points += [*self.outside, *self.inside]
        everything = np.vstack(points)
        low, high = everything.min(axis=0), everything.max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def hole_off_by(pattern: HolePattern, index: int, *, floating: bool = True) -> OffBy:
    """How far one hole's centre could be off, in plan."""
    from sumpwright.rail.formulas import off_by_axes

    whole = pattern.free_covariance if floating else pattern.covariance
    block = whole[2 * index : 2 * index + 2, 2 * index : 2 * index + 2]
    xx, xy, yy = float(block[0, 0]), float(block[0, 1]), float(block[1, 1])
    long, short = off_by_axes(xx, xy, yy)
    return OffBy(long, short, 0.5 * math.atan2(2.0 * xy, xx - yy))


def rail_plan(results: JobResults) -> RailPlan | None:
    """The plan from whatever the stages found; None without a hole pattern."""
    if results.rail is None or results.rail.pattern is None:
        return None
    pattern = results.rail.pattern
    sizes = {} if results.kit is None else {h.hole: h.diameter for h in results.kit.flange_holes}
    holes = tuple(
        PlanHole(
            name,
            float(pattern.xy[k, 0]),
            float(pattern.xy[k, 1]),
            sizes.get(name),
            pattern.fasteners[k].diameter,
            hole_off_by(pattern, k),
        )
        for k, name in enumerate(pattern.names)
    )
    flanges = [] if results.kit is None else [part for part in results.kit.parts if is_flange(part)]
    if flanges:
        outside = tuple(_in_plan(part, part.outline) for part in flanges)
        inside = tuple(_in_plan(part, cut_out) for part in flanges for cut_out in part.cut_outs)
        return RailPlan(holes, outside, inside)
    outside, inside = (), ()
    if results.body is not None:
        if results.body.flange_outside is not None:
            outside = (chorded(results.body.flange_outside, _SAG),)
        if results.body.cavity is not None:
            cavity = results.body.cavity
            inside = tuple(
                frozen_array(cavity.vertices[loop][:, :2])
                for face in cavity.faces
                if face.role == "rail"
                for loop in face.loops
            )
    return RailPlan(holes, outside, inside)


def _in_plan(part: FlatPart, outline: Outline) -> FloatArray:
    return frozen_array(part.frame.to_space(chorded(outline, _SAG))[:, :2])
