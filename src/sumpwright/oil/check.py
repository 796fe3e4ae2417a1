"""What the oil stage says: does it hold the fill, is the dipstick true, is the mouth covered."""

from __future__ import annotations

from sumpwright.body import PanBody
from sumpwright.findings import (
    SEVERITY,
    Assumption,
    Figure,
    Finding,
    StageReport,
    Verdict,
    judge_at_least,
    judge_at_most,
)
from sumpwright.oil.level import LevelCurve, carried_up
from sumpwright.oil.model import DipMark, OilInputs, OilResult
from sumpwright.oil.properties import USUAL_DENSITY_15, swelling
from sumpwright.quantities.units import FloatArray, Kelvin, Metre

HOT: Kelvin = 373.15
"""Hot oil in the pan where the job does not say."""
POURED: Kelvin = 288.15
"""Temperature at which the litres are counted where the job does not say."""
LEAST_MOUTH_COVER: Metre = 0.020
MILLIMETRE: Metre = 1e-3

_TROUBLE_WORDS = {
    "no oil to read": "the pan cannot hold that much, so there is no surface to read",
    "lies along the surface": "the stick lies almost along the oil's surface",
    "above the shoulder": "the oil stands above the stick's shoulder",
    "tip does not reach": "the stick ends before it reaches the oil",
    "outside the oil space": "the stick misses the oil: at that height it is outside the pan",
}


def check(inputs: OilInputs, body: PanBody, result: OilResult) -> StageReport:
    """Findings of the oil stage, in the order of the work."""
    findings = [
        _holds_the_fill(inputs, result),
        _hot_below_rail(inputs, body, result),
        *_balance(inputs, result),
        *_marks(inputs, body, result),
        *_stick_end(body, result),
        _mouth(inputs, body, result),
    ]
    return StageReport(findings=tuple(findings), assumptions=tuple(_assumptions(inputs, result)))


def litres(name: str, value: float, digits: int | None = 2) -> Figure:
    """A volume for a sentence."""
    return Figure(name, value, "m3", "volume", digits)


def length(name: str, value: float, digits: int | None = None) -> Figure:
    """A length for a sentence."""
    return Figure(name, value, "m", "length", digits)


def _size_doubt(result: OilResult) -> tuple[str, tuple[Figure, ...]]:
    """Why no uncertainty of a volume is printed, and what a millimetre of wall does."""
    return (
        "Exact for the oil-side sizes given; what sheet and bends will add is not known. "
        "Every {step} that all walls stand further out adds {per_step}.",
        (length("step", MILLIMETRE), litres("per_step", result.wall_area * MILLIMETRE)),
    )


def _holds_the_fill(inputs: OilInputs, result: OilResult) -> Finding:
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
            "and {fill} go in"
        )
        do = "Find {missing} more: a deeper or wider sump, or pour in less"
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
    )


def _hot_below_rail(inputs: OilInputs, body: PanBody, result: OilResult) -> Finding:
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


def _balance(inputs: OilInputs, result: OilResult) -> list[Finding]:
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


def _marks(inputs: OilInputs, body: PanBody, result: OilResult) -> list[Finding]:
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


def _stick_end(body: PanBody, result: OilResult) -> list[Finding]:
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


def _mouth(inputs: OilInputs, body: PanBody, result: OilResult) -> Finding:
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
    do = "" if verdict is Verdict.HOLDS else "Lower the mouth, raise the low mark, or deepen the sump there"
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
        place=None if body.inputs.pickup is None else _point(body.inputs.pickup.mouth),
    )


def _point(values: FloatArray) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])


def _cover_with_least_hold_up(body: PanBody, result: OilResult, inputs: OilInputs) -> Metre | None:
    if body.cavity is None or result.volume_low is None or result.hold_up is None:
        return None
    if body.inputs.pickup is None:
        return None
    curve = LevelCurve.prepare(carried_up(body.cavity), inputs.up)
    return curve.level_for(result.volume_low - result.hold_up.hold_up_least) - float(
        inputs.up @ body.inputs.pickup.mouth
    )


def _assumptions(inputs: OilInputs, result: OilResult) -> list[Assumption]:
    taken = []
    if result.hold_up is not None and result.hold_up.basis == "band":
        taken.append(
            Assumption(
                key="oil.hold_up",
                says="Of the fill, {least} to {most} are up in the running engine (10 to 25 %)",
                figures=(
                    litres("least", result.hold_up.hold_up_least),
                    litres("most", result.hold_up.hold_up_most),
                ),
            )
        )
    if inputs.trapped is None and inputs.fill is not None:
        taken.append(
            Assumption(key="oil.trapped", says="All oil drains back at this attitude, none stays trapped")
        )
    if inputs.fill is not None and inputs.oil.density_15 is None:
        taken.append(
            Assumption(
                key="oil.density",
                says="The oil weighs {density} at {base}",
                figures=(
                    Figure("density", USUAL_DENSITY_15, "kg/m3", "density"),
                    Figure("base", POURED, "K", "temperature"),
                ),
                source="from-memory",
            )
        )
    if inputs.fill is not None and inputs.hot is None:
        taken.append(
            Assumption(
                key="oil.hot",
                says="Hot oil in the pan has {hot}",
                figures=(Figure("hot", HOT, "K", "temperature"),),
            )
        )
    if inputs.fill is not None and inputs.poured_at is None:
        taken.append(
            Assumption(
                key="oil.poured_at",
                says="The litres are counted at {poured}",
                figures=(Figure("poured", POURED, "K", "temperature"),),
            )
        )
    return taken
