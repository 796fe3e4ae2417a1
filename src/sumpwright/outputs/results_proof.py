"""The proof part of ``results.json``."""

from __future__ import annotations

from sumpwright.outputs import schema_proof as rows
from sumpwright.outputs.plain_numbers import mm, mm_or_none, number, number_or_none, point
from sumpwright.proof.model import AsBuilt, ProofInputs, ProofResult
from sumpwright.quantities.units import Pascal


def _kpa(value: Pascal | None) -> float | None:
    return None if value is None else number(value / 1e3)


def proof_part(inputs: ProofInputs | None, proof: ProofResult) -> rows.ProofPart:
    """What stands under ``proof``."""
    gear, decay, stick = proof.gear, proof.decay, proof.correction
    return {
        "asked_kpa": number(proof.asked_pressure / 1e3),
        "safe_kpa": _kpa(proof.safe_pressure),
        "test_kpa": _kpa(proof.test_pressure),
        "relief_kpa": _kpa(proof.relief_pressure),
        "ceiling_kpa": number(proof.ceiling / 1e3),
        "inside_l": number(proof.inside_volume * 1e3),
        "energy_j": number_or_none(proof.energy),
        "energy_free_j": number_or_none(proof.energy_free),
        "detectable_ml_per_min": None if proof.detectable is None else number(proof.detectable * 60e6),
        "one_kelvin_kpa": _kpa(proof.warming_fakes),
        "panels": [
            {
                "panel": panel.panel,
                "part": panel.part,
                "thickness_mm": mm(panel.thickness),
                "area_mm2": number(panel.area * 1e6),
                "walls_across": panel.walls_across,
                "bosses": panel.patches,
                "stress_at_weld_mpa": number(panel.stress_at_weld / 1e6),
                "stress_inside_mpa": number(panel.stress_inside / 1e6),
                "bulge_clamped_mm": mm(panel.bulge_clamped),
                "bulge_supported_mm": mm(panel.bulge_supported),
                "metal_limit_kpa": number(panel.metal_limit / 1e3),
                "formula_limit_kpa": number(panel.formula_limit / 1e3),
                "formula_limit_clamped_kpa": number(panel.formula_limit_clamped / 1e3),
                "place_mm": point(panel.place),
                "stretched": None
                if panel.stretch is None
                else {
                    "at_kpa": number(panel.stretch.pressure / 1e3),
                    "bulge_least_mm": mm(panel.stretch.bulge_least),
                    "bulge_most_mm": mm(panel.stretch.bulge_most),
                    "stress_at_weld_mpa": number(panel.stretch.stress_at_weld / 1e6),
                    "stress_inside_mpa": number(panel.stretch.stress_inside / 1e6),
                },
                "gives_way": panel.gives_way,
            }
            for panel in proof.panels
        ],
        "gear": None
        if gear is None
        else {
            "plate_thickness_mm": mm(gear.plate_thickness),
            "plate_stress_mpa": number(gear.plate_stress / 1e6),
            "plate_bulge_mm": mm(gear.plate_bulge),
            "lift_mm": mm(gear.lift),
            "thrust_n": number(gear.thrust),
            "bolt_share_n": number(gear.bolt_share),
            "ports": [
                {
                    "purpose": port.purpose,
                    "x_mm": mm(port.x),
                    "y_mm": mm(port.y),
                    "hole_mm": mm(port.diameter),
                }
                for port in gear.ports
            ],
            "items": [{"name": row.name, "quantity": row.quantity, "words": row.words} for row in gear.rows],
        },
        "flatness": [
            {
                "state": flat.state,
                "points": flat.count,
                "least_gap_mm": mm_or_none(flat.least_gap),
                "least_gap_u95_mm": mm_or_none(flat.gap_u95),
                "least_squares_mm": mm_or_none(flat.least_squares),
                "largest_feeler_mm": mm_or_none(flat.largest_feeler),
                "tolerated_mm": mm_or_none(flat.tolerated),
                "take_off": [
                    {"x_mm": mm(x), "y_mm": mm(y), "off_mm": mm(off)} for x, y, off in flat.take_off
                ],
            }
            for flat in proof.flatness
        ],
        "decay": None
        if decay is None
        else {
            "leak_ml_per_min": None if decay.leak is None else number(decay.leak * 60e6),
            "leak_u95_ml_per_min": None if decay.leak_u95 is None else number(decay.leak_u95 * 60e6),
            "drop_kpa": number(decay.raw_drop / 1e3),
            "drop_corrected_kpa": number(decay.corrected_drop / 1e3),
        },
        "dipstick": None
        if stick is None
        else {
            "scale": number(stick.scale),
            "scale_u": number(stick.scale_u),
            "shift_mm": mm(stick.shift),
            "shift_u_mm": mm(stick.shift_u),
            "fits": stick.fits,
            "capacity_l": number(stick.capacity.volume * 1e3),
            "capacity_u_l": number(stick.capacity.volume_u * 1e3),
            "capacity_drawn_l": number(stick.capacity.drawn * 1e3),
            "curve": [
                {
                    "reading_mm": mm(row.reading),
                    "drawn_l": number(row.drawn * 1e3),
                    "volume_l": number(row.volume * 1e3),
                    "u_l": number(row.volume_u * 1e3),
                }
                for row in stick.curve
            ],
            "marks": [
                {"name": name, "computed_mm": mm(before), "corrected_mm": mm(after), "u_mm": mm(u)}
                for name, before, after, u in stick.marks
            ],
        },
        "record": None if inputs is None or inputs.record is None else _record(inputs.record),
    }


def _record(record: AsBuilt) -> rows.BuiltPart:
    return {
        "entries": list(record.entries),
        "mass_kg": number_or_none(record.weighed),
        "bow_mm": mm_or_none(record.bow),
        "hours_h": None if record.hours is None else number(record.hours / 3600.0),
        "bubbles": [{"seam": look.seam, "growing": look.growing} for look in record.bubbles],
        "settings": [{"seam": row.seam, "words": row.words} for row in record.settings],
        "logs": list(record.logs),
        "notes": list(record.notes),
        "trouble": [{"file": name, "what": what} for name, what in record.trouble],
    }
