"""Nest pieces of any shape densely on an endless strip, and cut the strip off where a sheet ends.

The nesting library works on one strip without holes. It is asked for its first, constructed
answer only (no search by the clock), one worker, a given seed: the same pieces give the same
answer on every machine; several seeds are tried and the shortest strip kept.
"""

from __future__ import annotations

import importlib
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely

from sumpwright.kit.nest_model import Placement
from sumpwright.kit.nest_shapes import Piece, turned
from sumpwright.quantities.units import Metre

ROUNDING: Metre = 2e-5
"""The library counts in single precision: so much is added to every gap it is asked to keep."""


def strip_nest(
    pieces: Sequence[Piece], width: Metre, gap: Metre, seed: int
) -> list[tuple[Piece, Placement]] | None:
    """All pieces on a strip of this free width, leftmost first; None where one is too wide for it.

    A piece that does not fit would bring the library down with an error that no ordinary
    handler catches, so sizes are looked at first.
    """
    spyrrow: Any = importlib.import_module("spyrrow")
    room = width - 2.0 * ROUNDING
    items = []
    for number, piece in enumerate(pieces):
        ways = [angle for angle in piece.angles if piece.box(angle)[1] <= room - 1e-5]
        if not ways:
            return None
        ring = np.asarray(shapely.get_coordinates(piece.shape.exterior)[:-1]) * 1e3
        items.append(
            spyrrow.Item(
                str(number),
                [(float(x), float(y)) for x, y in ring],
                1,
                [math.degrees(angle) for angle in ways],
            )
        )
    apart = (gap + ROUNDING) * 1e3
    # The library keeps the gap to the strip's borders as well: it gets that much more of it.
    instance = spyrrow.StripPackingInstance("", width * 1e3 + 2.0 * apart, items)
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        total_computation_time=None,
        exploration_time=0,
        compression_time=0,
        num_workers=1,
        seed=seed,
        min_items_separation=apart,
    )
    try:
        solution = instance.solve(config)
    except BaseException as trouble:
        # Rust's panic stands outside Exception; anything else is not ours to keep.
        if type(trouble).__name__ != "PanicException":
            raise
        return None
    found = []
    for item in solution.placed_items:
        piece = pieces[int(item.id)]
        angle = min(piece.angles, key=lambda way: abs(_apart(math.degrees(way), float(item.rotation))))
        x, y = ((float(value) - apart) * 1e-3 for value in item.translation)
        found.append((piece, Placement(piece.part, piece.copy, angle, x, y)))
    return sorted(found, key=lambda each: (reach_of(*each), each[0].part, each[0].copy))


def reach_of(piece: Piece, placement: Placement) -> Metre:
    """How far along the strip a placed piece reaches."""
    ring = turned(shapely.get_coordinates(piece.shape.exterior), placement.angle)
    return float(ring[:, 0].max()) + placement.dx


def _apart(one: float, other: float) -> float:
    """Difference of two directions in degrees."""
    return (one - other + 180.0) % 360.0 - 180.0
