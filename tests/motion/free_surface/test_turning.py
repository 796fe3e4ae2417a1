"""Oil in a pan that turns, against what an onlooker who does not turn sees."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.geometry import Surface
from sumpwright.motion.free_surface.seeding import at_rest, evenly_spread
from sumpwright.motion.free_surface.spin import Spin, spin_at
from sumpwright.motion.manoeuvres import CORNER_RADIUS, Motion, pulls_of, turning_of
from sumpwright.quantities import Attitude, EnginePlacement
from tests.motion.free_surface.tanks import G, Rig, box, rig

DOWN = np.array([0.0, 0.0, -G])
UP = np.array([0.0, 0.0, 1.0])
NONE = np.zeros(3)


def centred(side: float, height: float) -> Surface:
    """A box whose middle stands over the origin, about which it turns."""
    made = box(side, side, height)
    return replace(made, vertices=made.vertices - [0.5 * side, 0.5 * side, 0.0])


def falling_block(engine: str) -> Rig:
    """A block of oil in the air, 0.1 m from the axis."""
    tank = rig(centred(0.4, 0.4), 0.02, 0.1 * 0.1 * 0.06, UP, engine=engine)
    points = evenly_spread(tank.domain, 2, 1)
    at = tank.domain.origin + tank.domain.cell * points
    inside = (np.abs(at[:, 0] - 0.1) < 0.04) & (np.abs(at[:, 1]) < 0.04) & (np.abs(at[:, 2] - 0.3) < 0.04)
    tank.engine.replace(at_rest(points[inside]))
    return tank


@pytest.mark.expected_from("closed form", "seen from outside, a free body goes straight on")
@pytest.mark.parametrize("engine", ["processor", "plain arrays", "card"])
@pytest.mark.parametrize("rate", [3.0, -3.0])
def test_a_free_block_goes_straight_on_seen_from_outside(engine: str, rate: float) -> None:
    tank = falling_block(engine)
    start = tank.places.mean(axis=0)
    dt, steps = 0.0025, 60
    spin = Spin(np.array([0.0, 0.0, rate]), NONE)
    for _ in range(steps):
        tank.engine.step(DOWN, dt, spin)
    # What is gained in a step carries from the next one on.
    seconds = dt * (steps - 0.5)
    outside = start[:2] + seconds * rate * np.array([-start[1], start[0]])
    c, s = math.cos(rate * seconds), math.sin(rate * seconds)
    seen = np.array([c * outside[0] + s * outside[1], -s * outside[0] + c * outside[1]])
    assert float(np.linalg.norm(outside - start[:2])) > 0.04
    assert tank.places.mean(axis=0)[:2] == pytest.approx(seen, abs=0.002)


@pytest.mark.expected_from("closed form", "a pan that begins to turn leaves the free body where it is")
def test_a_free_block_stays_where_it_is_when_the_pan_begins_to_turn() -> None:
    tank = falling_block("processor")
    start = tank.places.mean(axis=0)
    dt, steps, change = 0.0025, 60, 30.0
    turned = np.zeros((steps + 2, 3))
    turned[:, 2] = change * dt * np.arange(steps + 2)
    for step in range(steps):
        tank.engine.step(DOWN, dt, spin_at(turned, step, 0.5, dt))
    angle = 0.5 * change * (dt * (steps - 0.5)) ** 2
    c, s = math.cos(angle), math.sin(angle)
    seen = [c * start[0] + s * start[1], -s * start[0] + c * start[1]]
    assert tank.places.mean(axis=0)[:2] == pytest.approx(seen, abs=0.002)


@pytest.mark.expected_from(
    "closed form", "spinning tank: z = z0 + w^2 r^2 / 2 g; its middle and its mean r^2 by integration"
)
def test_oil_in_a_spinning_tank_lies_as_a_paraboloid() -> None:
    side, depth, rate, cell = 0.2, 0.06, 7.0, 0.01
    tank = rig(centred(side, 0.2), cell, side * side * depth, UP, nu=5e-4, omega=9.0)
    spin = Spin(np.array([0.0, 0.0, rate]), NONE)
    for _ in range(400):
        tank.engine.step(DOWN, 0.005, spin)
    at = tank.places
    r2 = at[:, 0] ** 2 + at[:, 1] ** 2
    c = rate**2 / (2.0 * G)
    mean, spread = side**2 / 6.0, side**4 / 90.0
    assert r2.mean() == pytest.approx(mean + c * spread / depth, rel=0.01)
    assert at[:, 2].mean() == pytest.approx(0.5 * (depth + c * c * spread / depth), abs=0.1 * cell)
    # The surface itself: depth of oil in columns of cells, against the paraboloid over each.
    height = depth + c * (r2 - mean)
    columns = np.floor(at[:, :2] / (0.25 * side)).astype(int)
    for column in np.unique(columns, axis=0):
        mine = (columns == column).all(axis=1)
        found = mine.sum() / len(at) * depth * 16.0
        x = np.linspace(0.0, 0.25, 51)[:-1] + 0.0025
        xx, yy = np.meshgrid((column[0] * 0.25 + x) * side, (column[1] * 0.25 + x) * side)
        right = float((depth + c * (xx**2 + yy**2 - mean)).mean())
        assert found == pytest.approx(right, abs=0.15 * cell)
    assert height.min() > 0.0
    # And it stands in the pan's frame, but for what the steps' splitting stirs (free-surface.md).
    assert math.sqrt(float((tank.velocities**2).sum(axis=1).mean())) < 0.02


@pytest.mark.expected_from(
    "closed form", "v = sqrt(a R), yaw rate = a / v; lean right is a turn about forward"
)
def test_a_corner_and_a_slope_turn_the_pan() -> None:
    still = np.zeros(201)
    left = np.full(201, 0.8 * G)
    level = EnginePlacement(Attitude())
    turning = turning_of(Motion(still, left, still, still, still), level, 0.01)
    assert turning is not None
    speed = math.sqrt(0.8 * G * CORNER_RADIUS)
    assert turning[100] == pytest.approx([0.0, 0.0, 0.8 * G / speed])
    times = 0.01 * np.arange(201)
    rolling = turning_of(Motion(still, still, still, 0.1 * times, 0.2 * times), level, 0.01)
    assert rolling is not None
    assert rolling[0] == pytest.approx([0.2, -0.1, 0.0], abs=1e-9)
    # An engine turned end for end in the vehicle sees both the other way round.
    about = turning_of(
        Motion(still, still, still, 0.1 * times, 0.2 * times), EnginePlacement(Attitude(math.pi)), 0.01
    )
    assert about is not None
    assert about[0] == pytest.approx([-0.2, 0.1, 0.0], abs=1e-9)
    assert turning_of(Motion(still, still, still, still, still), level, 0.01) is None


@pytest.mark.expected_from(
    "property", "pull and turning of one slope agree: the change of down is down x rate"
)
def test_pull_and_turning_are_of_one_motion() -> None:
    times = 0.01 * np.arange(201)
    still = np.zeros(201)
    motion = Motion(still, still, still, 0.3 * np.sin(times), 0.4 * np.sin(1.7 * times))
    placed = EnginePlacement(Attitude(0.4, 0.1, 0.2))
    pulls, turning = pulls_of(motion, placed), turning_of(motion, placed, 0.01)
    assert turning is not None
    change = np.gradient(pulls, 0.01, axis=0)
    assert change[5:-5] == pytest.approx(-np.cross(turning, pulls)[5:-5], abs=2e-3)
