"""From scans and pictures to readings: named, laid over the calipers, as sure as they prove to be."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from sumpwright.quantities.units import FloatArray
from sumpwright.rail.hole_names import KnownHoles, best_similarity
from sumpwright.rail.model import HolePattern, RailInputs, Reading
from sumpwright.rail.network import OUT_OF_PLANE, first_diameter
from sumpwright.rail.pan_inside import in_engine
from sumpwright.rail.scan_model import SeenHole, SeenRail
from sumpwright.rail.uncertainty import hole_blocks

_MEDIAN = 1.1774
"""Median of a way whose two coordinates each scatter by one."""
LEAST_SPARE = 4
"""Figures more than the laying needs, before it says anything of how sure a scan is."""


def caliper_inputs(inputs: RailInputs) -> RailInputs | None:
    """The part of the rail that readings by hand place, to be laid over scans; None if too small."""
    met: set[str] = set()
    for r in inputs.readings:
        if r.kind not in OUT_OF_PLANE:
            met |= {name for name in (r.a, r.b, r.with_hole) if name is not None}
    holes = tuple(hole for hole in inputs.holes if hole.name in met)
    names = {hole.name for hole in holes}
    wanted = {inputs.datum, inputs.second, *(() if inputs.mirror is None else (inputs.mirror.hole,))}
    if inputs.mirror is None or not wanted <= names or len(holes) < 3:
        return None
    return replace(
        inputs,
        holes=holes,
        bearing_left=0.0 if inputs.bearing_left is None else inputs.bearing_left,
        scans=(),
        pictures=(),
    )


def known_holes(inputs: RailInputs, pattern: HolePattern | None) -> KnownHoles:
    """What the calipers alone say of the holes; ``pattern`` is of those they place."""
    ring = tuple(hole.name for hole in inputs.holes)
    told = {r.a for r in inputs.readings if r.kind == "diameter"}
    diameters = tuple(
        first_diameter(hole, inputs.readings) if hole.edge_diameter is not None or hole.name in told else None
        for hole in inputs.holes
    )
    if pattern is None:
        return KnownHoles(ring, diameters, (), np.zeros((0, 2)), np.zeros(0))
    blocks = hole_blocks(pattern.free_covariance)
    u = np.sqrt(np.maximum([float(np.trace(block)) / 2.0 for block in blocks], 0.0))
    return KnownHoles(ring, diameters, pattern.names, pattern.xy, u)


def see_all(inputs: RailInputs, known: KnownHoles) -> tuple[SeenRail, ...]:
    """Every scan and picture of the job, looked at and held against the calipers."""
    seen: list[SeenRail] = []
    if inputs.scans:
        from sumpwright.rail.scan import see_scan

        seen += [see_scan(scan, known) for scan in inputs.scans]
    if inputs.pictures:
        from sumpwright.rail.picture import see_picture

        seen += [see_picture(picture, known) for picture in inputs.pictures]
    return tuple(_held_against(_in_ring_order(one, known), known) for one in seen)


def _in_ring_order(one: SeenRail, known: KnownHoles) -> SeenRail:
    """The named holes first, as they stand in the ring."""
    place = {name: k for k, name in enumerate(known.ring)}
    holes = sorted(one.holes, key=lambda hole: place.get(hole.name or "", len(place)))
    return replace(one, holes=tuple(holes))


def with_seen(inputs: RailInputs, seen: tuple[SeenRail, ...]) -> RailInputs:
    """The inputs with the seen holes among their readings."""
    readings: list[Reading] = []
    shapes = []
    for one in seen:
        named = [hole for hole in one.holes if hole.name is not None]
        if is_left_out(one):
            continue
        if one.shape is not None:
            shapes.append(one.shape)
        for hole in named:
            u = hole.u * one.widened
            for part, value in (("x", hole.x), ("y", hole.y)):
                readings.append(
                    Reading(
                        line=0,
                        kind="scan",
                        a=str(hole.name),
                        b=None,
                        value=value,
                        tool=one.kind,
                        u=u,
                        u_is_default=False,
                        group=one.name,
                        part=part,
                    )
                )
    return replace(inputs, readings=(*inputs.readings, *readings), setups=(*inputs.setups, *shapes))


def is_left_out(seen: SeenRail) -> bool:
    """Whether nothing of it goes into the holes."""
    return any(t.is_fatal for t in seen.troubles) or sum(h.name is not None for h in seen.holes) < 3


def scaled_by(seen: tuple[SeenRail, ...], pattern: HolePattern | None) -> tuple[SeenRail, ...]:
    """What the finished pattern says of the size of each."""
    if pattern is None:
        return tuple(replace(one, inside=None) for one in seen)
    out = []
    for one in seen:
        named = [hole for hole in one.holes if hole.name in pattern.names]
        if is_left_out(one) or len(named) < 3:
            out.append(replace(one, inside=None))
            continue
        true = np.array([pattern.xy[pattern.index(str(hole.name))] for hole in named])
        at = np.array([(hole.x, hole.y) for hole in named])
        laid = best_similarity(true, at, np.ones(len(at)))
        scale = 1.0 / laid.scale
        stretch = None
        if one.shape is not None and one.shape.stretch is None and len(named) >= 4:
            ways, _ = _laid(true, at, np.ones(len(at)), 5)
            stretch = float(ways[4])
        inside = None
        if one.inside is not None:
            size = float(np.sqrt(np.sum((true - true.mean(axis=0)) ** 2)))
            u = float(np.mean([hole.u for hole in named])) * one.widened / size
            inside = in_engine(one.inside, laid, u)
        out.append(replace(one, scale=scale, stretch=stretch, inside=inside))
    return tuple(out)


def _held_against(one: SeenRail, known: KnownHoles) -> SeenRail:
    """How far each hole lies from where the calipers put it, and how sure the fits prove to be."""
    if is_left_out(one):
        return one
    at = [k for k, hole in enumerate(one.holes) if hole.name in known.names]
    shape = one.shape
    count = 4
    if shape is not None:
        count += (shape.stretch is None) + (shape.shear is None)
        count += 2 * (shape.lean is None or shape.lean > 0.0) + (
            shape.shear is not None and shape.shear > 0.0
        )
        count += shape.stretch is not None and shape.stretch > 0.0
    if 2 * len(at) < count + 2:
        return one
    true = np.array([known.xy[known.names.index(str(one.holes[k].name))] for k in at])
    u_true = np.array([known.u[known.names.index(str(one.holes[k].name))] for k in at])
    seen = np.array([(one.holes[k].x, one.holes[k].y) for k in at])
    u_seen = np.array([one.holes[k].u for k in at])
    u = np.hypot(u_true, u_seen)
    ways, away = _laid(true, seen, 1.0 / u**2, count)
    off = np.hypot(away[:, 0], away[:, 1])
    spare = 2 * len(at) - count
    widened = 1.0
    if spare >= LEAST_SPARE:
        usual = float(np.median(off / u)) / _MEDIAN * math.sqrt(2.0 * len(at) / spare)
        if usual > 1.0:
            # What the calipers' own uncertainty does not explain is the scan's.
            excess = np.median(np.maximum((usual * u) ** 2 - u_true**2, u_seen**2) / u_seen**2)
            widened = math.sqrt(float(excess))
    del ways
    holes: list[SeenHole] = list(one.holes)
    for k, way, ut in zip(at, off.tolist(), u_true.tolist(), strict=True):
        holes[k] = replace(holes[k], off=way, off_u=math.hypot(ut, holes[k].u * widened))
    return replace(one, holes=tuple(holes), widened=widened)


def _laid(
    true: FloatArray, seen: FloatArray, weights: FloatArray, count: int
) -> tuple[FloatArray, FloatArray]:
    """Least-squares laying of the true holes over the seen ones with ``count`` freedoms, and the misses.

    Shift, turn and scale; with five also the stretch, with six the skew, with eight the
    lean. In order: shift x, shift y, scale, turn, stretch, skew, lean x, lean y, all small
    after a similarity has been taken away.
    """
    base = best_similarity(true, seen, weights)
    p = base.laid(true)
    middle = np.average(p, axis=0, weights=weights)
    x, y = (p - middle).T
    one, nil = np.ones(len(x)), np.zeros(len(x))
    in_x = np.stack((one, nil, x, -y, x, y, x * x, x * y), axis=1)[:, :count]
    in_y = np.stack((nil, one, y, x, -y, x, x * y, y * y), axis=1)[:, :count]
    A = np.concatenate((in_x, in_y))
    root = np.sqrt(np.concatenate((weights, weights)))
    size = np.maximum(np.abs(A).max(axis=0), 1e-30)
    gap = np.concatenate((seen[:, 0] - p[:, 0], seen[:, 1] - p[:, 1]))
    ways = np.linalg.lstsq(A / size * root[:, None], gap * root, rcond=None)[0] / size
    away = gap - A @ ways
    n = len(x)
    return ways, np.stack((away[:n], away[n:]), axis=1)
