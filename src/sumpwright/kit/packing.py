"""Ways of filling a spot with metal: cleaning outlines, growing, taking over, giving way."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.kit.solids import Sheet, common, joined, less, polygons_of, shadow
from sumpwright.kit.spots import half_plane
from sumpwright.kit.surroundings import Line, Sheets, Surroundings
from sumpwright.quantities.units import FloatArray, Metre, SquareMetre

HAIR: Metre = 1e-6
"""Outlines are cleaned of anything thinner than this."""

SPECK: SquareMetre = 2e-10
"""Area of a triangle at a corner below which the corner is dropped (0.02 mm by 0.02 mm, halved)."""

CLEAR: Metre = 1e-8
"""Outlines stay this far from what they must not touch, so that rounding never collides."""


def moved(shape: BaseGeometry, by: Metre) -> BaseGeometry:
    """The shape with every side moved outwards, corners kept sharp."""
    return shape.buffer(by, join_style="mitre", mitre_limit=8.0)


def tidy(shape: BaseGeometry) -> BaseGeometry:
    """The shape without hairs and hairline slits, and without points on straight lines."""
    clean = moved(moved(moved(shape, HAIR), -2.0 * HAIR), HAIR)
    return clean.simplify(0.2 * HAIR)


def without_specks(shape: Polygon) -> Polygon:
    """The outline without corners that stand for almost no metal: steps and spurs of a few micrometres."""
    return Polygon(
        _plainer(np.asarray(shape.exterior.coords)[:-1]),
        [_plainer(np.asarray(ring.coords)[:-1]) for ring in shape.interiors],
    )


def _plainer(ring: FloatArray) -> FloatArray:
    """The ring after dropping, least first, every corner whose triangle is smaller than a speck."""
    points = list(ring)
    while len(points) > 3:
        here = np.array(points)
        back, ahead = here - np.roll(here, 1, axis=0), np.roll(here, -1, axis=0) - here
        area = 0.5 * np.abs(back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0])
        least = int(area.argmin())
        if area[least] > SPECK:
            break
        del points[least]
    return np.array(points)


def usable(shape: BaseGeometry, width: Metre, zone: BaseGeometry) -> BaseGeometry:
    """What hangs on the metal outside the zone by more than a neck of this width; sharp corners are kept."""
    cores = polygons_of(moved(shape, -0.5 * width))
    if not cores:
        return Polygon()
    anchored = [core for core in cores if less(core, zone).area > 1e-10]
    if not anchored:
        anchored = cores[:1]
    swept = joined(
        [core.buffer(0.5 * width + HAIR, join_style="mitre", mitre_limit=12.0) for core in anchored]
    )
    return common(shape, swept)


def cleaned(sheet: Sheet, shape: BaseGeometry, zone: BaseGeometry) -> Sheet | None:
    """The sheet with a new outline; None if too little is left of it."""
    outline = tidy(usable(tidy(shape), 0.5 * sheet.thickness, zone))
    if outline.is_empty or outline.area < 0.4 * sheet.outline.area:
        return None
    return sheet.with_outline(outline)


def kept_out(around: Surroundings, local: Sheets, key: int) -> BaseGeometry:
    """Where a sheet cannot have metal with everything else standing as it does."""
    sheet = local[key]
    moving = shadow([other.solid() for k, other in local.items() if k != key], sheet.frame, sheet.thickness)
    blocked = joined([around.blocked(key), moving])
    return blocked if blocked.is_empty else moved(blocked, CLEAR)


def grown(around: Surroundings, local: Sheets, order: Sequence[int]) -> Sheets | None:
    """Each sheet in turn takes all the free room of its zone."""
    result = dict(local)
    for key in order:
        zone = around.zones[key]
        free = less(zone, kept_out(around, result, key))
        sheet = cleaned(result[key], joined([less(result[key].outline, zone), free]), zone)
        if sheet is None:
            return None
        result[key] = sheet
    around.counts["packings"] += 1
    return result


def refilled(around: Surroundings, local: Sheets) -> Sheets:
    """Each sheet takes back what it had at first, as far as the room is free."""
    result = dict(local)
    for key, sheet in local.items():
        lost = less(around.base[key].outline, sheet.outline)
        if lost.area < 1e-9:
            continue
        back = less(lost, kept_out(around, result, key))
        if back.area < 1e-9:
            continue
        again = cleaned(sheet, joined([sheet.outline, back]), around.zones[key])
        result[key] = again or sheet
    return result


def emptied(around: Surroundings, local: Sheets) -> Sheets:
    """The sheets without anything inside their zones."""
    return {key: sheet.with_outline(less(sheet.outline, around.zones[key])) for key, sheet in local.items()}


def swapped(around: Surroundings, local: Sheets, other: dict[int, BaseGeometry]) -> Sheets:
    """The sheets with another set of outlines inside their zones."""
    result = {}
    for key, sheet in local.items():
        zone = around.zones[key]
        shape = joined([less(sheet.outline, zone), common(other[key], zone)])
        result[key] = sheet.with_outline(tidy(shape))
    return result


def side_of(around: Surroundings, key: int, line: Line, sign: float) -> Polygon:
    """The part of the plane on one side of a line: sign +1 keeps what is below it along its normal."""
    sheet = around.base[key]
    centre = sheet.frame.to_flat(around.spot.place[None])[0]
    normal, off = line
    return half_plane(centre, sign * normal, sign * off, 20.0 * around.spot.half)


def taken_over(around: Surroundings, local: Sheets, key: int, room: BaseGeometry) -> Sheets | None:
    """One sheet takes the given room from its neighbours, which give way exactly."""
    zone = around.zones[key]
    wanted = joined([local[key].outline, common(room, zone)])
    blocked = around.blocked(key)
    runner = cleaned(local[key], wanted if blocked.is_empty else less(wanted, moved(blocked, CLEAR)), zone)
    if runner is None:
        return None
    result = {**local, key: runner}
    for other, giving in local.items():
        if other == key:
            continue
        shade = shadow([runner.solid()], giving.frame, giving.thickness)
        if shade.is_empty or common(shade, giving.outline).area < 1e-12:
            continue
        gone = common(moved(shade, CLEAR), around.zones[other])
        left = cleaned(giving, less(giving.outline, gone), around.zones[other])
        if left is None:
            return None
        result[other] = left
    return result


def moved_area(before: Sheets, after: Sheets) -> float:
    """Area [m2] by which outlines differ, taking away counted double."""
    total = 0.0
    for key, sheet in after.items():
        if sheet is not before[key]:
            old, new = before[key].outline, sheet.outline
            total += less(new, old).area + 2.0 * less(old, new).area
    return float(total)


def mark_of(local: Sheets) -> tuple[bytes, ...]:
    """A mark by which equal sets of outlines are known."""
    marks = []
    for sheet in local.values():
        points = np.round(
            np.concatenate([np.asarray(p.exterior.coords) for p in polygons_of(sheet.outline)]) * 2e6
        )
        marks.append(np.unique(points.astype(np.int64), axis=0).tobytes())
    return tuple(marks)
