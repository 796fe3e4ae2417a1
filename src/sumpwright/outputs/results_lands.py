"""The part of ``results.json`` about a flange that follows steps and arches."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sumpwright.kit import SheetKit
from sumpwright.outputs.plain_numbers import deg, mm, point

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def lands_part(kit: SheetKit) -> rows.LandsPart:
    """Steps, saddle plates and the places for a dab of sealant."""
    uneven = kit.body.uneven
    saddles: list[rows.SaddleRow] = []
    for arch in () if uneven is None else uneven.arches:
        for part in kit.parts:
            if part.roll is None or part.name != f"saddle plate {arch.name}":
                continue
            length = float(np.ptp(np.asarray(part.outline.points)[:, 0]))
            saddles.append(
                {
                    "part": part.name,
                    "radius_mm": mm(part.roll.radius),
                    "turn_deg": deg(length / (part.roll.radius + 0.5 * part.thickness)),
                    "crown_mm": mm(arch.crown),
                }
            )
    return {
        "steps": [
            {"land": step.name, "depth_mm": mm(-step.top), "film_mm": mm(step.film)}
            for step in (() if uneven is None else uneven.steps)
        ],
        "saddles": saddles,
        "dabs": [
            {"land": spot.land, "place_mm": point(spot.place)}
            for spot in (() if kit.lands is None else kit.lands.spots)
        ],
    }
