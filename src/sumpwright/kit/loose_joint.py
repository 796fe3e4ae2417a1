"""A seam that runs off the cavity's edges: between plates, risers, saddles and the walls they meet."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.kit.formulas import fillet_fill
from sumpwright.kit.model import Joint, JointKind
from sumpwright.quantities.units import FloatArray, Metre


def loose_joint(
    part_a: str,
    part_b: str,
    kind: JointKind,
    ends: tuple[FloatArray, FloatArray],
    legs: tuple[FloatArray, FloatArray],
    leg: Metre,
) -> Joint:
    """The seam from one end to the other, filled flat between its legs with ``leg`` along each."""
    start, end = ends
    angle = math.acos(float(np.clip(legs[0] @ legs[1], -1.0, 1.0)))
    return Joint(
        None,
        part_a,
        part_b,
        kind,
        angle,
        float(np.linalg.norm(end - start)),
        angle,
        fillet_fill(angle, leg),
        _tuple(start),
        _tuple(end),
        (_tuple(legs[0]), _tuple(legs[1])),
    )


def _tuple(point: FloatArray) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(point[2])
