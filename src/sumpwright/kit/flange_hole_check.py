"""What there is to say of the flange's ring and its holes.

One finding a rule: it names every place that does not hold and gives the figures of the
worst, or says that all hold and gives the tightest.
"""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import PanBody
from sumpwright.findings import Figure, Finding, Verdict, judge_at_least, judge_at_most, worst
from sumpwright.kit.flange import flange_opening, island_areas, ring_is_whole
from sumpwright.kit.flange_formulas import largest_hole_under_washer
from sumpwright.kit.flange_holes import thread_size
from sumpwright.kit.metal import chords, distance_to_outline
from sumpwright.kit.model import FlangeHole, KitInputs
from sumpwright.kit.rule_cases import Case, case_names, length_figure, not_holding, worst_case
from sumpwright.quantities.units import Metre
from sumpwright.tables.fasteners import plain_washer

EDGE_RULE = 1.5
"""Hole centre to the flange's edge, in bolt diameters."""


def hole_place(body: PanBody, name: str) -> tuple[float, float, float]:
    """Where a hole is, on the flange's lower face (engine frame, m)."""
    x, y = body.pattern.xy[body.pattern.index(name)]
    return float(x), float(y), -body.inputs.flange_thickness


def ring_findings(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> list[Finding]:
    """Whether there is a ring at all: an outer edge, an opening inside it, holes in the metal."""
    assert body.cavity is not None
    found = []
    if body.flange_outside is None:
        return [
            Finding(
                code="KIT-29",
                verdict=Verdict.CANNOT_SAY,
                where="flange",
                says="the flange has no outer edge, so it cannot be drawn",
                how_sure="nothing to measure yet",
                do="cure what the Shape section says of the flange's outline first",
                source="derived",
            )
        ]
    openings = flange_opening(body.cavity, body.inputs.flange_thickness)
    if not ring_is_whole(body.flange_outside, openings):
        found.append(
            Finding(
                code="KIT-29",
                verdict=Verdict.FAILS,
                where="flange",
                says="the pan's opening reaches the flange's outer edge: no whole ring is left",
                how_sure="by geometry",
                do="make the lumps smaller at the rail or give the flange more metal outside",
                source="derived",
            )
        )
    for area in island_areas(body.cavity):
        found.append(
            Finding(
                code="KIT-29",
                verdict=Verdict.FAILS,
                where="flange",
                says="a cut reaches up to the rail inside the opening: "
                "the metal there ({island}) would be loose",
                figures=(Figure("island", area, "m2", "area"),),
                how_sure="by geometry",
                do="stop the cut below the rail, or run it out to the side",
                source="derived",
            )
        )
    if not found:
        found += _holes_off_metal(inputs, body, holes)
    return found


def _holes_off_metal(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> list[Finding]:
    """Holes that break out of the ring, or into one another."""
    from shapely import Point, Polygon, union_all

    assert body.cavity is not None
    assert body.flange_outside is not None
    openings = flange_opening(body.cavity, body.inputs.flange_thickness)
    voids = union_all([Polygon(chords(opening)) for opening in openings])
    ring = Polygon(chords(body.flange_outside)).difference(voids)
    found = []
    for hole in holes:
        x, y, z = hole_place(body, hole.hole)
        centre = Point(x, y)
        if not ring.contains(centre) or ring.boundary.distance(centre) < 0.5 * hole.diameter:
            found.append(
                Finding(
                    code="KIT-29",
                    verdict=Verdict.FAILS,
                    where=f"hole {hole.hole}",
                    says=f"the {{diameter}} hole at {hole.hole} breaks out of the flange's metal",
                    figures=(length_figure("diameter", hole.diameter),),
                    how_sure="by geometry",
                    do="move the opening or the flange's edge away from the hole",
                    source="derived",
                    place=(x, y, z),
                )
            )
    for i, one in enumerate(holes):
        for other in holes[i + 1 :]:
            apart = math.dist(hole_place(body, one.hole), hole_place(body, other.hole))
            web = apart - 0.5 * (one.diameter + other.diameter)
            if web < inputs.flange_cutter.least_web:
                found.append(
                    Finding(
                        code="KIT-29",
                        verdict=Verdict.FAILS,
                        where=f"holes {one.hole} and {other.hole}",
                        says=f"between holes {one.hole} and {other.hole} {{web}} of metal is left, "
                        "the cutter needs {least}",
                        figures=(
                            length_figure("web", web),
                            length_figure("least", inputs.flange_cutter.least_web),
                        ),
                        value=web,
                        limit=inputs.flange_cutter.least_web,
                        unit="m",
                        kind="length",
                        how_sure="by geometry",
                        do="check the two holes' readings and names",
                        source="shop-file",
                        place=hole_place(body, one.hole),
                    )
                )
    return found


def _laid_words(body: PanBody) -> str:
    dowels = sum(fastener.kind == "dowel" for fastener in body.pattern.fasteners)
    if dowels >= 2:
        return "with the flange hung on the middle of its dowels and turned to suit its bolts"
    if dowels == 1:
        return "with the flange hung on its one dowel and turned to suit the bolts"
    return "with the flange pushed and turned to suit its bolts"


def bolts_enter(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> list[Finding]:
    """Bolts go in cold and are not pinched hot."""
    cases, larger = [], 0
    for hole in holes:
        fastener = body.pattern.fasteners[body.pattern.index(hole.hole)]
        if fastener.kind == "dowel":
            continue
        given = 0.5 * (hole.diameter - fastener.diameter)
        u95 = hole.from_measuring + hole.from_cutter
        larger += given > hole.standard_clearance + 1e-9 and hole.standard_clearance > 0.0
        cases.append(
            Case(
                hole.hole,
                hole.from_heat,
                given,
                u95,
                # A hair is forgiven: the hole was rounded up to just this need.
                judge_at_most(hole.from_heat, given + 1e-7, u95),
                hole_place(body, hole.hole),
            )
        )
    if not cases:
        return []
    tight = min(cases, key=lambda case: case.limit - case.value - (case.u95 or 0.0))
    hole = next(hole for hole in holes if hole.hole == tight.name)
    verdict = worst([case.verdict for case in cases])
    says = (
        f"every bolt enters cold and is free when hot, {_laid_words(body)}; tightest at {tight.name}: "
        "{heat} creep, {measuring} measuring and {cutter} cutting in {given} all round"
        if verdict is Verdict.HOLDS
        else f"bolts may bind at {case_names(not_holding(cases))}; worst at {tight.name}: {{heat}} creep, "
        "{measuring} measuring and {cutter} cutting in {given} all round"
    )
    if larger:
        says += "; {larger} of {count} holes are larger than the usual ones for it"
    return [
        Finding(
            code="KIT-27",
            verdict=verdict,
            where="flange holes" if verdict is Verdict.HOLDS else f"holes {case_names(not_holding(cases))}",
            says=says,
            figures=(
                length_figure("heat", hole.from_heat, 2),
                length_figure("measuring", hole.from_measuring, 2),
                length_figure("cutter", hole.from_cutter, 2),
                length_figure("given", tight.limit, 2),
                Figure("rise", inputs.temperature_rise, "K", "temperature difference"),
                Figure("larger", larger, "1", "count"),
                Figure("count", len(cases), "1", "count"),
            ),
            value=hole.from_heat,
            limit=tight.limit,
            unit="m",
            kind="length",
            u95=tight.u95,
            how_sure="creep for {rise} of warming; the readings' own uncertainty and the cutter's "
            "plus and minus are added up in the worst direction",
            do="" if verdict is Verdict.HOLDS else "open these holes to the next size",
            source="iso-273",
            place=tight.place,
        )
    ]


def dowels_fit(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> list[Finding]:
    """Whether the close holes go over their dowels as cut."""
    cases = []
    for hole in holes:
        fastener = body.pattern.fasteners[body.pattern.index(hole.hole)]
        if fastener.kind != "dowel":
            continue
        given = 0.5 * (hole.diameter - fastener.diameter)
        u95 = hole.from_measuring + hole.from_cutter
        cases.append(
            Case(
                hole.hole,
                hole.from_heat,
                given,
                u95,
                judge_at_most(hole.from_heat, given, u95),
                hole_place(body, hole.hole),
            )
        )
    if not cases:
        return []
    deciding = worst_case(cases)
    hole = next(hole for hole in holes if hole.hole == deciding.name)
    return [
        Finding(
            code="KIT-26",
            verdict=deciding.verdict,
            where=f"dowel holes {case_names(cases)}" if len(cases) > 1 else f"dowel hole {cases[0].name}",
            says="dowel holes leave {given} all round; measuring ({measuring}), cutting ({cutter}) and creep "
            f"({{heat}}) may take {{needed}} at {deciding.name}",
            figures=(
                length_figure("given", deciding.limit, 2),
                length_figure("measuring", hole.from_measuring, 2),
                length_figure("cutter", hole.from_cutter, 2),
                length_figure("heat", hole.from_heat, 2),
                length_figure("needed", hole.needed, 2),
            ),
            value=deciding.value,
            limit=deciding.limit,
            unit="m",
            kind="length",
            u95=deciding.u95,
            how_sure="the readings' own uncertainty and the cutter's plus and minus, added up",
            do=""
            if deciding.verdict is Verdict.HOLDS
            else "offer the flange to the block after welding; where a dowel is tight, open its hole "
            "to suit, one dowel after the other, no wider than it must be",
            source="common-practice",
            place=deciding.place,
        )
    ]


def washers_cover(body: PanBody, holes: tuple[FlangeHole, ...]) -> list[Finding]:
    """Whether an ordinary washer still covers each hole."""
    cases, unknown = [], []
    for hole in holes:
        fastener = body.pattern.fasteners[body.pattern.index(hole.hole)]
        if fastener.kind == "dowel":
            continue
        size = thread_size(fastener)
        washer = None if size is None else plain_washer(size)
        if washer is None:
            unknown.append(hole.hole)
            continue
        limit = largest_hole_under_washer(fastener.diameter, washer.inside, washer.outside)
        cases.append(
            Case(
                hole.hole,
                hole.diameter,
                limit,
                hole.from_cutter,
                judge_at_most(hole.diameter, limit, hole.from_cutter),
                hole_place(body, hole.hole),
            )
        )
    found = []
    if cases:
        deciding = worst_case(cases)
        bad = not_holding(cases)
        found.append(
            Finding(
                code="KIT-20",
                verdict=deciding.verdict,
                where=f"holes {case_names(bad)}" if bad else "flange holes",
                says=f"a plain washer covers the {{hole}} hole at {deciding.name} up to {{limit}}"
                if not bad
                else f"the {{hole}} hole at {deciding.name} is wider than a plain washer covers "
                "when everything has slid to one side ({limit})",
                figures=(length_figure("hole", deciding.value), length_figure("limit", deciding.limit)),
                value=deciding.value,
                limit=deciding.limit,
                unit="m",
                kind="length",
                u95=deciding.u95,
                how_sure="the cutter's plus and minus; ordinary plain washers taken, measure yours",
                do=""
                if not bad
                else "use a wider washer there, or measure closer: the hole grew for the readings' sake",
                source="iso-7089",
                place=deciding.place,
            )
        )
    if unknown:
        found.append(
            Finding(
                code="KIT-20",
                verdict=Verdict.CANNOT_SAY,
                where=f"holes {', '.join(unknown)}",
                says="whether a washer covers these holes: their thread is not in the tables",
                how_sure="no washer size known",
                do="give the thread as on the bolt, M8 or 5/16-18, under [[rail.fasteners]] thread",
                source="iso-7089",
            )
        )
    return found


def enough_outside(inputs: KitInputs, wanted: Metre) -> Metre:
    """Metal beyond the hole centres that keeps the edge rule with the cutter's plus and minus, to 0.5 mm."""
    return math.ceil((wanted + inputs.flange_cutter.tolerance) / 0.0005 - 1e-6) * 0.0005


def edge_distances(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> list[Finding]:
    """Metal between each hole's centre and the flange's outer edge."""
    assert body.flange_outside is not None
    cases = []
    for hole in holes:
        i = body.pattern.index(hole.hole)
        fastener = body.pattern.fasteners[i]
        if fastener.kind == "dowel":
            continue  # nothing is clamped there; the cutter's own rule covers it
        distance = distance_to_outline(body.flange_outside, np.asarray(body.pattern.xy[i]))
        limit = EDGE_RULE * fastener.diameter
        u95 = inputs.flange_cutter.tolerance
        cases.append(
            Case(
                hole.hole,
                distance,
                limit,
                u95,
                judge_at_least(distance, limit, u95),
                hole_place(body, hole.hole),
                is_ceiling=False,
            )
        )
    if not cases:
        return []
    deciding = worst_case(cases)
    bad = not_holding(cases)
    enough = enough_outside(inputs, max(case.limit for case in cases))
    return [
        Finding(
            code="KIT-21",
            verdict=deciding.verdict,
            where=f"holes {case_names(bad)}" if bad else "flange edge",
            says=f"from the middle of hole {deciding.name} to the flange's edge {{value}}, "
            "at least {limit} (one and a half bolt diameters) wanted",
            figures=(
                length_figure("value", deciding.value),
                length_figure("limit", deciding.limit),
                length_figure("enough", enough),
            ),
            value=deciding.value,
            limit=deciding.limit,
            unit="m",
            kind="length",
            u95=deciding.u95,
            how_sure="the cutter's plus and minus",
            do=""
            if not bad
            else "give the flange {enough} of metal beyond the hole centres: [pan] flange_outside",
            source="common-practice",
            place=deciding.place,
        )
    ]


def sealing_lands(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> list[Finding]:
    """Sealing width between each hole's edge and the oil."""
    assert body.cavity is not None
    openings = flange_opening(body.cavity, body.inputs.flange_thickness)
    limit = body.inputs.flange.land
    cases = []
    for hole in holes:
        place = np.asarray(body.pattern.xy[body.pattern.index(hole.hole)])
        width = min(distance_to_outline(opening, place) for opening in openings) - 0.5 * hole.diameter
        u95 = inputs.flange_cutter.tolerance
        cases.append(
            Case(
                hole.hole,
                width,
                limit,
                u95,
                judge_at_least(width, limit, u95),
                hole_place(body, hole.hole),
                is_ceiling=False,
            )
        )
    if not cases:
        return []
    deciding = worst_case(cases)
    bad = not_holding(cases)
    return [
        Finding(
            code="KIT-22",
            verdict=deciding.verdict,
            where=f"holes {case_names(bad)}" if bad else "sealing land",
            says=f"between the edge of hole {deciding.name} and the oil {{value}} of sealing land, "
            "at least {limit} wanted",
            figures=(
                length_figure("value", deciding.value),
                length_figure("limit", deciding.limit),
                length_figure("short", deciding.limit - deciding.value),
            ),
            value=deciding.value,
            limit=deciding.limit,
            unit="m",
            kind="length",
            u95=deciding.u95,
            how_sure="the cutter's plus and minus; the block's own edge is not checked here",
            do="" if not bad else "move the lump's edge {short} away from the hole there",
            source="job-file",
            place=deciding.place,
        )
    ]
