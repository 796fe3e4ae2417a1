"""What the body stage says: one solid, made for this sheet, on these holes, and the old pan's duties."""

from __future__ import annotations

import numpy as np

from sumpwright.body.finding_words import length_figure, place_of, plain
from sumpwright.body.fit_findings import fit_assumptions, fit_findings
from sumpwright.body.fitting_findings import fitting_findings
from sumpwright.body.flange import opening_outline
from sumpwright.body.gate_findings import gate_findings
from sumpwright.body.land_findings import land_assumptions, land_findings
from sumpwright.body.model import Cavity, PanBody
from sumpwright.body.old_pan_findings import old_pan_findings
from sumpwright.body.outside import drain_place
from sumpwright.body.sealing import SealingLand, sealing_lands, stray_corners
from sumpwright.body.set_back import set_back_proposals
from sumpwright.body.wall_findings import wall_assumptions, wall_findings
from sumpwright.findings import (
    Assumption,
    Figure,
    Finding,
    StageReport,
    Verdict,
    judge_at_least,
    judge_at_most,
)
from sumpwright.quantities.units import Metre

LEVEL_ENOUGH: Metre = 0.0005
"""A drain this little above the lowest point still counts as at the lowest point."""


def check(body: PanBody) -> StageReport:
    """Findings of the body stage, in the order of the work."""
    findings = [*old_pan_findings(body), *_solid(body)]
    if body.cavity is not None:
        findings += [
            *gate_findings(body, body.cavity),
            *_many_faced_corners(body.cavity),
            *_rail_holes(body, body.cavity),
            *_opening_and_holes(body, body.cavity),
            *land_findings(body),
            *_drain(body, body.cavity),
            *fitting_findings(body, body.cavity),
        ]
    if body.division is not None:
        findings += wall_findings(body, body.division)
    if body.fit is not None:
        findings += fit_findings(body, body.fit)
    return StageReport(
        findings=tuple(findings),
        proposals=tuple(set_back_proposals(body)),
        assumptions=(
            *_assumptions(body),
            *wall_assumptions(body),
            *fit_assumptions(body),
            *land_assumptions(body),
        ),
    )


def _assumptions(body: PanBody) -> list[Assumption]:
    taken: list[Assumption] = []
    if not body.inputs.old_pan.duties:
        taken.append(
            Assumption("old_pan.carries", "The old pan is taken to have held oil and done nothing else.")
        )
    return taken


# --- one solid -------------------------------------------------------------------------


def _solid(body: PanBody) -> list[Finding]:
    if body.cavity is None:
        return [_no_solid(what, cure) for what, cure in body.trouble]
    sheets = sum(face.role != "rail" for face in body.cavity.faces)
    return [
        *(_idle_lump(what, cure) for what, cure in body.trouble),
        Finding(
            "BODY-01",
            Verdict.HOLDS,
            "lumps",
            "The lumps make one oil space of {faces} faces, {volume} up to the rail plane.",
            (
                Figure("faces", float(sheets), "1", "count"),
                Figure("volume", body.cavity.volume, "m3", "volume", 2),
            ),
            how_sure="Exact for the lumps as given; the welded pan differs by its making.",
            source="plane-geometry",
        ),
    ]


def _no_solid(what: str, cure: str) -> Finding:
    return Finding(
        code="BODY-01",
        verdict=Verdict.FAILS,
        where="lumps",
        says=f"The lumps make no pan: {plain(what)}.",
        how_sure="Worked out exactly from the lumps.",
        do=plain(cure),
        source="plane-geometry",
    )


def _idle_lump(what: str, cure: str) -> Finding:
    return Finding(
        code="BODY-02",
        verdict=Verdict.FAILS,
        where="lumps",
        says=f"The lumps do not do what they seem meant to: {plain(what)}.",
        how_sure="Worked out exactly from the lumps.",
        do=plain(cure),
        source="plane-geometry",
    )


def _many_faced_corners(cavity: Cavity) -> list[Finding]:
    meeting: dict[int, list[str]] = {}
    for face in cavity.faces:
        for loop in face.loops:
            for vertex in loop.tolist():
                meeting.setdefault(vertex, []).append(face.name)
    found = []
    for vertex, names in sorted(meeting.items()):
        if len(names) > 3:
            found.append(
                Finding(
                    "BODY-08",
                    Verdict.CLOSE,
                    ", ".join(plain(name) for name in names),
                    "{count} faces meet in one point; a slip of the brake or the saw opens a hole there.",
                    (Figure("count", float(len(names)), "1", "count"),),
                    float(len(names)),
                    3.0,
                    "1",
                    "count",
                    0.0,
                    "Exact for the lumps as given; how well the sheets meet depends on the making.",
                    "tack this corner first and fill it, or move one lump by some sheet thicknesses",
                    "common practice, no source",
                    place_of(cavity.vertices[vertex]),
                )
            )
    return found


# --- rail holes ------------------------------------------------------------------------


def _rail_holes(body: PanBody, cavity: Cavity) -> list[Finding]:
    lands = sealing_lands(body, cavity)
    limit = body.inputs.flange.land
    found: list[Finding] = []
    for land in lands:
        if land.is_inside_opening:
            found.append(_hole_in_opening(body, land))
    outside = [land for land in lands if not land.is_inside_opening]
    judged = [(land, judge_at_least(land.width, limit, land.u95)) for land in outside]
    told: list[tuple[SealingLand, Verdict]] = [
        (land, verdict) for land, verdict in judged if verdict is not Verdict.HOLDS
    ]
    if not told and outside:
        told = [min(judged, key=lambda pair: pair[0].width - pair[0].u95)]
    return found + [_land_finding(body, land, verdict, limit) for land, verdict in told]


def _hole_in_opening(body: PanBody, land: SealingLand) -> Finding:
    return Finding(
        "BODY-10",
        Verdict.FAILS,
        f"hole {plain(land.hole)}",
        f"hole {plain(land.hole)} opens into the oil: its centre lies {{depth}} inside the walls.",
        (length_figure("depth", land.depth_inside),),
        land.depth_inside,
        0.0,
        "m",
        "length",
        land.u95,
        "",
        "draw the lump's outline in at this hole, or check which side of the rail the hole was read from",
        "plane-geometry",
        land.place,
    )


def _land_finding(body: PanBody, land: SealingLand, verdict: Verdict, limit: Metre) -> Finding:
    most = "" if verdict is not Verdict.HOLDS else ", the narrowest of all"
    return Finding(
        "BODY-09",
        verdict,
        f"hole {plain(land.hole)}",
        f"The sealing land between hole {plain(land.hole)} and the oil side is {{value}} wide{most}; "
        "{limit} are asked for.",
        (
            length_figure("value", land.width),
            length_figure("limit", limit),
            length_figure("hole", land.hole_diameter),
        ),
        land.width,
        limit,
        "m",
        "length",
        land.u95,
        f"The flange's hole is taken as {{hole}} ({land.hole_reason}).",
        ""
        if verdict is Verdict.HOLDS
        else "draw the lump's outline in at this hole, or accept a narrower land with a liquid sealant",
        "common practice, no source",
        land.place,
    )


def _opening_and_holes(body: PanBody, cavity: Cavity) -> list[Finding]:
    stray = stray_corners(body.pattern.xy, opening_outline(cavity))
    found = []
    for before, after, reach, place in stray:
        a, b = (plain(body.pattern.names[k]) for k in (before, after))
        found.append(
            Finding(
                "BODY-11",
                Verdict.CANNOT_SAY,
                f"rail between holes {a} and {b}",
                f"The opening reaches {{value}} beyond the line from hole {a} to hole {b}; whether the "
                "block's face is wide enough there is not known.",
                (length_figure("value", reach),),
                reach,
                None,
                "m",
                "length",
                None,
                "The block face's own outline is not among the readings.",
                "measure the block's face between these two holes, or draw the lump's outline in",
                "common practice, no source",
                place,
            )
        )
    return found


# --- the drain -------------------------------------------------------------------------


def _drain(body: PanBody, cavity: Cavity) -> list[Finding]:
    up = np.asarray(body.inputs.up)
    heights = cavity.vertices @ up
    lowest = int(np.argmin(np.round(heights, 9)))
    if body.inputs.drain is None:
        return []
    drain = np.asarray(body.inputs.drain, dtype=np.float64)
    at = drain_place(body, cavity)
    if at is None:
        return [
            Finding(
                "BODY-14",
                Verdict.FAILS,
                "drain",
                "The drain lies beside every floor of the pan.",
                how_sure="Exact for the lumps as given.",
                do="move the drain onto a floor",
                source="plane-geometry",
                place=place_of(drain),
            )
        ]
    point, face = at
    name = face.name
    above = float(point @ up - heights[lowest])
    return [
        Finding(
            "BODY-14",
            judge_at_most(above, LEVEL_ENOUGH, 0.0),
            f"drain, {plain(name)}",
            "The drain is {value} above the lowest point of the oil space as the engine stands; "
            "{limit} still counts as lowest.",
            (length_figure("value", above), length_figure("limit", LEVEL_ENOUGH)),
            above,
            LEVEL_ENOUGH,
            "m",
            "length",
            0.0,
            "Exact for the lumps as given; weld pull can tip a floor by more than this.",
            ""
            if above <= LEVEL_ENOUGH
            else "let the floor fall towards the drain, or move the drain to the lowest corner",
            "common practice, no source",
            place_of(point),
        )
    ]
