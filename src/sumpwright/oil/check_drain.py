"""Findings on draining: what stays in pockets."""

from __future__ import annotations

from sumpwright.findings import (
    Figure,
    Finding,
    Verdict,
    judge_at_most,
)
from sumpwright.oil.figures import length, litres
from sumpwright.oil.model import OilInputs, OilResult
from sumpwright.quantities.units import CubicMetre

MOST_LEFT: CubicMetre = 50e-6
"""Oil in pockets after draining that nobody minds."""


def left_in_pockets(inputs: OilInputs, result: OilResult) -> Finding:
    """Oil that stays behind when the plug is out."""
    limit = MOST_LEFT if inputs.most_left is None else inputs.most_left
    if not result.drain_is_inside:
        return Finding(
            code="OIL-08",
            verdict=Verdict.FAILS,
            where="drain",
            says="There is no floor under the drain's place",
            how_sure="Follows from the plug's place and the oil-side faces.",
            do="Correct drain.at",
            source="plane-geometry",
        )
    level = result.drained[0]
    figures: tuple[Figure, ...] = (litres("left", level.left_behind), litres("limit", limit))
    verdict = judge_at_most(level.left_behind, limit, None)
    sure = "Exact for the oil-side faces, the plug flush with its floor; the film on them is left out."
    if not level.pools:
        return Finding(
            code="OIL-08",
            verdict=verdict,
            where="pan floor",
            says="With the plug out and the vehicle level no pocket holds oil back",
            figures=figures,
            value=level.left_behind,
            limit=limit,
            unit="m3",
            kind="volume",
            how_sure=sure,
            source="plane-geometry",
        )
    worst = level.pools[0]
    figures = (
        *figures,
        litres("worst", worst.pool_volume, None),
        length("deep", worst.pool_depth, 1),
        Figure("fall", worst.cure_fall or 0.0, "rad", "angle", 1),
    )
    if worst.at_plug:
        do = f"Put the plug at the deepest point of the {worst.face}, {{deep}} lower"
    elif worst.wall:
        do = f"Cut a drain slot {{deep}} lower through wall '{worst.wall}'"
    else:
        to = f" towards the {worst.runs_to}" if worst.runs_to and worst.runs_to != worst.face else ""
        do = f"Cut a slot {{deep}} deep through the crest{to}"
        if worst.cure_fall is not None:
            do += f", or give the {worst.face} {{fall}} more fall"
    kinder = min(result.drained[1:], key=lambda one: one.left_behind, default=None)
    if kinder is not None and kinder.left_behind < 0.5 * level.left_behind:
        figures = (
            *figures,
            litres("kinder", kinder.left_behind),
            Figure("ramp", abs(kinder.nose_up), "rad", "angle", 0),
        )
        do += f"; or drain it {kinder.words} by {{ramp}}: {{kinder}} stay then"
    return Finding(
        code="OIL-08",
        verdict=verdict,
        where=worst.face,
        says="With the plug out and the vehicle level {left} stay in pockets, most of it {worst} on the "
        f"{worst.face}, {{deep}} deep; {{limit}} is allowed",
        figures=figures,
        value=level.left_behind,
        limit=limit,
        unit="m3",
        kind="volume",
        how_sure=sure,
        do="" if verdict is Verdict.HOLDS else do,
        source="common-practice",
        place=worst.deepest,
    )
