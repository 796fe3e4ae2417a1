"""How much of a cell lies below the surface that the solver sees."""

from __future__ import annotations

from typing import Any

import numpy as np


def part_below_surface(share: Any, arrays: Any = np) -> Any:
    """Part of each cell below the surface, from its share of a full cell's deposit; same shape.

    A level surface a distance phi (in cells) over a cell's centre leaves the share 1 - (1 + phi)^2 / 2
    below one half and (1 - phi)^2 / 2 above it; the solver takes phi from the share so, and the part
    is 1/2 - phi between 0 and 1. Cutting the share itself at 1 would lose half of its chance scatter.
    """
    share = share.astype(np.float64)
    low = 1.0 - arrays.sqrt(2.0 * arrays.maximum(share, 0.0))
    high = arrays.sqrt(2.0 * (1.0 - arrays.clip(share, 0.0, 1.0))) - 1.0
    return arrays.clip(0.5 - arrays.where(share < 0.5, low, high), 0.0, 1.0)
