"""Which way the grain of the sheet must run in a part."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.kit.model import FlatPart
from sumpwright.quantities.units import Radian


def grain_of(part: FlatPart) -> Radian | None:
    """Direction in the flat that has to lie along the sheet's grain; None where it may lie any way.

    Sheet bends best across its grain: the grain runs square to the longest bend line.
    """
    longest = None
    for fold in part.folds:
        start, end = np.asarray(fold.start), np.asarray(fold.end)
        along = end - start
        length = float(np.hypot(along[0], along[1]))
        if longest is None or length > longest[0]:
            longest = (length, math.atan2(float(along[1]), float(along[0])))
    return None if longest is None else (longest[1] + 0.5 * math.pi) % math.pi
