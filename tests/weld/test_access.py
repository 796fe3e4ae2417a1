"""Torch puzzles with known answers: corner, channel, box, tube through a wall."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from sumpwright.geometry import FlatFrame
from sumpwright.quantities.units import frozen_array
from sumpwright.weld import formulas
from sumpwright.weld.access import find_access
from sumpwright.weld.model import Seam
from sumpwright.weld.obstacles import Prism, as_arrays
from sumpwright.weld.seams import straight_way
from tests.weld.made_pans import order_rules, torch

X, Y, Z = np.eye(3)


def plate(name, origin, x_axis, y_axis, width, height, thickness=0.003, hole=None):
    """A plate whose metal lies from the frame's plane along its normal."""
    shape = shapely.box(0.0, 0.0, width, height)
    if hole is not None:
        shape = shape.difference(shapely.Point(*hole[:2]).buffer(hole[2], quad_segs=16))
    frame = FlatFrame(frozen_array(origin), frozen_array(x_axis), frozen_array(y_axis))
    return Prism(name, frame, thickness, shape)


def seam_along(start, end, leg_a, leg_b, parts=("floor", "wall")):
    way = straight_way("outside", np.array(start), np.array(end), np.array(leg_a), np.array(leg_b))
    length = float(np.linalg.norm(np.subtract(end, start)))
    return Seam(
        1, None, "inward lap", parts[0], parts[1], "puzzle", way.path, length, False, 0.5 * math.pi, 4.5e-6,
        4.5e-6 * length, True, "outside", 0.0, 0.003, 0.003, "mild", "mild", (way,),
    )  # fmt: skip


def straight_torch(**changes):
    """A torch in one line, with no hand and no rod to speak of, so that the cup alone decides."""
    values = {
        "cup": 0.020, "stick_out": 0.012, "cup_length": 0.10, "body": 0.010, "body_angle": 0.0,
        "body_length": 0.05, "hand": 0.010, "arm": 0.0, "back_cap": 0.01, "drag": 0.0, "filler": None,
    }  # fmt: skip
    return torch(**{**values, **changes})


def corner(angle_deg=90.0, size=0.3):
    """Floor in the xy plane below z = 0, and a wall that rises from the x axis at an angle to it."""
    turn = math.radians(angle_deg)
    up = np.array([0.0, math.cos(turn), math.sin(turn)])
    floor = plate("floor", (0.0, 0.0, -0.003), X, Y, size, size)
    back = np.cross(X, up)  # away from the corner's inside where the angle is below 180 deg
    back = back if back @ Y < 0.0 or angle_deg > 90.0 else -back
    normal = np.cross(X, up)
    origin = np.zeros(3) if normal @ np.array([0.0, 1.0, 1.0]) < 0.0 or normal[1] < 0.0 else -0.003 * normal
    wall = plate("wall", origin, X, up, size, size)
    return [floor, wall], seam_along((0.1, 0, 0), (0.2, 0, 0), Y, up)


def is_reached(prisms, seam, held, **rules):
    obstacles = as_arrays(prisms)
    access = find_access((seam,), held, order_rules(**rules), obstacles)[0]
    return access.is_reached(obstacles.mask(obstacles.names)), access, obstacles


@pytest.mark.expected_from(
    "closed form", "held in the middle of a right angle a cup needs its radius as stick-out"
)
@pytest.mark.parametrize("cup", [0.012, 0.020, 0.025])
def test_a_cup_fits_a_right_angle_from_its_own_radius_on(cup):
    prisms, seam = corner(90.0)
    least = formulas.least_stick_out(cup, 0.5 * math.pi)
    assert least == pytest.approx(0.5 * cup)
    fits = is_reached(prisms, seam, straight_torch(cup=cup, stick_out=1.03 * least, tilt=0.0))[0]
    too_short = is_reached(prisms, seam, straight_torch(cup=cup, stick_out=0.97 * least, tilt=0.0))[0]
    assert fits
    assert not too_short


@pytest.mark.expected_from("closed form", "s = r / tan(c / 2) in a corner of 60 and of 120 deg")
@pytest.mark.parametrize("angle", [60.0, 120.0])
def test_a_cup_fits_other_corners_by_the_same_rule(angle):
    prisms, seam = corner(angle)
    least = formulas.least_stick_out(0.016, math.radians(angle))
    assert is_reached(prisms, seam, straight_torch(cup=0.016, stick_out=1.03 * least, tilt=0.0))[0]
    assert not is_reached(prisms, seam, straight_torch(cup=0.016, stick_out=0.97 * least, tilt=0.0))[0]


@pytest.mark.expected_from(
    "closed form", "holds that are found stand between atan(r/s) and its complement to the floor"
)
def test_holds_keep_to_the_workable_angles():
    prisms, seam = corner(90.0)
    held = straight_torch(cup=0.014, stick_out=0.012, tilt=math.radians(40.0))
    _, access, _ = is_reached(prisms, seam, held)
    least = formulas.least_torch_angle(0.014, 0.012)
    for station in access.ways[0].stations:
        for mask, pose, _ in (item for reach in station.reaches for item in reach.torch):
            if mask == 0:
                to_floor = math.asin(float(pose[2] @ Z))
                assert least - 1e-6 <= to_floor <= 0.5 * math.pi - least + 1e-6


@pytest.mark.expected_from(
    "closed form", "a channel is too narrow for the cup once it is narrower than the torch leaning in it"
)
def test_a_narrow_channel_keeps_the_torch_out():
    # Floor with two walls; the seam runs at the foot of the first. Upright the cup needs its
    # radius beside the seam's wall, and leaning it needs the room on the other side.
    def channel(width):
        prisms, seam = corner(90.0)
        other = plate("other wall", (0.0, width, 0.0), X, Z, 0.3, 0.3)
        return [*prisms, other], seam

    held = straight_torch(cup=0.014, stick_out=0.009, tilt=math.radians(30.0))
    wide, _, _ = is_reached(*channel(0.20), held)
    slot, access, obstacles = is_reached(*channel(0.012), held)
    assert wide
    assert not slot
    blocked = access.blocked(obstacles, obstacles.mask(obstacles.names))
    assert len(blocked) == 1
    assert blocked[0].length == pytest.approx(0.1)
    assert "other wall" in blocked[0].by


@pytest.mark.expected_from(
    "property", "a closed box keeps the torch out of its inner seams, an open one lets it in"
)
def test_an_open_box_and_a_closed_one():
    prisms, seam = corner(90.0, 0.3)
    far = plate("far wall", (0.0, 0.303, 0.0), X, Z, 0.3, 0.06)
    left = plate("left wall", (-0.003, 0.0, 0.0), Y, Z, 0.3, 0.06)
    right = plate("right wall", (0.3, 0.0, 0.0), Y, Z, 0.3, 0.06)
    lid = plate("lid", (0.0, 0.0, 0.06), X, Y, 0.3, 0.3)
    near = plate("wall", (0.0, 0.0, 0.0), X, Z, 0.3, 0.06)
    box = [prisms[0], near, far, left, right]
    assert is_reached(box, seam, torch(filler=None))[0]
    assert is_reached(box, seam, torch())[0]
    closed, access, obstacles = is_reached([*box, lid], seam, torch(filler=None))
    assert not closed
    assert access.is_reached(obstacles.mask(name for name in obstacles.names if name != "lid"))


@pytest.mark.expected_from(
    "closed form", "an obstacle over 40 to 60 mm of a seam blocks there and a torch's width beside it"
)
def test_a_blocked_stretch_is_found_where_it_is():
    prisms, seam = corner(90.0)
    # A roof low over the seam from x = 0.14 to 0.16.
    roof = plate("roof", (0.14, 0.0, 0.006), X, Y, 0.02, 0.2)
    held = straight_torch(cup=0.014, stick_out=0.009, tilt=0.0)
    reached, access, obstacles = is_reached([*prisms, roof], seam, held, station=0.002, end_clear=0.002)
    assert not reached
    (stretch,) = access.blocked(obstacles, obstacles.mask(obstacles.names))
    radius, step = 0.007, 0.002
    assert stretch.start == pytest.approx(0.04 - radius, abs=step)
    assert stretch.end == pytest.approx(0.06 + radius, abs=step)
    assert stretch.place[0] == pytest.approx(0.15, abs=step)
    assert stretch.by == ("roof",)


@pytest.mark.expected_from(
    "property", "round a tube through a wall the torch gets all the way, until another wall stands too near"
)
def test_a_tube_through_a_wall():
    from sumpwright.weld.seams import _round

    wall = plate("wall", (-0.15, -0.15, -0.003), X, Y, 0.3, 0.3)
    disc = FlatFrame(frozen_array([0.0, 0.0, -0.05]), frozen_array(X), frozen_array(Y))
    tube = Prism("tube", disc, 0.15, shapely.Point(0.0, 0.0).buffer(0.015, quad_segs=16))

    class Panel:
        frame = FlatFrame(frozen_array(np.zeros(3)), frozen_array(X), frozen_array(Y))

    draft = _round("tube", "wall", "tube", "boss", "outside", np.zeros(3), Z, Panel, 0.0151, 0.003, True)
    seam = Seam(
        1, None, "boss", "tube", "wall", "tube", draft.ways[0].path, draft.length, True, 0.5 * math.pi,
        4.5e-6, draft.volume, True, "outside", 0.0, 0.003, 0.003, "mild", "mild", draft.ways,
    )  # fmt: skip
    held = torch(filler=None)
    assert is_reached([wall, tube], seam, held)[0]
    near = plate("near wall", (-0.15, 0.030, 0.0), X, Z, 0.3, 0.3)
    reached, access, obstacles = is_reached([wall, tube, near], seam, held)
    assert not reached
    everything = obstacles.mask(obstacles.names)
    for stretch in access.blocked(obstacles, everything):
        # the blocked stretch lies on the side of the near wall
        assert stretch.place[1] > 0.0
        assert "near wall" in stretch.by


@pytest.mark.expected_from("property", "more parts never make room")
def test_blocked_stays_blocked():
    prisms, seam = corner(90.0)
    rng = np.random.default_rng(3)
    more = [
        plate(f"p{k}", rng.uniform([0.0, 0.01, 0.01], [0.25, 0.1, 0.1]), X, Y if k % 2 else Z, 0.05, 0.05)
        for k in range(6)
    ]
    obstacles = as_arrays([*prisms, *more])
    access = find_access((seam,), torch(), order_rules(), obstacles)[0]
    for _ in range(200):
        few = int(rng.integers(0, 1 << len(obstacles.names)))
        many = few | int(rng.integers(0, 1 << len(obstacles.names)))
        if not access.is_reached(few):
            assert not access.is_reached(many)
