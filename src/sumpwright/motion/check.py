"""What the motion stage says of cover that is held for ever."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import PanBody
from sumpwright.findings import (
    SEVERITY,
    Assumption,
    Figure,
    Finding,
    Proposal,
    StageReport,
    Verdict,
    judge_at_least,
    judge_at_most,
)
from sumpwright.motion.loads import acceleration_words, slope_words
from sumpwright.motion.model import CoverMap, MotionInputs, MotionResult, Tightest
from sumpwright.motion.solve import USUAL_COVER
from sumpwright.oil import OilResult
from sumpwright.quantities import STANDARD_GRAVITY
from sumpwright.quantities.units import Metre, MetrePerSecondSquared

WET_SUMP_END: MetrePerSecondSquared = 1.5 * STANDARD_GRAVITY
"""Above this, held, a wet sump is usually past use; common practice."""


def check(inputs: MotionInputs, body: PanBody, oil: OilResult, result: MotionResult) -> StageReport:
    """Findings of the motion stage."""
    if result.missing or not result.mouth_is_inside:
        return StageReport(
            findings=(_cannot(body, result),), assumptions=tuple(_assumptions(inputs, oil, result))
        )
    findings: list[Finding] = []
    if result.accelerations is not None and result.tightest_acceleration is not None:
        findings.append(_covered("MOT-01", body, oil, result, result.tightest_acceleration))
        findings.append(_past_wet_sump(result))
    if result.slopes is not None and result.tightest_slope is not None:
        findings.append(_covered_on_slopes("MOT-02", body, oil, result, result.tightest_slope))
    findings.extend(_at_the_rail(result))
    findings.extend(_drowned_on_slopes(result))
    return StageReport(
        findings=tuple(findings),
        proposals=tuple(_proposals(result, findings)),
        assumptions=tuple(_assumptions(inputs, oil, result)),
    )


def _cannot(body: PanBody, result: MotionResult) -> Finding:
    if not result.mouth_is_inside:
        mouth = body.inputs.pickup
        return Finding(
            code="MOT-01",
            verdict=Verdict.FAILS,
            where="pickup mouth",
            says="The mouth lies outside the oil space: it can never be covered",
            how_sure="Follows from the mouth's place and the oil-side faces.",
            do="Correct pickup.mouth or the lumps",
            source="plane-geometry",
            place=None if mouth is None else _point(mouth.mouth),
        )
    return Finding(
        code="MOT-01",
        verdict=Verdict.CANNOT_SAY,
        where="pickup mouth",
        says="Whether the mouth stays covered in corners and on slopes is not known",
        how_sure="Nothing to judge.",
        do="Enter " + " and ".join(result.missing),
        source="common-practice",
    )


def _load_figures(tight: Tightest, is_slope: bool) -> tuple[str, tuple[Figure, ...]]:
    """The load in words with its numbers: "left turn at {aside} while braking at {ahead}"."""
    if is_slope:
        figures = (
            Figure("nose", abs(tight.along), "rad", "angle", 0),
            Figure("lean", abs(tight.across), "rad", "angle", 0),
        )
        words = tight.words
        for start in ("nose up", "nose down"):
            words = words.replace(start, start + " {nose}")
        for start in ("leaned to the right", "leaned to the left"):
            words = words.replace(start, start + " {lean}")
        return words, figures
    figures = (
        Figure("aside", abs(tight.across), "m/s2", "acceleration"),
        Figure("ahead", abs(tight.along), "m/s2", "acceleration"),
    )
    words = tight.words
    for start in ("left turn", "right turn"):
        words = words.replace(start, start + " at {aside}")
    for start in ("braking", "accelerating"):
        words = words.replace(start, start + " at {ahead}")
    return words, figures


def _verdict(result: MotionResult, oil: OilResult, cover: Metre, kinder: Metre | None) -> Verdict:
    verdict = judge_at_least(cover, result.least_cover, None)
    if verdict is Verdict.HOLDS or kinder is None or oil.hold_up is None or oil.hold_up.basis != "band":
        return verdict
    better = judge_at_least(kinder, result.least_cover, None)
    return Verdict.CANNOT_SAY if SEVERITY[better] < SEVERITY[verdict] else verdict


def _covered(code: str, body: PanBody, oil: OilResult, result: MotionResult, tight: Tightest) -> Finding:
    words, figures = _load_figures(tight, is_slope=False)
    kinder = result.kinder_cover[0] if result.kinder_cover else None
    verdict = _verdict(result, oil, tight.cover, kinder)
    more: tuple[Figure, ...] = ()
    held = ""
    short = sorted(
        (one for one in result.held_to if not one.is_all),
        key=lambda one: -math.inf if math.isnan(one.acceleration) else one.acceleration,
    )
    if short and verdict is not Verdict.HOLDS:
        pieces: list[str] = []
        for k, one in enumerate(short[:3]):
            if math.isnan(one.acceleration):
                held = ". It is not covered enough even standing still"
                pieces = []
                break
            more = (*more, Figure(f"held_{'abc'[k]}", one.acceleration, "m/s2", "acceleration"))
            pieces.append(f"{one.words} to {{held_{'abc'[k]}}}")
        if pieces:
            held = ". It holds " + ", ".join(pieces)
    return Finding(
        code=code,
        verdict=verdict,
        where="pickup mouth, cornering and braking held for ever",
        says=f"Tightest in {words}: "
        + ("the mouth has {cover} of oil over it; {limit} is wanted" if tight.cover >= 0.0 else _AIR)
        + held,
        figures=(*_cover_figures(result, tight), *figures, *more),
        value=tight.cover,
        limit=result.least_cover,
        unit="m",
        kind="length",
        how_sure=_how_sure(oil, tight),
        do="" if verdict is Verdict.HOLDS else _cure(oil, result, tight, kinder),
        source="common-practice",
        place=None if body.inputs.pickup is None else _point(body.inputs.pickup.mouth),
    )


def _covered_on_slopes(
    code: str, body: PanBody, oil: OilResult, result: MotionResult, tight: Tightest
) -> Finding:
    words, figures = _load_figures(tight, is_slope=True)
    kinder = result.kinder_cover[-1] if result.kinder_cover else None
    verdict = _verdict(result, oil, tight.cover, kinder)
    return Finding(
        code=code,
        verdict=verdict,
        where="pickup mouth, slopes and heel held for ever",
        says=f"Tightest {words}: "
        + ("the mouth has {cover} of oil over it; {limit} is wanted" if tight.cover >= 0.0 else _AIR),
        figures=(*_cover_figures(result, tight), *figures),
        value=tight.cover,
        limit=result.least_cover,
        unit="m",
        kind="length",
        how_sure=_how_sure(oil, tight),
        do="" if verdict is Verdict.HOLDS else _cure(oil, result, tight, kinder),
        source="common-practice",
        place=None if body.inputs.pickup is None else _point(body.inputs.pickup.mouth),
    )


_AIR = "the mouth draws air, its edge stands {above} above the oil; {limit} under it is wanted"


def _cover_figures(result: MotionResult, tight: Tightest) -> tuple[Figure, ...]:
    return (
        Figure("cover", tight.cover, "m", "length", 0),
        Figure("above", -tight.cover, "m", "length", 0),
        Figure("limit", result.least_cover, "m", "length", 0),
        Figure("shared", tight.cover_shared, "m", "length", 0),
        Figure("shared_bare", -tight.cover_shared, "m", "length", 0),
        Figure("in_pan", result.volume or 0.0, "m3", "volume", 2),
    )


def _how_sure(oil: OilResult, tight: Tightest) -> str:
    said = "Low mark, most oil up in the engine: {in_pan} in the pan, at rest under the pull"
    if oil.hold_up is not None and oil.hold_up.basis == "band":
        said += ", hold-up not given and taken as 25 % of the fill"
    if tight.cover < tight.cover_shared - 1e-3:
        said += "; if the oil behind the hump ran over freely "
        said += (
            "{shared} of oil would stand over it"
            if tight.cover_shared >= 0.0
            else "its edge would still stand {shared_bare} above the oil"
        )
    return said + ". Sloshing is not in it."


def _cure(oil: OilResult, result: MotionResult, tight: Tightest, kinder: Metre | None) -> str:
    verdict = _verdict(result, oil, tight.cover, kinder)
    if verdict is Verdict.CANNOT_SAY:
        return "Enter oil.hold_up: with little of it the mouth is covered, with much of it not"
    if tight.cover_shared >= result.least_cover > tight.cover:
        return "A hump keeps oil from the mouth: lower it, or cut a slot through it"
    return (
        "Move the mouth towards where the oil goes, deepen the sump around it, raise the low mark, "
        "or keep the oil there with walls and one-way doors"
    )


def _proposals(result: MotionResult, findings: list[Finding]) -> list[Proposal]:
    """Move the mouth to where the oil is at the tightest load."""
    if result.better is None:
        return []
    short = [f for f in findings if f.code in ("MOT-01", "MOT-02") and f.verdict is not Verdict.HOLDS]
    tight = [one for one in (result.tightest_acceleration, result.tightest_slope) if one is not None]
    if not short or not tight:
        return []
    now, then, limit = min(one.cover for one in tight), result.better.cover, result.least_cover
    # A move that leaves most of the lack is no advice.
    if then < limit and limit - then > 0.6 * (limit - now):
        return []
    x, y, z = (f'"{value * 1e3:.4g} mm"' for value in result.better.mouth)
    return [
        Proposal(
            code=short[0].code,
            target="pickup.mouth",
            value=f"[{x}, {y}, {z}]",
            effect="the least cover becomes {then} instead of {now}; {limit} is wanted",
            figures=(
                Figure("then", then, "m", "length", 0),
                Figure("now", now, "m", "length", 0),
                Figure("limit", limit, "m", "length", 0),
            ),
        )
    ]


def _past_wet_sump(result: MotionResult) -> Finding:
    envelope = result.envelope
    hardest = max(envelope.left_turn, envelope.right_turn, envelope.braking, envelope.accelerating)
    verdict = judge_at_most(hardest, WET_SUMP_END, None)
    return Finding(
        code="MOT-03",
        verdict=verdict,
        where="whole pan",
        says="{hardest} held is asked of a wet sump; above about {end} it is usually past use",
        figures=(
            Figure("hardest", hardest, "m/s2", "acceleration"),
            Figure("end", WET_SUMP_END, "m/s2", "acceleration"),
        ),
        value=hardest,
        limit=WET_SUMP_END,
        unit="m/s2",
        kind="acceleration",
        how_sure="A rule of the trade, no law.",
        do="" if verdict is Verdict.HOLDS else "Think of a dry sump, or of an accumulator in the oil line",
        source="common-practice",
    )


def _at_the_rail(result: MotionResult) -> list[Finding]:
    worst: tuple[CoverMap, int] | None = None
    for one in (result.accelerations, result.slopes):
        if one is not None:
            k = int(np.argmax(one.above_rail))
            if worst is None or one.above_rail[k] > worst[0].above_rail[worst[1]]:
                worst = (one, k)
    if worst is None:
        return []
    cover, k = worst
    height = float(cover.above_rail[k])
    along, across = float(cover.along[k]), float(cover.across[k])
    is_slope = cover.kind == "slopes"
    words = slope_words(along, across) if is_slope else acceleration_words(along, across)
    text, figures = _load_figures(Tightest(words, across, along, height, height), is_slope)
    verdict = judge_at_most(height, 0.0, None)
    return [
        Finding(
            code="MOT-04",
            # No limit is known for oil standing at a sealed joint: it is named, never failed outright.
            verdict=Verdict.CLOSE if verdict is Verdict.FAILS else verdict,
            where="pan rail",
            says=f"The oil reaches the rail: {text} it stands {{height}} above the rail's lowest point"
            if height > 0.0
            else f"The oil stays below the rail: nearest {text}, {{below}} left",
            figures=(
                Figure("height", height, "m", "length", 0),
                Figure("below", -height, "m", "length", 0),
                *figures,
            ),
            value=height,
            limit=0.0,
            unit="m",
            kind="length",
            how_sure="Cover is judged with the walls carried on upwards, as the block carries them on.",
            do="Seal the rail for standing oil, look where it runs in the block, and fit a roof baffle"
            if height > 0.0
            else "",
            source="plane-geometry",
        )
    ]


def _drowned_on_slopes(result: MotionResult) -> list[Finding]:
    findings = []
    for one in result.nearest:
        words, figures = _load_figures(
            Tightest(one.words, one.lean_right, one.nose_up, 0.0, 0.0), is_slope=True
        )
        verdict = judge_at_least(one.height_left, 0.0, None)
        findings.append(
            Finding(
                code="MOT-05",
                verdict=verdict,
                where=f"{one.name}, on slopes",
                says=f"Nearest {words}: full and hot the oil stands {{left}} below the {one.name}"
                if one.height_left >= 0.0
                else f"Standing {words}, full and hot, the {one.name} is {{deep}} deep in the oil",
                figures=(
                    Figure("left", one.height_left, "m", "length", 0),
                    Figure("deep", -one.height_left, "m", "length", 0),
                    *figures,
                ),
                value=one.height_left,
                limit=0.0,
                unit="m",
                kind="length",
                how_sure="At rest on the slope, one surface through the whole pan.",
                do="" if verdict is Verdict.HOLDS else _SLOPE_CURE[one.kind],
                source="common-practice",
            )
        )
    return findings


_SLOPE_CURE = {
    "crank": "Lower the full mark, widen the pan, or do not run it on such a slope",
    "rear seal": "Lower the full mark, or give the oil room away from the seal",
    "breather": "Move the breather to the middle or higher, or it blows oil out",
    "return": "Raise the return's end, or accept that it backs up on such a slope",
}


def _assumptions(inputs: MotionInputs, oil: OilResult, result: MotionResult) -> list[Assumption]:
    taken = []
    if inputs.least_cover is None:
        taken.append(
            Assumption(
                key="loads.least_cover",
                says="At least {cover} of oil is wanted over the mouth's highest edge",
                figures=(Figure("cover", USUAL_COVER, "m", "length"),),
            )
        )
    envelope = result.envelope
    named = [name for name in envelope.from_use if getattr(envelope, name) > 0.0]
    if named:
        taken.append(
            Assumption(
                key="loads",
                says=f"From the table for '{inputs.loads.use}': "
                + ", ".join(f"{name.replace('_', ' ')} {{{name}}}" for name in named),
                figures=tuple(
                    Figure(name, float(getattr(envelope, name)), *_LOAD_UNITS[name]) for name in named
                ),
                source=envelope.use_source,
            )
        )
    return taken


_LOAD_UNITS = {
    name: ("m/s2", "acceleration") for name in ("left_turn", "right_turn", "braking", "accelerating")
} | {name: ("rad", "angle") for name in ("nose_up", "nose_down", "lean_right", "lean_left")}


def _point(values: object) -> tuple[float, float, float]:
    x, y, z = np.asarray(values, dtype=np.float64).tolist()
    return x, y, z
