"""Fillers, movement and metals in ``results.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwright.job.model import MaterialChoice
from sumpwright.outputs.plain_numbers import deg, mm, mm_or_none, number, number_or_none
from sumpwright.weld.bow_model import BowResult
from sumpwright.weld.filler_model import FillerPlan

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def filler_rows(plan: FillerPlan) -> list[rows.FillerRow]:
    """What each pair of metals is welded with."""
    return [
        {
            "metals": [pair.metal_a, pair.metal_b],
            "thin_mm": mm(pair.thin),
            "thick_mm": mm(pair.thick),
            "what": pair.what,
            "seams": pair.seams,
            "length_mm": mm(pair.length),
            "filler": pair.filler or None,
            "current": pair.current,
            "amps": None if pair.amps is None else [number(value) for value in pair.amps],
            "proven_by_coupon": pair.proven,
        }
        for pair in plan.pairs
    ]


def movement_part(bow: BowResult) -> rows.MovementPart:
    """How far the pan moves; no numbers where it was not worked out."""
    holes = bow.holes
    return {
        "doubt": bow.doubt,
        "trouble": bow.trouble or None,
        "free_mm": None if bow.trouble else [mm(value) for value in bow.free],
        "released_mm": None if bow.trouble else [mm(value) for value in bow.released],
        "left_after_facing_mm": None if bow.trouble else mm(bow.left_least),
        "holes": []
        if holes is None
        else [
            {
                "hole": name,
                "lift_mm": [mm(float(holes.lift_least[k])), mm(float(holes.lift_most[k]))],
                "draw_mm": [mm(float(value)) for value in holes.draw_most[k]],
                "seat_tilt_deg": deg(float(holes.seat_tilt[k])),
            }
            for k, name in enumerate(holes.names)
        ],
        "seams": [
            {
                "seam": seam.name,
                "joint": seam.joint,
                "heat_j_per_mm": [number(seam.heat_least / 1e3), number(seam.heat_most / 1e3)],
                "pull_n": [number(seam.pull_least), number(seam.pull_most)],
                "share_mm": mm(seam.share),
            }
            for seam in bow.seams
        ],
        "panels": [
            {
                "panel": risk.panel,
                "width_mm": mm(risk.width),
                "pressed_mpa": [number(risk.stress_least / 1e6), number(risk.stress_most / 1e6)],
                "waves_mpa": [number(risk.waves_from / 1e6), number(risk.waves_for_sure / 1e6)],
            }
            for risk in bow.risks
        ],
        "left_out": list(bow.left_out),
    }


def metal_rows(choices: tuple[MaterialChoice, ...]) -> list[rows.MetalRow]:
    """The pan in every sheet metal, the job's own first."""
    return [
        {
            "material": one.material,
            "sheet_mm": mm(one.sheet),
            "flange_mm": mm(one.flange),
            "price": None if one.price is None else number_or_none(one.price.total),
            "mass_kg": number_or_none(one.mass),
            "slip_mm": mm_or_none(one.slip),
            "dent_n": number_or_none(one.dent),
            "tearing_j_per_m2": number_or_none(one.tearing),
            "moves_mm": None if one.moves is None else [mm(value) for value in one.moves],
            "distortion_class": one.distortion or None,
            "welding": None if one.welding is None else one.welding.value,
            "why_not": one.why_not,
        }
        for one in choices
    ]
