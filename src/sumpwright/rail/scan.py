"""A scan in, the rail's holes in the plane of its face out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre
from sumpwright.rail.edge_circle import EdgeCircle
from sumpwright.rail.face_plane import FacePlane, find_planes, refined
from sumpwright.rail.hole_names import KnownHoles, Naming, by_ring_order, name_holes, pointed_at
from sumpwright.rail.pan_inside import pan_inside, skin_by_sides
from sumpwright.rail.scan_edges import (
    FaceEdges,
    cloud_edges,
    expected_round,
    mesh_edges,
)
from sumpwright.rail.scan_model import (
    FileUnit,
    PanInside,
    ScanInput,
    SeenHole,
    SeenRail,
    SeenTrouble,
    SetUpShape,
)

UNITS: dict[FileUnit, Metre] = {"mm": 0.001, "in": 0.0254, "m": 1.0}
LEAST_SIZE: Metre = 0.12
MOST_SIZE: Metre = 2.0
"""Sizes that a rail or an old pan can have; no two of the units can both give such a size."""

BAND: Metre = 0.0004
"""How near a point must lie to count to a face at first: a scanner's noise and a warped flange."""

_GIVE = 0.01
_SCALES = ((0.95, 1.05),)
"""How much larger or smaller than life a scan may be, its unit being right."""
_SAMPLE = 40_000
_EVEN = 700_000
"""Points spread over a mesh for its inside: less than a millimetre apart on any pan."""
_CHUNK = 100_000
_PLANES = 6
_SIDED = 0.02
_WIDE = 0.004


@dataclass(frozen=True, slots=True, eq=False)
class _Face:
    """One candidate for the rail's face, laid flat."""

    plane: FacePlane
    right: FloatArray  # (3,)
    across: FloatArray  # (3,); right x across = up, towards the crank
    in_face: BoolArray
    edges: FaceEdges
    one_sided: float
    naming: Naming
    pointed: dict[str, int]

    def flat(self, points: FloatArray) -> FloatArray:
        away = points - self.plane.origin
        return np.stack((away @ self.right, away @ self.across), axis=1)


def see_scan(scan: ScanInput, known: KnownHoles) -> SeenRail:
    """Find the rail's face, its round holes, and which of them are the job's."""
    finite: BoolArray = np.asarray(np.isfinite(scan.points).all(axis=1))
    if finite.sum() < 100:
        return _nothing(scan, _trouble_few(int(finite.sum())))
    points = scan.points
    faces = scan.faces if scan.faces is not None and len(scan.faces) else None
    if not finite.all():
        points = np.where(finite[:, None], points, points[finite][0])
    if faces is None and not finite.all():
        points = points[finite]
    unit, is_found = _unit(scan, points)
    if unit is None:
        return _nothing(scan, _trouble_size(_size(points)))
    points = points * UNITS[unit]
    skin = None if faces is None else _Skin.of(points, faces)
    sample = _sample(points, faces, skin)
    troubles = list(_body_troubles(skin, sample))
    if scan.unit is not None and unit != scan.unit:
        troubles.append(_trouble_unit(scan.unit, unit))
    chosen = _rail_face(scan, points, faces, sample, known, UNITS[unit])
    if isinstance(chosen, SeenTrouble):
        return replace(
            _nothing(scan, chosen), troubles=(*troubles, chosen), unit=unit, unit_is_found=is_found
        )
    face = chosen
    if faces is not None:
        troubles += _flipped(points, faces, face)
    circles = list(face.edges.round_ones)
    names, wrong = _names(face, known, circles)
    troubles += wrong
    circles, names = _with_arcs(face, known, circles, names)
    seen = tuple(
        SeenHole(name, c.x, c.y, c.u, 2.0 * c.radius, c.arc, c.points)
        for c, name in zip(circles, names, strict=True)
    )
    inside = None
    if scan.of == "old pan":
        is_turned = any(trouble.kind == "inside out" for trouble in troubles)
        inside = _inside(scan, points, faces, skin, face, is_turned)
    if isinstance(inside, SeenTrouble):
        troubles.append(inside)
        inside = None
    return SeenRail(
        name=scan.name,
        kind="scan",
        holes=seen,
        outline=face.edges.outline,
        troubles=tuple(troubles),
        unit=unit,
        unit_is_found=is_found,
        flatness=_flatness(face, points),
        noise=face.plane.noise,
        shape=SetUpShape(scan.name),
        inside=inside,
    )


def _inside(
    scan: ScanInput,
    points: FloatArray,
    faces: IntArray | None,
    skin: _Skin | None,
    face: _Face,
    is_turned: bool,
) -> PanInside | SeenTrouble:
    """The old pan's oil space, from points spread over all of the scan."""
    spread, side = points, scan.skin
    if faces is not None:
        spread = _sample(points, faces, skin, _EVEN)
        if side is None:
            side = skin_by_sides(points, faces, face.plane.normal, -face.plane.height(points))
            if side is not None and is_turned:
                side = "outside" if side == "inside" else "inside"
    return pan_inside(face.flat(spread), face.plane.height(spread), side, scan.metal)


def _nothing(scan: ScanInput, trouble: SeenTrouble) -> SeenRail:
    return SeenRail(scan.name, "scan", (), np.zeros((0, 2)), (trouble,))


def _size(points: FloatArray) -> float:
    """Longest side, leaving out the wildest points."""
    step = max(len(points) // 100_000, 1)
    low, high = np.percentile(points[::step], (1.0, 99.0), axis=0)
    return float((high - low).max())


def _unit(scan: ScanInput, points: FloatArray) -> tuple[FileUnit | None, bool]:
    """The unit of the file, and whether it was found by size: told ones that cannot be are not taken."""
    size = _size(points)
    may = [unit for unit, length in UNITS.items() if LEAST_SIZE <= size * length <= MOST_SIZE]
    if scan.unit in may:
        return scan.unit, False
    return (may[0] if may else None), True


@dataclass(frozen=True, slots=True, eq=False)
class _Skin:
    """The triangles of a mesh, summed up."""

    grown: FloatArray  # (k,) m2, twice the area up to and with each triangle
    gap: float  # how far the areas, as arrows, are from closing, in parts of the whole
    volume: float  # m3, signed, about the middle of the points

    @staticmethod
    def of(points: FloatArray, faces: IntArray) -> _Skin:
        middle = points[:: max(len(points) // 1000, 1)].mean(axis=0)
        area, total, volume = np.empty(len(faces)), np.zeros(3), 0.0
        for k in range(0, len(faces), _CHUNK):
            a, b, c = (points[faces[k : k + _CHUNK, j]] for j in range(3))
            a, b, c = a - middle, b - a, c - a
            arrow = _cross(b, c)
            area[k : k + _CHUNK] = np.sqrt(np.einsum("nk,nk->n", arrow, arrow))
            total += arrow.sum(axis=0)
            volume += float(np.einsum("nk,nk->", a, arrow)) / 6.0
        grown = np.cumsum(area)
        whole = float(grown[-1])
        return _Skin(grown, float(np.linalg.norm(total)) / max(whole, 1e-30), volume)


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    """Cross products (n, 3), without the library's shuffling of axes."""
    (ax, ay, az), (bx, by, bz) = a.T, b.T
    return np.stack((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx), axis=1)


def _sample(
    points: FloatArray, faces: IntArray | None, skin: _Skin | None, count: int = _SAMPLE
) -> FloatArray:
    """Points spread over the surface, (n, 3) [m]: as many to a square inch everywhere, if there are faces."""
    rng = np.random.default_rng(7)
    if faces is None or skin is None:
        if len(points) <= count:
            return points
        return np.asarray(points[rng.choice(len(points), count, replace=False)])
    whole = float(skin.grown[-1])
    if not whole > 0.0:
        return points[:count]
    # Rising places are looked up in order, which is many times faster than in none.
    where = (np.arange(count) + rng.random(count)) / count
    pick = np.searchsorted(skin.grown, where * whole).clip(0, len(faces) - 1)
    s, t = rng.random(count), rng.random(count)
    over = s + t > 1.0
    s, t = np.where(over, 1.0 - s, s)[:, None], np.where(over, 1.0 - t, t)[:, None]
    a, b, c = (points[faces[pick, k]] for k in range(3))
    return np.asarray(a + s * (b - a) + t * (c - a))


def _rail_face(
    scan: ScanInput,
    points: FloatArray,
    faces: IntArray | None,
    sample: FloatArray,
    known: KnownHoles,
    unit: Metre,
) -> _Face | SeenTrouble:
    """The plane with most of the job's holes; of alike ones the outermost."""
    found: list[_Face] = []
    planes = [refined(plane, sample, BAND) for plane in find_planes(sample, BAND, _PLANES)]
    # The rail's face has all else on one side: these first, and no more once all holes are found.
    planes.sort(key=lambda plane: _standing(plane, sample))
    for plane in planes:
        if found and len(known.names) >= 3 and _worth(found[-1])[0] >= len(known.names):
            break
        out = plane.height(points)
        near = out[np.abs(out) < BAND]
        if near.size < 60:
            continue
        # Places between a mesh's corners scatter less than the corners, which are what was scanned.
        noise = max(1.4826 * float(np.median(np.abs(near - np.median(near)))), 1e-7)
        plane = replace(plane, noise=noise)
        in_face: BoolArray = np.asarray(np.abs(out) < max(4.0 * noise, 0.00015))
        above, below = _sides(plane, sample)
        is_up = above < below if scan.of == "old pan" else above > below
        normal = plane.normal if is_up else -plane.normal
        plane = replace(plane, normal=normal)
        if in_face.sum() < 60:
            continue
        right, across = _axes(points[in_face], normal)
        away = points - plane.origin
        flat = np.stack((away @ right, away @ across), axis=1)
        if faces is None:
            edges = cloud_edges(flat[in_face], plane.noise)
        else:
            edges = mesh_edges(flat, faces, in_face, plane.noise)
        del away, flat
        if edges is None:
            continue
        marks = {
            m.hole: (
                float((np.array(m.at) * unit - plane.origin) @ right),
                float((np.array(m.at) * unit - plane.origin) @ across),
            )
            for m in scan.marks
        }
        centres = np.array([(c.x, c.y) for c in edges.round_ones]).reshape(-1, 2)
        radii = np.array([c.radius for c in edges.round_ones])
        pointed = pointed_at(centres, radii, marks)
        naming = _naming(known, centres, pointed)
        one_sided = max(above, below) / max(above + below, 1e-9) if above + below > _SIDED else 0.0
        found.append(_Face(plane, right, across, in_face, edges, one_sided, naming, pointed))
    if not found:
        return SeenTrouble(
            "no face",
            "no plane face was found in it",
            "Scan the rail's face or the pan's flange as a whole, and save it in full resolution.",
            is_fatal=True,
        )
    best = max(found, key=_worth)
    if len(best.edges.round_ones) < 3:
        return SeenTrouble(
            "no holes",
            "no face with at least three round holes was found in it",
            "Scan with the bolts out, and so that the edges of the holes show.",
            float(len(best.edges.round_ones)),
            3.0,
            is_fatal=True,
        )
    if best.one_sided == 0.0:
        return SeenTrouble(
            "no side",
            "it shows the face alone, so nothing tells which side of it is up",
            "Scan some of the body along with the face.",
            is_fatal=True,
        )
    return best


def _standing(plane: FacePlane, sample: FloatArray) -> tuple[float, float]:
    """Lowest for the plane that is most likely the rail's: all else on one side, and wide."""
    near = sample[np.abs(plane.height(sample)) < BAND]
    wide = float(np.linalg.norm(np.ptp(near, axis=0))) if len(near) else 0.0
    above, below = _sides(plane, sample)
    return -round(max(above, below) / max(above + below, 1e-9), 1), -wide


def _sides(plane: FacePlane, sample: FloatArray) -> tuple[float, float]:
    """Parts of the sample clearly above and below a plane."""
    height = plane.height(sample)
    return float((height > _WIDE).mean()), float((height < -_WIDE).mean())


def _worth(face: _Face) -> tuple[float, ...]:
    named = face.naming.best
    count = 0 if named is None else int((named.seen >= 0).sum())
    holes = len(face.edges.round_ones)
    # Faces a flange's thickness apart show the same holes; the outermost has all else on one side.
    return (count + len(face.pointed), round(face.one_sided, 2), holes, face.plane.share)


def _naming(known: KnownHoles, centres: FloatArray, pointed: dict[str, int]) -> Naming:
    if len(known.names) < 3 or len(centres) < 3:
        return Naming(None)
    fixed = {known.names.index(name): k for name, k in pointed.items() if name in known.names}
    return name_holes(known.xy, centres, _SCALES, _GIVE, fixed)


def _axes(points: FloatArray, normal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Two directions in the face, the first along its length; with the normal a right-handed set."""
    step = max(len(points) // 20_000, 1)
    away = points[::step] - points[::step].mean(axis=0)
    _, turn = np.linalg.eigh(away.T @ away)
    right = turn[:, 2] - (turn[:, 2] @ normal) * normal
    right = right / np.linalg.norm(right)
    if right[int(np.argmax(np.abs(right)))] < 0.0:
        right = -right
    return right, np.cross(normal, right)


def _names(
    face: _Face, known: KnownHoles, circles: list[EdgeCircle]
) -> tuple[list[str | None], list[SeenTrouble]]:
    """A name for each circle, by the calipers, else from the holes pointed out."""
    centres = np.array([(c.x, c.y) for c in circles])
    return names_of(face.naming, face.pointed, known, centres)


def names_of(
    naming: Naming, pointed: dict[str, int], known: KnownHoles, centres: FloatArray
) -> tuple[list[str | None], list[SeenTrouble]]:
    """Names of the seen holes, and what keeps them from having any."""
    names: list[str | None] = [None] * len(centres)
    by_ring = by_ring_order(known.ring, centres, pointed)
    if naming.best is not None and not naming.is_doubtful:
        for name, k in zip(known.names, naming.best.seen.tolist(), strict=True):
            if k >= 0:
                names[k] = name
        if by_ring is None and set(known.names) != set(known.ring) and len(centres) == len(known.ring):
            told = {name: k for k, name in enumerate(names) if name is not None}
            by_ring = by_ring_order(known.ring, centres, told)
            if by_ring is None:
                return names, []
        for name, k in (by_ring or {}).items():
            names[k] = names[k] or name
        return names, []
    if by_ring is not None:
        for name, k in by_ring.items():
            names[k] = name
        return names, []
    if naming.mirrored_is_better:
        return names, [
            SeenTrouble(
                "mirrored",
                "its holes fit the calipers only as a mirror image",
                "Check `seen_from` or `of` of the picture or scan, and `side` and `seen_from` of the rail.",
                is_fatal=True,
            )
        ]
    if naming.is_doubtful:
        return names, [
            SeenTrouble(
                "doubtful",
                "its holes fit the calipers in two ways about equally well",
                "Point out two holes by name: marks with hole and place.",
                is_fatal=True,
            )
        ]
    cure = "Point out two holes by name, and see that every hole of the ring shows"
    if len(known.names) < 3:
        cure += "; or read at least four holes with the caliper, datum, second and side hole among them"
    for name, k in pointed.items():
        names[k] = name
    return names, [
        SeenTrouble("no names", "which of its holes is which is not known", f"{cure}.", is_fatal=True)
    ]


def _with_arcs(
    face: _Face,
    known: KnownHoles,
    circles: list[EdgeCircle],
    names: list[str | None],
) -> tuple[list[EdgeCircle], list[str | None]]:
    """Holes of which only part of the edge was scanned, looked for where the calipers put them."""
    best = face.naming.best
    if best is None or face.naming.is_doubtful:
        return circles, names
    places = best.similarity.laid(known.xy)
    missing = [k for k, name in enumerate(known.names) if name not in names]
    if not missing:
        return circles, names
    usual = float(np.median([c.radius for c in circles]))
    circles, names = list(circles), list(names)
    for k in missing:
        name = known.names[k]
        diameter = known.diameters[known.ring.index(name)]
        radius = usual if diameter is None else 0.5 * diameter * best.similarity.scale
        circle = expected_round(face.edges, (float(places[k, 0]), float(places[k, 1])), radius)
        if circle is not None:
            circles.append(circle)
            names.append(name)
    return circles, names


def _flatness(face: _Face, points: FloatArray) -> Metre | None:
    """Range of the face's height in patches of a centimetre, leaving out the wildest in twenty."""
    height = face.plane.height(points)
    near = np.abs(height) < 0.001
    flat = face.flat(points[near])
    height = height[near]
    # Only where the face is: patches that mostly hold points of the face itself.
    at = np.floor((flat - flat.min(axis=0)) / 0.01).astype(np.int64)
    _, patch = np.unique(at[:, 0] * 100_000 + at[:, 1], return_inverse=True)
    patch = patch.reshape(-1)
    count = np.bincount(patch)
    enough = count >= 15
    if enough.sum() < 10:
        return None
    mean = np.bincount(patch, height) / np.maximum(count, 1)
    inside = np.bincount(patch, face.in_face[near]) / np.maximum(count, 1)
    sure = enough & (inside > 0.5)
    if not sure.any():
        return None
    low, high = np.percentile(mean[sure], (2.5, 97.5))
    return float(high - low)


def _body_troubles(skin: _Skin | None, sample: FloatArray) -> list[SeenTrouble]:
    """What is odd about the scan as a whole, though it may do no harm."""
    out = []
    bodies = _bodies(sample)
    if bodies > 1:
        out.append(
            SeenTrouble(
                "bodies",
                f"it holds {bodies} separate bodies",
                "Cut away what is not the rail or the pan if the wrong face was taken.",
                float(bodies),
                1.0,
            )
        )
    if skin is not None:
        gap = skin.gap
        if gap > 1e-4:
            out.append(
                SeenTrouble(
                    "open",
                    "its surface is not closed; the holes can be found all the same",
                    "Nothing, if the rail's face is whole.",
                    gap,
                    1e-4,
                )
            )
        elif skin.volume < 0.0:
            out.append(
                SeenTrouble(
                    "inside out",
                    "its surface is inside out; the holes can be found all the same",
                    "Turn the normals over before it is used for anything else.",
                )
            )
    return out


def _bodies(sample: FloatArray) -> int:
    """Clumps of points with a clear gap between them that hold more than one in fifty."""
    from scipy import ndimage

    low = np.percentile(sample, 0.5, axis=0)
    high = np.percentile(sample, 99.5, axis=0)
    kept = sample[((sample >= low) & (sample <= high)).all(axis=1)]
    cell = max(float((high - low).max()) / 50.0, 1e-9)
    at = np.floor((kept - low) / cell).astype(np.int64) + 1
    shape = at.max(axis=0) + 2
    grid = np.zeros(tuple(shape.tolist()), dtype=np.bool_)
    grid[tuple(at.T)] = True
    label, _ = ndimage.label(grid, np.ones((3, 3, 3)))
    share = np.bincount(label[tuple(at.T)]) / len(kept)
    return int((share > 0.02).sum())


def _flipped(points: FloatArray, faces: IntArray, face: _Face) -> list[SeenTrouble]:
    """Whether triangles of the rail's face point both ways."""
    triangles = faces
    mine = triangles[face.in_face[triangles].all(axis=1)]
    a, b, c = (points[mine[:, k]] for k in range(3))
    n = np.cross(b - a, c - a) @ face.plane.normal
    total = float(np.abs(n).sum())
    if total == 0.0:
        return []
    up = float(n[n > 0].sum()) / total
    odd = min(up, 1.0 - up)
    if odd < 0.02:
        return []
    return [
        SeenTrouble(
            "flipped",
            f"{100 * odd:.0f} % of its rail face point the other way; the holes are found all the same",
            "Make the normals agree before it is used for anything else.",
            odd,
            0.02,
        )
    ]


def _trouble_few(count: int) -> SeenTrouble:
    return SeenTrouble(
        "few",
        f"it holds only {count} points",
        "Save it again in full resolution.",
        float(count),
        100.0,
        is_fatal=True,
    )


def _trouble_size(size: float) -> SeenTrouble:
    return SeenTrouble(
        "size",
        f"it is {size:.4g} units of its file long, which is no rail in millimetres, inches or metres",
        "Give its unit: scan.units.",
        size,
        is_fatal=True,
    )


def _trouble_unit(taken: FileUnit, right: FileUnit) -> SeenTrouble:
    words = {"mm": "millimetres", "in": "inches", "m": "metres"}
    return SeenTrouble(
        "unit",
        f"in {words[taken]} it would be no rail, in {words[right]} it is one; {words[right]} are taken",
        f'Put units = "{right}" into [scan].',
    )
