"""Findings on the dipstick: its marks, its end, sloping floors."""

from __future__ import annotations

import math

from sumpwright.body import PanBody
from sumpwright.findings import (
    Figure,
    Finding,
    Verdict,
    judge_at_most,
)
from sumpwright.oil.figures import length, litres
from sumpwright.oil.model import DipMark, OilInputs, OilResult

PARKED_SLOPE = 2.0
"""Degrees that a shop floor or a drive is easily off level."""


_TROUBLE_WORDS = {
    "no oil to read": "the pan cannot hold that much, so there is no surface to read",
    "lies along the surface": "the stick lies almost along the oil's surface",
    "above the shoulder": "the oil stands above the stick's shoulder",
    "tip does not reach": "the stick ends before it reaches the oil",
    "outside the oil space": "the stick misses the oil: at that height it is outside the pan",
}


def marks(inputs: OilInputs, body: PanBody, result: OilResult) -> list[Finding]:
    """Full and low mark on the stick."""
    if body.inputs.dipstick is None:
        return [
            Finding(
                code="OIL-04",
                verdict=Verdict.CANNOT_SAY,
                where="dipstick",
                says="Where the marks go is not known without the stick",
                how_sure="Nothing to judge.",
                do="Enter dipstick.stop, dipstick.towards and dipstick.length",
                source="plane-geometry",
            )
        ]
    findings = []
    for mark in result.marks:
        code = "OIL-04" if mark.name == "full" else "OIL-05"
        findings.append(_one_mark(code, mark, inputs, result))
    if not any(mark.name == "full" for mark in result.marks):
        findings.append(_mark_unknown("OIL-04", "full", "oil.fill"))
    if not any(mark.name == "low" for mark in result.marks):
        findings.append(_mark_unknown("OIL-05", "low", "oil.between_marks"))
    return findings


def _mark_unknown(code: str, name: str, key: str) -> Finding:
    return Finding(
        code=code,
        verdict=Verdict.CANNOT_SAY,
        where=f"dipstick, {name} mark",
        says=f"The {name} mark needs the oil volume it stands for",
        how_sure="Nothing to judge.",
        do=f"Enter {key}",
        source="plane-geometry",
    )


def _one_mark(code: str, mark: DipMark, inputs: OilInputs, result: OilResult) -> Finding:
    figures: tuple[Figure, ...] = (litres("volume", mark.volume),)
    length_of_stick: float | None = None
    if mark.from_stop is not None and mark.from_tip is not None:
        length_of_stick = mark.from_stop + mark.from_tip
        figures = (
            *figures,
            length("from_stop", mark.from_stop, 1),
            length("from_tip", mark.from_tip, 1),
            length("beyond", -mark.from_tip, 1),
            length("stick", length_of_stick, 1),
        )
    if not mark.trouble:
        sure = "Exact for the stick and sizes given; what sheet and bends will add is not known."
        if result.stick_mm_per_litre is not None:
            figures = (
                *figures,
                Figure("per_litre", result.stick_mm_per_litre, "m/m3", "length per volume"),
            )
            sure += " At the full mark the reading moves {per_litre}."
        truth = result.stick_truth
        if mark.name == "full" and truth is not None and truth.drains_in is not None:
            figures = (*figures, length("early", truth.drains_in, 0))
            sure += " Read before the running oil is back, it shows up to {early} too little."
        return Finding(
            code=code,
            verdict=Verdict.HOLDS,
            where=f"dipstick, {mark.name} mark",
            says=f"The {mark.name} mark, {{volume}} in the pan, goes {{from_stop}} below the shoulder, "
            "{from_tip} above the tip",
            figures=figures,
            value=mark.from_stop,
            limit=length_of_stick,
            unit="m",
            kind="length",
            how_sure=sure,
            source="plane-geometry",
            place=mark.place,
        )
    says = f"There is no true {mark.name} mark for {{volume}} in the pan: {_TROUBLE_WORDS[mark.trouble]}"
    do = {
        "no oil to read": "Give the pan room for the oil first",
        "lies along the surface": "Stand the tube steeper to the level ground",
        "above the shoulder": "Raise the tube's shoulder or lower the fill",
        "tip does not reach": "Make the stick at least {beyond} longer",
        "outside the oil space": "Move the tube so that it enters the oil inside the pan",
    }[mark.trouble]
    return Finding(
        code=code,
        verdict=Verdict.FAILS,
        where=f"dipstick, {mark.name} mark",
        says=says,
        figures=figures,
        value=mark.from_stop,
        limit=length_of_stick,
        unit="m",
        kind="length",
        how_sure="Follows from where stick, walls and oil surface are.",
        do=do,
        source="plane-geometry",
        place=mark.place,
    )


def stick_end(body: PanBody, result: OilResult) -> list[Finding]:
    """Whether the stick runs into a face."""
    tube, reach = body.inputs.dipstick, result.stick
    if tube is None or reach is None:
        return []
    if reach.free_length is None:
        return []
    return [
        Finding(
            code="OIL-06",
            verdict=judge_at_most(tube.stick_length, reach.free_length, None),
            where=f"dipstick tip, {reach.meets}",
            says=f"The stick is {{stick}} long and meets the {reach.meets} {{free}} below its shoulder",
            figures=(length("stick", tube.stick_length, 1), length("free", reach.free_length, 1)),
            value=tube.stick_length,
            limit=reach.free_length,
            unit="m",
            kind="length",
            how_sure="Follows from the stick's line and the oil-side faces.",
            do="Shorten the stick, or move or turn its tube",
            source="plane-geometry",
            place=reach.tip,
        )
    ]


def slope_reading(inputs: OilInputs, result: OilResult) -> list[Finding]:
    """How far a sloping floor moves the reading."""
    truth = result.stick_truth
    read = [mark.from_stop for mark in result.marks if mark.from_stop is not None and not mark.trouble]
    if truth is None or len(read) != 2:
        return []
    moves = [abs(one) for one in (truth.per_degree_nose, truth.per_degree_lean) if one is not None]
    if not moves:
        return []
    moved = PARKED_SLOPE * max(moves)
    limit = 0.5 * abs(read[1] - read[0])
    verdict = judge_at_most(moved, limit, None)
    return [
        Finding(
            code="OIL-11",
            verdict=verdict,
            where="dipstick",
            says="On a floor {slope} off level the full reading moves {moved}; half the way between the "
            "marks is {limit}",
            figures=(
                Figure("slope", math.radians(PARKED_SLOPE), "rad", "angle", 0),
                length("moved", moved, 1),
                length("limit", limit, 1),
                length("off", truth.off_best, 0),
            ),
            value=moved,
            limit=limit,
            unit="m",
            kind="length",
            how_sure="Exact for the shape given; the stick meets the oil {off} from its surface's middle.",
            do=""
            if verdict is Verdict.HOLDS
            else "Bring the stick {off} towards the middle of the oil's surface, or read it with the table "
            "for sloping floors",
            source="common-practice",
            place=truth.best_place,
        )
    ]
