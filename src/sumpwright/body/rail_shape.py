r"""The ring of lands as the pan has to follow it: steps, and seats of arched ends.

Heights are those of the flange's own face: the datum land's seal lies between it and the
block, so a land with a thicker seal has its metal that much lower.

        block            seat of an arch that hangs          a land that lies lower
    ____________             ___         ___               ________|  block
    ============ flange     ====\  cap  /====              ========|________
                                 \_____/  saddle                  riser ======
"""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body.flange import opening_outline
from sumpwright.body.model import Cavity
from sumpwright.body.rail_shape_model import ArchSeat, LandTrouble, StepFace, StepLand, UnevenRail
from sumpwright.quantities.units import FloatArray, Metre, frozen_array
from sumpwright.rail import HolePattern, Land

LEAST_STEP: Metre = 0.0002
"""A land that lies off the datum plane by no more is flat."""

UPRIGHT = 1e-3
"""Sine of the lean at which a wall still counts as upright and square to the engine's axis."""


def uneven_rail(pattern: HolePattern, cavity: Cavity) -> UnevenRail | None:
    """Steps and arches of a rail; None where all of it is one plane."""
    rest = next((land for land in pattern.lands if land.from_hole is None), None)
    steps: list[StepLand] = []
    arches: list[ArchSeat] = []
    trouble: list[LandTrouble] = []
    for land in pattern.lands:
        if land.kind != "arch" and abs(land.height) <= LEAST_STEP:
            continue
        datum_seal = rest.seal.thickness if rest is not None else 0.0
        found = (
            _arch(land, datum_seal, pattern, cavity)
            if land.kind == "arch"
            else _step(land, datum_seal, pattern, cavity)
        )
        if isinstance(found, StepLand):
            steps.append(found)
        elif isinstance(found, ArchSeat):
            arches.append(found)
        else:
            trouble.append(found)
    if not steps and not arches and not trouble:
        return None
    crossed = _on_each_other(steps, arches)
    lost = {each.land for each in crossed}
    kept = tuple(arch for arch in arches if arch.name not in lost)
    return UnevenRail(tuple(steps), kept, (*trouble, *crossed))


def _step(land: Land, datum_seal: Metre, pattern: HolePattern, cavity: Cavity) -> StepLand | LandTrouble:
    if not math.isfinite(land.height):
        return LandTrouble(land.name, "has no usable height", "read its height above the datum plane")
    if land.from_hole is None or land.to_hole is None:
        return LandTrouble(
            land.name,
            "is the rest of the ring and does not lie in the datum plane",
            "name a datum hole on this land",
        )
    top = land.height + datum_seal - land.seal.thickness
    if top > 0.0:
        return LandTrouble(
            land.name,
            "stands above the datum plane",
            "name a datum hole on the highest land, so that every other lies below it",
        )
    names = list(pattern.names)
    first, last = names.index(land.from_hole), names.index(land.to_hole)
    turned = [*names[first + 1 :], *names[:first]]
    on_it = turned[: turned.index(land.to_hole)]
    if not on_it:
        return LandTrouble(land.name, "has no hole of its own", "name the holes on either side of it")
    mine = np.array([pattern.xy[names.index(name)] for name in on_it])
    others = np.array([pattern.xy[k] for k, name in enumerate(names) if name not in on_it])
    between = (0.5 * (pattern.xy[first] + mine[0]), 0.5 * (pattern.xy[last] + mine[-1]))
    lines = (land.from_line, land.to_line)
    for faces in _face_choices(lines, between, (pattern.xy[first], pattern.xy[last]), mine):
        side = None if len(faces) == 1 else _own_side(cavity, mine)
        step = StepLand(land.name, top, land.seal.thickness, faces, between, side)
        ends_out = all(
            float((pattern.xy[hole] - face.point) @ face.into) < 0.0
            for hole, face in ((first, faces[0]), (last, faces[-1]))
        )
        if ends_out and _holds_all(step, mine) and not _holds_any(step, others):
            return step
    return LandTrouble(
        land.name,
        "is not parted from the rest of the rail by the upright faces of its steps",
        "read where the block's upright faces stand, and give them as from_line and to_line",
    )


Line = tuple[tuple[float, float], tuple[float, float]]


def _face_choices(
    lines: tuple[Line | None, Line | None],
    between: tuple[FloatArray, FloatArray],
    ends: tuple[FloatArray, FloatArray],
    mine: FloatArray,
) -> list[tuple[StepFace, ...]]:
    """Faces to try: as given; else one straight across from midway to midway, else two square to the ring."""
    middle = mine.mean(axis=0)
    across = [np.array([-d[1], d[0]]) for d in (mine[0] - ends[0], mine[-1] - ends[1])]
    usual = [((0.0 + m - a), (m + a)) for m, a in zip(between, across, strict=True)]
    two = tuple(
        _face(np.asarray(line if line is not None else fallback), middle, line is not None)
        for line, fallback in zip(lines, usual, strict=True)
    )
    given = [line for line in lines if line is not None]
    if len(given) == 2:
        return [two]
    if len(given) == 1:
        return [(_face(np.asarray(given[0]), middle, True),), two]
    return [(_face(np.array(between), middle, False),), two]


def _face(line: FloatArray, middle: FloatArray, is_given: bool) -> StepFace:
    along = line[1] - line[0]
    along = along / float(np.hypot(*along))
    into = np.array([-along[1], along[0]])
    if float((middle - line[0]) @ into) < 0.0:
        into = -into
    return StepFace(frozen_array(line[0]), frozen_array(into), is_given)


def _own_side(cavity: Cavity, mine: FloatArray) -> StepFace:
    """The line through the opening's middle, square to the way to the land."""
    ring = opening_outline(cavity)
    centre = 0.5 * (ring.min(axis=0) + ring.max(axis=0))
    away = mine.mean(axis=0) - centre
    # The ring's sides run along the axes: the land lies on one of them.
    reach = np.ptp(ring, axis=0)
    k = int(np.argmax(np.abs(away) / reach))
    into = np.zeros(2)
    into[k] = math.copysign(1.0, away[k])
    return StepFace(frozen_array(centre), frozen_array(into), True)


def _holds_all(step: StepLand, places: FloatArray) -> bool:
    return all(float(((places - point) @ into).min()) > 0.0 for point, into, _ in step.bounds(0.0))


def _holds_any(step: StepLand, places: FloatArray) -> bool:
    inside = np.ones(len(places), dtype=bool)
    for point, into, _ in step.bounds(0.0):
        inside &= (places - point) @ into > -1e-9
    return bool(inside.any())


def _arch(land: Land, datum_seal: Metre, pattern: HolePattern, cavity: Cavity) -> ArchSeat | LandTrouble:
    if land.from_hole is None or land.to_hole is None:
        return LandTrouble(land.name, "has no holes at its ends", "give from_hole and to_hole")
    if land.radius is None or land.width is None:
        return LandTrouble(land.name, "has no radius or width", "read both, and give them")
    if land.height == 0.0 or not math.isfinite(land.height):
        return LandTrouble(
            land.name,
            "has a crown of unknown height",
            "measure how far its crown lies below (or above) the plane of the datum hole, "
            "and give it as 'below' (or 'above')",
        )
    hangs = land.height < 0.0
    radius = land.radius + (land.seal.thickness if hangs else -land.seal.thickness)
    crown = land.height + datum_seal - land.seal.thickness
    centre_z = crown + radius if hangs else crown - radius
    if radius <= 0.0 or (crown >= 0.0) is hangs:
        return LandTrouble(land.name, "is lost in its own seal", "check its height, radius and seal")
    if (centre_z < 0.0) is hangs and centre_z != 0.0:
        return LandTrouble(
            land.name,
            "is more than half a round",
            "check its height and radius; no pan slides over it",
        )
    ends = np.array([pattern.xy[pattern.index(name)] for name in (land.from_hole, land.to_hole)])
    x, y = land.middle if land.middle is not None else ends.mean(axis=0).tolist()
    ring = opening_outline(cavity)
    forward = 1.0 if x > float(ring[:, 0].mean()) else -1.0
    inner, outer = x - 0.5 * forward * land.width, x + 0.5 * forward * land.width
    found = _wall_under(cavity, float(y), forward)
    if found is None:
        return LandTrouble(
            land.name,
            "does not lie over a wall",
            "let one straight wall of a lump run across under the arch, or give the arch's middle",
        )
    wall, wall_x, low, high = found
    normal = np.asarray(cavity.faces[wall].plane.normal)
    if abs(abs(float(normal[0])) - 1.0) > UPRIGHT**2 or normal[0] * forward < 0.0:
        return LandTrouble(
            land.name,
            "lies over a wall that is not upright and square to the engine's axis",
            "let the wall under the arch stand upright and straight across",
        )
    if (inner - wall_x) * forward < -1e-9:
        return LandTrouble(
            land.name,
            "has a seal that reaches over the oil",
            "draw the wall under it in, or check the seat's middle and width",
        )
    reach = math.sqrt(max(radius**2 - centre_z**2, 0.0))
    if low > y - reach or high < y + reach:
        return LandTrouble(
            land.name, "is wider than the wall under it", "make the wall under it wider, or check the arch"
        )
    return ArchSeat(
        land.name,
        hangs,
        radius,
        (float(y), centre_z),
        forward,
        wall,
        wall_x,
        inner,
        outer,
        land.middle is not None,
    )


def _wall_under(cavity: Cavity, y: Metre, forward: float) -> tuple[int, Metre, Metre, Metre] | None:
    """The wall whose top crosses a line along the engine farthest out: face, x there, least and most y."""
    best: tuple[int, Metre, Metre, Metre] | None = None
    for edge in cavity.edges:
        faces = (cavity.faces[edge.face_a], cavity.faces[edge.face_b])
        if sum(face.role == "rail" for face in faces) != 1:
            continue
        wall = faces[0] if faces[1].role == "rail" else faces[1]
        a, b = cavity.vertices[edge.start], cavity.vertices[edge.end]
        low, high = sorted((float(a[1]), float(b[1])))
        if not low < y < high:
            continue
        x = float(a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]))
        if best is None or (x - best[1]) * forward > 0.0:
            best = (wall.index, x, low, high)
    return best


def _on_each_other(steps: list[StepLand], arches: list[ArchSeat]) -> list[LandTrouble]:
    """Arches that lie on a step: two shapes at one place."""
    found = []
    for arch in arches:
        middle = np.array([[0.5 * (arch.inner_x + arch.outer_x), arch.centre[0]]])
        for step in steps:
            if _holds_any(step, middle):
                found.append(
                    LandTrouble(
                        arch.name,
                        f"lies on the step '{step.name}'",
                        "name a datum hole on the land beside the arch",
                    )
                )
    return found
