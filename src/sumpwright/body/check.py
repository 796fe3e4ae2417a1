"""What the body stage says: one solid, made for this sheet, on these holes, and the old pan's duties."""

from __future__ import annotations

import numpy as np

from sumpwright.body.flange import opening_outline
from sumpwright.body.gate import (
    EDGE_THICKNESSES,
    FACE_THICKNESSES,
    LEAST_FACE_CORNER,
    LEAST_OUTSIDE_ANGLE,
)
from sumpwright.body.model import Cavity, GateBreach, OldPanDuty, PanBody
from sumpwright.body.sealing import SealingLand, sealing_lands, stray_corners
from sumpwright.findings import (
    Assumption,
    Figure,
    Finding,
    StageReport,
    Verdict,
    judge_at_least,
    judge_at_most,
)
from sumpwright.quantities.units import FloatArray, Metre

LEVEL_ENOUGH: Metre = 0.0005
"""A drain this little above the lowest point still counts as at the lowest point."""


def check(body: PanBody) -> StageReport:
    """Findings of the body stage, in the order of the work."""
    findings = [*_old_pan(body), *_solid(body)]
    if body.cavity is not None:
        findings += [
            *_gate(body, body.cavity),
            *_many_faced_corners(body.cavity),
            *_rail_holes(body, body.cavity),
            *_opening_and_holes(body, body.cavity),
            *_drain(body, body.cavity),
        ]
    return StageReport(findings=tuple(findings), assumptions=tuple(_assumptions(body)))


def _plain(text: str) -> str:
    """A user's own words, safe inside a sentence with gaps."""
    return text.replace("{", "(").replace("}", ")")


def _length(name: str, value: float, digits: int | None = None) -> Figure:
    return Figure(name, value, "m", "length", digits)


def _assumptions(body: PanBody) -> list[Assumption]:
    taken = [
        Assumption(
            "pan.beside_opening",
            "The flange reaches {beside} beyond the walls' outer face, so that the seam has a land.",
            (_length("beside", body.inputs.beside_opening),),
        )
    ]
    if not body.inputs.old_pan.duties:
        taken.append(
            Assumption("old_pan.carries", "The old pan is taken to have held oil and done nothing else.")
        )
    return taken


# --- step 0: the old pan's duties ------------------------------------------------------

_WAYS_ROUND = {
    "pressure": (
        "keep that part of the old casting as an adapter between block and pan, fit a remote filter or "
        "cooler with hoses, or plug the passage where the engine maker's data allows it; then say in the job "
        "what it was moved to"
    ),
    "structural": (
        "fit a separate brace or girdle between block and gearbox, or keep that part of the old casting; "
        "then say in the job what it was moved to"
    ),
}


def _old_pan(body: PanBody) -> list[Finding]:
    found: list[Finding] = []
    for duty in body.inputs.old_pan.duties:
        if duty.kind == "storage":
            continue
        if duty.kind == "attached":
            found.append(_attached(body, duty))
        else:
            found.append(_pressure_or_load(duty))
    return found


def _pressure_or_load(duty: OldPanDuty) -> Finding:
    name = _plain(duty.name)
    carries = "oil under pressure" if duty.kind == "pressure" else "load"
    if duty.moved_to:
        return Finding(
            "BODY-12",
            Verdict.HOLDS,
            f"old pan: {name}",
            f"The old pan's {name} carried {carries}; it was moved to: {_plain(duty.moved_to)}.",
            how_sure="As the job says; whether that is strong and tight enough is not judged here.",
            source="job-file",
        )
    return Finding(
        "BODY-12",
        Verdict.FAILS,
        f"old pan: {name}",
        f"The old pan's {name} carries {carries}, and a plain sheet pan cannot.",
        how_sure="As the job says.",
        do=_WAYS_ROUND[duty.kind],
        source="common practice, no source",
        cautions=(
            ("A lost oil passage or a failed hose starves the bearings and sprays hot oil.",)
            if duty.kind == "pressure"
            else ()
        ),
    )


def _attached(body: PanBody, duty: OldPanDuty) -> Finding:
    name = _plain(duty.name)
    place = duty.moved_to
    if place is None and duty.name.strip().lower() == "pickup" and body.inputs.pickup is not None:
        place = "the pickup of this job"
    if place:
        return Finding(
            "BODY-13",
            Verdict.HOLDS,
            f"old pan: {name}",
            f"The old pan held the {name}; now: {_plain(place)}.",
            how_sure="As the job says.",
            source="job-file",
        )
    return Finding(
        "BODY-13",
        Verdict.CANNOT_SAY,
        f"old pan: {name}",
        f"The old pan held the {name}, and the job does not say what holds it now.",
        how_sure="Nothing is given to judge by.",
        do="say in the job, under what the old pan's duties were moved to, what holds it now",
        source="job-file",
    )


# --- one solid -------------------------------------------------------------------------


def _solid(body: PanBody) -> list[Finding]:
    found = [
        Finding(
            "BODY-01" if body.cavity is None else "BODY-02",
            Verdict.FAILS,
            "lumps",
            _plain(what) + ".",
            how_sure="Worked out exactly from the lumps.",
            do=_plain(cure),
            source="plane-geometry",
        )
        for what, cure in body.trouble
    ]
    if body.cavity is not None:
        sheets = sum(face.role != "rail" for face in body.cavity.faces)
        found.append(
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
            )
        )
    return found


# --- the feature gate ------------------------------------------------------------------

_Limit = tuple[str, str, float, str, str, str]
_RULES: dict[str, tuple[str, str, str]] = {
    # rule: code, what it is, kind of figure
    "edge": ("BODY-03", "is {value} long, and sheet of this thickness needs {limit}", "length"),
    "face": ("BODY-04", "is only {value} wide, and sheet of this thickness needs {limit}", "length"),
    "angle": ("BODY-05", "has {value} on the metal's side, and the two sheets need {limit}", "angle"),
    "corner": ("BODY-06", "is {value}, and a corner that can be cut and closed needs {limit}", "angle"),
}


def _gate(body: PanBody, cavity: Cavity) -> list[Finding]:
    found: list[Finding] = []
    broken = {breach.rule for breach in body.gate}
    for breach in body.gate:
        found.append(_solid_breach(breach) if breach.rule == "solid" else _breach(breach))
    if "edge" not in broken:
        found.append(_shortest_edge(cavity, EDGE_THICKNESSES * body.inputs.sheet))
    for rule, limit, unit, words in (
        ("face", FACE_THICKNESSES * body.inputs.sheet, "m", "No face has a strip narrower than {limit}."),
        ("angle", LEAST_OUTSIDE_ANGLE, "rad", "No inward corner has less than {limit} on the metal's side."),
        ("corner", LEAST_FACE_CORNER, "rad", "No face has a corner sharper than {limit}."),
    ):
        if rule not in broken:
            code, _, kind = _RULES[rule]
            found.append(
                Finding(
                    code,
                    Verdict.HOLDS,
                    "whole shape",
                    words,
                    (Figure("limit", limit, unit, kind),),
                    how_sure="Exact for the lumps as given.",
                    source="common practice, no source",
                )
            )
    return found


def _breach(breach: GateBreach) -> Finding:
    code, words, kind = _RULES[breach.rule]
    unit = breach.unit
    return Finding(
        code,
        judge_at_least(breach.value, breach.limit, 0.0),
        _plain(breach.where),
        f"The {_plain(breach.where)} {words}.",
        (Figure("value", breach.value, unit, kind), Figure("limit", breach.limit, unit, kind)),
        breach.value,
        breach.limit,
        unit,
        kind,
        0.0,
        "Exact for the lumps as given.",
        breach.cure,
        "common practice, no source",
        breach.place,
    )


def _solid_breach(breach: GateBreach) -> Finding:
    return Finding(
        "BODY-07",
        judge_at_most(breach.value, breach.limit, 0.0),
        _plain(breach.where),
        "The shape has more than one opening at the rail."
        if breach.limit == 1.0
        else "A tube runs through the opening at the rail, and no flange can reach it.",
        (),
        breach.value,
        breach.limit,
        "1",
        "count",
        0.0,
        "Exact for the lumps as given.",
        breach.cure,
        "common practice, no source",
        breach.place,
    )


def _shortest_edge(cavity: Cavity, limit: Metre) -> Finding:
    shortest = min(cavity.edges, key=lambda edge: (edge.length, edge.index))
    names = " and ".join(_plain(cavity.faces[f].name) for f in (shortest.face_a, shortest.face_b))
    return Finding(
        "BODY-03",
        judge_at_least(shortest.length, limit, 0.0),
        f"edge between {names}",
        "The shortest edge is {value} long, and sheet of this thickness needs {limit}.",
        (_length("value", shortest.length), _length("limit", limit)),
        shortest.length,
        limit,
        "m",
        "length",
        0.0,
        "Exact for the lumps as given.",
        source="common practice, no source",
        place=_place(0.5 * (cavity.vertices[shortest.start] + cavity.vertices[shortest.end])),
    )


def _place(point: FloatArray) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(point[2])


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
                    ", ".join(_plain(name) for name in names),
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
                    _place(cavity.vertices[vertex]),
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
        f"hole {_plain(land.hole)}",
        f"hole {_plain(land.hole)} opens into the oil: its centre lies {{depth}} inside the walls.",
        (_length("depth", land.depth_inside),),
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
        f"hole {_plain(land.hole)}",
        f"The sealing land between hole {_plain(land.hole)} and the oil side is {{value}} wide{most}; "
        "{limit} are asked for.",
        (
            _length("value", land.width),
            _length("limit", limit),
            _length("hole", land.hole_diameter),
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
        a, b = (_plain(body.pattern.names[k]) for k in (before, after))
        found.append(
            Finding(
                "BODY-11",
                Verdict.CANNOT_SAY,
                f"rail between holes {a} and {b}",
                f"The opening reaches {{value}} beyond the line from hole {a} to hole {b}; whether the "
                "block's face is wide enough there is not known.",
                (_length("value", reach),),
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
    at = _floor_below(cavity, drain)
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
                place=_place(drain),
            )
        ]
    point, name = at
    above = float(point @ up - heights[lowest])
    return [
        Finding(
            "BODY-14",
            judge_at_most(above, LEVEL_ENOUGH, 0.0),
            f"drain, {_plain(name)}",
            "The drain is {value} above the lowest point of the oil space as the engine stands; "
            "{limit} still counts as lowest.",
            (_length("value", above), _length("limit", LEVEL_ENOUGH)),
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
            _place(point),
        )
    ]


def _floor_below(cavity: Cavity, place: FloatArray) -> tuple[FloatArray, str] | None:
    """The deepest floor straight below or above a place, with the point on it."""
    from sumpwright.geometry.polygons import contains

    best: tuple[FloatArray, str] | None = None
    for face in cavity.faces:
        if face.role != "floor":
            continue
        normal, offset = face.plane.normal, face.plane.offset
        z = (offset - float(place[:2] @ normal[:2])) / float(normal[2])
        inside = [bool(contains(cavity.vertices[loop][:, :2], place[:2])[0]) for loop in face.loops]
        if inside[0] and not any(inside[1:]) and (best is None or z < best[0][2]):
            best = np.array([place[0], place[1], z]), face.name
    return best
