"""Findings on heights: pickup mouth, crank sweep, rear seal, breather, returns."""

from __future__ import annotations

from sumpwright.body import PanBody
from sumpwright.findings import (
    SEVERITY,
    Finding,
    Verdict,
    judge_at_least,
)
from sumpwright.oil.figures import length, litres, point
from sumpwright.oil.level import LevelCurve, carried_up
from sumpwright.oil.model import OilInputs, OilResult
from sumpwright.oil.solve import mouth_is_inside
from sumpwright.quantities.units import Metre

LEAST_MOUTH_COVER: Metre = 0.020
CRANK_CLEAR: Metre = 0.025
"""Oil below rod bolts and counterweights, level, hot, running; 40 to 50 mm is better."""


def mouth_at_low_mark(inputs: OilInputs, body: PanBody, result: OilResult) -> Finding:
    """Oil over the mouth at the low mark, running."""
    where = "pickup mouth"
    missing = [
        key
        for key, value in (
            ("pickup.mouth", body.inputs.pickup),
            ("oil.fill", inputs.fill),
            ("oil.between_marks", inputs.low_below_full),
        )
        if value is None
    ]
    if not missing and not mouth_is_inside(body):
        return Finding(
            code="OIL-07",
            verdict=Verdict.FAILS,
            where=where,
            says="The mouth lies outside the oil space: no oil stands over it",
            how_sure="Follows from the mouth's place and the oil-side faces.",
            do="Correct pickup.mouth or the lumps",
            source="plane-geometry",
            place=None if body.inputs.pickup is None else point(body.inputs.pickup.mouth),
        )
    if missing or result.mouth_cover is None:
        dry = not missing
        return Finding(
            code="OIL-07",
            verdict=Verdict.FAILS if dry else Verdict.CANNOT_SAY,
            where=where,
            says="At the low mark, engine running, no oil is left in the pan"
            if dry
            else "How deep the mouth stands in the oil at the low mark is not known",
            how_sure="Low mark less hold-up leaves nothing." if dry else "Nothing to judge.",
            do="Raise the low mark or the fill" if dry else "Enter " + " and ".join(missing),
            source="common-practice",
        )
    cover = result.mouth_cover
    verdict = judge_at_least(cover, LEAST_MOUTH_COVER, None)
    how_sure = "Level and standing still, hold-up as given; no uncertainty of the hold-up is known."
    do = (
        ""
        if verdict is Verdict.HOLDS
        else "Lower the mouth, with the sump deepened under it if need be, or raise the low mark"
    )
    if result.hold_up is not None and result.hold_up.basis == "band":
        how_sure = "Hold-up is not given; the largest usual one (25 % of the fill) was taken."
        if verdict is not Verdict.HOLDS:
            best = _cover_with_least_hold_up(body, result, inputs)
            if (
                best is not None
                and SEVERITY[judge_at_least(best, LEAST_MOUTH_COVER, None)] < SEVERITY[verdict]
            ):
                verdict = Verdict.CANNOT_SAY
                do = "Enter oil.hold_up: with little of it the mouth is covered, with much of it not"
    return Finding(
        code="OIL-07",
        verdict=verdict,
        where=where,
        says="At the low mark, engine running with the most oil up in it, the mouth stands {cover} under "
        "the oil; {limit} is the least"
        if cover >= 0.0
        else "At the low mark, engine running with the most oil up in it, the mouth stands {above} above "
        "the oil; {limit} under it is the least",
        figures=(
            length("cover", cover),
            length("above", -cover),
            length("limit", LEAST_MOUTH_COVER),
        ),
        value=cover,
        limit=LEAST_MOUTH_COVER,
        unit="m",
        kind="length",
        how_sure=how_sure,
        do=do,
        source="common-practice",
        place=None if body.inputs.pickup is None else point(body.inputs.pickup.mouth),
    )


def _cover_with_least_hold_up(body: PanBody, result: OilResult, inputs: OilInputs) -> Metre | None:
    if body.cavity is None or result.volume_low is None or result.hold_up is None:
        return None
    if body.inputs.pickup is None:
        return None
    curve = LevelCurve.prepare(carried_up(body.cavity), inputs.up)
    return curve.level_for(result.volume_low - result.hold_up.hold_up_least) - float(
        inputs.up @ body.inputs.pickup.mouth
    )


def crank_clear(inputs: OilInputs, result: OilResult) -> list[Finding]:
    """Oil below the crank sweep."""
    swept = [one for one in result.heights if one.kind == "crank"]
    if not swept:
        return [
            Finding(
                code="OIL-09",
                verdict=Verdict.CANNOT_SAY,
                where="crank sweep",
                says="Whether the crank whips the oil is not known",
                how_sure="Nothing to judge.",
                do="Enter crank.rear, crank.front and crank.sweep_radius"
                if inputs.crank is None
                else "Enter oil.fill",
                source="common-practice",
            )
        ]
    left = swept[0]
    verdict = judge_at_least(left.height_left, CRANK_CLEAR, None)
    return [
        Finding(
            code="OIL-09",
            verdict=verdict,
            where="crank sweep",
            says="Full, hot and running, {volume} in the pan stand {left} below the crank's sweep; "
            "{limit} is the least"
            if left.height_left >= 0.0
            else "Full, hot and running, the crank dips {deep} into the oil; {limit} above it is the least",
            figures=(
                litres("volume", left.oil_volume),
                length("left", left.height_left, 0),
                length("deep", -left.height_left, 0),
                length("limit", CRANK_CLEAR, 0),
            ),
            value=left.height_left,
            limit=CRANK_CLEAR,
            unit="m",
            kind="length",
            how_sure="Level and at rest; the least oil taken to be up in the engine.",
            do=""
            if verdict is Verdict.HOLDS
            else "Lower the full mark, widen the pan, or fit a windage tray",
            source="common-practice",
            place=left.place,
        )
    ]


def ports_clear(inputs: OilInputs, result: OilResult) -> list[Finding]:
    """Oil below rear seal, breather and returns."""
    if not inputs.ports:
        return [
            Finding(
                code="OIL-10",
                verdict=Verdict.CANNOT_SAY,
                where="rear seal, breather and returns",
                says="Whether the oil drowns the rear seal, the breather or a return is not known",
                how_sure="Nothing to judge.",
                do="Enter the lowest opening point of each under ports",
                source="common-practice",
            )
        ]
    return [
        Finding(
            code="OIL-10",
            verdict=judge_at_least(one.height_left, 0.0, None),
            where=one.name,
            says=f"Full and hot, {_WHEN[one.kind]}, {{volume}} in the pan stand {{left}} below the {one.name}"
            if one.height_left >= 0.0
            else f"Full and hot, {_WHEN[one.kind]}, the {one.name} stands {{deep}} deep in the oil",
            figures=(
                litres("volume", one.oil_volume),
                length("left", one.height_left, 0),
                length("deep", -one.height_left, 0),
            ),
            value=one.height_left,
            limit=0.0,
            unit="m",
            kind="length",
            how_sure="Level and at rest.",
            do="" if one.height_left >= 0.0 else _PORT_CURE[one.kind],
            source="common-practice",
            place=one.place,
        )
        for one in result.heights
        if one.kind != "crank"
    ]


_WHEN = {"rear seal": "engine stopped", "breather": "engine stopped", "return": "running"}


_PORT_CURE = {
    "rear seal": "Lower the full mark until the seal is clear of the oil",
    "breather": "Move the breather higher, or lower the full mark",
    "return": "End the return above the running oil, or the oil backs up in it",
}
