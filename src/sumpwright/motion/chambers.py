"""From the parted cavity to what is driven: surfaces carried up, ways cut into patches."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body.model import Cavity, Pickup
from sumpwright.body.wall_model import Division, Opening
from sumpwright.geometry import Surface
from sumpwright.motion.driven_model import Chambers, Way
from sumpwright.quantities.units import FloatArray, Metre, frozen_array, frozen_indices

AT_RAIL: Metre = 1e-6
CARRIED_UP: Metre = 0.4
"""How far walls go on above the rail: what stands higher has left the pan anyway."""

PATCH_WIDE: Metre = 0.020
PATCH_HIGH: Metre = 0.006
"""Size that patches are cut to: across, the head changes slowly; upwards the oil's edge passes."""
MOST_PATCHES = 6


def carried_up_surface(surface: Surface, height: Metre = CARRIED_UP) -> Surface:
    """The closed surface with its lid in the rail plane lifted by ``height`` and walls drawn up to it."""
    vertices, triangles = surface.vertices, surface.triangles
    at_rail = np.abs(vertices[:, 2]) <= AT_RAIL
    a, b, c = (vertices[triangles[:, k]] for k in range(3))
    facing_up = np.cross(b - a, c - a)[:, 2] > 0.0
    lid = at_rail[triangles].all(axis=1) & facing_up
    if not lid.any():
        return surface
    count = len(vertices)
    lifted = vertices + np.array([0.0, 0.0, height])
    ring: dict[tuple[int, int], int] = {}
    for i, j, k in triangles[lid]:
        for edge in ((i, j), (j, k), (k, i)):
            ring[(int(edge[0]), int(edge[1]))] = ring.get((int(edge[0]), int(edge[1])), 0) + 1
    walls = []
    for i, j in ring:
        if (j, i) not in ring:
            walls += [(i, j, j + count), (i, j + count, i + count)]
    new = np.concatenate([triangles[~lid], triangles[lid] + count, np.array(walls, dtype=np.int64)])
    used = np.unique(new)
    renumber = np.full(2 * count, -1)
    renumber[used] = np.arange(len(used))
    return Surface(frozen_array(np.concatenate([vertices, lifted])[used]), frozen_indices(renumber[new]))


def clipped_below(surface: Surface, up: FloatArray, level: Metre) -> Surface:
    """The part of the surface's faces below a level along ``up`` (3,); for pictures, the cut stays open."""
    points: list[FloatArray] = []
    rows: list[tuple[int, int, int]] = []
    for triangle in surface.triangles:
        corners = surface.vertices[triangle]
        heights = corners @ up - level
        kept: list[FloatArray] = []
        for k in range(3):
            here, there = heights[k], heights[(k + 1) % 3]
            if here <= 0.0:
                kept.append(corners[k])
            if (here < 0.0 < there) or (there < 0.0 < here):
                share = here / (here - there)
                kept.append(corners[k] + share * (corners[(k + 1) % 3] - corners[k]))
        first = len(points)
        points += kept
        rows += [(first, first + k, first + k + 1) for k in range(1, len(kept) - 1)]
    if not rows:
        return Surface(frozen_array(np.empty((0, 3))), frozen_indices(np.empty((0, 3))))
    return Surface(frozen_array(np.array(points)), frozen_indices(np.array(rows)))


def enclosed(surface: Surface) -> float:
    """Volume of a closed surface [m3]."""
    a, b, c = (surface.vertices[surface.triangles[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def chambers(
    cavity: Cavity,
    division: Division | None,
    pickup: Pickup,
    up: FloatArray,
    crank: FloatArray | None = None,
    returns_at: FloatArray | None = None,
    return_shares: FloatArray | None = None,
) -> Chambers:
    """Everything about the pan that a driven run needs. ``up`` (3,) is the vehicle's, in engine axes.

    ``crank`` (n, 4): points on the sweep's axis with its radius [m]. ``returns_at`` (n, 3): where oil
    comes back [m]; None = evenly over the rail opening. ``return_shares`` (n,): part of it that each
    carries; None = all alike. Raises ValueError if the mouth lies in no compartment.
    """
    unit = up / np.linalg.norm(up)
    if division is None or len(division.compartments) < 2:
        names: tuple[str, ...] = ("whole pan",)
        plain: tuple[Surface, ...] = (cavity.surface(),)
        ways: tuple[Way, ...] = ()
    else:
        names = tuple(part.name for part in division.compartments)
        plain = tuple(part.surface for part in division.compartments)
        ways = tuple(_way(opening) for opening in division.openings)
    surfaces = tuple(carried_up_surface(surface) for surface in plain)
    home = _home(plain, pickup.mouth)
    open_area = np.array([_lid_area(surface) for surface in plain])
    if open_area.sum() <= 0.0:
        raise ValueError("no compartment reaches the rail")
    axes = np.stack([_level_axes(surface, unit) for surface in plain])
    lengths = np.stack(
        [[float(np.ptp(surface.vertices @ axes[c, a])) for a in range(2)] for c, surface in enumerate(plain)]
    )
    rail = cavity.vertices[np.abs(cavity.vertices[:, 2]) <= AT_RAIL]
    return Chambers(
        names=names,
        surfaces=surfaces,
        capacities=frozen_array([enclosed(surface) for surface in surfaces]),
        axes=frozen_array(axes),
        lengths=frozen_array(lengths),
        ways=ways,
        mouth=pickup.mouth,
        mouth_axis=frozen_array(unit),
        mouth_radius=pickup.mouth_diameter / 2.0,
        home=home,
        returns=frozen_array(returns_of(surfaces, open_area, returns_at, unit, return_shares)),
        crank=frozen_array(np.empty((0, 4)) if crank is None else crank),
        rail_points=frozen_array(rail),
    )


def returns_of(
    surfaces: tuple[Surface, ...],
    open_area: FloatArray,
    places: FloatArray | None,
    up: FloatArray,
    carried: FloatArray | None = None,
) -> FloatArray:
    """Share of the returning oil that falls into each compartment (c,).

    ``carried`` (n,) is what each place carries of the whole, None = all alike; what they leave is
    spread over the rail opening. From each named place it falls straight down; a place above no
    compartment counts as spread over the rail opening, as all of it does where no place is named.
    """
    spread = open_area / open_area.sum()
    if places is None or len(places) == 0:
        return np.asarray(spread)
    each = np.full(len(places), 1.0 / len(places)) if carried is None else np.asarray(carried)
    shares = (1.0 - float(each.sum())) * spread
    for place, part in zip(places, each, strict=True):
        below = [_first_below(surface, place, up) for surface in surfaces]
        best = int(np.argmin(below))
        shares = shares + part * (np.eye(len(surfaces))[best] if np.isfinite(below[best]) else spread)
    return np.asarray(shares)


def _first_below(surface: Surface, place: FloatArray, up: FloatArray) -> float:
    """Distance straight down to the surface's inside floor, infinite where it is not below the place."""
    from sumpwright.oil.dipstick import crossings

    hits = [distance for distance, _ in crossings(surface, place, frozen_array(-up)) if distance > 0.0]
    return max(hits) if hits else math.inf


def _lid_area(surface: Surface) -> float:
    a, b, c = (surface.vertices[surface.triangles[:, k]] for k in range(3))
    cross = np.cross(b - a, c - a)
    flat = (np.abs(np.stack([a[:, 2], b[:, 2], c[:, 2]])).max(axis=0) <= AT_RAIL) & (cross[:, 2] > 0.0)
    return float(0.5 * cross[flat, 2].sum())


def _home(surfaces: tuple[Surface, ...], point: FloatArray) -> int:
    """Compartment that holds the point, by the solid angle under which it is seen."""
    angles = [_solid_angle(surface, point) for surface in surfaces]
    best = int(np.argmax(angles))
    if angles[best] < 2.0 * math.pi:
        raise ValueError("the mouth lies outside the oil space")
    return best


def home_of(pan: Chambers, point: FloatArray) -> int | None:
    """Compartment that holds a point, None where none does."""
    angles = [_solid_angle(surface, point) for surface in pan.surfaces]
    best = int(np.argmax(angles))
    return best if angles[best] >= 2.0 * math.pi else None


def _solid_angle(surface: Surface, point: FloatArray) -> float:
    a, b, c = (surface.vertices[surface.triangles[:, k]] - point for k in range(3))
    la, lb, lc = (np.linalg.norm(x, axis=1) for x in (a, b, c))
    top = np.einsum("ij,ij->i", a, np.cross(b, c))
    bottom = (
        la * lb * lc
        + np.einsum("ij,ij->i", a, b) * lc
        + np.einsum("ij,ij->i", b, c) * la
        + np.einsum("ij,ij->i", c, a) * lb
    )
    return float(2.0 * np.arctan2(top, bottom).sum())


def _level_axes(surface: Surface, up: FloatArray) -> FloatArray:
    """Two level directions, the longer one first, and up, as rows."""
    helper = np.array([1.0, 0.0, 0.0]) if abs(up[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    first = helper - (helper @ up) * up
    first /= np.linalg.norm(first)
    second = np.cross(up, first)
    flat = np.stack([surface.vertices @ first, surface.vertices @ second], axis=1)
    spread = flat - flat.mean(axis=0)
    _, _, turn = np.linalg.svd(spread, full_matrices=False)
    long = turn[0, 0] * first + turn[0, 1] * second
    return np.stack([long, np.cross(up, long), up])


def _way(opening: Opening) -> Way:
    """An opening cut into flat patches; one that reaches the rail goes on above it."""
    import shapely

    normal = opening.normal
    across = np.cross(np.array([0.0, 0.0, 1.0]), normal)
    size = float(np.linalg.norm(across))
    across = np.array([1.0, 0.0, 0.0]) if size < 1e-9 else across / size
    upward = np.cross(normal, across)
    origin = opening.centre
    loops = [
        np.stack([(loop - origin) @ across, (loop - origin) @ upward], axis=1) for loop in opening.outlines
    ]
    shape = shapely.Polygon(loops[0], loops[1:])
    if not shape.is_valid:
        shape = shape.buffer(0.0)
    low_u, low_v, high_u, high_v = shape.bounds
    n_u = min(max(math.ceil((high_u - low_u) / PATCH_WIDE), 2), MOST_PATCHES)
    n_v = min(max(math.ceil((high_v - low_v) / PATCH_HIGH), 3), MOST_PATCHES)
    us, vs = np.linspace(low_u, high_u, n_u + 1), np.linspace(low_v, high_v, n_v + 1)
    boxes = [shapely.box(us[i], vs[j], us[i + 1], vs[j + 1]) for i in range(n_u) for j in range(n_v)]
    pieces = shapely.intersection(shape, boxes)
    centres, areas, sides = [], [], []
    for piece in pieces:
        area = float(piece.area)
        if area <= 1e-12:
            continue
        u0, v0, u1, v1 = piece.bounds
        centroid = piece.centroid
        centres.append(origin + centroid.x * across + centroid.y * upward)
        areas.append(area)
        sides.append([0.5 * (u1 - u0) * across, 0.5 * (v1 - v0) * upward])
    if opening.reaches_rail:
        extra = _above_rail(loops[0], origin, across, upward)
        for centre, area, side in extra:
            centres.append(centre)
            areas.append(area)
            sides.append(side)
    door = opening.door
    passes = 0
    if opening.passes == "forward":
        passes = 1
    elif opening.passes == "backward":
        passes = -1
    girth = 4.0 * opening.area / opening.hydraulic_diameter if opening.hydraulic_diameter > 0.0 else 0.0
    return Way(
        name=opening.name,
        between=(opening.from_compartment, opening.to_compartment),
        centre=opening.centre,
        patches=frozen_array(np.array(centres)),
        patch_areas=frozen_array(areas),
        patch_sides=frozen_array(np.array(sides)),
        hydraulic_diameter=opening.hydraulic_diameter,
        thickness=opening.thickness,
        girth=girth,
        passes=passes,  # type: ignore[arg-type]
        is_door=door is not None,
        lag=0.0 if door is None else door.lag,
        leak_gap=0.0 if door is None else door.leak_gap,
        overlap=0.0 if door is None else door.overlap,
    )


def _above_rail(
    loop: FloatArray, origin: FloatArray, across: FloatArray, upward: FloatArray
) -> list[tuple[FloatArray, float, list[FloatArray]]]:
    """Patches of the free space above the stretch of an opening that lies in the rail plane."""
    points = origin + loop[:, :1] * across + loop[:, 1:] * upward
    top = points[np.abs(points[:, 2]) <= AT_RAIL]
    if len(top) < 2:
        return []
    along = (top - origin) @ across
    low, high = float(along.min()), float(along.max())
    base = float(((top - origin) @ upward).mean())
    rows = 8
    step = 0.5 * CARRIED_UP / rows
    found = []
    for row in range(rows):
        centre = origin + 0.5 * (low + high) * across + (base + (row + 0.5) * step) * upward
        found.append(
            (
                centre,
                (high - low) * step,
                [0.5 * (high - low) * across, 0.5 * step * upward],
            )
        )
    return found
