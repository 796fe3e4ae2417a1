"""The pan from below, from the left and from the front, with the oil as it stands.

Drawn from the cavity's exact edges: an edge is a full line where no face lies between it
and the viewer, a faint dashed one elsewhere.

    from below        from the left      from the front
    +--> front        front <--+         left of the engine -->
    |                          |         |
    v engine's left            v down    v down
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from sumpwright.body import Cavity, DipstickTube, Edge, PanBody
from sumpwright.geometry.arcs import chorded
from sumpwright.oil import OilResult
from sumpwright.outputs.fitting_lines import draw_fittings, reach_of_fittings
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import UnitSystem, write_shop_length
from sumpwright.quantities.units import BoolArray, FloatArray, Metre, frozen_array

Place = Callable[[FloatArray], tuple[float, float]]
"""Page millimetres of a point of the view."""

ViewName = Literal["from below", "from the left", "from the front"]


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """Right and up on the page, and towards the viewer, as unit vectors (3,) of the engine frame."""

    name: ViewName
    right: FloatArray
    up: FloatArray
    towards: FloatArray

    def flat(self, points: FloatArray) -> FloatArray:
        """Points (n, 3) as the viewer sees them, (n, 2) [m]."""
        return frozen_array(np.stack([points @ self.right, points @ self.up], axis=-1))


def _view(name: ViewName, right: tuple[float, ...], up: tuple[float, ...]) -> View:
    return View(name, frozen_array(right), frozen_array(up), frozen_array(np.cross(right, up)))


VIEWS: tuple[View, ...] = (
    _view("from below", (1.0, 0.0, 0.0), (0.0, -1.0, 0.0)),
    _view("from the left", (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    _view("from the front", (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
)


@dataclass(frozen=True, slots=True, eq=False)
class SeenEdge:
    """A piece of an edge that is in full sight, or hidden."""

    ends: FloatArray  # (2, 2) m on the page of the view
    is_hidden: bool


def seen_edges(cavity: Cavity, view: View) -> tuple[SeenEdge, ...]:
    """Every edge as the viewer sees it, cut where something begins or ends to hide it."""
    out = []
    for edge, start, end, is_hidden in seen_pieces(cavity, view):
        a, b = cavity.vertices[edge.start], cavity.vertices[edge.end]
        out.append(SeenEdge(view.flat(a + np.array([[start], [end]]) * (b - a)), is_hidden))
    return tuple(out)


def seen_pieces(cavity: Cavity, view: View) -> tuple[tuple[Edge, float, float, bool], ...]:
    """Each edge with the share of its way where a piece starts and ends, and whether that is hidden."""
    corners = cavity.vertices[cavity.triangles]
    out: list[tuple[Edge, float, float, bool]] = []
    for edge in cavity.edges:
        a, b = cavity.vertices[edge.start], cavity.vertices[edge.end]
        shares = _changes(a, b, corners, view)
        middles = 0.5 * (shares[:-1] + shares[1:])
        hidden = is_hidden(a + middles[:, None] * (b - a), corners, view)
        start = 0
        for k in range(1, len(hidden) + 1):
            if k == len(hidden) or hidden[k] != hidden[start]:
                out.append((edge, float(shares[start]), float(shares[k]), bool(hidden[start])))
                start = k
    return tuple(out)


def _changes(a: FloatArray, b: FloatArray, corners: FloatArray, view: View) -> FloatArray:
    """Shares of the way from a to b where, to the viewer, the edge crosses a side of any triangle."""
    p, q = view.flat(np.stack([a, b]))
    starts = view.flat(corners.reshape(-1, 3))
    ends = view.flat(np.roll(corners, -1, axis=1).reshape(-1, 3))
    way, side = q - p, ends - starts
    cross = way[0] * side[:, 1] - way[1] * side[:, 0]
    ok = np.abs(cross) > 1e-15
    away = starts[ok] - p
    share = (away[:, 0] * side[ok, 1] - away[:, 1] * side[ok, 0]) / cross[ok]
    along = (away[:, 0] * way[1] - away[:, 1] * way[0]) / cross[ok]
    inner = share[(share > 1e-9) & (share < 1 - 1e-9) & (along > -1e-9) & (along < 1 + 1e-9)]
    return np.unique(np.concatenate([[0.0, 1.0], np.round(inner, 12)]))


def is_hidden(points: FloatArray, corners: FloatArray, view: View, clear: Metre = 1e-6) -> BoolArray:
    """Whether a triangle lies between each point (n, 3) and the viewer."""
    flat = view.flat(points)
    depth = points @ view.towards
    hidden = np.zeros(len(points), dtype=np.bool_)
    for corner in corners:
        triangle = view.flat(corner)
        (ax, ay), (bx, by), (cx, cy) = triangle
        area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if abs(area) < 1e-14:
            continue
        v = ((flat[:, 0] - ax) * (cy - ay) - (cx - ax) * (flat[:, 1] - ay)) / area
        w = ((bx - ax) * (flat[:, 1] - ay) - (flat[:, 0] - ax) * (by - ay)) / area
        inside = (v > 1e-9) & (w > 1e-9) & (v + w < 1 - 1e-9)
        heights = corner @ view.towards
        here = heights[0] + v * (heights[1] - heights[0]) + w * (heights[2] - heights[0])
        hidden |= inside & (here > depth + clear)
    return hidden


def surface_pieces(cavity: Cavity, up: FloatArray, level: Metre) -> FloatArray:
    """Straight pieces (n, 2, 3) where a level oil surface meets the cavity's walls [m]."""
    height = cavity.vertices @ up - level
    pieces = []
    for triangle in cavity.triangles:
        h = height[triangle]
        points = []
        for k in range(3):
            one, other = h[k], h[(k + 1) % 3]
            if (one < 0.0) != (other < 0.0):
                a, b = cavity.vertices[triangle[k]], cavity.vertices[triangle[(k + 1) % 3]]
                points.append(a + (b - a) * (one / (one - other)))
        if len(points) == 2:
            pieces.append(points)
    return frozen_array(np.array(pieces).reshape(-1, 2, 3))


def draw_views(
    sheet: Sheet,
    body: PanBody,
    oil: OilResult | None,
    units: UnitSystem,
    x: float,
    y: float,
    width: float,
    height: float,
) -> None:
    """All three views at one scale within a box on the page [mm]."""
    cavity = body.cavity
    if cavity is None:
        return
    boxes = [_extent(body, cavity, view) for view in VIEWS]
    sizes = [(box[1] - box[0], box[3] - box[2]) for box in boxes]
    beside, over, under = 24.0, 15.0, 9.0  # room for the sizes and words of a view
    scale = min(
        (width - 2 * beside) / max(size[0] for size in sizes),
        (height - 3 * (over + under)) / sum(size[1] for size in sizes),
    )
    bottom = y + height
    for view, box, size in zip(VIEWS, boxes, sizes, strict=True):
        bottom -= over + size[1] * scale
        left = x + (width - size[0] * scale) / 2
        _draw_view(sheet, body, cavity, oil, units, view, box, left, bottom, scale)
        bottom -= under


def _extent(body: PanBody, cavity: Cavity, view: View) -> tuple[float, float, float, float]:
    outer = (cavity.vertices, _flange_points(body), reach_of_fittings(body, cavity))
    points = [view.flat(each) for each in outer]
    stacked = np.vstack(points)
    low, high = stacked.min(axis=0), stacked.max(axis=0)
    return float(low[0]), float(high[0]), float(low[1]), float(high[1])


def _flange_points(body: PanBody) -> FloatArray:
    """Outer flange line at the rail and at its underside, (2n, 3) m; empty where unknown."""
    if body.flange_outside is None:
        return np.zeros((0, 3))
    plan = chorded(body.flange_outside, 1e-4)
    top = np.column_stack([plan, np.zeros(len(plan))])
    return np.vstack([top, top - [0.0, 0.0, body.inputs.flange_thickness]])


def _draw_view(
    sheet: Sheet,
    body: PanBody,
    cavity: Cavity,
    oil: OilResult | None,
    units: UnitSystem,
    view: View,
    box: tuple[float, float, float, float],
    left: float,
    bottom: float,
    scale: float,
) -> None:
    def place(flat: FloatArray) -> tuple[float, float]:
        return left + (float(flat[0]) - box[0]) * scale, bottom + (float(flat[1]) - box[2]) * scale

    right = left + (box[1] - box[0]) * scale
    top = bottom + (box[3] - box[2]) * scale
    sheet.text((left + right) / 2, top + 8.6, f"seen {view.name}", 9, bold=True, align="middle")
    _flange(sheet, body, view, place)
    edges = seen_edges(cavity, view)
    for edge in edges:
        if edge.is_hidden:
            with sheet.dashed(1.2, 1.0):
                sheet.line(*place(edge.ends[0]), *place(edge.ends[1]), weight=0.12, grey=0.55)
    _oil(sheet, cavity, oil, body, view, place)
    for edge in edges:
        if not edge.is_hidden:
            sheet.line(*place(edge.ends[0]), *place(edge.ends[1]), weight=0.4)
    _inner_walls(sheet, body, view, place)
    _fittings(sheet, body, view, place)
    draw_fittings(sheet, body, cavity, view.flat, view.towards, place)
    _sizes(sheet, cavity, view, units, place, box, left, right, bottom)
    _directions(sheet, body, view, left, right, bottom, top)


def _flange(sheet: Sheet, body: PanBody, view: View, place: Place) -> None:
    points = _flange_points(body)
    if not len(points):
        return
    flat = view.flat(points)
    if view.name == "from below":
        half = len(flat) // 2
        sheet.polyline([place(point) for point in flat[half:]], close=True, weight=0.25, grey=0.3)
        return
    low, high = flat.min(axis=0), flat.max(axis=0)
    (x1, y1), (x2, y2) = place(low), place(high)
    sheet.box(x1, y1, x2 - x1, y2 - y1, weight=0.35, fill=0.93)


def _oil(
    sheet: Sheet, cavity: Cavity, oil: OilResult | None, body: PanBody, view: View, place: Place
) -> None:
    if oil is None:
        return
    for level, dash in ((oil.level_full, (2.5, 1.0)), (oil.level_low, (0.8, 0.8))):
        if level is None:
            continue
        with sheet.dashed(*dash):
            for piece in surface_pieces(cavity, body.inputs.up, level):
                a, b = view.flat(piece)
                sheet.line(*place(a), *place(b), weight=0.3, grey=0.25)


def _inner_walls(sheet: Sheet, body: PanBody, view: View, place: Place) -> None:
    """Middle planes of inner walls and roof baffles with their openings, dash-dotted."""
    if body.division is None:
        return
    for wall in body.division.walls:
        lines = [*wall.outlines, *(cut.outline for cut in wall.cuts)]
        for line in lines:
            flat = view.flat(wall.wall.frame.to_space(line))
            with sheet.dashed(2.0, 0.7):
                sheet.polyline([place(point) for point in flat], close=True, weight=0.2, grey=0.3)


def _fittings(sheet: Sheet, body: PanBody, view: View, place: Place) -> None:
    """Pickup mouth and dipstick, thin."""
    pickup, stick = body.inputs.pickup, body.inputs.dipstick
    if pickup is not None:
        mx, my = place(view.flat(pickup.mouth[None, :])[0])
        sheet.line(mx - 2.0, my, mx + 2.0, my, weight=0.2)
        sheet.line(mx, my - 2.0, mx, my + 2.0, weight=0.2)
        sheet.text(mx + 1.2, my + 1.2, "pickup", 6.5, halo=True)
    if stick is not None:
        line = _below_rail(_stick_line(stick))
        if len(line) < 2:
            return
        flat = view.flat(line)
        sheet.polyline([place(point) for point in flat], weight=0.5, grey=0.4)
        tx, ty = place(flat[-1])
        sheet.text(tx + 1.2, ty - 2.6, "dipstick", 6.5, halo=True)


def _stick_line(stick: DipstickTube) -> FloatArray:
    """The stick's centre line from its shoulder to its tip, (n, 3) m."""
    corners = [np.asarray(stick.stop)]
    if stick.bends is not None:
        corners += [np.asarray(bend) for bend in stick.bends]
    left = stick.stick_length - float(sum(np.linalg.norm(b - a) for a, b in pairwise(corners)))
    return np.array([*corners, corners[-1] + max(0.0, left) * np.asarray(stick.axis)])


def _below_rail(line: FloatArray) -> FloatArray:
    """The part of a line (n, 3) that lies below the rail plane, from where it first passes it."""
    for k, (a, b) in enumerate(pairwise(line)):
        if b[2] < 0.0:
            start = a if a[2] <= 0.0 else a + (b - a) * (a[2] / (a[2] - b[2]))
            return np.array([start, *line[k + 1 :]])
    return np.zeros((0, 3))


def _sizes(
    sheet: Sheet,
    cavity: Cavity,
    view: View,
    units: UnitSystem,
    place: Place,
    box: tuple[float, float, float, float],
    left: float,
    right: float,
    bottom: float,
) -> None:
    """Overall oil-side size, across and down."""
    flat = view.flat(cavity.vertices)
    low, high = flat.min(axis=0), flat.max(axis=0)
    x1, y1 = place(low)
    x2, y2 = place(high)
    y = bottom - 5.0
    _dimension(sheet, x1, y, x2, y, write_shop_length(float(high[0] - low[0]), units))
    x = right + 5.0
    _dimension(sheet, x, y1, x, y2, write_shop_length(float(high[1] - low[1]), units))


def _dimension(sheet: Sheet, x1: float, y1: float, x2: float, y2: float, words: str) -> None:
    sheet.line(x1, y1, x2, y2, weight=0.15)
    lies = abs(y1 - y2) < 1e-9
    for px, py in ((x1, y1), (x2, y2)):
        if lies:
            sheet.line(px, py - 1.5, px, py + 1.5, weight=0.15)
        else:
            sheet.line(px - 1.5, py, px + 1.5, py, weight=0.15)
    if lies:
        sheet.text((x1 + x2) / 2, y1 - 1.1, words, 8, bold=True, align="middle", halo=True)
    else:
        sheet.text(x1 + 1.1, (y1 + y2) / 2, words, 8, bold=True, align="middle", turn=90, halo=True)


def _directions(
    sheet: Sheet, body: PanBody, view: View, left: float, right: float, bottom: float, top: float
) -> None:
    """Where the engine's front is, and which way is up when it stands in the vehicle."""
    y = top + 4.0
    if view.name == "from below":
        sheet.arrow(right - 12.0, y, right, y)
        sheet.text(right - 14.0, y - 1.0, "front", 8, align="right")
    elif view.name == "from the left":
        sheet.arrow(left + 12.0, y, left, y)
        sheet.text(left + 14.0, y - 1.0, "front", 8)
    else:
        sheet.arrow(right - 12.0, y, right, y)
        sheet.text(right - 14.0, y - 1.0, "engine's left", 8, align="right")
    up = view.flat(np.asarray(body.inputs.up)[None, :])[0]
    length = float(np.hypot(*up))
    if view.name != "from below" and length > 0.2:
        foot_x, foot_y = left - 16.0, bottom + 1.0
        ux, uy = up / length
        sheet.arrow(foot_x, foot_y, foot_x + 11.0 * ux, foot_y + 11.0 * uy)
        sheet.text(foot_x, foot_y - 4.0, "plumb up", 7, align="middle")
