"""The motion and suction parts of ``results.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sumpwright.motion.drives import DriveResult, Driving
from sumpwright.motion.free_surface.outcome import FreeSurfaceResult
from sumpwright.motion.model import CoverMap, MotionResult
from sumpwright.outputs.plain_numbers import deg, litre_or_none, mm, mm_or_none, number, number_or_none, point
from sumpwright.outputs.results_free_surface import free_surface_part
from sumpwright.quantities.units import STANDARD_GRAVITY, FloatArray
from sumpwright.suction.model import SuctionResult, WorkedPoint

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows

_ZERO_CELSIUS = 273.15
_MAP_DIGITS = 5  # significant; a map is a picture in numbers


def motion_part(
    motion: MotionResult, drive: DriveResult | None, free: FreeSurfaceResult | None = None
) -> rows.MotionPart:
    """What stands under ``motion``."""
    asked = motion.envelope
    return {
        "asked": {
            "left_turn_g": _g(asked.left_turn),
            "right_turn_g": _g(asked.right_turn),
            "braking_g": _g(asked.braking),
            "accelerating_g": _g(asked.accelerating),
            "nose_up_deg": deg(asked.nose_up),
            "nose_down_deg": deg(asked.nose_down),
            "lean_right_deg": deg(asked.lean_right),
            "lean_left_deg": deg(asked.lean_left),
        },
        "volume_l": litre_or_none(motion.volume),
        "least_cover_mm": mm(motion.least_cover),
        "held_to": [
            {
                "words": row.words,
                "asked_g": _g(row.asked),
                "held_g": number_or_none(row.acceleration / STANDARD_GRAVITY),
            }
            for row in motion.held_to
        ],
        "nearest": [
            {
                "name": row.name,
                "kind": row.kind,
                "words": row.words,
                "nose_up_deg": deg(row.nose_up),
                "lean_right_deg": deg(row.lean_right),
                "height_left_mm": mm(row.height_left),
            }
            for row in motion.nearest
        ],
        "accelerations": None if motion.accelerations is None else _map_part(motion.accelerations),
        "slopes": None if motion.slopes is None else _map_part(motion.slopes),
        "better_mouth_mm": None if motion.better is None else point(motion.better.mouth),
        "better_cover_mm": None if motion.better is None else mm(motion.better.cover),
        "missing": list(motion.missing),
        "driven": None if drive is None or drive.oil is None else _driven_part(drive),
        "free_surface": None if free is None else free_surface_part(free),
    }


def _driven_part(drive: DriveResult) -> rows.DrivenPart:
    oil = drive.oil
    assert oil is not None
    return {
        "in_pan_l": litre_or_none(oil.in_pan),
        "held_up_l": litre_or_none(oil.held_up),
        "compartments": list(drive.compartments),
        "doors": list(drive.doors),
        "manoeuvres": [_manoeuvre_row(run, drive.door_columns) for run in drive.runs],
        "door_failures": [
            {
                "door": failure.door,
                "how": failure.how,
                "worst_in": failure.worst_trace,
                "bare_s": number(failure.uncovered),
                "least_cover_mm": mm(failure.least_cover),
            }
            for failure in drive.failures
        ],
        "tried": [
            {
                "what": tried.what,
                "key": tried.key,
                "value": tried.value,
                "bare_s": number(tried.uncovered),
                "least_cover_mm": mm(tried.least_cover),
            }
            for tried in drive.tried
        ],
        "logs": [
            {
                "name": name,
                "dips": suits.after.dips,
                "met": suits.after.met,
                "hold_up_times": number(suits.hold_up_times),
                "leak_times": number(suits.leak_times),
            }
            for name, suits in drive.fits
        ],
    }


def _manoeuvre_row(run: Driving, columns: tuple[tuple[str, int], ...]) -> rows.ManoeuvreRow:
    worst = run.lagged if run.lagged.cover.min() <= run.unlagged.cover.min() else run.unlagged
    return {
        "name": run.trace.name,
        "words": run.trace.words,
        "length_s": number(run.trace.length),
        "allowed_s": number(run.trace.asked_for),
        "bare_least_s": number(run.uncovered_least),
        "bare_most_s": number(run.uncovered_most),
        "least_cover_mm": mm(run.least_cover),
        "worst_after_s": number(float(worst.times[worst.worst])),
        "least_reserve_s": number_or_none(run.least_reserve),
        "out_of_reach_l": litre_or_none(run.out_of_reach),
        "air_l": litre_or_none(float(max(run.lagged.air_taken[-1], run.unlagged.air_taken[-1]))),
        "crank_gap_mm": mm_or_none(
            None if not np.isfinite(run.lagged.crank_gap).all() else float(run.lagged.crank_gap.min())
        ),
        "doors": [_door_record(run, name, column) for name, column in columns],
    }


def _door_record(run: Driving, door: str, column: int) -> rows.DoorRecordRow:
    spans = run.lagged.open_spans(column)
    return {
        "door": door,
        "openings": len(spans),
        "open_s": number(sum(stop - start for start, stop in spans)),
    }


def suction_part(suction: SuctionResult) -> rows.SuctionPart:
    """What stands under ``suction``."""
    pressures, fed, start = suction.map, suction.coldest_fed, suction.priming_at_start
    return {
        "atmosphere_kpa": number(suction.atmosphere / 1e3),
        "points": [_worked_row(worked) for worked in suction.points],
        "pressures": None
        if pressures is None
        else {
            "temperatures_c": [number(value - _ZERO_CELSIUS) for value in pressures.temperatures],
            "speeds_rpm": [number(value * 60.0) for value in pressures.speeds],
            "pressure_kpa": [_plain(row / 1e3) for row in pressures.pressure],
            "limit_kpa": [number(value / 1e3) for value in pressures.limit],
            "is_extrapolated": [bool(value) for value in pressures.is_extrapolated],
        },
        "lift_mm": mm_or_none(suction.lift),
        "mouth_gap_mm": mm_or_none(suction.mouth_gap),
        "submergence_mm": mm_or_none(suction.submergence),
        "submergence_wanted_mm": mm_or_none(suction.submergence_wanted),
        "coldest_fed_c": None if fed is None else number_or_none(fed.temperature - _ZERO_CELSIUS),
        "fill_time_s": None if start is None else number_or_none(start.fill_time),
        "residence_s": number_or_none(suction.residence),
        "running_volume_l": litre_or_none(suction.running_volume),
        "cures": [
            {
                "what": cure.what,
                "now": number(cure.now * (1e6 if cure.what == "screen area" else 1e3)),
                "needed": None
                if cure.needed is None
                else number_or_none(cure.needed * (1e6 if cure.what == "screen area" else 1e3)),
            }
            for cure in suction.cures
        ],
        "cannot": [{"what": what, "cure": cure} for what, cure in suction.cannot],
    }


def _worked_row(worked: WorkedPoint) -> rows.PointRow:
    return {
        "name": worked.name,
        "temperature_c": number(worked.temperature - _ZERO_CELSIUS),
        "speed_rpm": number(worked.speed * 60.0),
        "flow_l_min": number(worked.flow * 60e3),
        "velocity_m_s": number(worked.velocity),
        "reynolds": number(worked.reynolds),
        "losses": [
            {
                "element": share.element,
                "loss_kpa": number(share.loss / 1e3),
                "least_kpa": number(share.loss_least / 1e3),
                "most_kpa": number(share.loss_most / 1e3),
            }
            for share in worked.shares
        ],
        "pressure_kpa": number(worked.pressure / 1e3),
        "pressure_least_kpa": number(worked.pressure_least / 1e3),
        "pressure_most_kpa": number(worked.pressure_most / 1e3),
        "limit_kpa": number(worked.limit / 1e3),
        "fed_flow_l_min": number(worked.fed_flow * 60e3),
    }


def _map_part(covers: CoverMap) -> rows.MapPart:
    scale = 1.0 / STANDARD_GRAVITY if covers.kind == "accelerations" else 180.0 / np.pi
    return {
        "kind": covers.kind,
        "across": _plain(covers.across * scale),
        "along": _plain(covers.along * scale),
        "shape": [int(count) for count in covers.shape],
        "cover_mm": _plain(covers.cover * 1e3),
        "above_rail_mm": _plain(covers.above_rail * 1e3),
    }


def _plain(values: FloatArray) -> list[float]:
    return [float(f"{float(value):.{_MAP_DIGITS}g}") + 0.0 for value in values]


def _g(value: float) -> float:
    return number(value / STANDARD_GRAVITY)
