"""What is said of bosses, tubes in the pan, the stone guard and the jack, as far as shape alone can tell."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from sumpwright.body.clearance import gathered
from sumpwright.body.finding_words import length_figure, place_of, plain
from sumpwright.body.fittings import Fitting, OnFace, StoneGuard, on_face
from sumpwright.body.formulas import fall_of_line
from sumpwright.body.guard import GuardShape, guard_shape
from sumpwright.body.model import Cavity, PanBody
from sumpwright.body.outside import PanPart, inside_parts
from sumpwright.findings import Figure, Finding, Verdict, judge_at_least
from sumpwright.geometry.triangle_distance import group_triangles, least_gap, winding_number
from sumpwright.quantities.units import FloatArray, Metre, Radian

LEAST_FALL: Radian = math.radians(20.0)
"""Of a return's or breather's hose, engine as it stands: foaming oil runs by its weight alone."""
STEP: Metre = 0.005
"""So finely a tube is followed through the oil space."""
GUARD_FREE: Metre = 0.005
"""Left between the guard and what stands out below the floor: a stone bends it."""


def fitting_findings(body: PanBody, cavity: Cavity) -> list[Finding]:
    """Everything of them that needs no oil."""
    found: list[Finding] = []
    runs_inside = any(fitting.inside is not None for fitting in body.inputs.fittings)
    others = [part for part in inside_parts(body, cavity) if _counts(part)] if runs_inside else []
    for fitting in body.inputs.fittings:
        on = on_face(cavity, fitting.at)
        if on is None:
            continue  # the kit says that it lies on no face
        if fitting.kind in ("return", "breather"):
            found.append(_fall(body, fitting, on))
        if fitting.inside is not None:
            found.append(_runs_free(cavity, fitting, on, others))
    shape = guard_shape(body, cavity)
    if body.inputs.guard is not None:
        found.append(_guard(body, cavity, body.inputs.guard, shape))
    return found


def _counts(part: PanPart) -> bool:
    return len(part.triangles) > 0


def _fall(body: PanBody, fitting: Fitting, on: OnFace) -> Finding:
    name = plain(fitting.name)
    if fitting.comes_from is None:
        return Finding(
            code="BODY-50",
            verdict=Verdict.CANNOT_SAY,
            where=name,
            says=f"Whether the hose of the {name} falls all the way is not known.",
            how_sure="Nothing to judge.",
            do="give the upper end of its hose: comes_from of this fitting",
            source="job-file",
            place=place_of(on.place),
        )
    fall = fall_of_line(np.asarray(fitting.comes_from), np.asarray(on.place), np.asarray(body.inputs.up))
    verdict = judge_at_least(fall, LEAST_FALL, None)
    return Finding(
        code="BODY-50",
        verdict=verdict,
        where=name,
        says=f"From its upper end to the pan the {name} falls by {{fall}} against the level; {{limit}} is "
        "the least"
        if fall >= 0.0
        else f"From its upper end to the pan the {name} climbs by {{climb}}: oil does not run up; a fall "
        "of {limit} is the least",
        figures=(
            Figure("fall", fall, "rad", "angle", 0),
            Figure("climb", -fall, "rad", "angle", 0),
            Figure("limit", LEAST_FALL, "rad", "angle", 0),
        ),
        value=fall,
        limit=LEAST_FALL,
        unit="rad",
        kind="angle",
        how_sure="Straight from end to end, the vehicle level; a hose that sags in between holds oil.",
        do=""
        if verdict is Verdict.HOLDS
        else "Let it into the pan lower or nearer to where it comes from, still above the running oil",
        source="common-practice",
        place=place_of(on.place),
    )


def _runs_free(cavity: Cavity, fitting: Fitting, on: OnFace, others: list[PanPart]) -> Finding:
    """Whether a tube or probe stays in the oil space and touches nothing on its way."""
    assert fitting.inside is not None
    name = plain(fitting.name)
    line = np.vstack([on.place, np.asarray(fitting.inside)])
    points = np.vstack([_stations(a, b) for a, b in pairwise(line)])
    # The boss's own end lies on the face; above the rail is the engine's room.
    points = points[(points[:, 2] < 0.0) & (np.linalg.norm(points - on.place, axis=1) > STEP)]
    turns = winding_number(points, np.asarray(cavity.vertices)[cavity.triangles]) if len(points) else points
    outside = points[np.asarray(turns) < 0.5] if len(points) else points
    if len(outside):
        return Finding(
            code="BODY-51",
            verdict=Verdict.FAILS,
            where=name,
            says=f"What of the {name} is inside leaves the oil space on its way from the boss.",
            how_sure="Follows from its line and the oil-side faces.",
            do="correct inside of this fitting; its points run from the boss to the inner end",
            source="plane-geometry",
            place=place_of(outside[0]),
        )
    radius = 0.5 * (fitting.boss_diameter if fitting.inside_diameter is None else fitting.inside_diameter)
    met = [part for part in others if part.name not in (fitting.name, on.face.name)]
    gap, nearest, where = _gap(line, radius, met)
    verdict = Verdict.HOLDS if gap > 0.0 else Verdict.FAILS
    return Finding(
        code="BODY-51",
        verdict=verdict,
        where=name,
        says=f"What of the {name} is inside passes {plain(nearest)} with {{gap}} to spare."
        if gap > 0.0
        else f"What of the {name} is inside runs into {plain(nearest)}.",
        figures=(length_figure("gap", gap),),
        value=gap,
        limit=0.0,
        unit="m",
        kind="length",
        how_sure="Exact for its line with sharp corners and the shapes as given.",
        do="" if gap > 0.0 else f"move its line away from {plain(nearest)}, or end it earlier",
        source="plane-geometry",
        place=place_of(where),
    )


def _stations(start: FloatArray, end: FloatArray) -> FloatArray:
    count = max(2, math.ceil(float(np.linalg.norm(end - start)) / STEP) + 1)
    share = np.linspace(0.0, 1.0, count)[:, None]
    return np.asarray(start + share * (end - start))


def _gap(line: FloatArray, radius: Metre, others: list[PanPart]) -> tuple[Metre, str, FloatArray]:
    """Least room round a line (n, 3) with its radius, what is nearest, and where on the line.

    An open end is cut off square or slanted, so the last radius of the line has no skin.
    """
    last = line[-1] - line[-2]
    long = float(np.linalg.norm(last))
    drawn = np.vstack([line[:-1], line[-1] - min(radius, 0.999 * long) * last / long])
    legs = np.stack([drawn[:-1], drawn[1:], drawn[1:]], axis=1)
    tube = group_triangles(legs, np.full(len(legs), radius))
    if not others:
        return radius, "everything", line[-1]
    parts = gathered(tuple(others))
    found = least_gap(tube, parts.surface)
    assert found is not None
    return found.gap, parts.names[int(parts.part[found.second])], np.asarray(found.on_first)


def _guard(body: PanBody, cavity: Cavity, guard: StoneGuard, shape: GuardShape | None) -> Finding:
    if shape is None:
        return Finding(
            code="BODY-52",
            verdict=Verdict.FAILS,
            where="stone guard",
            says="The stone guard has no floor to hang under.",
            how_sure="Follows from the oil-side faces.",
            do="give the pan a floor, or leave the guard out",
            source="plane-geometry",
        )
    stands, name = _stands_out(body, cavity, shape)
    free = guard.stand_off - stands
    verdict = judge_at_least(free, GUARD_FREE, None)
    floor = plain(shape.floor.name)
    figures = (
        length_figure("off", guard.stand_off),
        length_figure("free", free),
        length_figure("into", -free),
        length_figure("limit", GUARD_FREE),
        Figure("share", shape.shares_covered, "1", "percent", 0),
    )
    bare = "" if shape.shares_covered > 0.995 else "; it covers {share} of the floors, the rest stays bare"
    return Finding(
        code="BODY-52",
        verdict=verdict,
        where=f"stone guard, {floor}",
        says=f"The stone guard hangs {{off}} under the {floor} and clears the {name} by {{free}}; {{limit}} "
        f"are the least{bare}"
        if free >= 0.0
        else f"The stone guard hangs {{off}} under the {floor}, and the {name} reaches {{into}} beyond "
        f"it{bare}",
        figures=figures,
        value=free,
        limit=GUARD_FREE,
        unit="m",
        kind="length",
        how_sure="Exact for the shapes as given; how far a stone bends the guard is not worked out.",
        do="" if verdict is Verdict.HOLDS else f"longer posts, or an opening for the {name}",
        source="common-practice",
        place=place_of(np.asarray(shape.frame.origin)),
    )


def _stands_out(body: PanBody, cavity: Cavity, shape: GuardShape) -> tuple[Metre, str]:
    """What reaches farthest below the guarded floor's sheet, where the guard has no opening for it."""
    inputs = body.inputs
    found: list[tuple[Metre, str]] = [(inputs.surroundings.weld_stands, "weld of its edges")]
    openings = [
        (np.array([x, y]), 0.5 * diameter)
        for x, y, diameter, words in shape.holes
        if words == "drain opening"
    ]

    def is_free(place: FloatArray, radius: Metre) -> bool:
        at = np.asarray(shape.frame.to_flat(np.asarray(place)[None]))[0]
        return any(float(np.hypot(*(at - middle))) + radius <= opening for middle, opening in openings)

    for fitting in inputs.fittings:
        on = on_face(cavity, fitting.at)
        if on is None or on.face.index != shape.floor.index:
            continue
        if fitting.ring:
            found.append((inputs.sheet, f"ring of the {plain(fitting.name)}"))
        if fitting.stands_out > 0.0 and not is_free(on.place, 0.5 * fitting.boss_diameter):
            found.append((fitting.stands_out, plain(fitting.name)))
    plug = inputs.surroundings.plug
    if plug is not None and inputs.drain is not None and not is_free(inputs.drain, 0.5 * plug.diameter):
        found.append((plug.stands_out, "drain plug"))
    return max(found)
