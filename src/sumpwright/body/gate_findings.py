"""What the feature gate says: every breach, or that none was found."""

from __future__ import annotations

from dataclasses import replace

from sumpwright.body.finding_words import length_figure, place_of, plain
from sumpwright.body.gate import (
    EDGE_THICKNESSES,
    FACE_THICKNESSES,
    LEAST_FACE_CORNER,
    LEAST_OUTSIDE_ANGLE,
)
from sumpwright.body.model import Cavity, GateBreach, PanBody
from sumpwright.findings import Figure, Finding, Verdict, judge_at_least, judge_at_most
from sumpwright.quantities.units import Metre


def gate_findings(body: PanBody, cavity: Cavity) -> list[Finding]:
    """Findings of the gate, breach by breach; a rule without a breach says that it holds."""
    found = [_breach_finding(breach) for breach in body.gate]
    broken = {breach.rule for breach in body.gate}
    sheet = body.inputs.sheet
    if "edge" not in broken:
        found.append(_shortest_edge(cavity, EDGE_THICKNESSES * sheet))
    if "face" not in broken:
        found.append(
            replace(
                _kept(Figure("limit", FACE_THICKNESSES * sheet, "m", "length")),
                code="BODY-04",
                says="No face has a strip narrower than {limit}.",
            )
        )
    if "angle" not in broken:
        found.append(
            replace(
                _kept(Figure("limit", LEAST_OUTSIDE_ANGLE, "rad", "angle")),
                code="BODY-05",
                says="No inward corner has less than {limit} on the metal's side.",
            )
        )
    if "corner" not in broken:
        found.append(
            replace(
                _kept(Figure("limit", LEAST_FACE_CORNER, "rad", "angle")),
                code="BODY-06",
                says="No face has a corner sharper than {limit}.",
            )
        )
    return found


def _kept(limit: Figure) -> Finding:
    return Finding(
        code="",
        verdict=Verdict.HOLDS,
        where="whole shape",
        says="",
        figures=(limit,),
        how_sure="Exact for the lumps as given.",
        source="common practice, no source",
    )


def _breach_finding(breach: GateBreach) -> Finding:
    where = plain(breach.where)
    if breach.rule == "edge":
        says = f"The {where} is {{value}} long, and this sheet needs {{limit}}."
        return replace(_measured(breach, "length"), code="BODY-03", says=says)
    if breach.rule == "face":
        says = f"The {where} is only {{value}} wide, and this sheet needs {{limit}}."
        return replace(_measured(breach, "length"), code="BODY-04", says=says)
    if breach.rule == "angle":
        says = f"The {where} leaves {{value}} on the metal's side, and the two sheets need {{limit}}."
        return replace(_measured(breach, "angle"), code="BODY-05", says=says)
    if breach.rule == "corner":
        says = f"The {where} has {{value}}, and one that can be cut and closed needs {{limit}}."
        return replace(_measured(breach, "angle"), code="BODY-06", says=says)
    return _opening_breach(breach)


def _measured(breach: GateBreach, kind: str) -> Finding:
    return Finding(
        code="",
        verdict=judge_at_least(breach.value, breach.limit, 0.0),
        where=plain(breach.where),
        says="",
        figures=(
            Figure("value", breach.value, breach.unit, kind),
            Figure("limit", breach.limit, breach.unit, kind),
        ),
        value=breach.value,
        limit=breach.limit,
        unit=breach.unit,
        kind=kind,
        u95=0.0,
        how_sure="Exact for the lumps as given.",
        do=breach.cure,
        source="common practice, no source",
        place=breach.place,
    )


def _opening_breach(breach: GateBreach) -> Finding:
    return Finding(
        "BODY-07",
        judge_at_most(breach.value, breach.limit, 0.0),
        plain(breach.where),
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
    names = " and ".join(plain(cavity.faces[f].name) for f in (shortest.face_a, shortest.face_b))
    return Finding(
        "BODY-03",
        judge_at_least(shortest.length, limit, 0.0),
        f"edge between {names}",
        "The shortest edge is {value} long, and sheet of this thickness needs {limit}.",
        (length_figure("value", shortest.length), length_figure("limit", limit)),
        shortest.length,
        limit,
        "m",
        "length",
        0.0,
        "Exact for the lumps as given.",
        source="common practice, no source",
        place=place_of(0.5 * (cavity.vertices[shortest.start] + cavity.vertices[shortest.end])),
    )
