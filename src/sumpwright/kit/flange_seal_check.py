"""What there is to say of the flange between its bolts: spacing, bow, thickness, sealant."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from sumpwright.body import PanBody
from sumpwright.findings import Figure, Finding, Verdict, judge_at_least, judge_at_most
from sumpwright.geometry import Outline
from sumpwright.kit.flange import flange_opening
from sumpwright.kit.flange_formulas import (
    bow_between_bolts,
    bow_on_wall,
    film_shear,
    greatest_bolt_pitch,
    thickness_for_pitch,
)
from sumpwright.kit.flange_hole_check import hole_place
from sumpwright.kit.flange_holes import measuring_reach
from sumpwright.kit.metal import chords
from sumpwright.kit.model import FlangeHole, KitInputs
from sumpwright.kit.rule_cases import Case, case_names, length_figure, not_holding, worst_case
from sumpwright.quantities.units import FloatArray, Metre, NewtonPerMetre
from sumpwright.rail import Land, Seal
from sumpwright.tables.materials import find_material, usual_flange_thickness

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

FIRM_GASKET = 1.0
SOFT_GASKET = 0.5
"""Gasket factors between which a pan gasket lies: firm rubber or cork, soft rubber."""

SEAL_LOAD: NewtonPerMetre = 5000.0
"""What a pan seal pushes back along its length while it is squeezed."""

BOW_LIMITS = {"gasket": 50e-6, "end seal": 50e-6, "liquid sealant": 25e-6}
"""Greatest lift between two bolts [m] by kind of seal."""

SHEAR_ADVICE = 0.5
"""Shear of a sealant film above which it is said; most aluminium pans on iron blocks exceed it and seal."""


def _neighbours(body: PanBody) -> list[tuple[int, int, Seal]]:
    """Bolts or studs that follow each other round the ring, with the seal between them.

    Pairs with an arch or a step between them are left out: an end seal, not the flange's
    stiffness, presses there.
    """
    pattern = body.pattern
    clamping = [i for i, fastener in enumerate(pattern.fasteners) if fastener.kind != "dowel"]
    lands: dict[str, Land] = {land.name: land for land in pattern.lands}
    bridged = {
        frozenset((land.from_hole, land.to_hole))
        for land in pattern.lands
        if land.kind != "flat" and land.from_hole and land.to_hole
    }
    pairs = []
    for a, b in zip(clamping, clamping[1:] + clamping[:1], strict=True):
        if a == b or frozenset((pattern.names[a], pattern.names[b])) in bridged:
            continue
        land = lands.get(pattern.land_of_hole[a])
        if land is None or land.kind != "flat":
            continue
        pairs.append((a, b, land.seal))
    # Two bolts alone would be named twice.
    return pairs[:1] if len(clamping) == 2 else pairs


def _span(body: PanBody, a: int, b: int) -> tuple[Metre, tuple[float, float, float], str]:
    xy = np.asarray(body.pattern.xy)
    middle = 0.5 * (xy[a] + xy[b])
    names = body.pattern.names
    return (
        float(np.hypot(*(xy[a] - xy[b]))),
        (float(middle[0]), float(middle[1]), -body.inputs.flange_thickness),
        f"{names[a]} to {names[b]}",
    )


def _pitch_u95(body: PanBody) -> Metre:
    return float(max(measuring_reach(body.pattern), default=0.0))


def bolt_pitch(body: PanBody) -> list[Finding]:
    """Bolt spacing against what a gasket stands. The block gives the spacing; the flange has to suit."""
    thickness = body.inputs.flange_thickness
    cases, soft_limits = [], {}
    for a, b, seal in _neighbours(body):
        if seal.kind != "gasket":
            continue
        pitch, place, name = _span(body, a, b)
        bolt = min(body.pattern.fasteners[a].diameter, body.pattern.fasteners[b].diameter)
        firm = greatest_bolt_pitch(bolt, thickness, FIRM_GASKET)
        soft = greatest_bolt_pitch(bolt, thickness, SOFT_GASKET)
        u95 = _pitch_u95(body)
        verdict = judge_at_most(pitch, firm, u95)
        if verdict is Verdict.FAILS:
            verdict = Verdict.CLOSE  # a recalled rule, and the block gives the spacing
        soft_limits[name] = (soft, thickness_for_pitch(bolt, pitch, SOFT_GASKET))
        cases.append(Case(name, pitch, firm, u95, verdict, place))
    if not cases:
        return []
    deciding = worst_case(cases)
    bad = not_holding(cases)
    soft, wanted = soft_limits[deciding.name]
    return [
        Finding(
            code="KIT-23",
            verdict=deciding.verdict,
            where=f"bolts {case_names(bad)}" if bad else "bolt spacing",
            says=f"from {deciding.name} {{value}} between bolts; a flange of {{thickness}} presses "
            "a firm gasket up to {limit}, a soft one up to {soft}",
            figures=(
                length_figure("value", deciding.value, 0),
                length_figure("limit", deciding.limit, 0),
                length_figure("soft", soft, 0),
                length_figure("thickness", thickness),
                length_figure("wanted", wanted),
            ),
            value=deciding.value,
            limit=deciding.limit,
            unit="m",
            kind="length",
            u95=deciding.u95,
            how_sure="a rule of thumb for gasketed flanges, recalled; the gasket's softness is not given",
            do=""
            if not bad
            else "the block gives the spacing: use a soft gasket and a flange of {wanted} there, "
            "or a liquid sealant",
            source="from-memory",
            place=deciding.place,
        )
    ]


def _ring(outside: Outline, openings: tuple[FloatArray, ...]) -> BaseGeometry:
    """The flange's metal seen from above, holes left out."""
    from shapely import Polygon, union_all

    voids = union_all([Polygon(opening) for opening in openings])
    return Polygon(chords(outside)).difference(voids)


def _ring_width(ring: BaseGeometry, middle: FloatArray) -> Metre:
    """Width of flange metal across a place between two bolts."""
    import shapely

    # The shortest cut through the ring near here: turn a line round and take the least.
    angles = [math.pi * k / 36 for k in range(36)]
    steps = np.array([(0.5 * math.cos(angle), 0.5 * math.sin(angle)) for angle in angles])
    lines = shapely.linestrings(np.stack([middle - steps, middle + steps], axis=1))
    pieces, line = shapely.get_parts(shapely.intersection(ring, lines), return_index=True)
    lengths = shapely.length(pieces)
    long = np.flatnonzero(lengths > 0.0)
    if not len(long):
        return math.inf
    away = shapely.distance(pieces[long], shapely.Point(*middle))
    # Of each line the piece nearest to here; of two alike the first.
    order = long[np.lexsort((away, line[long]))]
    _, nearest = np.unique(line[order], return_index=True)
    return float(lengths[order][nearest].min())


def bow_findings(inputs: KitInputs, body: PanBody) -> list[Finding]:
    """How far the flange lifts between bolts while the seal is squeezed."""
    if body.flange_outside is None or body.cavity is None:
        return []
    metal = find_material(inputs.flange_material)
    pairs = _neighbours(body)
    if not pairs:
        return []
    if metal is None:
        return [
            Finding(
                code="KIT-24",
                verdict=Verdict.CANNOT_SAY,
                where="flange",
                says="how far the flange lifts between bolts: "
                f"the stiffness of '{inputs.flange_material}' is not known",
                how_sure="no value in the tables",
                do="give a metal of the tables under [pan] flange_material",
                source="derived",
            )
        ]
    thickness = body.inputs.flange_thickness
    openings = tuple(np.asarray(o.points) for o in flange_opening(body.cavity, thickness))
    ring = _ring(body.flange_outside, openings)
    cases, thicker, spans, on_wall = [], {}, {}, {}
    for a, b, seal in pairs:
        span, place, name = _span(body, a, b)
        spans[name] = span
        width = _ring_width(ring, np.array(place[:2]))
        if not math.isfinite(width):
            continue
        bow = bow_between_bolts(SEAL_LOAD, span, metal.modulus.value, width, thickness)
        depth = _wall_depth(body, np.array(place[:2]))
        helped = bow_on_wall(
            SEAL_LOAD, span, metal.modulus.value, width, thickness, body.inputs.sheet, min(depth, 0.5 * span)
        )
        limit = BOW_LIMITS[seal.kind]
        thicker[name] = thickness * (bow / limit) ** (1.0 / 3.0)
        on_wall[name] = helped
        verdict = judge_at_most(bow, limit, None)
        if verdict is Verdict.FAILS and judge_at_most(helped, limit, None) is Verdict.HOLDS:
            verdict = Verdict.CLOSE  # between the strip alone and the strip on its wall
        cases.append(Case(name, bow, limit, None, verdict, place))
    if not cases:
        return []
    deciding = worst_case(cases)
    bad = not_holding(cases)
    return [
        Finding(
            code="KIT-24",
            verdict=deciding.verdict,
            where=f"bolts {case_names(bad)}" if bad else "flange between bolts",
            says=f"from {deciding.name} the flange lifts {{value}} between the bolts if the wall below "
            "does not help and {helped} if it helps fully, {limit} allowed",
            figures=(
                length_figure("value", deciding.value, 3),
                length_figure("limit", deciding.limit, 3),
                length_figure("helped", on_wall[deciding.name], 3),
                length_figure("wanted", thicker[deciding.name], 1),
                Figure("push", SEAL_LOAD * spans[deciding.name], "N", "force", 0),
            ),
            value=deciding.value,
            limit=deciding.limit,
            unit="m",
            kind="length",
            u95=None,
            how_sure="not known: the seal is taken to push with {push} between these bolts",
            do=""
            if not bad
            else "a flange {wanted} thick holds it without the wall; weld the wall all along here, "
            "and lay a full bead",
            source="derived",
            place=deciding.place,
        )
    ]


def _wall_depth(body: PanBody, middle: FloatArray) -> Metre:
    """How far the wall nearest to a place reaches down below the flange."""
    assert body.cavity is not None
    cavity = body.cavity
    rail = {face.index for face in cavity.faces if face.role == "rail"}
    best = (math.inf, 0.0)
    for edge in cavity.edges:
        if (edge.face_a in rail) == (edge.face_b in rail):
            continue
        wall = cavity.faces[edge.face_b if edge.face_a in rail else edge.face_a]
        a, b = (np.asarray(cavity.vertices[k])[:2] for k in (edge.start, edge.end))
        share = min(1.0, max(0.0, float((middle - a) @ (b - a)) / float((b - a) @ (b - a))))
        away = float(np.hypot(*(middle - a - share * (b - a))))
        lowest = float(np.asarray(cavity.vertices)[np.asarray(wall.loops[0]), 2].min())
        if away < best[0]:
            best = (away, max(0.0, -lowest - body.inputs.flange_thickness))
    return best[1]


def usual_thickness(inputs: KitInputs, body: PanBody) -> list[Finding]:
    """Whether the flange is as thick as flanges of its metal usually are."""
    metal = find_material(inputs.flange_material)
    usual = None if metal is None else usual_flange_thickness(metal.family)
    if usual is None:
        return []
    thickness = body.inputs.flange_thickness
    # Sheet is sold to thickness; a hair below the rule is the rule.
    verdict = judge_at_least(thickness, usual.least - 1e-6, None)
    return [
        Finding(
            code="KIT-25",
            verdict=verdict,
            where="flange",
            says="the flange is {value} thick; in this metal {limit} to {most} is usual",
            figures=(
                length_figure("value", thickness),
                length_figure("limit", usual.least),
                length_figure("most", usual.most),
            ),
            value=thickness,
            limit=usual.least,
            unit="m",
            kind="length",
            u95=None,
            how_sure="the thickness as ordered; measure the plate when it arrives",
            do=""
            if verdict is Verdict.HOLDS
            else "order at least {limit}: a thin flange bows between the bolts",
            source=usual.source,
        )
    ]


def film_findings(body: PanBody, holes: tuple[FlangeHole, ...]) -> list[Finding]:
    """How much a film of liquid sealant is sheared by the creep. Advice, never a fail."""
    lands = {land.name: land for land in body.pattern.lands}
    cases = []
    for hole in holes:
        land = lands.get(body.pattern.land_of_hole[body.pattern.index(hole.hole)])
        if land is None or land.seal.kind != "liquid sealant" or land.seal.thickness <= 0.0:
            continue
        shear = film_shear(hole.from_heat, land.seal.thickness)
        verdict = judge_at_most(shear, SHEAR_ADVICE, None)
        if verdict is Verdict.FAILS:
            verdict = Verdict.CLOSE  # advice: most pans go over it and seal
        cases.append(Case(hole.hole, shear, SHEAR_ADVICE, None, verdict, hole_place(body, hole.hole)))
    if not cases:
        return []
    deciding = max(cases, key=lambda case: case.value)
    hole = next(hole for hole in holes if hole.hole == deciding.name)
    return [
        Finding(
            code="KIT-28",
            verdict=deciding.verdict,
            where=f"sealant at {deciding.name}",
            says=f"the hot flange creeps {{creep}} at {deciding.name}, {{value}} times the sealant's "
            "thickness; up to {limit} is easy on it",
            figures=(
                length_figure("creep", hole.from_heat, 2),
                Figure("value", deciding.value, "1", "ratio", 1),
                Figure("limit", SHEAR_ADVICE, "1", "ratio", 1),
                length_figure("film", hole.from_heat / SHEAR_ADVICE, 1),
            ),
            value=deciding.value,
            limit=SHEAR_ADVICE,
            unit="1",
            kind="ratio",
            u95=None,
            how_sure="advice, not a limit: many aluminium pans on iron blocks go over it and seal",
            do=""
            if deciding.verdict is Verdict.HOLDS
            else "a groove or chamfer that leaves a bead of {film} lets it give; tighten cold, in two rounds",
            source="common-practice",
            place=deciding.place,
        )
    ]
