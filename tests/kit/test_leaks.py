"""The ball test against holes of known size, and against a voxel flood that shares no code with it."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from scipy import ndimage

from sumpwright.geometry import FlatFrame
from sumpwright.kit.leaks import ball_passes, box_round, first_hits, is_open, probes_on
from sumpwright.kit.solids import Sheet, shadow
from sumpwright.quantities.units import frozen_array

T = 0.002


def frame(origin, x_axis, y_axis):
    return FlatFrame(frozen_array(origin), frozen_array(x_axis), frozen_array(y_axis))


def crate(side=0.02, slit=0.0, hole=0.0):
    """A closed cube of six open-corner sheets; one side moved off by a slit, or with a square hole."""
    s = side
    square = shapely.box(0.0, 0.0, s, s)
    places = [
        ((0, 0, 0), (0, 1, 0), (1, 0, 0)),  # down
        ((0, 0, s), (1, 0, 0), (0, 1, 0)),  # up
        ((0, 0, 0), (1, 0, 0), (0, 0, 1)),  # towards -y
        ((0, s, 0), (0, 0, 1), (1, 0, 0)),
        ((0, 0, 0), (0, 0, 1), (0, 1, 0)),
        ((s, 0, 0), (0, 1, 0), (0, 0, 1)),
    ]
    sheets = []
    for k, place in enumerate(places):
        outline = square
        origin = np.array(place[0], dtype=float)
        if k == 1:
            origin = origin + np.array([0.0, 0.0, slit])
            if hole:
                middle = s / 2
                outline = square.difference(shapely.box(middle, middle, middle + hole, middle + hole))
        sheets.append(Sheet(f"side {k}", k, frame(origin, place[1], place[2]), T, outline))
    return sheets


def judged(sheets, diameter):
    probes = []
    for sheet in sheets:
        spot = shapely.box(0.002, 0.002, 0.006, 0.006)
        probes += probes_on(sheet, spot, True) + probes_on(sheet, spot, False)
    window = box_round(np.array([[0.0, 0.0, 0.0], [0.02, 0.02, 0.022]]), 0.01)
    return ball_passes(window, sheets, probes, diameter)


def voxel_passes(sheets, diameter, step=0.00025):
    """Flood from the middle through every voxel whose centre is half the ball away from metal."""
    ticks = np.arange(-0.006, 0.028, step)
    distance = np.full((len(ticks),) * 3, np.inf)
    for sheet in sheets:
        across = int(np.argmax(np.abs(sheet.frame.normal)))  # the crate stands square to the axes
        in_plane = [k for k in range(3) if k != across]
        places = np.zeros((len(ticks) ** 2, 3))
        places[:, in_plane] = np.stack(np.meshgrid(ticks, ticks, indexing="ij"), axis=-1).reshape(-1, 2)
        flat = shapely.distance(shapely.points(sheet.frame.to_flat(places)), sheet.outline)
        h = (ticks - sheet.frame.origin[across]) * sheet.frame.normal[across]
        lift = np.maximum(np.maximum(-h, h - sheet.thickness), 0.0)
        both = np.hypot(flat.reshape(len(ticks), len(ticks))[:, :, None], lift)
        distance = np.minimum(distance, np.moveaxis(both, 2, across))
    label, _ = ndimage.label(distance > diameter / 2)
    middle = (int((0.01 + 0.006) / step),) * 3
    return bool(label[middle] == label[0, 0, 0])


@pytest.mark.expected_from(
    "closed form", "six sheets that touch along their oil-side edges let nothing through"
)
@pytest.mark.parametrize("diameter", [0.00001, 0.0001, 0.001])
def test_a_crate_of_open_corners_is_shut(diameter):
    assert not judged(crate(), diameter)


@pytest.mark.expected_from("closed form", "a slit lets a ball of its own width through, no larger one")
@pytest.mark.parametrize("slit", [0.0001, 0.00025, 0.001])
def test_a_slit_passes_a_ball_of_its_width(slit):
    assert judged(crate(slit=slit), 0.86 * slit)
    assert not judged(crate(slit=slit), 1.01 * slit)


@pytest.mark.expected_from("closed form", "a square hole lets a ball of its own side through, no larger one")
@pytest.mark.parametrize("hole", [0.0003, 0.001])
def test_a_square_hole_passes_a_ball_of_its_side(hole):
    assert judged(crate(hole=hole), 0.86 * hole)
    assert not judged(crate(hole=hole), 1.01 * hole)


@pytest.mark.expected_from(
    "property", "a flood over voxels, distances by another library, gives the same verdict"
)
@pytest.mark.parametrize(
    ("slit", "hole", "diameter"),
    [(0.0, 0.0, 0.0006), (0.0015, 0.0, 0.0008), (0.0, 0.002, 0.0012), (0.0, 0.002, 0.0026)],
)
def test_ball_test_agrees_with_a_voxel_flood(slit, hole, diameter):
    sheets = crate(slit=slit, hole=hole)
    assert judged(sheets, diameter) == voxel_passes(sheets, diameter)


@pytest.mark.expected_from("property", "swelling by more never opens anything")
def test_swelling_is_monotone():
    sheets = crate(slit=0.0004)
    window = box_round(np.array([[0.0, 0.0, 0.0], [0.02, 0.02, 0.022]]), 0.01)
    spot = shapely.box(0.002, 0.002, 0.006, 0.006)
    probes = [p for s in sheets for inside in (True, False) for p in probes_on(s, spot, inside)]
    verdicts = [is_open(window, sheets, probes, by) for by in (0.00005, 0.0001, 0.00019, 0.00021, 0.0005)]
    assert verdicts == [True, True, True, False, False]


@pytest.mark.expected_from("closed form", "signed volumes of the tetrahedra over a triangle's sides")
def test_first_hits_finds_the_nearest_triangle_met_from_behind():
    rng = np.random.default_rng(4)
    triangles = rng.normal(size=(40, 3, 3))
    origins = 2.0 * rng.normal(size=(100, 3))
    directions = rng.normal(size=(100, 3))
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    distance, hit = first_hits(origins, directions, triangles)
    for o, d, found, which in zip(origins, directions, distance, hit, strict=True):
        best = math.inf
        for a, b, c in triangles:
            normal = np.cross(b - a, c - a)
            if d @ normal <= 0.0:
                continue
            s = (a - o) @ normal / (d @ normal)
            p = o + s * d
            sides = [np.cross(y - x, p - x) @ normal for x, y in ((a, b), (b, c), (c, a))]
            if s > 0.0 and min(sides) >= 0.0:
                best = min(best, s)
        assert found == pytest.approx(best)
        assert (which >= 0) == math.isfinite(best)


@pytest.mark.expected_from(
    "closed form", "a box standing in a sheet's thickness hides its own section; one above it nothing"
)
def test_shadow_of_a_box():
    from manifold3d import Manifold

    flat = frame((0, 0, 0), (1, 0, 0), (0, 1, 0))
    inside = Manifold.cube((0.01, 0.02, 0.001)).translate((0.0, 0.0, 0.0005))
    assert shadow([inside], flat, T).area == pytest.approx(0.0002, rel=1e-9)
    leaning = Manifold.cube((0.01, 0.02, 0.01)).rotate((0.0, 45.0, 0.0))
    # A square on its corner is widest at its middle, height 0.
    assert shadow([leaning], flat, T).area == pytest.approx(0.02 * 0.01 * math.sqrt(2.0), rel=1e-4)
    above = Manifold.cube((0.01, 0.02, 0.01)).translate((0.0, 0.0, T))
    assert shadow([above], flat, T).is_empty
