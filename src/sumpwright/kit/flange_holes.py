"""Sizes of the flange's holes: what measuring, cutting and heat each ask for.

The flange hangs on its dowels where there are any. Measuring and cutting errors count
relative to that anchor, and the creep when hot grows with the distance from it: with
dowels at one end the far end takes all of it. Without dowels the flange is pushed and
turned to fit, and creeps from the middle of its bolts, which all hold it alike.
"""

from __future__ import annotations

import numpy as np

from sumpwright.body import PanBody
from sumpwright.kit.flange_formulas import (
    ellipse_reach,
    hole_for_clearance,
    needed_radial_clearance,
    thermal_slip,
)
from sumpwright.kit.model import CutterRules, FlangeHole, KitInputs
from sumpwright.quantities.units import FloatArray, Metre, frozen_array
from sumpwright.rail import Fastener, HolePattern
from sumpwright.tables.cutting import cut_deviation
from sumpwright.tables.fasteners import clearance_hole, dowel_fit, find_thread

METRIC_STEP: Metre = 1e-4
INCH_STEP: Metre = 0.0254 / 64.0
SHORTEST_DIMENSION: Metre = 0.010
"""Holes are ordered in tenths of a millimetre; inch holes in the 1/64 in steps of drills. Shorter dimensions
than the last are cut no truer."""


def anchor_holes(pattern: HolePattern) -> tuple[int, ...]:
    """Rows of the holes that fix the flange: its dowels, or all holes where there are none."""
    dowels = tuple(i for i, fastener in enumerate(pattern.fasteners) if fastener.kind == "dowel")
    return dowels or tuple(range(len(pattern.names)))


def slip_anchor(pattern: HolePattern) -> FloatArray:
    """The point (2,) m of the engine frame from which the hot flange creeps."""
    return frozen_array(pattern.xy[list(anchor_holes(pattern))].mean(axis=0))


def relative_covariance(pattern: HolePattern) -> FloatArray:
    """Covariance (2n, 2n) m2 of the holes after the flange was laid on its anchor.

    The flange is shifted onto the middle of its dowels and turned to suit all holes: two
    dowels close together would point the far end badly, and a tight dowel hole is opened
    to suit. Laying it on removes three freedoms from the pattern's own covariance:
    C' = S C S^T, S = I - G (H^T G)^-1 H^T, where the columns of G are the two shifts and the
    turn, and H picks what each of them is adjusted by.
    """
    n = len(pattern.names)
    xy = np.asarray(pattern.xy, dtype=np.float64)
    fixed = list(anchor_holes(pattern))
    centre = xy[fixed].mean(axis=0)
    freedoms = np.zeros((2 * n, 3))
    freedoms[0::2, 0] = 1.0
    freedoms[1::2, 1] = 1.0
    freedoms[0::2, 2] = -(xy[:, 1] - centre[1])
    freedoms[1::2, 2] = xy[:, 0] - centre[0]
    shifted_by = np.zeros(n)
    shifted_by[fixed] = 1.0
    picks = freedoms.copy()
    picks[:, :2] *= np.repeat(shifted_by, 2)[:, None]
    if not np.any(picks[:, 2]):
        # A single hole, or all on one spot: there is nothing to turn it by.
        freedoms, picks = freedoms[:, :2], picks[:, :2]
    laid_on = np.eye(2 * n) - freedoms @ np.linalg.solve(picks.T @ freedoms, picks.T)
    return frozen_array(laid_on @ np.asarray(pattern.free_covariance) @ laid_on.T)


def measuring_reach(pattern: HolePattern) -> FloatArray:
    """How far each hole (n,) could be off [m, 95 %] once the flange lies on its anchor."""
    covariance = relative_covariance(pattern)
    return frozen_array(
        [
            ellipse_reach(
                float(covariance[2 * i, 2 * i]),
                float(covariance[2 * i + 1, 2 * i + 1]),
                float(covariance[2 * i, 2 * i + 1]),
            )
            for i in range(len(pattern.names))
        ]
    )


def cutter_reach(cutter: CutterRules, thickness: Metre, distance: Metre) -> Metre:
    """How far off the cutter may set a hole at this distance from the anchor [m].

    A tolerance class grows with the dimension, and the one that counts here is from anchor
    to hole; the shop's own figure counts as it stands.
    """
    if cutter.tolerance_class is None:
        return cutter.tolerance
    listed = cut_deviation(thickness, max(distance, SHORTEST_DIMENSION), cutter.tolerance_class)
    return cutter.tolerance if listed is None else min(listed.value, cutter.tolerance)


def thread_size(fastener: Fastener) -> str | None:
    """What the hole and washer tables call this bolt or stud ("M6", "5/16"); None if unknown."""
    thread = find_thread(fastener.thread) if fastener.thread else None
    return None if thread is None else thread.size


def hole_step(fastener: Fastener) -> Metre:
    """The steps [m] in which holes for this fastener are ordered."""
    thread = find_thread(fastener.thread) if fastener.thread else None
    return INCH_STEP if thread is not None and thread.system == "inch" else METRIC_STEP


def flange_holes(inputs: KitInputs, body: PanBody) -> tuple[FlangeHole, ...]:
    """Every hole of the flange, in ring order, with the reasons for its size.

    Bolts and studs get ISO 273 medium (inch: the normal fit) or, where that is too small,
    the next step above what is needed. A thread that the tables do not know is judged by
    its need alone (``standard_clearance`` is then zero). A dowel gets its close hole,
    whatever it would need: it is what locates the flange.
    """
    pattern = body.pattern
    anchor = slip_anchor(pattern)
    reach = measuring_reach(pattern)
    found = []
    for i, (name, fastener) in enumerate(zip(pattern.names, pattern.fasteners, strict=True)):
        distance = float(np.hypot(*(np.asarray(pattern.xy[i]) - anchor)))
        slip = thermal_slip(distance, inputs.expansion_pan, inputs.expansion_block, inputs.temperature_rise)
        cutter = cutter_reach(inputs.flange_cutter, body.inputs.flange_thickness, distance)
        needed = needed_radial_clearance(float(reach[i]), cutter, slip)
        if fastener.kind == "dowel":
            fit = dowel_fit(fastener.diameter)
            diameter = fastener.diameter if fit is None else fit.hole.value
            standard = 0.5 * (diameter - fastener.diameter)
        else:
            size = thread_size(fastener)
            listed = None if size is None else clearance_hole(size)
            standard = 0.0 if listed is None else 0.5 * (listed.value - fastener.diameter)
            diameter = fastener.diameter + 2.0 * standard
            if needed > standard + 1e-9:
                diameter = hole_for_clearance(fastener.diameter, needed, hole_step(fastener))
        found.append(
            FlangeHole(
                hole=name,
                diameter=diameter,
                standard_clearance=standard,
                from_measuring=float(reach[i]),
                from_cutter=cutter,
                from_heat=slip,
                needed=needed,
            )
        )
    return tuple(found)
