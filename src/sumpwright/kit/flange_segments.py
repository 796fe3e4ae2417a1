"""The flange in segments: where it may be cut apart, and the cheapest way to do so.

Joints lie square across straight stretches of the ring, clear of holes, of corners and of
the ends of arches and steps, where a dab of sealant sits. Which of the allowed joints are
taken is searched: the cost is the sheet under each segment plus the work on each joint,
and every segment has to fit a sheet at hand. Weld shrinkage draws the hole pattern
together, so segments get small pilot holes that are opened after welding.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from sumpwright.geometry import Circle, Outline
from sumpwright.kit.cutting_rules import SHEET_MARGIN, fits_on
from sumpwright.kit.flange_formulas import full_groove_area
from sumpwright.kit.metal import arc_of, chords, distance_to_outline
from sumpwright.kit.model import CutterRules, FlatPart, Joint, KitInputs, StockSheet
from sumpwright.quantities.units import FloatArray, Metre, Radian, SquareMetre, frozen_array
from sumpwright.rail import HolePattern

PILOT_LESS: Metre = 0.0015
"""How much smaller than its final size a pilot hole is cut."""

SQUARE_ENOUGH = math.sin(math.radians(10.0))
"""A stretch is straight where its two edges run parallel this closely."""

GROOVE: Radian = math.radians(60.0)
"""Of a full-penetration butt weld, cut from the lower side."""


@dataclass(frozen=True, slots=True)
class SegmentRules:
    """What a joint has to keep clear of, and what segments and joints cost.

    As shipped, the work on a joint counts like a tenth of a square metre of plate: a
    placeholder until the shop gives its own rates.
    """

    hole_clear: Metre = 0.010  # joint to the edge of any hole
    corner_clear: Metre = 0.010  # joint to a corner of the opening or the outer edge
    seal_clear: Metre = 0.020  # joint to the hole at the end of an arch or step
    most_segments: int = 6
    sheet_price: float = 1.0  # one square metre of flange plate
    joint_price: float = 0.1  # bevel, weld and grind one joint, in the same money
    spacing: Metre = 0.003  # left between parts on the sheet
    candidates: int = 36  # joint places that are searched


@dataclass(frozen=True, slots=True, eq=False)
class FlangeCut:
    """One allowed joint, square across the ring."""

    inner: FloatArray  # (2,) m on the flat, on the opening
    outer: FloatArray  # (2,) m on the flat, on the outer edge
    inner_piece: int  # piece of the cut-out on which it starts
    outer_piece: int  # piece of the outline on which it ends
    nearest_hole: str
    hole_distance: Metre  # to the edge of the nearest hole

    @property
    def length(self) -> Metre:
        """Length of the joint's weld."""
        return float(np.hypot(*(self.outer - self.inner)))


@dataclass(frozen=True, slots=True, eq=False)
class FlangeSplit:
    """The cheapest way found to make the flange in segments."""

    parts: tuple[FlatPart, ...]
    joints: tuple[Joint, ...]
    cuts: tuple[FlangeCut, ...]
    sheet_area: SquareMetre  # of the rectangles round the segments
    whole_area: SquareMetre  # of the rectangle round the whole flange
    whole_fits: bool  # the whole flange fits a sheet at hand
    price: float
    whole_price: float
    pilotless: tuple[str, ...]  # holes too small for a pilot: to be drilled


def allowed_cuts(
    part: FlatPart, pattern: HolePattern, rules: SegmentRules, step: Metre = 0.002
) -> tuple[FlangeCut, ...]:
    """Every joint that the rules allow, a step apart, in order round the opening.

    Only for a ring with one opening; others give none.
    """
    if len(part.cut_outs) != 1:
        return ()
    inner = part.cut_outs[0]
    points = np.asarray(inner.points)
    found = []
    for k in range(len(points)):
        start, end = points[k], points[(k + 1) % len(points)]
        if inner.bulges[k] != 0.0:
            continue
        length = float(np.hypot(*(end - start)))
        free = length - 2.0 * rules.corner_clear
        if free <= 0.0:
            continue
        along = (end - start) / length
        # The cut-out runs clockwise, so that metal lies on its left.
        outwards = np.array([-along[1], along[0]])
        for share in np.linspace(0.0, free, max(2, math.ceil(free / step))):
            foot = start + along * (rules.corner_clear + share)
            hit = _outer_hit(part.outline, foot, along, outwards, rules.corner_clear)
            if hit is None:
                continue
            cut = _cut_between(part, foot, hit[0], k, hit[1])
            if cut.hole_distance >= rules.hole_clear and _clear_of_seals(cut, pattern, part, rules):
                found.append(cut)
    return tuple(found)


def split_flange(
    part: FlatPart,
    pattern: HolePattern,
    cutter: CutterRules,
    stock: tuple[StockSheet, ...] = (),
    rules: SegmentRules | None = None,
) -> FlangeSplit | None:
    """The cheapest split of the whole flange, or None where no allowed joints make one.

    Sheets of other metals or thicknesses are passed over; without any of its own the
    flange may be cut from any size.
    """
    rules = rules or SegmentRules()
    cuts = _thinned(allowed_cuts(part, pattern, rules), rules.candidates)
    if len(cuts) < 2:
        return None
    sheets = tuple(
        (sheet.length - 2 * SHEET_MARGIN, sheet.width - 2 * SHEET_MARGIN)
        for sheet in stock
        if sheet.material == part.material and abs(sheet.thickness - part.thickness) < 1e-5
    )
    areas = _segment_areas(part, cuts, sheets, rules.spacing)
    chosen = _cheapest(areas, rules)
    if chosen is None:
        return None
    taken = tuple(cuts[k] for k in chosen)
    parts, pilotless = _segments(part, taken, cutter)
    whole = chords(part.outline)
    whole_fits = not sheets or any(fits_on(whole, *size) for size in sheets)
    area = sum(areas[a, b] for a, b in zip(chosen, (*chosen[1:], chosen[0]), strict=True))
    whole_area = least_rectangle(whole, rules.spacing)
    return FlangeSplit(
        parts,
        _butt_joints(part, taken, parts),
        taken,
        float(area),
        whole_area,
        whole_fits,
        float(area) * rules.sheet_price + len(taken) * rules.joint_price,
        whole_area * rules.sheet_price,
        pilotless,
    )


def in_segments(
    inputs: KitInputs, pattern: HolePattern, parts: tuple[FlatPart, ...], joints: tuple[Joint, ...]
) -> tuple[tuple[FlatPart, ...], tuple[Joint, ...]]:
    """The kit with its whole flange split; as it was where no split is allowed.

    Seams of walls under the flange are parted where a joint crosses them, so that each
    names the one segment it is welded to.
    """
    flange = next((part for part in parts if part.face is None and part.cut_outs), None)
    split = None
    if flange is not None:
        split = split_flange(flange, pattern, inputs.flange_cutter, inputs.stock)
    if flange is None or split is None:
        return parts, joints
    parted: list[Joint] = []
    for joint in joints:
        is_under = flange.name in (joint.part_a, joint.part_b)
        parted += _parted(joint, flange, split) if is_under else [joint]
    kept = tuple(part for part in parts if part is not flange)
    return (*kept, *split.parts), (*parted, *split.joints)


def _parted(joint: Joint, flange: FlatPart, split: FlangeSplit) -> list[Joint]:
    """One wall's seam under the flange, cut where the ring's joints cross it."""
    start, end = np.array(joint.start), np.array(joint.end)
    a, b = np.asarray(flange.frame.to_flat(np.array([start, end])))
    along = b - a
    shares = {0.0, 1.0}
    for cut in split.cuts:
        share = float((cut.inner - a) @ along) / float(along @ along)
        if 0.0 < share < 1.0 and np.hypot(*(cut.inner - a - share * along)) < flange.thickness:
            shares.add(share)
    found = []
    ordered = sorted(shares)
    for low, high in pairwise(ordered):
        middle = a + 0.5 * (low + high) * along
        segment = min(split.parts, key=lambda part: distance_to_outline(part.outline, middle))
        names = [segment.name if name == flange.name else name for name in (joint.part_a, joint.part_b)]
        ends = [start + share * (end - start) for share in (low, high)]
        found.append(
            replace(
                joint,
                part_a=names[0],
                part_b=names[1],
                length=(high - low) * joint.length,
                start=(float(ends[0][0]), float(ends[0][1]), float(ends[0][2])),
                end=(float(ends[1][0]), float(ends[1][1]), float(ends[1][2])),
            )
        )
    return found


def least_rectangle(corners: FloatArray, spacing: Metre) -> SquareMetre:
    """Area of the least rectangle round some corners (n, 2), with the space between parts added."""
    import shapely

    hull = np.asarray(
        shapely.get_coordinates(shapely.get_exterior_ring(shapely.convex_hull(shapely.multipoints(corners))))
    )
    sides = np.diff(hull, axis=0)
    angles = np.arctan2(sides[:, 1], sides[:, 0])
    wide = np.ptp(hull @ np.stack([np.cos(angles), np.sin(angles)]), axis=0)
    high = np.ptp(hull @ np.stack([-np.sin(angles), np.cos(angles)]), axis=0)
    return float(np.min((wide + spacing) * (high + spacing)))


def _outer_hit(
    outline: Outline, foot: FloatArray, along: FloatArray, outwards: FloatArray, clear: Metre
) -> tuple[FloatArray, int] | None:
    """Where a line out of the opening first leaves the metal, if on a straight, parallel stretch."""
    points = np.asarray(outline.points)
    best: tuple[float, FloatArray, int] | None = None
    straight = False
    for k in range(len(points)):
        start, end = points[k], points[(k + 1) % len(points)]
        if outline.bulges[k] != 0.0:
            reach = _arc_hit(start, end, float(outline.bulges[k]), foot, outwards)
            if reach is not None and (best is None or reach < best[0]):
                best, straight = (reach, foot + reach * outwards, k), False
            continue
        side = end - start
        length = float(np.hypot(*side))
        ahead = side / length
        across = outwards[0] * ahead[1] - outwards[1] * ahead[0]
        if abs(across) < 1e-12:
            continue
        away = start - foot
        reach = (away[0] * ahead[1] - away[1] * ahead[0]) / across
        run = (away[0] * outwards[1] - away[1] * outwards[0]) / across
        if reach <= 0.0 or not 0.0 <= run <= length:
            continue
        if best is None or reach < best[0]:
            parallel = abs(ahead[0] * along[1] - ahead[1] * along[0]) <= SQUARE_ENOUGH
            best = (reach, foot + reach * outwards, k)
            straight = parallel and clear <= run <= length - clear
    return (best[1], best[2]) if best is not None and straight else None


def _arc_hit(
    start: FloatArray, end: FloatArray, bulge: float, foot: FloatArray, outwards: FloatArray
) -> float | None:
    """Distance along a line to its first meeting with an arc, or None."""
    centre, radius, first, sweep = arc_of(start, end, bulge)
    away = foot - centre
    b = float(away @ outwards)
    inside = b * b - float(away @ away) + radius * radius
    if inside < 0.0:
        return None
    for reach in (-b - math.sqrt(inside), -b + math.sqrt(inside)):
        if reach <= 0.0:
            continue
        angle = math.atan2(*(foot + reach * outwards - centre)[::-1])
        turned = (angle - first) % (2 * math.pi) if sweep > 0 else (first - angle) % (2 * math.pi)
        if turned <= abs(sweep):
            return reach
    return None


def _cut_between(part: FlatPart, inner: FloatArray, outer: FloatArray, k: int, m: int) -> FlangeCut:
    along = outer - inner
    length2 = float(along @ along)
    nearest, distance = "", math.inf
    for hole in part.holes:
        centre = np.array([hole.x, hole.y])
        share = min(1.0, max(0.0, float((centre - inner) @ along) / length2))
        here = float(np.hypot(*(centre - inner - share * along))) - 0.5 * hole.diameter
        if here < distance:
            nearest, distance = hole.label, here
    return FlangeCut(frozen_array(inner), frozen_array(outer), k, m, nearest, distance)


def _clear_of_seals(cut: FlangeCut, pattern: HolePattern, part: FlatPart, rules: SegmentRules) -> bool:
    """Whether a joint stays off arches and steps and away from the holes at their ends."""
    places = {hole.label: np.array([hole.x, hole.y]) for hole in part.holes}
    for land in pattern.lands:
        if land.kind == "flat" or land.from_hole not in places or land.to_hole not in places:
            continue
        ends = places[land.from_hole], places[land.to_hole]
        for end in ends:
            if _distance(end, cut.inner, cut.outer) < rules.seal_clear:
                return False
        if _crosses(cut.inner, cut.outer, *ends):
            return False
    return True


def _distance(place: FloatArray, start: FloatArray, end: FloatArray) -> Metre:
    along = end - start
    share = min(1.0, max(0.0, float((place - start) @ along) / float(along @ along)))
    return float(np.hypot(*(place - start - share * along)))


def _crosses(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> bool:
    def side(p: FloatArray, q: FloatArray, r: FloatArray) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return side(a, b, c) * side(a, b, d) < 0.0 and side(c, d, a) * side(c, d, b) < 0.0


def _thinned(cuts: tuple[FlangeCut, ...], most: int) -> tuple[FlangeCut, ...]:
    """An even choice of the allowed joints: each stretch keeps its ends, its middle, and a share between."""
    if len(cuts) <= most:
        return cuts
    stretches: list[list[FlangeCut]] = []
    for cut in cuts:
        last = stretches[-1][-1] if stretches else None
        joined = last is not None and last.inner_piece == cut.inner_piece
        if joined and last is not None and np.hypot(*(cut.inner - last.inner)) < 0.0025:
            stretches[-1].append(cut)
        else:
            stretches.append([cut])
    kept: list[FlangeCut] = []
    for stretch in stretches:
        share = max(1, round(most * len(stretch) / len(cuts)))
        if share == 1 or len(stretch) == 1:
            kept.append(stretch[len(stretch) // 2])
        else:
            where = np.unique(np.round(np.linspace(0, len(stretch) - 1, share)).astype(int))
            kept += [stretch[int(k)] for k in where]
    return tuple(kept)


def _path(
    outline: Outline, first: int, last: int, start: FloatArray, end: FloatArray
) -> tuple[list[FloatArray], list[float]]:
    """Points and bulges from a place on piece ``first`` forward to a place on piece ``last``."""
    count = len(outline.points)
    points, bulges = [np.asarray(start)], [0.0]
    k = first
    ahead = np.asarray(outline.points)[(first + 1) % count] - start
    same_way = float(ahead @ (end - start)) > 0.0
    if not (first == last and same_way and np.hypot(*(end - start)) < np.hypot(*ahead)):
        while True:
            k = (k + 1) % count
            points.append(np.asarray(outline.points)[k])
            bulges.append(float(outline.bulges[k]))
            if k == last:
                break
    bulges[-1] = 0.0  # cuts end on straight pieces
    points.append(np.asarray(end))
    return points, bulges


def segment_outline(part: FlatPart, one: FlangeCut, other: FlangeCut) -> Outline:
    """The piece of ring from one joint to the next, going with the cut-out's own direction (clockwise)."""
    inner, outer = part.cut_outs[0], part.outline
    along_inside = _path(inner, one.inner_piece, other.inner_piece, one.inner, other.inner)
    along_outside = _path(outer, other.outer_piece, one.outer_piece, other.outer, one.outer)
    points = [*along_inside[0], *along_outside[0]]
    bulges = [*along_inside[1], 0.0, *along_outside[1], 0.0]
    return Outline(frozen_array(points), frozen_array(bulges))


def _segment_areas(
    part: FlatPart, cuts: tuple[FlangeCut, ...], sheets: tuple[tuple[Metre, Metre], ...], spacing: Metre
) -> FloatArray:
    """Rectangle (n, n) m2 of the segment from cut a to cut b; infinite where it fits no sheet."""
    count = len(cuts)
    areas = np.full((count, count), math.inf)
    for a in range(count):
        for b in range(count):
            if a == b:
                continue
            corners = chords(segment_outline(part, cuts[a], cuts[b]), 2e-4)
            if not sheets or any(fits_on(corners, *size) for size in sheets):
                areas[a, b] = least_rectangle(corners, spacing)
    return areas


def _cheapest(areas: FloatArray, rules: SegmentRules) -> tuple[int, ...] | None:
    """Cuts of the cheapest ring of segments: for every first cut the best way round, by stages."""
    count = len(areas)
    step = areas * rules.sheet_price + rules.joint_price
    best: tuple[float, tuple[int, ...]] | None = None
    for first in range(count):
        # Cuts in order behind the first; only later cuts can follow, or the first again.
        order = [*range(first, count), *range(first)]
        cost = step[np.ix_(order, order)]
        later = np.triu(np.ones((count, count), dtype=bool), 1)
        reach = np.full((rules.most_segments + 1, count), math.inf)
        came = np.zeros((rules.most_segments + 1, count), dtype=int)
        reach[0, 0] = 0.0
        for k in range(1, rules.most_segments):
            options = np.where(later, reach[k - 1][:, None] + cost, math.inf)
            came[k] = np.argmin(options, axis=0)
            reach[k] = np.min(options, axis=0)
        for k in range(1, rules.most_segments):
            closing = reach[k] + cost[:, 0]
            last = int(np.argmin(closing))
            if not math.isfinite(closing[last]):
                continue
            # A hair's difference must not depend on where the search began.
            if best is not None and closing[last] >= best[0] - 1e-12:
                continue
            chain = [last]
            for stage in range(k, 0, -1):
                chain.append(int(came[stage, chain[-1]]))
            best = float(closing[last]), tuple(order[c] for c in reversed(chain))
    return None if best is None else best[1]


def _segments(
    part: FlatPart, cuts: tuple[FlangeCut, ...], cutter: CutterRules
) -> tuple[tuple[FlatPart, ...], tuple[str, ...]]:
    """The segments with their pilot holes, and the holes that are too small for one."""
    import shapely

    parts, pilotless = [], []
    for k, one in enumerate(cuts):
        outline = segment_outline(part, one, cuts[(k + 1) % len(cuts)])
        inside = shapely.Polygon(chords(outline))
        holes = []
        for hole in part.holes:
            if not inside.contains(shapely.Point(hole.x, hole.y)):
                continue
            pilot = round(hole.diameter - PILOT_LESS, 9)
            if pilot < cutter.least_hole:
                pilotless.append(hole.label)
            else:
                holes.append(Circle(hole.x, hole.y, pilot, hole.label))
        parts.append(
            replace(
                part,
                name=f"{part.name} {k + 1} of {len(cuts)}",
                outline=outline,
                cut_outs=(),
                holes=tuple(holes),
                marks=(),
                note=f"{part.note}; pilot holes: open to size after welding, from the blanking plate",
            )
        )
    return tuple(parts), tuple(pilotless)


def _butt_joints(
    part: FlatPart, cuts: tuple[FlangeCut, ...], parts: tuple[FlatPart, ...]
) -> tuple[Joint, ...]:
    joints = []
    for k, cut in enumerate(cuts):
        ends = part.frame.to_space(np.array([cut.inner, cut.outer]))
        joints.append(
            Joint(
                edge=None,
                part_a=parts[k - 1].name,
                part_b=parts[k].name,
                kind="flange joint",
                corner_angle=math.pi,
                length=cut.length,
                groove_angle=GROOVE,
                fill_area=full_groove_area(part.thickness, GROOVE),
                start=(float(ends[0, 0]), float(ends[0, 1]), float(ends[0, 2])),
                end=(float(ends[1, 0]), float(ends[1, 1]), float(ends[1, 2])),
            )
        )
    return tuple(joints)
