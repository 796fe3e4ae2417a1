"""A picture of the gasket in, the edges of its holes to a part of a pixel out."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, Metre
from sumpwright.rail.edge_circle import EdgeCircle, edge_circle
from sumpwright.rail.hole_names import KnownHoles, Naming, name_holes, pointed_at
from sumpwright.rail.picture_model import GreyArray, PictureInput
from sumpwright.rail.picture_plane import PicturePlane, flat_plane, plane_by_points, shape_by_points
from sumpwright.rail.scan import names_of
from sumpwright.rail.scan_edges import LEAST_DIAMETER, MOST_DIAMETER
from sumpwright.rail.scan_model import SeenHole, SeenRail, SeenTrouble, SetUpShape

_RAYS = 120
_LEAST_CONTRAST = 40.0
_LEAST_PIXELS = 8.0
"""Hole diameter in pixels below which its edge is not to be had."""
_ROUND = 0.06
_WHOLE = math.radians(250.0)
_GIVE = 0.015
_SCALES = ((0.9, 1.1),)


def see_picture(picture: PictureInput, known: KnownHoles) -> SeenRail:
    """Find the gasket's holes, lay them in its plane, and say which of them are the job's."""
    made = _plane(picture)
    if isinstance(made, SeenTrouble):
        return _nothing(picture, made)
    plane, shape, troubles = made
    grey = picture.grey
    level, contrast = _level(grey)
    if contrast < _LEAST_CONTRAST:
        return _nothing(
            picture,
            SeenTrouble(
                "contrast",
                "light and dark in it differ by too little to find an edge",
                "Lay the gasket on paper of a colour that stands out, and scan it again.",
                contrast,
                _LEAST_CONTRAST,
                is_fatal=True,
            ),
        )
    hand = np.array([1.0, 1.0 if picture.seen_from == "above" else -1.0])
    is_gasket = _gasket(grey, level)
    means = (float(grey[~is_gasket].mean()), float(grey[is_gasket].mean()))
    circles, outline = _circles(grey, means, is_gasket, plane)
    if len(circles) < 3:
        return _nothing(
            picture,
            SeenTrouble(
                "no holes",
                "fewer than three round holes were found in it",
                "See that the whole gasket lies flat on a plain ground, and that the resolution is right.",
                float(len(circles)),
                3.0,
                is_fatal=True,
            ),
        )
    centres = np.array([(c.x, c.y) for c in circles]) * hand
    radii = np.array([c.radius for c in circles])
    marked = [m for m in picture.marks if m.hole is not None]
    spots = plane.laid(np.array([(m.right, m.down) for m in marked]).reshape(-1, 2)) * hand
    places = {str(m.hole): (float(x), float(y)) for m, (x, y) in zip(marked, spots.tolist(), strict=True)}
    pointed = pointed_at(centres, radii, places)
    fixed = {known.names.index(name): k for name, k in pointed.items() if name in known.names}
    naming = name_holes(known.xy, centres, _SCALES, _GIVE, fixed) if len(known.names) >= 3 else Naming(None)
    names, wrong = names_of(naming, pointed, known, centres)
    troubles = [*troubles, *wrong]
    circles, names = _with_arcs(grey, means, plane, hand, naming, known, circles, names)
    seen = tuple(
        SeenHole(name, c.x, c.y * float(hand[1]), c.u, 2.0 * c.radius, c.arc, c.points)
        for c, name in zip(circles, names, strict=True)
    )
    return SeenRail(
        name=picture.name,
        kind="picture",
        holes=seen,
        outline=outline * hand if len(outline) else outline,
        troubles=tuple(troubles),
        shape=shape,
    )


def _nothing(picture: PictureInput, trouble: SeenTrouble) -> SeenRail:
    return SeenRail(picture.name, "picture", (), np.zeros((0, 2)), (trouble,))


def _plane(picture: PictureInput) -> SeenTrouble | tuple[PicturePlane, SetUpShape, list[SeenTrouble]]:
    """Where pixels lie, how far out of shape that may be, and what is to be said of it."""
    troubles: list[SeenTrouble] = []
    placed = [m for m in picture.marks if m.at is not None]
    if placed:
        pixels = np.array([(m.right, m.down) for m in placed])
        places = np.array([m.at for m in placed])
        # Places are given as the picture shows them, y upwards.
        plane = plane_by_points(pixels, places) if len(placed) == 4 else None
        if plane is None:
            return SeenTrouble(
                "marks",
                "its marks do not straighten it: four are needed, no three of them in one line",
                "Mark four points whose distances were measured, near the corners of the picture.",
                float(len(placed)),
                4.0,
                is_fatal=True,
            )
        shape, worst = shape_by_points(picture.name, pixels, places, picture.pick_u, picture.mark_u)
        troubles.append(
            SeenTrouble(
                "straightened",
                "it is straightened by four marks, which by itself puts a hole off by up to {value}",
                "",
                2.0 * worst,
                0.0,
                "m",
            )
        )
        return plane, shape, troubles
    shape = SetUpShape(picture.name, stretch=None)
    pixel = picture.pixel
    free = [m for m in picture.marks if m.hole is None]
    if picture.marks_apart is not None and len(free) == 2:
        apart = math.hypot(free[0].right - free[1].right, free[0].down - free[1].down)
        pixel = picture.marks_apart / max(apart, 1e-9)
    if pixel is None and picture.own_pixel is not None:
        pixel = picture.own_pixel
        troubles.append(
            SeenTrouble(
                "own size",
                "its resolution is taken from the file itself, {value} a pixel",
                "Give gasket_picture.dots_per_inch.",
                pixel,
                0.0,
                "m",
            )
        )
    if pixel is None:
        return SeenTrouble(
            "no size",
            "nothing tells how big its pixels are",
            "Give dots_per_inch, or two marks of a ruler and marks_apart.",
            is_fatal=True,
        )
    if picture.own_pixel is not None and abs(picture.own_pixel / pixel - 1.0) > 0.02:
        troubles.append(
            SeenTrouble(
                "other size",
                "the file itself says {value} a pixel, the job {limit}; the job's is taken",
                "Check that it was not made smaller after scanning.",
                picture.own_pixel,
                pixel,
                "m",
            )
        )
    return flat_plane(pixel), shape, troubles


def _level(grey: GreyArray) -> tuple[float, float]:
    """The level that parts light from dark best, and how far their means lie apart (Otsu)."""
    count = np.bincount(grey.ravel(), minlength=256).astype(np.float64)
    total = count.sum()
    below = np.cumsum(count)
    weighted = np.cumsum(count * np.arange(256))
    w0, w1 = below / total, 1.0 - below / total
    with np.errstate(divide="ignore", invalid="ignore"):
        m0 = weighted / below
        m1 = (weighted[-1] - weighted) / (total - below)
        between = np.where((w0 > 0.0) & (w1 > 0.0), w0 * w1 * (m0 - m1) ** 2, 0.0)
    best = int(np.argmax(between))
    if not between[best] > 0.0:
        return 128.0, 0.0
    return best + 0.5, float(abs(m1[best] - m0[best]))


def _gasket(grey: GreyArray, level: float) -> BoolArray:
    """Which pixels are gasket: the ground is what most of the picture's rim shows."""
    light = grey > level
    rim = np.concatenate((light[0], light[-1], light[:, 0], light[:, -1]))
    return np.asarray(light if rim.mean() < 0.5 else ~light)


def _circles(
    grey: GreyArray, means: tuple[float, float], is_gasket: BoolArray, plane: PicturePlane
) -> tuple[list[EdgeCircle], FloatArray]:
    """Round openings in the gasket in the plane, and its outline."""
    from scipy import ndimage

    label, kinds = ndimage.label(~is_gasket)
    boxes = ndimage.find_objects(label)
    area = np.bincount(label.ravel(), minlength=kinds + 1)
    circles = []
    for k, box in enumerate(boxes, start=1):
        high, wide = (s.stop - s.start for s in box)
        touches = box[0].start == 0 or box[1].start == 0
        touches |= box[0].stop == grey.shape[0] or box[1].stop == grey.shape[1]
        if touches or min(high, wide) < _LEAST_PIXELS or area[k] < 0.5 * high * wide:
            continue
        middle = np.array([(box[1].start + box[1].stop - 1) / 2.0, (box[0].start + box[0].stop - 1) / 2.0])
        centre = plane.laid(middle[None, :])[0]
        across = plane.laid(middle + np.array([[-wide / 2, 0], [wide / 2, 0], [0, -high / 2], [0, high / 2]]))
        radius = 0.25 * float(np.hypot(*(across[1] - across[0])) + np.hypot(*(across[3] - across[2])))
        if not 0.4 * LEAST_DIAMETER < radius < 0.6 * MOST_DIAMETER:
            continue
        circle = _sub_pixel(grey, means, plane, (float(centre[0]), float(centre[1])), radius)
        is_round = circle is not None and circle.arc > _WHOLE and circle.scatter < _ROUND * circle.radius
        if circle is not None and is_round and LEAST_DIAMETER <= 2 * circle.radius <= MOST_DIAMETER:
            circles.append(circle)
    return circles, _outline(is_gasket, plane)


def _outline(is_gasket: BoolArray, plane: PicturePlane) -> FloatArray:
    """The gasket's outer edge in the plane, pixel by pixel, in order."""
    from scipy import ndimage

    from sumpwright.rail.scan_edges import round_walk

    step = max(1, math.ceil(max(is_gasket.shape) / 1200))
    label, kinds = ndimage.label(is_gasket[::step, ::step])
    if kinds == 0:
        return np.zeros((0, 2))
    largest = int(np.argmax(np.bincount(label.ravel())[1:])) + 1
    whole = ndimage.binary_fill_holes(label == largest)
    rim = np.argwhere(whole & ~ndimage.binary_erosion(whole)).astype(np.float64)
    walk = round_walk(rim, 1.6)
    return plane.laid(walk[:, ::-1] * step) if len(walk) else np.zeros((0, 2))


def _sub_pixel(
    grey: GreyArray,
    means: tuple[float, float],
    plane: PicturePlane,
    centre: tuple[float, float],
    radius: Metre,
) -> EdgeCircle | None:
    """Where rays from inside a hole cross the level half way between ground and gasket."""
    from scipy import ndimage

    place, size = np.array(centre), radius
    circle = None
    theta = (np.arange(_RAYS) + 0.5) / _RAYS * 2.0 * math.pi
    away = np.stack((np.cos(theta), np.sin(theta)), axis=1)
    for _ in range(3):
        one = plane.pixels(place + size * np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        pixels = min(float(np.hypot(*(one[k] - one[0]))) for k in (1, 2))
        if pixels < _LEAST_PIXELS / 2.0:
            return None
        margin = max(0.25 * size, 4.0 * size / pixels)
        count = int(min(max(2.0 * margin / size * pixels * 3.0, 16), 240))
        r = np.linspace(size - margin, size + margin, count)
        spots = plane.pixels((place + away[:, None, :] * r[None, :, None]).reshape(-1, 2))
        low = np.maximum(np.floor(spots.min(axis=0)).astype(int) - 3, 0)
        high = np.ceil(spots.max(axis=0)).astype(int) + 4
        part = grey[low[1] : high[1], low[0] : high[0]].astype(np.float64)
        if min(part.shape) < 6:
            return None
        smooth = ndimage.gaussian_filter(part, 0.7)
        inside = spots[:, ::-1] - low[::-1]
        profile = ndimage.map_coordinates(smooth, inside.T, order=1, mode="constant", cval=np.nan)
        profile = profile.reshape(_RAYS, count)
        tail = max(count // 6, 2)
        ground = float(np.nanmedian(profile[:, :tail]))
        metal = np.nanmedian(profile[:, -tail:], axis=1)
        # By the whole picture's means first: at a torn hole most rays may end on the ground.
        on_metal = np.abs(metal - means[1]) < np.abs(metal - means[0])
        if on_metal.sum() < 10:
            return None
        typical = float(np.median(metal[on_metal]))
        rise = typical - ground
        if abs(rise) < 0.5 * _LEAST_CONTRAST:
            return None
        # Rays that do not come out on gasket (a slot, a tear, the picture's rim) have no say.
        good = np.abs(metal - typical) < 0.4 * abs(rise)
        good &= np.abs(np.nanmedian(profile[:, :tail], axis=1) - ground) < 0.4 * abs(rise)
        share = (profile - ground) / rise - 0.5
        crosses = (share[:, :-1] < 0.0) & (share[:, 1:] >= 0.0)
        good &= crosses.sum(axis=1) == 1
        at = np.argmax(crosses, axis=1)
        rays = np.nonzero(good)[0]
        a, b = share[rays, at[rays]], share[rays, at[rays] + 1]
        out = r[at[rays]] + (r[1] - r[0]) * (-a) / (b - a)
        circle = edge_circle(place + away[rays] * out[:, None], radius=size)
        if circle is None or not 0.5 * radius < circle.radius < 1.8 * radius:
            return None
        moved = math.hypot(circle.x - place[0], circle.y - place[1])
        place, size = np.array([circle.x, circle.y]), circle.radius
        if moved < 0.02 * size / pixels:
            break
    return circle


def _with_arcs(
    grey: GreyArray,
    means: tuple[float, float],
    plane: PicturePlane,
    hand: FloatArray,
    naming: Naming,
    known: KnownHoles,
    circles: list[EdgeCircle],
    names: list[str | None],
) -> tuple[list[EdgeCircle], list[str | None]]:
    """Torn holes, looked for where the calipers put them."""
    best = naming.best
    if best is None or naming.is_doubtful:
        return circles, names
    places = best.similarity.laid(known.xy) * hand
    usual = float(np.median([c.radius for c in circles]))
    circles, names = list(circles), list(names)
    for k, name in enumerate(known.names):
        if name in names:
            continue
        for radius in sorted({round(c.radius, 4) for c in circles}, key=lambda r: abs(r - usual))[:3]:
            centre = (float(places[k, 0]), float(places[k, 1]))
            circle = _sub_pixel(grey, means, plane, centre, radius)
            if (
                circle is not None
                and math.hypot(circle.x - centre[0], circle.y - centre[1]) < 0.6 * radius
                and circle.scatter < _ROUND * circle.radius
            ):
                circles.append(replace(circle))
                names.append(name)
                break
    return circles, names
