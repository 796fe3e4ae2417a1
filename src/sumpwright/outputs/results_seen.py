"""Scans and pictures in ``results.json``."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sumpwright.outputs.plain_numbers import deg, mm, mm_or_none, number, number_or_none
from sumpwright.rail import RailResult

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def seen_rows(rail: RailResult) -> list[rows.SeenRow]:
    """What every scan and picture shows of the holes."""
    return [
        {
            "file": seen.name,
            "kind": seen.kind,
            "scale": number_or_none(seen.scale),
            "stretch": number_or_none(seen.stretch),
            "flatness_mm": mm_or_none(seen.flatness),
            "widened": number(seen.widened),
            "holes": [
                {
                    "name": hole.name or "",
                    "diameter_mm": mm(hole.diameter),
                    "u_mm": mm(hole.u),
                    "arc_deg": deg(min(hole.arc, 2.0 * math.pi)),
                    "points": hole.points,
                    "off_mm": mm_or_none(hole.off),
                }
                for hole in seen.holes
            ],
        }
        for seen in rail.seen
    ]
