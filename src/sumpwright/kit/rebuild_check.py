"""What the rebuilt kit says in words: closed or not, and where."""

from __future__ import annotations

import math

from sumpwright.findings import Figure, Finding, Verdict, judge_at_most
from sumpwright.kit.model import Gap, KitInputs, SheetKit
from sumpwright.quantities.units import Metre

GAP_LIMIT: Metre = 0.25e-3
"""Widest gap, measured by the ball that passes, of a kit that may be cut."""

SURE = "Computed from the cut outlines themselves; cutting and fitting tolerances come on top."
AT_FLANGE = (
    "Let the walls stand upright within the flange's thickness (start the slope below it), or make the "
    "corner 90 deg or more."
)
ELSEWHERE = "Make the corner plainer: lumps flush or further apart, a wall turned a little, thinner sheet."
NOT_CUT = "Nothing is written for the cutter until this is cured."


def rebuild_findings(inputs: KitInputs, kit: SheetKit) -> tuple[Finding, ...]:
    """Everything that building the kit up again showed."""
    if not kit.parts:
        return (_not_made(kit),)
    return (
        *_closes(kit),
        *_collides(kit),
        *_looks(kit),
        *_outlines(kit),
        _summary(kit),
        *_walls_in_flange(kit),
    )


def _not_made(kit: SheetKit) -> Finding:
    place = kit.rebuild.gaps[0].place if kit.rebuild.gaps else None
    return Finding(
        "KIT-01",
        Verdict.FAILS,
        kit.rebuild.gaps[0].where if kit.rebuild.gaps else "pan",
        "No kit was made of this shape: " + _plain(kit.rebuild.why) + ". " + NOT_CUT,
        how_sure="A rule, not a measurement.",
        do="Cure what the Shape section says, then run it again.",
        source="common practice, no source",
        place=place,
    )


def _closes(kit: SheetKit) -> list[Finding]:
    worst = kit.rebuild.worst_gap
    gaps = [gap for gap in kit.rebuild.gaps if gap.kind == "gap"]
    if not gaps:
        return [
            Finding(
                "KIT-02",
                judge_at_most(worst, GAP_LIMIT, 0.0),
                "all seams and corners",
                "Built up again from the cut outlines, no ball of more than {gap} gets out, {limit} allowed.",
                (Figure("gap", worst, "m", "length", 2), Figure("limit", GAP_LIMIT, "m", "length", 2)),
                worst,
                GAP_LIMIT,
                "m",
                "length",
                0.0,
                "An upper bound: the true gap is at most this. Cutting and fitting come on top.",
                source="common practice, no source",
            )
        ]
    return [_gap_finding(gap) for gap in gaps]


def _gap_finding(gap: Gap) -> Finding:
    size = gap.size if math.isfinite(gap.size) else None
    says = "A ball of {gap} passes from inside to outside, {limit} allowed. " + NOT_CUT
    figures: tuple[Figure, ...] = (
        Figure("gap", gap.size, "m", "length", 1),
        Figure("limit", gap.limit, "m", "length", 2),
    )
    if size is None:
        says = "The rebuilt kit is wide open here. " + NOT_CUT
        figures = ()
    return Finding(
        "KIT-02",
        Verdict.FAILS,
        gap.where,
        says,
        figures,
        size,
        gap.limit,
        "m",
        "length",
        0.0,
        SURE,
        AT_FLANGE if gap.where.endswith("and flange") else ELSEWHERE,
        "common practice, no source",
        gap.place,
    )


def _collides(kit: SheetKit) -> list[Finding]:
    found = []
    for gap in kit.rebuild.gaps:
        if gap.kind == "overlap":
            says = "Two flats want the same place: {share} of metal in common, {limit} allowed. " + NOT_CUT
        elif gap.kind == "intrusion":
            says = "Metal of {share} stands in the oil space, {limit} allowed. " + NOT_CUT
        else:
            continue
        found.append(
            Finding(
                "KIT-03",
                Verdict.FAILS,
                gap.where,
                says,
                (Figure("share", gap.size, "m3", "volume", 6), Figure("limit", gap.limit, "m3", "volume", 6)),
                gap.size,
                gap.limit,
                "m3",
                "volume",
                0.0,
                SURE,
                "Make the corner plainer, or move the lumps further apart there.",
                "common practice, no source",
                gap.place,
            )
        )
    if not found:
        found.append(
            Finding(
                "KIT-03",
                Verdict.HOLDS,
                "all parts",
                "No two flats want the same place, and none stands in the oil space.",
                how_sure=SURE,
                source="common practice, no source",
            )
        )
    return found


def _looks(kit: SheetKit) -> list[Finding]:
    report = kit.rebuild
    count = Figure("looks", float(report.rays), "1", "count")
    if not report.escapes:
        return [
            Finding(
                "KIT-04",
                Verdict.HOLDS,
                "all round",
                "Of {looks} looks from inside in all directions, every one ends on metal.",
                (count,),
                float(report.escapes),
                0.0,
                "1",
                "count",
                0.0,
                SURE,
                source="common practice, no source",
            )
        ]
    places = [gap for gap in report.gaps if gap.kind == "escape"]
    return [
        Finding(
            "KIT-04",
            Verdict.FAILS,
            gap.where,
            "Of {looks} looks from inside, {out} get out; here is one of the places. " + NOT_CUT,
            (count, Figure("out", float(report.escapes), "1", "count")),
            float(report.escapes),
            0.0,
            "1",
            "count",
            0.0,
            SURE,
            "Look at the gap named beside it.",
            "common practice, no source",
            gap.place,
        )
        for gap in places[:5]
    ]


def _outlines(kit: SheetKit) -> list[Finding]:
    return [
        Finding(
            "KIT-05",
            Verdict.FAILS,
            gap.where,
            "The flat has a strip of metal {width} wide, at least {limit} is wanted (half the sheet). "
            + NOT_CUT,
            (Figure("width", gap.size, "m", "length", 2), Figure("limit", gap.limit, "m", "length", 2)),
            gap.size,
            gap.limit,
            "m",
            "length",
            0.0,
            SURE,
            "Widen the face there, or make the lumps flush so that the strip goes away.",
            "common practice, no source",
            gap.place,
        )
        for gap in kit.rebuild.gaps
        if gap.kind == "outline"
    ]


def _summary(kit: SheetKit) -> Finding:
    return Finding(
        "KIT-06",
        Verdict.FAILS if kit.rebuild.refused else Verdict.HOLDS,
        "kit",
        "{parts} flats, {mass} of metal, {weld} of weld; built up again, they are "
        + ("refused." if kit.rebuild.refused else "accepted."),
        (
            Figure("parts", float(sum(part.quantity for part in kit.parts)), "1", "count"),
            Figure("mass", kit.mass, "kg", "mass", 2),
            Figure("weld", kit.weld_length, "m", "length", 0),
        ),
        how_sure="From the outlines and the material's density; weld metal is not counted.",
        do="Cure the places named above." if kit.rebuild.refused else "",
        source="common practice, no source",
    )


def _walls_in_flange(kit: SheetKit) -> list[Finding]:
    """Walls that lean so far that they end inside the flange's opening instead of under it."""
    cavity, inputs = kit.body.cavity, kit.body.inputs
    if cavity is None:
        return []
    found = []
    for edge in cavity.edges:
        faces = (cavity.faces[edge.face_a], cavity.faces[edge.face_b])
        if not any(face.role == "rail" for face in faces):
            continue
        wall = faces[0] if faces[1].role == "rail" else faces[1]
        reach = inputs.flange_thickness * math.cos(edge.corner_angle)
        if reach <= inputs.sheet:
            continue
        middle = 0.5 * (cavity.vertices[edge.start] + cavity.vertices[edge.end])
        steepest = math.asin(min(1.0, inputs.sheet / inputs.flange_thickness))
        found.append(
            Finding(
                "KIT-07",
                Verdict.HOLDS,
                wall.name,
                "The wall leans more than {lean}: it does not stand under the flange, its upper outer edge "
                "touches the flange's inner side {up} above the lower face. Weld it there from below.",
                (
                    Figure("lean", steepest, "rad", "angle", 0),
                    Figure("up", _height_inside(edge.corner_angle, kit), "m", "length", 1),
                ),
                how_sure=SURE,
                source="plane-geometry",
                place=(float(middle[0]), float(middle[1]), float(middle[2])),
            )
        )
    return found


def _height_inside(theta: float, kit: SheetKit) -> float:
    """How far above the flange's lower face a steep wall's outer edge touches its inner side [m]."""
    inputs = kit.body.inputs
    trim = inputs.sheet * math.tan(theta)
    return inputs.flange_thickness - trim * math.sin(theta) - inputs.sheet * math.cos(theta)


def _plain(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")
