"""Floors said in words, lumps in the vehicle's axes, rounded and mirrored outlines."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sumpwright.body import Lump
from sumpwright.body.floors import (
    falling_floor,
    floor_above_ground,
    level_floor,
    parallel_floor,
    vehicle_frame,
)
from sumpwright.body.outlines import mirrored_outline, rounded_outline
from sumpwright.geometry.polygons import signed_area
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, outline, plan, side

LEANED = EnginePlacement(Attitude(0.2, math.radians(3.0), math.radians(15.0)), 1.1, -0.05, 0.262)


def height_above_ground(placement: EnginePlacement, point: np.ndarray) -> float:
    """A point of the engine in the vehicle, by the rotation of ISO 8855, then the shift."""
    return float((placement.attitude.matrix() @ point)[2]) + (placement.datum_height or 0.0)


@pytest.mark.expected_from("closed form", "a leaned floor: all of it at one height above the ground")
def test_floors_level_with_the_ground() -> None:
    up = LEANED.up_in_engine()
    level = level_floor(up, np.array([0.3, -0.1, -0.118]))
    above = floor_above_ground(LEANED, 0.12)
    assert above is not None
    for floor, expected in (
        (level, height_above_ground(LEANED, np.array([0.3, -0.1, -0.118]))),
        (above, 0.12),
    ):
        assert floor.normal[2] < 0.0
        for x, y in ((0.0, 0.0), (0.4, 0.1), (0.2, -0.3)):
            z = (floor.offset - floor.normal[:2] @ [x, y]) / floor.normal[2]
            assert height_above_ground(LEANED, np.array([x, y, z])) == pytest.approx(expected, abs=1e-12)
    assert floor_above_ground(EnginePlacement(), 0.1) is None


@pytest.mark.expected_from("closed form", "15 deg of lean: the floor goes 100 tan 15 deg deeper over 100 mm")
def test_a_level_floor_is_deeper_on_the_high_side() -> None:
    up = EnginePlacement(Attitude(lean_right=math.radians(15.0))).up_in_engine()
    floor = level_floor(up, np.array([0.0, 0.0, -0.1]))
    z_left = (floor.offset - floor.normal[1] * 0.1) / floor.normal[2]
    # Leaned to the right, the engine's left side is up: from the rail the ground lies farther there.
    assert z_left == pytest.approx(-0.1 - 0.1 * math.tan(math.radians(15.0)), abs=1e-12)


@pytest.mark.expected_from("closed form", "a fall of 2 in 100 towards the drain, level ground")
def test_a_floor_that_falls_towards_the_drain() -> None:
    floor = falling_floor(
        np.array([0.0, 0.0, 1.0]), np.array([0.1, 0.1, -0.1]), np.array([0.3, 0.1, -0.1]), 0.02
    )
    z = (floor.offset - floor.normal[:2] @ [0.2, 0.1]) / floor.normal[2]
    assert z == pytest.approx(-0.102, abs=1e-12)
    assert falling_floor(np.array([0, 0, 1.0]), np.zeros(3), np.array([0, 0, 1.0]), 0.02).normal[2] == -1.0
    assert parallel_floor(0.06).offset == 0.06


@pytest.mark.expected_from("property", "the same box drawn in the engine's and in the vehicle's axes")
def test_a_lump_in_the_vehicles_axes() -> None:
    placement = EnginePlacement(Attitude(turned_left=math.pi / 2), 1.2, 0.3, 0.25)
    axes, origin = vehicle_frame(placement)
    # Engine turned a quarter left: its x is the vehicle's Y, its y the vehicle's -X.
    tray = plan("tray", box(0, 400, 0, 200), 60)
    x = np.array([1.2 - 0.2, 1.2 - 0.1])
    y = np.array([0.3 + 0.1, 0.3 + 0.3])
    corners = np.array([[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]])
    drawn = Lump(
        "sump",
        True,
        "plan",
        frozen_array(corners),
        parallel_floor(0.13),
        0.30,
        own_axes=axes,
        own_origin=origin,
    )
    expected = body_of(tray, plan("sump", box(100, 300, 100, 200), 130)).cavity
    got = body_of(tray, drawn).cavity
    assert expected is not None
    assert got is not None
    assert got.volume == pytest.approx(expected.volume, rel=1e-12)
    assert len(got.faces) == len(expected.faces)


@pytest.mark.expected_from("closed form", "a wedge cut by a side lump that is level in a leaned vehicle")
def test_a_cut_in_the_vehicles_axes_is_level_with_the_ground() -> None:
    lean = math.radians(10.0)
    placement = EnginePlacement(Attitude(lean_right=lean), 0.0, 0.0, 0.3)
    axes, origin = vehicle_frame(placement)
    tray = plan("tray", box(0, 300, 0, 200), 100)
    # Everything below 0.22 above the ground goes away.
    cut = Lump(
        "bearer", False, "side", outline((-500, -500), (800, -500), (800, 220), (-500, 220)), None,
        across_from=-1.0, across_to=1.0, own_axes=axes, own_origin=origin,
    )  # fmt: skip
    cavity = body_of(tray, cut).cavity
    assert cavity is not None
    lowest = min(height_above_ground(placement, vertex) for vertex in cavity.vertices)
    assert lowest == pytest.approx(0.22, abs=1e-12)
    # Depth below the rail where the cut meets the left and the right wall, by hand.
    deep = [(0.3 - 0.22) / math.cos(lean) + y * math.tan(lean) for y in (0.0, 0.2)]
    assert deep[1] > 0.1
    at = (0.1 - deep[0]) / math.tan(lean)  # from here on the tray's own floor is higher
    expected = 0.3 * (0.5 * (deep[0] + 0.1) * at + 0.1 * (0.2 - at))
    assert cavity.volume == pytest.approx(expected, rel=1e-12)


@pytest.mark.expected_from("closed form", "a square with one corner rounded: chords of a quarter arc")
def test_rounded_corners_as_facets() -> None:
    square = box(0, 200, 0, 200)
    made = rounded_outline(square, (0.05, 0.0, 0.0, 0.0), 0.02)
    assert made is not None
    # Arc of 78.5 mm: three facets of 25.9 mm, four would have 19.5.
    assert len(made) == 3 + 4
    facet = 2 * 50 * math.sin(math.radians(15.0)) * MM
    sides = np.hypot(*(np.roll(made, -1, axis=0) - made).T)
    assert sorted(sides)[:3] == pytest.approx([facet] * 3, rel=1e-12)
    lost = 50 * 50 - 3 * 0.5 * 50 * 50 * math.sin(math.radians(30.0))
    assert signed_area(made) == pytest.approx((200 * 200 - lost) * 1e-6, rel=1e-12)
    assert rounded_outline(square, (0.11, 0.11, 0.0, 0.0), 0.02) is None
    inward = outline((0, 0), (200, 0), (200, 200), (100, 200), (100, 100), (0, 100))
    bent = rounded_outline(inward, (0.0, 0.0, 0.0, 0.0, 0.03, 0.0), 0.1)
    assert bent is not None
    assert len(bent) == 7
    assert signed_area(bent) == pytest.approx(30000e-6 + 0.5 * 30 * 30e-6, rel=1e-12)


@pytest.mark.expected_from("property", "a mirrored copy is anticlockwise again and as large")
def test_mirrored_outline() -> None:
    shape = outline((0, 10), (100, 10), (80, 60))
    copy = mirrored_outline(shape, 0.1)
    assert signed_area(copy) == pytest.approx(signed_area(shape), rel=1e-12)
    assert sorted(copy[:, 1]) == pytest.approx([0.14, 0.19, 0.19], abs=1e-12)
    assert side("n", shape, 0, 10).across_to == pytest.approx(0.01)
