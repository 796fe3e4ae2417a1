"""What stands round one spot: zones, fixed metal, the oil space, the window of the leak test."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from manifold3d import Manifold
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.kit.leaks import Probe, is_open, left_of
from sumpwright.kit.solids import (
    CLIPPER_SCALE,
    SKIN,
    Sheet,
    common,
    common_volume,
    into_frame,
    shadow,
)
from sumpwright.kit.spots import Spot
from sumpwright.quantities.units import FloatArray, Metre

Sheets = dict[int, Sheet]
"""Face index -> sheet."""

Line = tuple[FloatArray, Metre]
"""A line in a sheet's frame: unit normal and its distance from the spot's place along it."""


@dataclass(frozen=True, slots=True, eq=False)
class Surroundings:
    """Everything at a spot that a trial does not change.

    Sheets are cropped to the neighbourhood so that trials stay cheap.
    """

    spot: Spot
    base: Sheets  # cropped sheets that may change inside their zones
    zones: Mapping[int, Polygon]
    fixed: tuple[Sheet, ...]
    cavity: Manifold  # near the spot
    window: Manifold
    probes: tuple[Probe, ...]
    lines: Mapping[int, tuple[Line, ...]]
    _blocked: dict[int, BaseGeometry] = field(default_factory=dict)
    _left: dict[float, Manifold] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=lambda: {"tests": 0, "packings": 0})

    def blocked(self, key: int) -> BaseGeometry:
        """Where fixed metal and the oil space keep a sheet out."""
        if key not in self._blocked:
            sheet = self.base[key]
            bodies = [other.solid() for other in self.fixed] + [self.cavity]
            self._blocked[key] = shadow(bodies, sheet.frame, sheet.thickness)
        return self._blocked[key]

    def is_open(self, sheets: Mapping[int, Sheet], by: Metre) -> bool:
        """Whether the spot leaks with these sheets."""
        self.counts["tests"] += 1
        if by not in self._left:
            self._left[by] = left_of(self.window, self.fixed, by)
        return is_open(self._left[by], list(sheets.values()), self.probes, by)

    def clash(self, sheets: Mapping[int, Sheet]) -> float:
        """Volume [m3] that changing sheets share: with each other, fixed metal, the oil space."""
        bodies = [sheet.solid() ^ self.window for sheet in sheets.values()]
        others = [sheet.solid() for sheet in self.fixed] + [self.cavity]
        total = 0.0
        for k, body in enumerate(bodies):
            total += sum(common_volume(body, other) for other in (*bodies[k + 1 :], *others))
        return total


def look_round(
    spot: Spot, sheets: Mapping[int, Sheet], faces: Mapping[int, Polygon], flange: Sheet, cavity: Manifold
) -> Surroundings:
    """Gather what stands round a spot."""
    thickness = max(sheets[key].thickness for key in spot.faces)
    window = spot.window(thickness)
    low, high = np.array(window.bounding_box()).reshape(2, 3)
    reach = low - 2.0 * thickness, high + 2.0 * thickness
    hood = Manifold.cube(tuple(reach[1] - reach[0])).translate(tuple(reach[0]))
    box = (*reach[0], *reach[1])
    fixed = [_cropped(flange, spot, thickness)] if _meets(flange, box) else []
    fixed += [
        _cropped(sheet, spot, thickness)
        for key, sheet in sheets.items()
        if key not in spot.faces and _meets(sheet, box)
    ]
    fixed = [sheet for sheet in fixed if not sheet.outline.is_empty]
    base = {key: _cropped(sheets[key], spot, thickness) for key in spot.faces}
    everything = [*base.values(), *fixed]
    return Surroundings(
        spot,
        base,
        {key: spot.zone(sheets[key]) for key in spot.faces},
        tuple(fixed),
        cavity ^ hood,
        window,
        tuple(spot.probes(sheets, faces, thickness)),
        {
            key: traces(base[key], [s for s in everything if s is not base[key]], spot.place)
            for key in spot.faces
        },
    )


def _cropped(sheet: Sheet, spot: Spot, thickness: Metre) -> Sheet:
    """The sheet near the spot: well beyond the window, so that no cut lies within sight."""
    centre = sheet.frame.to_flat(spot.place[None])[0]
    half = 1.8 * spot.half + 5.0 * thickness
    return sheet.with_outline(common(sheet.outline, shapely.box(*(centre - half), *(centre + half))))


def _meets(sheet: Sheet, box: Sequence[float]) -> bool:
    own = sheet.solid().bounding_box()
    return all(own[k] <= box[k + 3] and box[k] <= own[k + 3] for k in range(3))


def traces(sheet: Sheet, others: Sequence[Sheet], place: FloatArray) -> tuple[Line, ...]:
    """Lines in a sheet's frame where its two skins cross the two skins of its neighbours."""
    axes = np.stack([sheet.frame.x_axis, sheet.frame.y_axis])
    found = []
    for other in others:
        flat = axes @ other.frame.normal
        size = float(np.linalg.norm(flat))
        if size < 0.05:
            continue
        lean = float(sheet.frame.normal @ other.frame.normal)
        own_at = float(sheet.frame.normal @ (place - sheet.frame.origin))
        other_at = float(other.frame.normal @ (place - other.frame.origin))
        for own in (0.0, sheet.thickness):
            for height in (0.0, other.thickness):
                found.append((flat / size, (height - other_at - lean * (own - own_at)) / size))
        # Foot of the neighbour's square end, where neither skin crosses a skin.
        foot = -(other_at - lean * own_at) / size
        found.append((flat / size, foot - other.thickness * size))
        found.append((flat / size, foot + other.thickness * size))
    return _different(found, 3.5 * sheet.thickness)


def slice_lines(around: Surroundings, local: Mapping[int, Sheet], key: int) -> tuple[Line, ...]:
    """Lines along the edges at the spot through the corners that other bodies show in this sheet's skins."""
    sheet = local[key]
    centre = sheet.frame.to_flat(around.spot.place[None])[0]
    axes = np.stack([sheet.frame.x_axis, sheet.frame.y_axis])
    into = into_frame(sheet.frame, CLIPPER_SCALE)
    points: list[FloatArray] = []
    for body in [other.solid() for k, other in local.items() if k != key] + [s.solid() for s in around.fixed]:
        turned = body.transform(into)
        box = turned.bounding_box()
        for height in (10.0 * SKIN, sheet.thickness - 10.0 * SKIN):
            level = CLIPPER_SCALE * height
            if not box[2] < level < box[5]:
                continue
            for ring in turned.slice(level).to_polygons():
                flat = np.asarray(ring) / CLIPPER_SCALE - centre
                points += list(flat[np.abs(flat).max(axis=1) < 2.5 * sheet.thickness])
    found = []
    for direction in around.spot.directions:
        along = axes @ direction
        if np.linalg.norm(along) > 0.999:
            normal = np.array([-along[1], along[0]]) / np.linalg.norm(along)
            found += [(normal, float(normal @ point)) for point in points]
    return _different(found, 2.0 * sheet.thickness)


def _different(lines: Sequence[Line], within: Metre) -> tuple[Line, ...]:
    """Lines nearer than ``within``, each once."""
    kept: list[Line] = []
    seen: set[tuple[int, int, int]] = set()
    for normal, off in lines:
        if abs(off) > within:
            continue
        if (normal[0], normal[1]) < (0.0, 0.0):
            normal, off = -normal, -off
        mark = (round(float(normal[0]) * 1e4), round(float(normal[1]) * 1e4), round(off * 1e6))
        if mark not in seen:
            seen.add(mark)
            kept.append((normal, off))
    return tuple(kept)
