"""Bent parts: flats of single faces laid out in one plane, and folded up again from that plane alone."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.body import Cavity
from sumpwright.geometry import Circle, FlatFrame, Outline, Stroke
from sumpwright.kit.arc_outlines import Round, rounds_of, with_arcs
from sumpwright.kit.bends import FACET, Bend
from sumpwright.kit.metal import chords
from sumpwright.kit.model import FlatPart, Fold, Mark, Roll
from sumpwright.kit.packing import tidy
from sumpwright.kit.solids import Sheet, joined, polygons_of, rings
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

FAR: Metre = 10.0
"""Longer than any pan."""


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """How a flat lies in the plane of its bent part: a turn, then a shift."""

    turn: FloatArray  # (2, 2)
    shift: FloatArray  # (2,) m

    def place(self, points: FloatArray) -> FloatArray:
        """Points (n, 2) of the flat in the bent part's plane [m]."""
        return points @ self.turn.T + self.shift


def oil_frame(part: FlatPart) -> FlatFrame:
    """The frame of a flat moved to its oil side."""
    origin = part.frame.origin - part.thickness * part.frame.normal
    return FlatFrame(frozen_array(origin), part.frame.x_axis, part.frame.y_axis)


def groups_of(bends: Sequence[Bend]) -> list[tuple[int, ...]]:
    """Faces that hang together by bends, each group in rising order."""
    group: dict[int, set[int]] = {}
    for bend in bends:
        merged = group.get(bend.face_a, {bend.face_a}) | group.get(bend.face_b, {bend.face_b})
        for face in merged:
            group[face] = merged
    return sorted({tuple(sorted(faces)) for faces in group.values()})


def unfolded(cavity: Cavity, flats: Mapping[int, FlatPart], bends: Sequence[Bend]) -> FlatPart:
    """One bent part from the flats of its faces; the largest face is the base and keeps its axes."""
    base = max(flats, key=lambda face: (abs(_area(flats[face])), -face))
    laid: dict[int, Laid] = {base: Laid(np.eye(2), np.zeros(2))}
    frames = {face: oil_frame(part) for face, part in flats.items()}
    waiting = list(bends)
    folds: list[Fold] = []
    strips: list[Polygon] = []
    while waiting:
        bend = next(b for b in waiting if (b.face_a in laid) != (b.face_b in laid))
        waiting.remove(bend)
        fixed, moving = (bend.face_a, bend.face_b) if bend.face_a in laid else (bend.face_b, bend.face_a)
        laid[moving], fold, strip = _hang(cavity, bend, fixed, moving, laid[fixed], frames)
        folds.append(fold)
        strips.append(strip)
    shapes = [
        Polygon(
            laid[face].place(chords(part.outline)), [laid[face].place(chords(cut)) for cut in part.cut_outs]
        )
        for face, part in flats.items()
    ]
    whole = polygons_of(tidy(joined([*shapes, *strips])))[0]
    low = np.array(whole.bounds[:2])
    outer, *inner = (ring - low for ring in rings(whole))
    rounds = [
        _moved_round(each, laid[face], low)
        for face, part in flats.items()
        for each in rounds_of(part.cut_outs)
    ]
    corner = flats[base].frame.to_space(low[None])[0]
    names = [cavity.faces[face].name for face in sorted(flats, key=lambda f: (f != base, f))]
    return replace(
        flats[base],
        name=" + ".join(names),
        outline=_straight(outer),
        cut_outs=tuple(with_arcs(ring, rounds) for ring in inner),
        holes=tuple(
            _moved_hole(hole, laid[face], low) for face, part in flats.items() for hole in part.holes
        ),
        marks=tuple(
            _moved_mark(mark, laid[face], low) for face, part in flats.items() for mark in part.marks
        ),
        frame=FlatFrame(frozen_array(corner), flats[base].frame.x_axis, flats[base].frame.y_axis),
        note="; ".join(dict.fromkeys(part.note for part in flats.values() if part.note)),
        folds=tuple(replace(fold, start=_less(fold.start, low), end=_less(fold.end, low)) for fold in folds),
        faces=tuple((face, *_inner_point(flats[face], laid[face], low)) for face in sorted(flats)),
    )


def _hang(
    cavity: Cavity, bend: Bend, fixed: int, moving: int, laid: Laid, frames: Mapping[int, FlatFrame]
) -> tuple[Laid, Fold, Polygon]:
    """Where the moving face lies beside the fixed one, the fold between, and the strip it takes up."""
    edge = cavity.edges[bend.edge]
    ends = np.stack([cavity.vertices[edge.start], cavity.vertices[edge.end]])
    of_fixed = laid.place(frames[fixed].to_flat(ends))
    along = (of_fixed[1] - of_fixed[0]) / edge.length
    # Face A lies to the left of start -> end, face B to the right.
    side = 1.0 if fixed == bend.face_a else -1.0
    into_fixed = side * np.array([-along[1], along[0]])
    of_moving = frames[moving].to_flat(ends)
    along_moving = (of_moving[1] - of_moving[0]) / edge.length
    cosine, sine = float(along_moving @ along), _cross(along_moving, along)
    turn = np.array([[cosine, -sine], [sine, cosine]])
    tangent_fixed = of_fixed[0] + bend.setback * into_fixed
    corner_moving = of_fixed[0] + (2.0 * bend.setback - bend.allowance) * into_fixed
    found = Laid(turn, corner_moving - of_moving[0] @ turn.T)
    # The strip: across it each curve of the oil side is rolled out evenly.
    count = len(bend.start_curve)
    depth = bend.allowance * np.arange(count) / (count - 1)
    if fixed == bend.face_b:
        depth = depth[::-1]
    edge_along = (ends[1] - ends[0]) / edge.length
    sides = []
    for curve in (bend.start_curve, bend.end_curve):
        run = (curve - ends[0]) @ edge_along
        sides.append(tangent_fixed + run[:, None] * along - depth[:, None] * into_fixed)
    strip = Polygon(np.concatenate([sides[0], sides[1][::-1]]))
    runs = np.concatenate([(curve - ends[0]) @ edge_along for curve in (bend.start_curve, bend.end_curve)])
    middle = tangent_fixed - 0.5 * bend.allowance * into_fixed
    first, last = middle + runs.min() * along, middle + runs.max() * along
    fold = Fold(
        bend.edge,
        fixed,
        moving,
        (float(first[0]), float(first[1])),
        (float(last[0]), float(last[1])),
        bend.turn,
        bend.radius,
        bend.allowance,
        bend.is_inward,
        k=bend.k,
        source=bend.source,
    )
    return found, fold, strip.buffer(0.0)


def folded(part: FlatPart, with_facets: bool = True) -> list[Sheet]:
    """A flat part set up at its place from its outline and folds alone.

    A plain part is one sheet. A bent one is a sheet for every face, each carrying its
    face's index, and (if asked for) facets for the bends.
    """
    shape: BaseGeometry = Polygon(chords(part.outline))
    if part.cut_outs:
        shape = shape.difference(joined([Polygon(chords(cut)) for cut in part.cut_outs]))
    if part.roll is not None:
        return [rolled(part, part.roll)]
    frame = oil_frame(part)
    if not part.folds:
        pieces = polygons_of(shape)
        return [Sheet(part.name, part.face, frame, part.thickness, pieces[0] if pieces else Polygon())]
    strips = {fold.edge: _strip_of(fold) for fold in part.folds}
    flats = shape.difference(joined(list(strips.values())))
    points = {face: shapely.Point(x, y) for face, x, y in part.faces}
    frames: dict[int, FlatFrame] = {part.face if part.face is not None else part.faces[0][0]: frame}
    sheets = []
    waiting = list(part.folds)
    while waiting:
        fold = next(fold for fold in waiting if fold.fixed in frames)
        waiting.remove(fold)
        zone = polygons_of(shape.intersection(strips[fold.edge])) if with_facets else []
        frames[fold.moving], facets = _turned(part, fold, frames[fold.fixed], zone, points)
        sheets += facets
    for face, place in frames.items():
        piece = next((p for p in polygons_of(flats) if p.contains(points[face])), Polygon())
        sheets.append(Sheet(f"{part.name}", face, place, part.thickness, piece))
    return sheets


def rolled(part: FlatPart, roll: Roll) -> Sheet:
    """A strip rolled round its axis, from its flat alone: a prism along the axis, arcs as chords."""
    length, width = np.ptp(np.asarray(part.outline.points), axis=0)
    outside = roll.radius + part.thickness
    half_turn = 0.5 * float(length) / (roll.radius + 0.5 * part.thickness)
    down = -1.0 if roll.hollow_up else 1.0
    x, y = roll.centre
    arcs = []
    for radius in (roll.radius, outside):
        side, rise = radius * math.sin(half_turn), down * radius * math.cos(half_turn)
        ends = frozen_array([(x - side, y + rise), (x + side, y + rise)])
        bulges = frozen_array([-down * math.tan(0.5 * half_turn), 0.0])
        arcs.append(np.asarray(chords(Outline(ends, bulges))))
    section: BaseGeometry = Polygon(np.concatenate([arcs[0], arcs[1][::-1]]))
    if roll.dressed_to is not None:
        reach = 2.0 * outside
        section = section.intersection(shapely.box(x - reach, y - reach, x + reach, roll.dressed_to))
    pieces = polygons_of(section)
    return Sheet(part.name, None, roll.frame, float(width), pieces[0] if pieces else Polygon())


def flat_place(part: FlatPart, place: FloatArray) -> FloatArray:
    """A place (3,) of the fitted part on its flat (2,) [m]; of a rolled strip, rolled out."""
    flat = np.array(part.frame.to_flat(place[None])[0])
    if part.roll is None:
        return flat
    x, y = part.roll.frame.to_flat(place[None])[0] - np.asarray(part.roll.centre)
    angle = math.atan2(x, -y if part.roll.hollow_up else y)
    length = float(np.ptp(np.asarray(part.outline.points)[:, 0]))
    flat[0] = 0.5 * length + (part.roll.radius + 0.5 * part.thickness) * angle
    return flat


def _strip_of(fold: Fold) -> Polygon:
    """The strip that a fold takes up, a little longer than its line."""
    start, end = np.array(fold.start), np.array(fold.end)
    along = (end - start) / np.linalg.norm(end - start)
    half = 0.5 * fold.allowance * np.array([-along[1], along[0]])
    start, end = start - 1e-6 * along, end + 1e-6 * along
    return Polygon([start - half, end - half, end + half, start + half])


def _turned(
    part: FlatPart, fold: Fold, fixed: FlatFrame, zone: Sequence[Polygon], points: Mapping[int, shapely.Point]
) -> tuple[FlatFrame, list[Sheet]]:
    """Frame of the moving side after the fold, and the facets of the bend."""
    start, end = np.array(fold.start), np.array(fold.end)
    along = (end - start) / np.linalg.norm(end - start)
    over = np.array([-along[1], along[0]])
    moving = np.array([points[fold.moving].x, points[fold.moving].y])
    if float((moving - start) @ over) < 0.0:
        along, over, start, end = -along, -over, end, start
    axis = along[0] * fixed.x_axis + along[1] * fixed.y_axis
    across = over[0] * fixed.x_axis + over[1] * fixed.y_axis
    normal = fixed.normal
    reach, sign = (fold.radius + part.thickness, 1.0) if fold.towards_viewer else (fold.radius, -1.0)
    foot = start - 0.5 * fold.allowance * over  # on the fixed side's tangent
    ground = fixed.to_space(foot[None])[0]
    centre = ground + sign * reach * normal

    def at(angle: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Point on the oil side, direction across and normal after turning by an angle."""
        turned = normal * math.cos(angle) - sign * across * math.sin(angle)
        ahead = across * math.cos(angle) + sign * normal * math.sin(angle)
        return centre - sign * reach * turned, ahead, turned

    count = max(4, math.ceil(fold.turn / FACET))
    width = fold.allowance / count
    facets = []
    for k in range(count):
        here, there = foot + k * width * over, foot + (k + 1) * width * over
        slice_of = Polygon([here - FAR * along, here + FAR * along, there + FAR * along, there - FAR * along])
        low, _, _ = at(k * fold.turn / count)
        _, ahead, _ = at((k + 0.5) * fold.turn / count)
        place = FlatFrame(frozen_array(low), frozen_array(axis), frozen_array(ahead))
        for piece in (q for whole in zone for q in polygons_of(whole.intersection(slice_of))):
            corners: list[FloatArray] = []
            for xy in shapely.get_coordinates(piece.exterior)[:-1]:
                oil, _, outward = at(float((xy - foot) @ over) / fold.allowance * fold.turn)
                inner = oil + float((xy - foot) @ along) * axis
                corners += [inner, inner + part.thickness * outward]
            block = np.array(corners)
            shade = shapely.MultiPoint(place.to_flat(block)).convex_hull
            facets.append(Sheet(part.name, None, place, part.thickness, shade, frozen_array(block)))
    last, ahead, _ = at(fold.turn)
    x_axis = along[0] * axis + over[0] * ahead
    y_axis = along[1] * axis + over[1] * ahead
    # A flat point p lies along * axis and over * ahead away from the moving side's tangent.
    tangent = start + 0.5 * fold.allowance * over
    origin = last - tangent[0] * x_axis - tangent[1] * y_axis
    return FlatFrame(frozen_array(origin), frozen_array(x_axis), frozen_array(y_axis)), facets


def _inner_point(part: FlatPart, laid: Laid, low: FloatArray) -> tuple[float, float]:
    inside = Polygon(chords(part.outline), [chords(cut) for cut in part.cut_outs]).representative_point()
    spot = laid.place(np.array([[inside.x, inside.y]]))[0] - low
    return float(spot[0]), float(spot[1])


def _moved_round(each: Round, laid: Laid, low: FloatArray) -> Round:
    x, y = laid.place(np.array([[each.x, each.y]]))[0] - low
    return Round(float(x), float(y), each.radius)


def _moved_hole(hole: Circle, laid: Laid, low: FloatArray) -> Circle:
    spot = laid.place(np.array([[hole.x, hole.y]]))[0] - low
    return Circle(float(spot[0]), float(spot[1]), hole.diameter, hole.label)


def _moved_mark(mark: Mark, laid: Laid, low: FloatArray) -> Mark:
    strokes = tuple(Stroke(frozen_array(laid.place(stroke.points) - low)) for stroke in mark.strokes)
    return replace(mark, strokes=strokes)


def _less(point: tuple[float, float], low: FloatArray) -> tuple[float, float]:
    return float(point[0] - low[0]), float(point[1] - low[1])


def _cross(a: FloatArray, b: FloatArray) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def _area(part: FlatPart) -> Metre:
    return float(Polygon(chords(part.outline)).area)


def _straight(ring: FloatArray) -> Outline:
    return Outline(frozen_array(ring), frozen_array(np.zeros(len(ring))))
