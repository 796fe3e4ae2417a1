"""The weld plan in ``results.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from sumpwright.job.model import MaterialChoice
from sumpwright.outputs.plain_numbers import deg, mm, number
from sumpwright.outputs.results_weld_bow import filler_rows, metal_rows, movement_part
from sumpwright.weld.bow_model import BowResult
from sumpwright.weld.filler_model import FillerPlan
from sumpwright.weld.model import Seam, WeldPlan, WeldResult

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def weld_part(
    weld: WeldResult,
    filler: FillerPlan | None = None,
    bow: BowResult | None = None,
    materials: tuple[MaterialChoice, ...] = (),
) -> rows.WeldPart:
    """Seams with what is done at each, and the steps in their order."""
    plan = weld.plan
    return {
        "seams": [_seam_row(seam, plan) for seam in weld.seams],
        "steps": []
        if plan is None
        else [
            {
                "step": step.number,
                "action": step.action,
                "place": step.place,
                "parts": list(step.parts),
                "seam": step.seam,
                "side": step.side,
                "before_closing": step.before_closing,
                "bolts_out": [name.removeprefix("clamp bolt ") for name in step.bolts_out],
                "stations_reached": len(step.holds),
            }
            for step in plan.steps
        ],
        "blocked": []
        if plan is None
        else [
            {
                "seam": one.seam,
                "start_mm": mm(one.start),
                "end_mm": mm(one.end),
                "place_mm": [mm(value) for value in one.place],
                "by": list(one.by),
            }
            for one in plan.blocked
        ],
        "hold_points": []
        if plan is None
        else [
            {
                "number": stop.number,
                "name": stop.name,
                "after_step": stop.after_step,
                "checks": list(stop.checks),
            }
            for stop in plan.hold_points
        ],
        "replayed_stations": None if weld.replay is None else weld.replay.stations,
        "replay_holds": None if weld.replay is None else weld.replay.holds,
        "left_out": list(weld.left_out),
        "fillers": [] if filler is None else filler_rows(filler),
        "movement": None if bow is None else movement_part(bow),
        "metals": metal_rows(materials),
    }


def _seam_row(seam: Seam, plan: WeldPlan | None) -> rows.SeamRow:
    runs = None if plan is None else next((one for one in plan.runs if one.seam == seam.number), None)
    fate: Literal["planned", "out of reach", "left bare"] = "planned"
    if plan is not None and seam.number in plan.left_over:
        fate = "out of reach"
    elif plan is not None and seam.number in plan.bare:
        fate = "left bare"
    return {
        "seam": seam.number,
        "turn": None if plan is None or seam.number not in plan.order else plan.order.index(seam.number) + 1,
        "kind": seam.kind,
        "part_a": seam.part_a,
        "part_b": seam.part_b,
        "where": seam.where,
        "fate": fate,
        "welded_on": seam.place if plan is None or seam.number not in plan.bench else "bench",
        "side": seam.side,
        "oil_tight": seam.is_oil_tight,
        "length_mm": mm(seam.length),
        "groove_deg": None if seam.groove_angle is None else deg(seam.groove_angle),
        "fill_area_mm2": number(seam.fill_area * 1e6),
        "fill_volume_mm3": number(seam.fill_volume * 1e9),
        "fit_up_gap_mm": mm(seam.fit_up_gap),
        "thickness_a_mm": mm(seam.thickness_a),
        "thickness_b_mm": mm(seam.thickness_b),
        "material_a": seam.material_a,
        "material_b": seam.material_b,
        "start_mm": [mm(float(value)) for value in seam.path[0]],
        "end_mm": [mm(float(value)) for value in seam.path[-1]],
        "tacks_mm": [] if runs is None else [mm(at) for at in runs.tacks],
        "runs_mm": [] if runs is None else [[mm(run.start), mm(run.end)] for run in runs.runs],
    }
