"""Where the pickup's mouth would be covered best."""

from __future__ import annotations

import numpy as np

from sumpwright.body import Cavity, Pickup
from sumpwright.motion.cover import OpenTop, cover_map
from sumpwright.motion.formulas import mouth_rise
from sumpwright.motion.model import BetterPlace, CoverMap
from sumpwright.oil.dipstick import is_inside
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre, frozen_array

STEPS: tuple[Metre, ...] = (0.02, 0.005, 0.001)
"""The search refines by these; places are given to the millimetre."""

CLEAR: Metre = 0.010
"""Room between the mouth's edge and the nearest wall, so that it can draw from all round."""

WORTH: Metre = 0.003
"""A place that neither covers enough nor at least 3 mm more is not worth moving the mouth for."""


def better_place(
    maps: tuple[CoverMap, ...],
    pan: OpenTop,
    cavity: Cavity,
    pickup: Pickup,
    standing_up: FloatArray,
    volume: CubicMetre,
    least: Metre,
) -> BetterPlace | None:
    """The place at the same height that keeps the most oil over the mouth at the tightest load.

    Where the oil stands does not depend on the mouth, so the least cover over all loads is a
    concave function of its place: a search that refines around the best cannot go astray. The
    place is kept clear of the walls and worked out again with the pools that it would sit in.
    """
    up = np.vstack([one.up for one in maps])
    axis = standing_up / np.linalg.norm(standing_up)
    rise = np.array([mouth_rise(pickup.mouth_diameter, float(cosine)) for cosine in up @ axis])
    # cover_shared = level - up . mouth - rise; the level is the same wherever the mouth is.
    level = np.concatenate([one.cover_shared for one in maps]) + up @ pickup.mouth + rise
    now = min(float(np.min(one.cover)) for one in maps)
    at_height = level - rise - up[:, 2] * pickup.mouth[2]
    best = best_in_plan(
        up[:, :2], at_height, cavity.vertices[:, :2].min(axis=0), cavity.vertices[:, :2].max(axis=0)
    )
    reach = 0.5 * pickup.mouth_diameter + CLEAR
    for place in _places(best, pickup.mouth, cavity, reach):
        moved = Pickup(frozen_array(place), pickup.mouth_diameter, pickup.line)
        cover = min(
            float(
                np.min(
                    cover_map(
                        one.kind,
                        (one.along, one.across),
                        one.shape,
                        (one.up, one.pull),
                        pan,
                        moved,
                        standing_up,
                        volume,
                    ).cover
                )
            )
            for one in maps
        )
        if cover > now + WORTH or cover >= least > now:
            return BetterPlace((float(place[0]), float(place[1]), float(place[2])), cover)
    return None


def best_in_plan(slopes: FloatArray, covers: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """The place (2,) between two corners where the least of ``covers - slopes . place`` is greatest."""
    centre, half = 0.5 * (low + high), 0.5 * (high - low)
    best = centre
    for step in STEPS:
        axes = [
            np.unique(np.clip(np.arange(-np.ceil(h / step), np.ceil(h / step) + 1) * step + c, bottom, top))
            for c, h, bottom, top in zip(centre, half, low, high, strict=True)
        ]
        grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
        least = np.array([float(np.min(covers - slopes @ place)) for place in grid])
        best = grid[int(np.argmax(least))]
        centre, half = best, np.array([1.5 * step, 1.5 * step])
    return frozen_array(best)


def _places(best: FloatArray, mouth: FloatArray, cavity: Cavity, reach: Metre) -> list[FloatArray]:
    """The best place and others on the way back to the present one, rounded and clear of walls."""
    surface = cavity.surface()
    found: list[FloatArray] = []
    for share in (1.0, 0.8, 0.6, 0.4, 0.2):
        flat = mouth[:2] + share * (best - mouth[:2])
        flat = np.round(flat / STEPS[-1]) * STEPS[-1]
        place = np.array([flat[0], flat[1], mouth[2]])
        ring = [place + reach * np.array([np.cos(a), np.sin(a), 0.0]) for a in np.arange(8) * (np.pi / 4.0)]
        if all(is_inside(surface, point) for point in (place, *ring)) and not any(
            np.array_equal(place, other) for other in found
        ):
            found.append(place)
    return found
