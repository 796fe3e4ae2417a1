"""Findings on volume: the fill, hot oil, the old pan, the oil itself."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import Cavity, PanBody
from sumpwright.findings import (
    Figure,
    Finding,
    Proposal,
    Verdict,
    judge_at_least,
)
from sumpwright.oil.check_old_pan import scanned_room_wanted
from sumpwright.oil.figures import length, litres, point
from sumpwright.oil.level import LevelCurve, carried_up, rail_lowest_point
from sumpwright.oil.model import OilInputs, OilResult
from sumpwright.oil.properties import HOT, POURED, USUAL_DENSITY_15, swelling, trouble_with
from sumpwright.oil.trapped import trapped_of
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre

MILLIMETRE: Metre = 1e-3
FILL_STEP: CubicMetre = 5e-5
"""A fill is proposed in steps of 50 mL."""


def _size_doubt(result: OilResult) -> tuple[str, tuple[Figure, ...]]:
    """Why no uncertainty of a volume is printed, and what a millimetre of wall does."""
    return (
        "Exact for the oil-side sizes given; what sheet and bends will add is not known. "
        "Every {step} that all walls stand further out adds {per_step}.",
        (length("step", MILLIMETRE), litres("per_step", result.wall_area * MILLIMETRE)),
    )


def holds_the_fill(inputs: OilInputs, body: PanBody, result: OilResult) -> Finding:
    """Capacity to the rail against the fill."""
    sure, more = _size_doubt(result)
    capacity = result.capacity_to_rail
    if inputs.fill is None:
        return Finding(
            code="OIL-01",
            verdict=Verdict.CANNOT_SAY,
            where="whole pan",
            says="The pan holds {capacity} up to the rail's lowest point; how much goes in is not given",
            figures=(litres("capacity", capacity), *more),
            value=capacity,
            unit="m3",
            kind="volume",
            how_sure=sure,
            do="Enter oil.fill",
            source="plane-geometry",
        )
    verdict = judge_at_least(capacity, inputs.fill, None)
    figures = (litres("capacity", capacity), litres("fill", inputs.fill), *more)
    if verdict is Verdict.HOLDS:
        says = "The pan holds {capacity} up to the rail's lowest point; {fill} go in"
        do = ""
    else:
        missing = inputs.fill - capacity
        figures = (*figures, litres("missing", missing))
        says = (
            "The oil reaches the rail: the pan holds {capacity} up to the rail's lowest point "
            "and {fill} go in" + _runs_over(body, inputs.up)
        )
        do = "Find {missing} more: a deeper or wider sump, or pour in less"
        deeper = _deeper(body, inputs.up, missing)
        if deeper is not None:
            figures = (*figures, length("deeper", deeper, 0))
            do = "Find {missing} more: the deepest floor about {deeper} lower, a wider sump, or pour in less"
    return Finding(
        code="OIL-01",
        verdict=verdict,
        where="whole pan",
        says=says,
        figures=figures,
        value=capacity,
        limit=inputs.fill,
        unit="m3",
        kind="volume",
        how_sure=sure,
        do=do,
        source="plane-geometry",
        place=None if body.cavity is None else _rail_place(body.cavity, inputs.up),
    )


def fill_that_fits(inputs: OilInputs, result: OilResult) -> list[Proposal]:
    """Less oil, where the fill reaches the rail cold or hot."""
    if inputs.fill is None or not result.capacity_to_rail > 0.0:
        return []
    density = USUAL_DENSITY_15 if inputs.oil.density_15 is None else inputs.oil.density_15
    swell = swelling(density, inputs.poured_at or POURED, inputs.hot or HOT)
    most = min(result.capacity_to_rail, result.capacity_to_rail / swell + trapped_of(inputs).trapped_least)
    if inputs.fill <= most:
        return []
    fits = math.floor(most / FILL_STEP + 1e-9) * FILL_STEP
    if fits <= 0.0:
        return []
    return [
        Proposal(
            code="OIL-01" if inputs.fill > result.capacity_to_rail else "OIL-02",
            target="oil.fill",
            value=f"{fits * 1e3:.4g} L",
            effect="{fits} stay below the rail cold and hot; look whether the pickup stays covered",
            figures=(litres("fits", fits),),
        )
    ]


def room_wanted(inputs: OilInputs, result: OilResult) -> list[tuple[str, CubicMetre]]:
    """Codes of what is short of room, and the room to the rail that cures each."""
    wanted = []
    capacity = result.capacity_to_rail
    if inputs.fill is not None:
        density = USUAL_DENSITY_15 if inputs.oil.density_15 is None else inputs.oil.density_15
        swell = swelling(density, inputs.poured_at or POURED, inputs.hot or HOT)
        need = max(inputs.fill, (inputs.fill - trapped_of(inputs).trapped_least) * swell)
        if need > capacity:
            wanted.append(("OIL-01" if inputs.fill > capacity else "OIL-02", need))
    if inputs.target_capacity is not None and inputs.target_capacity > capacity:
        wanted.append(("OIL-03", inputs.target_capacity))
    return [*wanted, *scanned_room_wanted(inputs, result)]


def _rail_place(cavity: Cavity, up: FloatArray) -> tuple[float, float, float] | None:
    lowest = rail_lowest_point(cavity, up)
    return None if lowest is None else point(lowest)


def _runs_over(body: PanBody, up: FloatArray) -> str:
    """Where the oil runs over first, in words: ", running over first at its front left"."""
    if body.cavity is None:
        return ""
    lowest = rail_lowest_point(body.cavity, up)
    if lowest is None:
        return ""
    middle = 0.5 * (body.cavity.vertices.min(axis=0) + body.cavity.vertices.max(axis=0))
    size = np.ptp(body.cavity.vertices, axis=0)
    tilt = up / np.linalg.norm(up)
    # Along an axis that stands level no end is lower than the other.
    words = [
        word
        for axis, (ahead, behind) in ((0, ("front", "rear")), (1, ("left", "right")))
        if abs(float(tilt[axis])) * float(size[axis]) > MILLIMETRE
        for word in ((ahead,) if lowest[axis] > middle[axis] else (behind,))
    ]
    return f", running over first at its {' '.join(words)}" if words else ""


def _deeper(body: PanBody, up: FloatArray, missing: CubicMetre) -> Metre | None:
    """How much lower the deepest floor would have to be, from the oil surface just above it."""
    if body.cavity is None:
        return None
    curve = LevelCurve.prepare(body.cavity, up)
    area = curve.wetted_area(curve.lowest + 0.25 * (curve.highest - curve.lowest))
    return missing / area if area > 0.0 else None


def hot_below_rail(inputs: OilInputs, body: PanBody, result: OilResult) -> Finding:
    """Full and hot against the rail."""
    if inputs.fill is None or result.volume_full is None or body.cavity is None:
        return Finding(
            code="OIL-02",
            verdict=Verdict.CANNOT_SAY,
            where="pan rail",
            says="Whether hot oil stays below the rail is not known without the fill",
            how_sure="Nothing to judge.",
            do="Enter oil.fill",
            source="api-11-1",
        )
    density = USUAL_DENSITY_15 if inputs.oil.density_15 is None else inputs.oil.density_15
    poured_at = POURED if inputs.poured_at is None else inputs.poured_at
    hot_at = HOT if inputs.hot is None else inputs.hot
    hot = result.volume_full * swelling(density, poured_at, hot_at)
    curve = LevelCurve.prepare(carried_up(body.cavity), inputs.up)
    margin = result.level_rail - curve.level_for(hot)
    verdict = judge_at_least(margin, 0.0, None)
    return Finding(
        code="OIL-02",
        verdict=verdict,
        where="pan rail",
        says="Full and hot, engine stopped, {hot} stand {margin} below the rail's lowest point"
        if margin >= 0.0
        else "Full and hot, engine stopped, {hot} stand {over} above the rail's lowest point",
        figures=(
            litres("hot", hot),
            length("margin", margin),
            length("over", -margin),
            Figure("hot_at", hot_at, "K", "temperature"),
            Figure("poured_at", poured_at, "K", "temperature"),
        ),
        value=margin,
        limit=0.0,
        unit="m",
        kind="length",
        how_sure="Swelling from {poured_at} to {hot_at} of an engine oil of usual density; the pan's own "
        "growth is left out.",
        do="" if verdict is Verdict.HOLDS else "Lower the full mark or give the pan more room",
        source="api-11-1",
    )


def balance(inputs: OilInputs, result: OilResult) -> list[Finding]:
    """Capacity against the old pan."""
    if inputs.target_capacity is None or result.balance_gap is None:
        return []
    sure, more = _size_doubt(result)
    gap = result.balance_gap
    verdict = judge_at_least(result.capacity_to_rail, inputs.target_capacity, None)
    return [
        Finding(
            code="OIL-03",
            verdict=verdict,
            where="whole pan",
            says="Against the old pan's {target} there is room for {gap} more"
            if gap >= 0.0
            else "Against the old pan's {target} there is {short} too little",
            figures=(
                litres("target", inputs.target_capacity),
                litres("gap", gap),
                litres("short", -gap),
                *more,
            ),
            value=result.capacity_to_rail,
            limit=inputs.target_capacity,
            unit="m3",
            kind="volume",
            how_sure=sure,
            do="" if verdict is Verdict.HOLDS else "Give back {short}: see the balance lump by lump",
            source="job-file",
        )
    ]


def oil_itself(inputs: OilInputs) -> list[Finding]:
    """Whether the oil as given can be."""
    trouble = trouble_with(inputs.oil)
    if trouble is None:
        return []
    return [
        Finding(
            code="OIL-12",
            verdict=Verdict.FAILS,
            where="oil grade",
            says=f"The oil as given cannot be: {trouble}",
            how_sure="Held against the grade table and the viscosity-temperature chart.",
            do="Correct oil.grade, oil.viscosity_40 and oil.viscosity_100",
            source="astm-d341",
        )
    ]
