"""Oil that never drains back: given as a whole, measured behind each drain-back, or a usual band."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.oil.model import HeldBehind, OilInputs, Trapped
from sumpwright.quantities.units import CubicMetre, Radian, Ratio

LAID_OVER: Radian = math.radians(5.0)
"""An engine that stands straighter drains as its maker meant it to."""
BAND: Ratio = 0.05
"""Of the fill, at most, behind the drain-backs of an engine laid over of which nothing is known: common
practice, no source."""


def trapped_of(inputs: OilInputs) -> Trapped:
    """What stays up for ever, the vehicle level, and how much more it is on the worst slope asked about."""
    if inputs.trapped is not None:
        return Trapped(inputs.trapped, inputs.trapped, 0.0, "given")
    if inputs.held_behind:
        level = math.fsum(one.held_level for one in inputs.held_behind)
        return Trapped(level, level, _more_on_slopes(inputs.held_behind), "measured")
    up = np.asarray(inputs.up)
    tilt = math.acos(min(1.0, float(up[2] / np.linalg.norm(up))))
    if inputs.fill is not None and tilt > LAID_OVER:
        return Trapped(0.0, BAND * inputs.fill, 0.0, "band")
    return Trapped(0.0, 0.0, 0.0, "taken as none")


def _more_on_slopes(held: tuple[HeldBehind, ...]) -> CubicMetre:
    """Beyond level, nose and lean each at their worse end, and both together."""

    def worst(ends: list[tuple[CubicMetre | None, CubicMetre | None]]) -> CubicMetre:
        sums = [
            math.fsum(
                0.0 if pair[end] is None else (pair[end] or 0.0) - one.held_level
                for pair, one in zip(ends, held, strict=True)
            )
            for end in (0, 1)
        ]
        return max(0.0, *sums)

    return worst([(one.held_nose_up, one.held_nose_down) for one in held]) + worst(
        [(one.held_lean_right, one.held_lean_left) for one in held]
    )
