"""From inner walls and roof baffles to the panels that the body stage places in the oil space."""

from __future__ import annotations

import math
from typing import Literal, cast

import numpy as np

from sumpwright.body import Door, InnerWall, WallCut
from sumpwright.geometry import FlatFrame, Plane
from sumpwright.geometry.polygons import is_simple, signed_area
from sumpwright.job.job_file import JobFile
from sumpwright.job.refusals import OpenFile, Path
from sumpwright.job.wall_sections import CutSection, FlapSection, RoofSection, WallSection
from sumpwright.quantities.units import FloatArray, Metre, Second, frozen_array

LEAST_RUN: Metre = 0.001
ROUND_SIDES = 48
"""A round hole counts as a polygon of as many sides with the same area."""
LEAK_GAP: Metre = 0.0005
FLAP_OVERLAP: Metre = 0.005
LAG: Second = 0.05
_TOWARDS = {
    "front": (1.0, 0.0, 0.0),
    "rear": (-1.0, 0.0, 0.0),
    "left": (0.0, 1.0, 0.0),
    "right": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
_Kind = Literal["window", "door", "drain slot"]


def check_walls(file: OpenFile, job_file: JobFile) -> None:
    """Everything about inner walls that one key alone cannot tell."""
    names: list[str] = []
    for at, wall in enumerate(job_file.walls):
        if wall is not None:
            _check_wall(file, ("walls", at), wall, names)
            names.append(wall.name)
    for at, roof in enumerate(job_file.roof_baffles):
        if roof is not None:
            _check_roof(file, ("roof_baffles", at), roof, names)
            names.append(roof.name)


def _check_wall(file: OpenFile, base: Path, wall: WallSection, names: list[str]) -> None:
    if wall.name in names:
        file.fault((*base, "name"), "another inner wall is called so already")
    along = np.subtract(wall.end, wall.start)
    if float(np.hypot(*along)) < LEAST_RUN:
        file.fault((*base, "end"), "start and end are the same place, so the wall has no direction")
        return
    if wall.bottom_below is not None and wall.bottom_below <= (wall.top_below or 0.0):
        file.fault((*base, "bottom_below"), "the lower edge has to lie deeper than the top")
    normal = np.array([along[1], -along[0]]) / float(np.hypot(*along))
    for key, cuts in (("windows", wall.windows), ("doors", wall.doors), ("slots", wall.slots)):
        for at, cut in enumerate(cuts or []):
            _check_cut(file, (*base, key, at), cut, "below")
            if isinstance(cut, FlapSection) and abs(float(normal @ _TOWARDS[cut.passes][:2])) < 0.1:
                file.fault((*base, key, at, "passes"), "oil goes along this wall that way, not through it")


def _check_roof(file: OpenFile, base: Path, roof: RoofSection, names: list[str]) -> None:
    if roof.name in names:
        file.fault((*base, "name"), "another inner wall is called so already")
    if roof.outline is not None:
        points = np.array(roof.outline)
        if not is_simple(points) or abs(signed_area(points)) < LEAST_RUN**2:
            file.fault((*base, "outline"), "the outline crosses itself or encloses nothing", read="")
    for key, cuts in (("windows", roof.windows), ("doors", roof.doors)):
        for at, cut in enumerate(cuts or []):
            _check_cut(file, (*base, key, at), cut, "across")
            if isinstance(cut, FlapSection) and cut.passes not in ("up", "down"):
                file.fault(
                    (*base, key, at, "passes"), "oil goes up or down through a roof baffle", 'passes = "down"'
                )


def _check_cut(file: OpenFile, base: Path, cut: CutSection, second: Literal["below", "across"]) -> None:
    other = "across" if second == "below" else "below"
    if getattr(cut, other) is not None:
        file.fault((*base, other), f"here '{second}' is meant")
    is_round = cut.at is not None or cut.diameter is not None
    is_flat = cut.along is not None or getattr(cut, second) is not None
    if is_round and is_flat:
        file.fault((*base, "name"), "it is either a rectangle or a round hole; keep the one that is meant")
    elif is_round and (cut.at is None or cut.diameter is None):
        file.fault(base, "a round hole needs 'at' and 'diameter'", 'diameter = "20 mm"', read="")
    elif not is_round and (cut.along is None or getattr(cut, second) is None):
        file.fault(
            base, f"its place needs 'along' and '{second}'", f'{second} = ["90 mm", "120 mm"]', read=""
        )
    else:
        for key in ("along", second):
            span = getattr(cut, key)
            if span is not None and not span[0] < span[1]:
                file.fault((*base, key), "the lesser end comes first", read="")


def build_walls(job_file: JobFile, sheet: Metre) -> tuple[InnerWall, ...]:
    """Inner walls, then roof baffles."""
    walls = [_wall(cast(WallSection, section), sheet) for section in job_file.walls]
    return (*walls, *(_roof(cast(RoofSection, section), sheet) for section in job_file.roof_baffles))


def _wall(section: WallSection, sheet: Metre) -> InnerWall:
    start, end = np.array(section.start), np.array(section.end)
    along = (end - start) / float(np.hypot(*(end - start)))
    frame = FlatFrame(
        frozen_array(np.append(start, 0.0)),
        frozen_array(np.append(along, 0.0)),
        frozen_array([0.0, 0.0, 1.0]),
    )
    limits = []
    if section.top_below is not None:
        limits.append(Plane(frozen_array([0.0, 0.0, 1.0]), -section.top_below))
    if section.bottom_below is not None:
        limits.append(Plane(frozen_array([0.0, 0.0, -1.0]), section.bottom_below))
    if section.ends_there:
        limits.append(Plane(frozen_array([-along[0], -along[1], 0.0]), -float(along @ start)))
        limits.append(Plane(frozen_array([along[0], along[1], 0.0]), float(along @ end)))
    normal = np.asarray(frame.normal)
    cuts = [_wall_cut(cut, "window", normal) for cut in section.windows or []]
    cuts += [_wall_cut(cut, "door", normal) for cut in section.doors or []]
    cuts += [_wall_cut(cut, "drain slot", normal) for cut in section.slots or []]
    return InnerWall(
        section.name, "wall", frame, section.thickness or sheet, tuple(limits), None, tuple(cuts)
    )


def _wall_cut(cut: CutSection, kind: _Kind, normal: FloatArray) -> WallCut:
    if cut.at is not None:
        return _round(cut, kind, (cut.at[0], -cut.at[1]), normal)
    assert cut.along is not None
    assert cut.below is not None
    return _rectangle(cut, kind, cut.along, (-cut.below[1], -cut.below[0]), normal)


def _roof(section: RoofSection, sheet: Metre) -> InnerWall:
    frame = FlatFrame(
        frozen_array([0.0, 0.0, -section.depth]),
        frozen_array([1.0, 0.0, 0.0]),
        frozen_array([0.0, 1.0, 0.0]),
    )
    normal = np.asarray(frame.normal)
    cuts = [_roof_cut(cut, "window", normal) for cut in section.windows or []]
    cuts += [_roof_cut(cut, "door", normal) for cut in section.doors or []]
    outline = None
    if section.outline is not None:
        points = np.array(section.outline)
        outline = frozen_array(points if signed_area(points) > 0.0 else points[::-1])
    return InnerWall(section.name, "roof baffle", frame, section.thickness or sheet, (), outline, tuple(cuts))


def _roof_cut(cut: CutSection, kind: _Kind, normal: FloatArray) -> WallCut:
    if cut.at is not None:
        return _round(cut, kind, (cut.at[0], cut.at[1]), normal)
    assert cut.along is not None
    assert cut.across is not None
    return _rectangle(cut, kind, cut.along, (cut.across[0], cut.across[1]), normal)


def _rectangle(
    cut: CutSection, kind: _Kind, along: list[float], up: tuple[float, float], normal: FloatArray
) -> WallCut:
    (x0, x1), (y0, y1) = along, up
    outline = frozen_array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    return WallCut(cut.name, kind, outline, None, _door(cut, normal))


def _round(cut: CutSection, kind: _Kind, middle: tuple[float, float], normal: FloatArray) -> WallCut:
    assert cut.diameter is not None
    turns = 2.0 * math.pi * np.arange(ROUND_SIDES) / ROUND_SIDES
    same_area = math.sqrt(2.0 * math.pi / (ROUND_SIDES * math.sin(2.0 * math.pi / ROUND_SIDES)))
    ring = 0.5 * cut.diameter * same_area * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    return WallCut(cut.name, kind, frozen_array(np.array(middle) + ring), cut.diameter, _door(cut, normal))


def _door(cut: CutSection, normal: FloatArray) -> Door | None:
    if not isinstance(cut, FlapSection):
        return None
    with_normal = float(np.array(_TOWARDS[cut.passes]) @ normal) > 0.0
    return Door(
        passes="with normal" if with_normal else "against normal",
        leak_gap=LEAK_GAP if cut.leak_gap is None else cut.leak_gap,
        overlap=FLAP_OVERLAP if cut.overlap is None else cut.overlap,
        material=cut.material or "not said",
        lag=LAG if cut.lag is None else cut.lag,
        hinge=cast(Literal["top", "side"], cut.hinge or "top"),
    )
