"""The kit built up again from its outlines alone, and measured.

It knows nothing of how the outlines were found: every flat is set up at its place and
given its thickness; then pairs are tested for overlap, each part against the oil space,
and the whole for a ball that gets out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from manifold3d import Manifold, OpType
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.body import Cavity, PanBody
from sumpwright.geometry import FlatFrame
from sumpwright.kit.bends import Bend, taken_by_bends
from sumpwright.kit.leaks import Probe, ball_passes, box_round, probes_on
from sumpwright.kit.metal import chords
from sumpwright.kit.model import FlatPart, Gap, RebuildReport
from sumpwright.kit.panels import face_frame, face_polygon
from sumpwright.kit.rays import look_out
from sumpwright.kit.rebuild_check import GAP_LIMIT
from sumpwright.kit.seam_gaps import sections_along
from sumpwright.kit.solids import Sheet, common_volume, polygons_of, surface_solid
from sumpwright.kit.spots import Spot, corner_spots, edge_spots
from sumpwright.kit.unfolding import folded
from sumpwright.quantities.units import Metre, frozen_array

SHARE_LIMIT = 1e-6
"""Overlap and intrusion allowed, as a share of the metal's volume."""

RAYS = 100_000

CRUMB: Metre = 1e-5
"""Strips thinner than this are what rounding leaves of an edge, not metal."""


def sheet_of(part: FlatPart) -> Sheet:
    """The part's metal at its place; round holes are left out, they are closed by bolts and plugs."""
    shape: BaseGeometry = Polygon(chords(part.outline))
    if part.cut_outs:
        shape = shape.difference(shapely.union_all([Polygon(chords(cut)) for cut in part.cut_outs]))
    normal = part.frame.normal
    frame = FlatFrame(
        frozen_array(part.frame.origin - part.thickness * normal), part.frame.x_axis, part.frame.y_axis
    )
    pieces = polygons_of(shape)
    return Sheet(part.name, part.face, frame, part.thickness, pieces[0] if pieces else Polygon())


@dataclass(frozen=True, slots=True, eq=False)
class Rebuilt:
    """The parts at their places, beside the oil space they should enclose."""

    cavity: Cavity
    solid: Manifold
    parts: tuple[Sheet, ...]  # as cut, in their own plane
    sheets: tuple[Sheet, ...]  # set up; a bent part is several
    owners: tuple[int, ...]  # of each sheet, the part
    faces: Mapping[int, Polygon]  # face polygons in the sheets' own frames
    window: Manifold
    probes: tuple[Probe, ...]
    block: tuple[Sheet, ...] = ()  # what of the block and its seals stands below the window's top

    def closes(self, diameter: Metre) -> bool:
        """Whether no ball of this diameter gets from inside to outside."""
        return not ball_passes(self.window, (*self.sheets, *self.block), self.probes, diameter)


def rebuild(
    cavity: Cavity,
    parts: Sequence[FlatPart],
    bends: Sequence[Bend] = (),
    block: Sequence[Sheet] = (),
    top: Metre = 0.0,
) -> Rebuilt:
    """Set the parts up; of the oil space, what the rounded inside of bends takes up is left out.

    ``block`` is what of the block and its seals stands below ``top``, the height up to
    which the pan's metal reaches.
    """
    cut = tuple(sheet_of(part) for part in parts)
    owned = [(k, sheet) for k, part in enumerate(parts) for sheet in folded(part)]
    sheets = tuple(sheet for _, sheet in owned)
    oil = surface_solid(cavity.vertices, cavity.triangles)
    taken = taken_by_bends(cavity, bends)
    if taken:
        oil = Manifold.batch_boolean([oil, *taken], OpType.Subtract)
    faces = {
        sheet.face: face_polygon(cavity, cavity.faces[sheet.face], sheet.frame)
        for sheet in sheets
        if sheet.face is not None
    }
    probes: list[Probe] = []
    for sheet in sheets:
        if sheet.face is None:
            continue
        metal = sheet.outline.intersection(faces[sheet.face])
        for away in (2.5, 1.2, 0.5, 0.1):
            room = metal.buffer(-away * sheet.thickness)
            if not room.is_empty:
                probes += probes_on(sheet, room, True) + probes_on(sheet, room, False)
                break
    reach = np.concatenate(
        [
            np.asarray(sheet.solid().bounding_box()).reshape(2, 3)
            for sheet in sheets
            if not sheet.outline.is_empty
        ]
    )
    window = box_round(np.concatenate([cavity.vertices, reach]), 0.02).trim_by_plane((0.0, 0.0, -1.0), -top)
    owners = tuple(k for k, _ in owned)
    return Rebuilt(cavity, oil, cut, sheets, owners, faces, window, tuple(probes), tuple(block))


def measure(
    body: PanBody,
    parts: Sequence[FlatPart],
    seed: int,
    rays: int = RAYS,
    bends: Sequence[Bend] = (),
    block: Sequence[Sheet] = (),
    top: Metre = 0.0,
) -> RebuildReport:
    """Everything that the rebuilt kit has to say; ``block`` and ``top`` as in ``rebuild``."""
    assert body.cavity is not None
    cavity = body.cavity
    built = rebuild(cavity, parts, bends, block, top)
    thickness = body.inputs.sheet
    metal = sum(float(sheet.solid().volume()) for sheet in built.sheets)
    worst = worst_gap(built, thickness)
    gaps = gap_places(body, built, worst) if worst > GAP_LIMIT else []
    overlap, found = _overlaps(built, SHARE_LIMIT * metal)
    gaps += found
    intrusion, found = _intrusions(built, SHARE_LIMIT * metal)
    gaps += found
    gaps += _outline_faults(built)
    frames = {face.index: face_frame(cavity, face) for face in cavity.faces}
    rounded = [(bend.edge, bend.setback) for bend in bends if not bend.is_inward]
    look = look_out(cavity, built.sheets, frames, rays, seed, GAP_LIMIT, rounded, built.block)
    out = look.escaped_from
    gaps += [Gap("escape", "look from inside", 0.0, 0.0, _tuple(p)) for p in _apart(out, 3.0 * thickness)]
    why = f"{gaps[0].kind} at {gaps[0].where}" if gaps else ""
    refused = bool(gaps)
    return RebuildReport(worst, overlap, intrusion, rays, len(out), tuple(gaps), refused, why, look.slits)


def worst_gap(built: Rebuilt, thickness: Metre) -> Metre:
    """Upper bound of the largest ball that gets out [m]; inf if one of twice the thickness does."""
    # The least first: where that one stays in, so do all larger ones, and nearly every kit stops here.
    for share in (0.02, 0.1, 0.4, 1.0):
        if built.closes(share * GAP_LIMIT):
            return share * GAP_LIMIT
    return _least_closed(lambda size: not built.closes(size), thickness)


def _least_closed(passes: Callable[[Metre], bool], thickness: Metre) -> Metre:
    """The least diameter found at which no ball passes, known to pass at the limit; inf if none is."""
    open_at, closed_at = GAP_LIMIT, 2.0 * thickness
    if passes(closed_at):
        return math.inf
    for _ in range(5):
        middle = math.sqrt(open_at * closed_at)
        if passes(middle):
            open_at = middle
        else:
            closed_at = middle
    return closed_at


def gap_places(body: PanBody, built: Rebuilt, worst: Metre) -> list[Gap]:
    """Where the ball gets out: every corner and stretch of seam that is open by itself."""
    assert body.cavity is not None
    sheets = {sheet.face: sheet for sheet in built.sheets if sheet.face is not None}
    thickness = body.inputs.sheet
    found: list[Gap] = []
    for spot in corner_spots(body.cavity, sheets, body.inputs.flange_thickness, 3.0):
        size = _spot_gap(built, spot, sheets, thickness)
        if size > 0.0:
            found.append(Gap("gap", spot.name, size, GAP_LIMIT, _tuple(spot.place)))
    for edge in body.cavity.edges:
        if edge.face_a not in sheets or edge.face_b not in sheets:
            continue
        sections = sections_along(body.cavity, edge, sheets[edge.face_a], sheets[edge.face_b])
        wide = np.flatnonzero(sections.gaps > GAP_LIMIT)
        for spot in edge_spots(body.cavity, edge, sections.places[wide], thickness):
            if any(np.linalg.norm(spot.place - np.array(gap.place)) < 4.0 * thickness for gap in found):
                continue
            size = _spot_gap(built, spot, sheets, thickness)
            if size > 0.0:
                found.append(Gap("gap", spot.name, size, GAP_LIMIT, _tuple(spot.place)))
    if not found:
        found.append(Gap("gap", "somewhere on the pan", worst, GAP_LIMIT, (0.0, 0.0, 0.0)))
    return sorted(found, key=lambda gap: -gap.size)


def _spot_gap(built: Rebuilt, spot: Spot, sheets: Mapping[int, Sheet], thickness: Metre) -> Metre:
    """Upper bound of the ball that passes at one spot; zero where it is shut."""
    window = spot.window(thickness)
    probes = spot.probes(sheets, built.faces, thickness)

    def passes(diameter: Metre) -> bool:
        return ball_passes(window, (*built.sheets, *built.block), probes, diameter)

    return _least_closed(passes, thickness) if passes(GAP_LIMIT) else 0.0


def _overlaps(built: Rebuilt, limit: float) -> tuple[float, list[Gap]]:
    """Volume that pairs share; the facets of one part's own bend lean on each other and do not count."""
    total, pairs = 0.0, []
    for k, one in enumerate(built.sheets):
        for j in range(k + 1, len(built.sheets)):
            other = built.sheets[j]
            if built.owners[k] == built.owners[j] and (one.face is None or other.face is None):
                continue
            volume = common_volume(one.solid(), other.solid())
            total += volume
            if volume > 0.01 * limit:
                pairs.append((volume, one, other))
    gaps = []
    if total > limit:
        for volume, one, other in sorted(pairs, key=lambda pair: -pair[0]):
            gaps.append(
                Gap(
                    "overlap",
                    f"{one.name} and {other.name}",
                    volume,
                    limit,
                    _middle(one.solid() ^ other.solid()),
                )
            )
    return total, gaps


def _intrusions(built: Rebuilt, limit: float) -> tuple[float, list[Gap]]:
    """Volume of metal that stands in the oil space."""
    total, found = 0.0, []
    for sheet in built.sheets:
        volume = common_volume(sheet.solid(), built.solid)
        total += volume
        if volume > 0.01 * limit:
            found.append((volume, sheet))
    gaps = []
    if total > limit:
        for volume, sheet in sorted(found, key=lambda item: -item[0]):
            gaps.append(Gap("intrusion", sheet.name, volume, limit, _middle(sheet.solid() ^ built.solid)))
    return total, gaps


def _outline_faults(built: Rebuilt) -> list[Gap]:
    """Outlines that are no single valid shape, or have metal narrower than half the thickness."""
    gaps = []
    for sheet in built.parts:
        place = _tuple(sheet.frame.origin)
        if sheet.outline.is_empty or not sheet.outline.is_valid:
            gaps.append(Gap("outline", sheet.name, 0.0, 0.0, place))
            continue
        width = 0.5 * sheet.thickness
        core = polygons_of(sheet.outline.buffer(-0.499 * width, join_style="mitre", mitre_limit=8.0))
        if not core:
            gaps.append(Gap("outline", sheet.name, 0.0, width, place))
            continue
        swept = core[0].buffer(0.499 * width + 2e-6, join_style="mitre", mitre_limit=12.0)
        for piece in polygons_of(sheet.outline.difference(swept)):
            if piece.area > (0.2 * width) ** 2 and _width(piece) > CRUMB and not _lies_along(piece, swept):
                spot = sheet.frame.to_space(np.array([[piece.centroid.x, piece.centroid.y]]))[0]
                gaps.append(Gap("outline", sheet.name, _width(piece), width, _tuple(spot)))
    return gaps


def _lies_along(piece: Polygon, body: BaseGeometry) -> bool:
    """Whether a leftover lies with its long side on wide metal (the curved flank of a tip), not out of it."""
    shared = float(piece.boundary.intersection(body.buffer(3.0 * CRUMB / 10.0)).length)
    return shared > 0.4 * float(piece.length)


def _width(piece: Polygon) -> Metre:
    """About how wide a thin piece is."""
    return 2.0 * float(piece.area) / float(piece.length)


def _middle(body: Manifold) -> tuple[float, float, float]:
    box = body.bounding_box()
    return (0.5 * (box[0] + box[3]), 0.5 * (box[1] + box[4]), 0.5 * (box[2] + box[5]))


def _tuple(point: object) -> tuple[float, float, float]:
    x, y, z = np.asarray(point, dtype=float)
    return (float(x), float(y), float(z))


def _apart(points: object, distance: Metre) -> list[np.ndarray]:
    """Of points close together only the first."""
    kept: list[np.ndarray] = []
    for point in np.asarray(points, dtype=float):
        if all(np.linalg.norm(point - other) > distance for other in kept):
            kept.append(point)
    return kept
