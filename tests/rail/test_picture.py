"""Gaskets drawn with known holes: do they come back, within what is stated?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sumpwright.rail.picture import see_picture
from sumpwright.rail.picture_model import PictureMark, grey_array
from sumpwright.rail.picture_plane import plane_by_points, shape_by_points
from sumpwright.rail.seen import see_all
from tests.rail.gaskets import drawn, flatbed
from tests.rail.rails import inputs
from tests.rail.scans import HOLES, MM, NAMES, RADIUS, hole_list, known, laid_misses

DRAWN = "drawn by Pillow from known holes, four times as large and averaged down"


@pytest.fixture(scope="module")
def bed():
    return flatbed(pixel=25.4e-3 / 150, stretch=0.004, turn=0.1)


@pytest.mark.expected_from("closed form", DRAWN)
def test_holes_come_back_to_a_tenth_of_a_pixel(bed):
    picture, _ = bed
    seen = see_picture(picture, known())
    assert sorted(h.name for h in seen.holes) == sorted(NAMES)
    assert not seen.troubles
    away, ways = laid_misses(seen.holes, 5)
    assert np.abs(away).max() < 0.1 * picture.pixel
    assert ways[4] == pytest.approx(0.004, abs=1e-4)
    assert [h.diameter for h in seen.holes] == pytest.approx([2 * RADIUS] * 12, abs=0.3 * picture.pixel)


@pytest.mark.expected_from("property", "an outline goes once round its gasket: area of the drawn rectangle")
def test_the_outline_is_that_of_the_gasket(bed):
    picture, _ = bed
    x, y = see_picture(picture, known()).outline.T
    area = 0.5 * abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    assert area == pytest.approx(0.354 * 0.234, rel=0.01)


@pytest.mark.expected_from("closed form", DRAWN + "; seen from below it is a mirror image")
def test_a_picture_from_below_is_turned_over_and_a_wrong_side_is_refused():
    picture, _ = flatbed(pixel=25.4e-3 / 100, seen_from="below")
    assert sum(h.name is not None for h in see_picture(picture, known()).holes) == 12
    wrong = see_picture(replace(picture, seen_from="above"), known())
    assert [t.kind for t in wrong.troubles if t.is_fatal] == ["mirrored"]
    assert all(h.name is None for h in wrong.holes)


@pytest.mark.expected_from("closed form", DRAWN + "; the wrong half of a torn hole is gone")
def test_a_torn_hole_is_found_by_what_is_left_of_its_edge():
    torn = HOLES[7] + MM * np.array([(0, -30), (30, -30), (30, 30), (0, 30)])
    picture, _ = flatbed(pixel=25.4e-3 / 150, tear=torn)
    seen = see_picture(picture, known())
    [hole] = [h for h in seen.holes if h.name == "h8"]
    assert hole.arc < np.radians(240)
    away, _ = laid_misses(seen.holes, 5)
    assert np.abs(away).max() < 0.3 * picture.pixel


def photograph(seed=0, noise=3.0, pick=0.0):
    """Taken at an angle: about one in eight smaller on the far side."""
    rng = np.random.default_rng(seed)
    h = np.array([[2500.0, 150.0, 260.0], [-90.0, -2400.0, 180.0], [0.35, 0.12, 1.0]])

    def to_pixels(points):
        q = np.column_stack((points, np.ones(len(points)))) @ h.T
        return q[:, :2] / q[:, 2:]

    marks = np.array([(-0.02, 0.02), (0.35, 0.02), (0.35, -0.23), (-0.02, -0.23)])
    spots = to_pixels(marks) + rng.normal(0.0, pick, (4, 2))
    image = drawn(to_pixels, (1200, 860), noise=noise, seed=seed)
    picked = tuple(
        PictureMark(float(r), float(d), at=(float(x), float(y)))
        for (r, d), (x, y) in zip(spots, marks, strict=True)
    )
    picture = flatbed(pixel=25.4e-3 / 50)[0]
    return replace(picture, grey=grey_array(image), pixel=None, marks=picked, pick_u=max(pick, 0.05))


@pytest.mark.expected_from("closed form", DRAWN + ", through a known projection")
def test_a_photograph_is_straightened_by_four_points():
    seen = see_picture(photograph(), known())
    away, ways = laid_misses(seen.holes, 5)
    assert len(away) == 12
    assert np.abs(away).max() < 0.05 * MM
    assert ways[2:5] == pytest.approx([0.0, 0.0, 0.0], abs=3e-4)


@pytest.mark.expected_from("convergence", "spread of 400 planes drawn with moved marks")
def test_what_straightening_costs_is_what_moved_marks_do():
    rng = np.random.default_rng(4)
    pixels = np.array([(100.0, 120.0), (1100.0, 90.0), (1020.0, 800.0), (160.0, 760.0)])
    places = np.array([(0.0, 0.25), (0.37, 0.25), (0.37, 0.0), (0.0, 0.0)])
    shape, worst = shape_by_points("p", pixels, places, 0.5, 5e-5)
    spots = plane_by_points(pixels, places).pixels(HOLES + np.array([0.02, 0.23]))
    draws = np.stack(
        [
            plane_by_points(pixels + rng.normal(0, 0.5, (4, 2)), places + rng.normal(0, 5e-5, (4, 2))).laid(
                spots
            )
            for _ in range(400)
        ]
    )
    assert worst == pytest.approx(draws.std(axis=0).max(), rel=0.25)
    stretches = [laid_misses(None, 5, HOLES, d)[1][4] for d in draws]
    assert shape.stretch == pytest.approx(np.std(stretches), rel=0.25)


def test_four_marks_of_which_three_lie_in_line_are_refused():
    places = np.array([(0.0, 0.0), (0.1, 0.0), (0.2, 0.0), (0.0, 0.1)])
    assert plane_by_points(1000 * places, places) is None


def test_no_contrast_no_holes_and_no_size_are_said():
    picture, _ = flatbed(pixel=25.4e-3 / 50)
    grey = see_picture(replace(picture, grey=grey_array(np.full((300, 300), 128))), known())
    assert [t.kind for t in grey.troubles] == ["contrast"]
    half = np.full((300, 300), 230)
    half[50:250, 50:250] = 40
    empty = see_picture(replace(picture, grey=grey_array(half)), known())
    assert [t.kind for t in empty.troubles] == ["no holes"]
    sizeless = see_picture(replace(picture, pixel=None), known())
    assert [t.kind for t in sizeless.troubles] == ["no size"]


@pytest.mark.expected_from("closed form", "two marks of a ruler set the pixel's size")
def test_a_ruler_tells_the_size(bed):
    picture, to_pixels = bed
    ends = to_pixels(np.array([(0.05, -0.1), (0.25, -0.1)]))
    marks = tuple(PictureMark(float(r), float(d)) for r, d in ends)
    seen = see_picture(replace(picture, pixel=None, marks=marks, marks_apart=0.2), known())
    _, ways = laid_misses(seen.holes, 5)
    # The ruler lay along x: lengths along x come out right, the others by twice the stretch small.
    assert ways[5] * (1.0 + ways[2] + ways[4]) == pytest.approx(1.0, abs=3e-4)


@pytest.mark.expected_from("closed form", DRAWN)
def test_two_named_marks_and_the_ring_name_all_holes(bed):
    picture, to_pixels = bed
    at = to_pixels(HOLES[[0, 3]])
    marks = tuple(
        PictureMark(float(r), float(d), hole=name) for (r, d), name in zip(at, ("h1", "h4"), strict=True)
    )
    nothing = known(np.zeros((0, 2)), ())
    seen = see_picture(replace(picture, marks=marks), nothing)
    assert sum(h.name is not None for h in seen.holes) == 12
    away, _ = laid_misses(seen.holes, 5)
    assert np.abs(away).max() < 0.1 * picture.pixel
    without = see_picture(picture, nothing)
    assert [t.kind for t in without.troubles] == ["no names"]


@pytest.mark.expected_from("property", "made gaskets miss by 0.1 mm: their figures grow by as much")
def test_holes_made_off_their_place_widen_the_picture():
    rng = np.random.default_rng(3)
    off = HOLES + rng.normal(0, 0.1 * MM, HOLES.shape)
    picture, _ = flatbed(pixel=25.4e-3 / 150, holes=off)
    [seen] = see_all(inputs(hole_list(), (), pictures=(picture,)), known(u=0.02 * MM))
    u = np.median([h.u for h in seen.holes]) * seen.widened
    assert 0.05 * MM < u < 0.2 * MM
    assert max(h.off for h in seen.holes) > 0.1 * MM
