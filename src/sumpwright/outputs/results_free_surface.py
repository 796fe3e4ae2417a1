"""The free-surface part of ``results.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwright.motion.free_surface.check import verdict_of_case
from sumpwright.motion.free_surface.outcome import FreeSurfaceCase, FreeSurfaceResult
from sumpwright.outputs.plain_numbers import mm, number, number_or_none

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def free_surface_part(found: FreeSurfaceResult) -> rows.FreeSurfacePart:
    """What stands under ``motion.free_surface``."""
    return {
        "cell_mm": mm(found.cell),
        "manoeuvres": [_row(case) for case in found.cases],
        "not_run": [
            {"name": name, "why": why}
            for name, why in (*found.trouble, *((name, "not run to its end yet") for name in found.not_run))
        ],
    }


def _row(case: FreeSurfaceCase) -> rows.FreeSurfaceRow:
    run, side = case.run, case.beside
    return {
        "name": case.name,
        "verdict": verdict_of_case(case).value,
        "engine": run.engine,
        "parcels": run.parcels,
        "steps": run.steps,
        "bare_s": number(side.bare),
        "bare_least_s": number(side.bare_least),
        "bare_most_s": number(side.bare_most),
        "least_cover_mm": mm(side.least_cover),
        "least_reserve_s": number_or_none(side.least_reserve),
        "elsewhere_percent": number(100.0 * side.elsewhere),
        "elsewhere_swinging_percent": number(100.0 * side.elsewhere_swinging),
        "in_bracket_percent": number(100.0 * side.in_bracket),
        "cover_off_mm": mm(side.cover_off),
        "volume_kept_percent": number(100.0 * side.volume_kept),
        "replay": f"replay/{case.replay}",
    }
