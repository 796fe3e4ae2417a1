"""Where the rail holes lie against the opening: the land that seals, and what strays beyond."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.body.flange import opening_outline
from sumpwright.body.model import Cavity, PanBody
from sumpwright.geometry.polygons import contains, nearest_on_outline, signed_area
from sumpwright.quantities.measured import COVERAGE_95
from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.rail.model import Fastener
from sumpwright.tables.fasteners import clearance_hole, dowel_fit, find_thread


@dataclass(frozen=True, slots=True)
class SealingLand:
    """Flange between one hole's edge and the oil side."""

    hole: str
    width: Metre  # negative where the hole cuts into the oil side
    u95: Metre  # of the hole's place, square to the oil side
    hole_diameter: Metre
    hole_reason: str
    is_inside_opening: bool
    depth_inside: Metre  # of the centre, zero outside
    place: tuple[float, float, float]


def flange_hole(fastener: Fastener) -> tuple[Metre, str]:
    """Diameter of the flange's hole before the kit sizes it, and why that."""
    if fastener.kind == "dowel":
        fit = dowel_fit(fastener.diameter)
        if fit is not None:
            return fit.hole.value, "a close hole on the dowel"
    elif fastener.thread is not None:
        thread = find_thread(fastener.thread)
        size = fastener.thread if thread is None else thread.size
        hole = clearance_hole(size)
        if hole is not None:
            return hole.value, f"medium clearance for {size}"
    return 1.1 * fastener.diameter, "a tenth more than the fastener; its size is in no table"


def sealing_lands(body: PanBody, cavity: Cavity) -> tuple[SealingLand, ...]:
    """The land at every hole, in ring order."""
    opening = opening_outline(cavity)
    pattern = body.pattern
    inside = contains(opening, pattern.xy)
    lands = []
    for k, name in enumerate(pattern.names):
        distance, nearest, _ = nearest_on_outline(opening, pattern.xy[k])
        diameter, reason = flange_hole(pattern.fasteners[k])
        away = pattern.xy[k] - nearest
        square = away / distance if distance > 0.0 else np.array([1.0, 0.0])
        spread = pattern.covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2]
        u = math.sqrt(max(float(square @ spread @ square), 0.0))
        signed = -distance if inside[k] else distance
        lands.append(
            SealingLand(
                name,
                signed - 0.5 * diameter,
                COVERAGE_95 * u,
                diameter,
                reason,
                bool(inside[k]),
                distance if inside[k] else 0.0,
                (float(pattern.xy[k][0]), float(pattern.xy[k][1]), 0.0),
            )
        )
    return tuple(lands)


def stray_corners(
    holes: FloatArray, opening: FloatArray
) -> tuple[tuple[int, int, Metre, tuple[float, float, float]], ...]:
    """Where the opening reaches beyond the line from one hole to the next.

    One entry for a pair of holes: their places in the ring, the farthest reach, and where.
    """
    if len(holes) < 3 or abs(signed_area(holes)) == 0.0:
        return ()
    worst: dict[int, tuple[Metre, FloatArray]] = {}
    for corner in opening[~contains(holes, opening)]:
        reach, _, side = nearest_on_outline(holes, corner)
        if reach > 1e-9 and (side not in worst or reach > worst[side][0]):
            worst[side] = reach, corner
    return tuple(
        (side, (side + 1) % len(holes), reach, (float(corner[0]), float(corner[1]), 0.0))
        for side, (reach, corner) in sorted(worst.items())
    )
