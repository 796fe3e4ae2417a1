"""What is said of the ground under the pan, and of the slopes it passes over."""

from __future__ import annotations

from sumpwright.body.finding_words import length_figure, place_of, plain
from sumpwright.body.outside import GUARD
from sumpwright.body.surroundings import Ground, GroundClearance, SlopePassed
from sumpwright.findings import Figure, Finding, Verdict, judge_at_least
from sumpwright.quantities.units import Radian


def cure_of(part: str) -> str:
    """What gives the lowest part more room over the ground."""
    if part == GUARD:
        return (
            "hang the stone guard closer, or make the pan shallower there and give the volume back elsewhere"
        )
    return "make the deepest lump shallower and give the volume back elsewhere, or fit a stone guard"


def ground_findings(asked: Ground, found: GroundClearance) -> list[Finding]:
    """Height at ride height and bump, and each slope that is asked for or known."""
    part = plain(found.part)
    findings = [
        Finding(
            code="BODY-33",
            verdict=judge_at_least(found.lowest, asked.wanted, None),
            where=f"ground, {part}",
            says="The datum hole's height above the ground is not given, so the pan's is not known."
            if found.lowest is None
            else f"At ride height the lowest part, the {part}, is {{value}} above the ground; "
            "{limit} are asked for."
            if found.lowest >= 0.0
            else f"At ride height the lowest part, the {part}, is {{under}} under the ground; "
            "{limit} above it are asked for.",
            figures=(
                length_figure("value", found.lowest or 0.0),
                length_figure("under", -(found.lowest or 0.0)),
                length_figure("limit", asked.wanted),
            ),
            value=found.lowest,
            limit=asked.wanted,
            unit="m",
            kind="length",
            how_sure="How well the ride height is known was not said; tyres, load and wear change it.",
            do="measure the datum hole's height above level ground, key engine.datum_height"
            if found.lowest is None
            else ""
            if found.lowest >= asked.wanted
            else cure_of(found.part),
            source="job-file",
            place=place_of(found.place),
        )
    ]
    if asked.bump is not None:
        limit = asked.wanted_at_bump if asked.wanted_at_bump is not None else 0.0
        findings.append(
            Finding(
                code="BODY-34",
                verdict=judge_at_least(found.at_bump, limit, None),
                where=f"ground at full bump, {part}",
                says="Without the datum hole's height nothing can be said of full bump."
                if found.at_bump is None
                else f"At full bump the {part} is {{value}} above the ground; {{limit}} are asked for."
                if found.at_bump >= 0.0
                else f"At full bump the {part} would stand {{under}} in the ground; {{limit}} above it are "
                "asked for.",
                figures=(
                    length_figure("value", found.at_bump or 0.0),
                    length_figure("under", -(found.at_bump or 0.0)),
                    length_figure("limit", limit),
                ),
                value=found.at_bump,
                limit=limit,
                unit="m",
                kind="length",
                how_sure="How well ride height and bump are known was not said.",
                do=""
                if found.at_bump is not None and found.at_bump >= limit
                else "measure the height, raise the pan, or limit the bump",
                source="job-file",
                place=place_of(found.place),
            )
        )
    findings += _slope("BODY-35", "crest", asked.wanted_crest, found, found.crest)
    findings += _slope("BODY-36", "approach", asked.wanted_approach, found, found.approach)
    findings += _slope("BODY-37", "departure", asked.wanted_departure, found, found.departure)
    return findings


SLOPES = {
    "crest": (
        "crest between two slopes",
        "The vehicle passes over a crest of {value} between two slopes before the pan touches",
        "No part of the pan hangs between the axles, below the tyres' tangents, so no crest touches it.",
        "raise the deepest part, or move it towards an axle",
    ),
    "approach": (
        "ramp ahead of the front tyres",
        "The front tyres meet a ramp of {value} before the pan touches it",
        "No part of the pan is ahead of the front axle, so the tyres meet every ramp first.",
        "raise the front of the pan, or draw it back towards the axle",
    ),
    "departure": (
        "ramp behind the rear tyres",
        "The rear tyres leave a ramp of {value} before the pan touches it",
        "No part of the pan is behind the rear axle, so the tyres leave every ramp last.",
        "raise the rear of the pan, or draw it forward towards the axle",
    ),
}
"""Of each slope: where, what is said of it, what where no part is there, what to do."""


def _slope(
    code: str, name: str, wanted: Radian | None, ground: GroundClearance, found: SlopePassed | None
) -> list[Finding]:
    """One slope; nothing where it is neither asked for nor known."""
    where, says, nothing_there, do = SLOPES[name]
    if found is None and wanted is None:
        return []
    limit = 0.0 if wanted is None else wanted
    if found is None and ground.lowest is None:
        verdict = Verdict.CANNOT_SAY
        says = "A ramp or crest is asked for, and the datum hole's height above the ground is not given."
        do = "measure the datum hole's height above level ground, key engine.datum_height"
    elif found is None:
        verdict, says, do = Verdict.HOLDS, nothing_there, ""
    else:
        verdict = Verdict.HOLDS if wanted is None else judge_at_least(found.angle, limit, None)
        says += "." if wanted is None else "; {limit} are asked for."
        do = do if verdict is Verdict.FAILS else ""
    return [
        Finding(
            code=code,
            verdict=verdict,
            where=f"ground, {where}",
            says=says,
            figures=(
                Figure("value", 0.0 if found is None else found.angle, "rad", "angle"),
                Figure("limit", limit, "rad", "angle"),
            ),
            value=None if found is None else found.angle,
            limit=wanted,
            unit="rad",
            kind="angle",
            how_sure="Tyres stand as loaded at ride height; springs that give way make it less.",
            do=do,
            source="plane-geometry",
            place=None if found is None else place_of(found.place),
        )
    ]
