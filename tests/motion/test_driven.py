"""Driven compartments against closed-form times, the second-order step response, ideal diodes."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.geometry import Surface
from sumpwright.motion.chambers import carried_up_surface, enclosed, returns_of
from sumpwright.motion.driven import drive
from sumpwright.motion.driven_model import Chambers, DrivenOil, PumpDemand, Trace, Way
from sumpwright.quantities.units import FloatArray

G = 9.80665
THIN = DrivenOil(in_pan=1e-3, held_up=0.0, return_time=0.0, density=1000.0, viscosity=1e-9, damping=0.05)
STILL = PumpDemand(0.0, 1.0)


def box(x0: float, x1: float, width: float, height: float, z0: float = -0.2) -> Surface:
    corners = np.array(
        [[x, y, z] for x in (x0, x1) for y in (0.0, width) for z in (z0, z0 + height)], dtype=float
    )
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    triangles = [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]
    return Surface(corners, np.array(triangles))


def window(x: float, y0: float, y1: float, z0: float, z1: float, rows: int = 40, **more: object) -> Way:
    """An opening in the plane x, between compartments 0 and 1."""
    edges = np.linspace(z0, z1, rows + 1)
    centres = np.array([[x, 0.5 * (y0 + y1), 0.5 * (a + b)] for a, b in itertools.pairwise(edges)])
    step = (z1 - z0) / rows
    sides = np.tile([[[0, 0.5 * (y1 - y0), 0], [0, 0, 0.5 * step]]], (rows, 1, 1)).astype(float)
    width, height = y1 - y0, z1 - z0
    given: dict[str, object] = {
        "name": "window",
        "between": (0, 1),
        "centre": np.array([x, 0.5 * (y0 + y1), 0.5 * (z0 + z1)]),
        "patches": centres,
        "patch_areas": np.full(rows, width * step),
        "patch_sides": sides,
        "hydraulic_diameter": 2.0 * width * height / (width + height),
        "thickness": 0.0,
        "girth": 2.0 * (width + height),
        "passes": 0,
        "is_door": False,
    }
    given.update(more)
    return Way(**given)  # type: ignore[arg-type]


def chambers(surfaces: tuple[Surface, ...], ways: tuple[Way, ...], home: int = 0) -> Chambers:
    lengths = np.array([[np.ptp(s.vertices[:, 0]), np.ptp(s.vertices[:, 1])] for s in surfaces])
    first = surfaces[home].vertices
    return Chambers(
        names=tuple(f"c{i}" for i in range(len(surfaces))),
        surfaces=surfaces,
        capacities=np.array([enclosed(s) for s in surfaces]),
        axes=np.tile(np.eye(3), (len(surfaces), 1, 1)),
        lengths=lengths,
        ways=ways,
        mouth=np.array([first[:, 0].mean(), first[:, 1].mean(), first[:, 2].min() + 0.01]),
        mouth_axis=np.array([0.0, 0.0, 1.0]),
        mouth_radius=0.015,
        home=home,
        returns=np.full(len(surfaces), 1.0 / len(surfaces)),
        crank=np.empty((0, 4)),
        rail_points=np.empty((0, 3)),
    )


def still(seconds: float, step: float = 0.002, pull: FloatArray | None = None) -> Trace:
    count = round(seconds / step)
    one = np.array([0.0, 0.0, -G]) if pull is None else pull
    return Trace("still", "standing", step, np.tile(one, (count, 1)), np.zeros(count), 0.3)


@pytest.mark.expected_from(
    "closed form",
    "two tanks through an orifice: t = 2 A1 A2 / (A1 + A2) sqrt(h) / (C a sqrt(2 g)), level by then",
)
def test_two_tanks_level_out_in_the_book_time() -> None:
    tanks = (box(0.0, 0.2, 0.1, 0.3), box(0.2, 0.5, 0.1, 0.3))
    hole = window(0.2, 0.045, 0.055, -0.19, -0.18)
    a1, a2, h0 = 0.02, 0.03, 0.10
    oil = replace(THIN, in_pan=a1 * 0.15 + a2 * 0.05)
    run = drive(chambers(tanks, (hole,)), still(60.0), oil, STILL, volumes=np.array([a1 * 0.15, a2 * 0.05]))
    area = 1e-4
    both = a1 * a2 / (a1 + a2)
    time = 2.0 * both * math.sqrt(h0) / (0.61 * area * math.sqrt(2.0 * G))
    gap = run.volumes[:, 0] / a1 - run.volumes[:, 1] / a2
    inside = run.times < time
    exact = (math.sqrt(h0) - 0.61 * area * math.sqrt(2.0 * G) * run.times[inside] / (2.0 * both)) ** 2
    np.testing.assert_allclose(gap[inside], exact, atol=1.5e-3 * h0)
    assert abs(gap[run.times > time + 0.5]).max() < 1e-4 * h0
    assert abs(run.balance_error) < 1e-9 * oil.in_pan


@pytest.mark.expected_from(
    "closed form", "tank draining through a hole into the air: t = 2 A (sqrt h1 - sqrt h2) / (C a sqrt(2 g))"
)
def test_a_tank_drains_in_the_book_time() -> None:
    tanks = (box(0.0, 0.2, 0.1, 0.3), box(0.2, 2.2, 1.0, 0.3, z0=-0.6))
    hole = window(0.2, 0.045, 0.055, -0.192, -0.188, rows=8)
    a, h1, h2 = 0.02, 0.15, 0.05
    oil = replace(THIN, in_pan=a * (h1 + 0.01))
    start = np.array([a * (h1 + 0.01), 1e-6])
    run = drive(chambers(tanks, (hole,)), still(80.0), oil, STILL, volumes=start)
    level = run.volumes[:, 0] / a - 0.01
    measured = np.interp(-h2, -level, run.times)
    exact = 2.0 * a * (math.sqrt(h1) - math.sqrt(h2)) / (0.61 * 4e-5 * math.sqrt(2.0 * G))
    assert measured == pytest.approx(exact, rel=3e-3)


@pytest.mark.expected_from(
    "published",
    "weir 50 mm wide, 20 mm of head, C = 0.611: 15.31 L/min (Rehbock form, constants from memory)",
)
def test_a_window_wet_to_part_of_its_height_is_a_weir() -> None:
    tanks = (box(0.0, 2.0, 1.0, 0.3), box(2.0, 4.0, 1.0, 0.3))
    top = window(2.0, 0.475, 0.525, -0.10, 0.0, rows=50)
    start = np.array([2.0 * 0.12, 2.0 * 0.02])
    run = drive(
        chambers(tanks, (top,)), still(0.2), replace(THIN, in_pan=float(start.sum())), STILL, volumes=start
    )
    exact = 2.0 / 3.0 * 0.61 * 0.050 * math.sqrt(2.0 * G) * 0.020**1.5
    assert exact * 60e3 == pytest.approx(15.31, rel=5e-3)
    assert run.ways[1, 0] == pytest.approx(exact, rel=1e-2)


@pytest.mark.expected_from(
    "closed form",
    "second-order step response: overshoot exp(-pi z / sqrt(1 - z^2)), first mode sqrt(g k tanh kh)",
)
def test_the_surface_swings_as_its_first_mode() -> None:
    tank = box(0.0, 0.4, 0.2, 0.3)
    depth, zeta = 0.10, 0.05
    pan = chambers((tank,), ())
    oil = replace(THIN, in_pan=0.4 * 0.2 * depth, damping=zeta)
    side = 0.01 * G  # small, so that the depth over the mouth is as straight as the tilt
    trace = still(4.0, pull=np.array([-side, 0.0, -G]))
    trace.pulls[0] = [0.0, 0.0, -G]
    # The mouth stands in the middle of the tank, so tilt shows only on one beside it.
    aside = replace(pan, mouth=np.array([0.05, 0.1, -0.19]))
    run = drive(aside, trace, oil, STILL)
    steady = drive(aside, trace, oil, STILL, is_lagged=False).cover[-1]
    calm = run.cover[0]
    swing = (run.cover - calm) / (steady - calm)
    k = math.pi / 0.4
    omega = math.sqrt(math.hypot(G, side) * k * math.tanh(k * depth))
    peak = int(np.argmax(swing))
    assert run.times[peak] == pytest.approx(math.pi / (omega * math.sqrt(1 - zeta**2)), abs=0.03)
    assert swing[peak] - 1.0 == pytest.approx(math.exp(-math.pi * zeta / math.sqrt(1 - zeta**2)), abs=0.015)


@pytest.mark.expected_from(
    "closed form", "exact tilted surface of a box at long period: tan of the angle is the pull's"
)
def test_a_slowly_rolled_box_follows_the_quasi_static_surface() -> None:
    tank = box(0.0, 0.4, 0.2, 0.3)
    pan = replace(chambers((tank,), ()), mouth=np.array([0.05, 0.1, -0.19]))
    step, period = 0.005, 40.0
    times = np.arange(0.0, period, step)
    angle = math.radians(12.0) * np.sin(2 * math.pi * times / period)
    pulls = G * np.stack([np.sin(angle), np.zeros_like(angle), -np.cos(angle)], axis=1)
    trace = Trace("roll", "rolling slowly", step, pulls, np.zeros(len(times)), 0.3)
    oil = replace(THIN, in_pan=0.4 * 0.2 * 0.10)
    run = drive(pan, trace, oil, STILL)
    a = np.interp(run.times, times, angle)
    # Depth over the mouth's centre along the tilted up, then its rim.
    depth = (0.09 - 0.15 * -np.tan(-a)) * np.cos(a)
    exact = depth - 0.015 * np.abs(np.sin(a))
    np.testing.assert_allclose(run.cover[200:], exact[200:], atol=1.5e-3)


@pytest.mark.expected_from(
    "property", "oil is conserved to 1e-9; tiny compartments and chattering doors do no harm"
)
def test_nothing_is_lost_with_tiny_compartments_and_chattering_doors() -> None:
    surfaces = (box(0.0, 0.2, 0.1, 0.2), box(0.2, 0.201, 0.1, 0.2), box(0.201, 0.4, 0.1, 0.2))
    door = {"is_door": True, "passes": 1, "lag": 0.01, "leak_gap": 2e-4, "overlap": 5e-3}
    ways = (
        window(0.2, 0.02, 0.08, -0.2, -0.1, name="a", **door),
        replace(window(0.201, 0.02, 0.08, -0.2, -0.1, name="b", **door), between=(1, 2)),
    )
    step = 0.004
    times = np.arange(0.0, 20.0, step)
    side = 0.8 * G * np.sign(np.sin(2 * math.pi * 3.0 * times))
    pulls = np.stack([side, np.zeros_like(side), np.full_like(side, -G)], axis=1)
    trace = Trace("shaken", "shaken", step, pulls, np.full(len(times), 50.0), 0.3)
    oil = DrivenOil(2e-3, 3e-4, 1.0, 850.0, 0.01, 0.05)
    pan = replace(chambers(surfaces, ways, home=2), returns=np.array([1.0, 0.0, 0.0]))
    run = drive(pan, trace, oil, PumpDemand(2e-4, 50.0))
    assert abs(run.balance_error) < 1e-9 * 2.3e-3
    assert run.volumes.min() >= 0.0
    assert np.isfinite(run.levels).all()


@pytest.mark.expected_from(
    "closed form", "an ideal one-way door under a square wave: all but the wedge that balances ends beyond it"
)
def test_a_door_is_a_diode() -> None:
    surfaces = (box(0.0, 0.2, 0.1, 0.3), box(0.2, 0.4, 0.1, 0.3))
    door = window(0.2, 0.01, 0.09, -0.2, -0.05, name="flap", is_door=True, passes=1, lag=0.02)
    step = 0.004
    times = np.arange(0.0, 30.0, step)
    side = 0.6 * G * np.sign(np.sin(2 * math.pi * 0.5 * times))
    pulls = np.stack([side, np.zeros_like(side), np.full_like(side, -G)], axis=1)
    trace = Trace("square", "thrown to and fro", step, pulls, np.zeros(len(times)), 0.3)
    oil = replace(THIN, in_pan=2e-3)
    pan = chambers(surfaces, (door,), home=1)
    start = np.array([1e-3, 1e-3])

    def beyond(stuck: str) -> float:
        run = drive(pan, trace, oil, STILL, False, (("flap", stuck),), start)  # type: ignore[arg-type]
        return float(run.volumes[-250:, 1].mean() / 2e-3)

    # Thrown towards the door's far side, what stays behind is the wedge that balances the far
    # side's depth at the door: 0.02 h + 0.1 (h - 0.06)^2 / 1.2 = 0.002 for its mean depth h.
    h = max(np.roots([0.1 / 1.2, 0.02 - 0.012 / 1.2, 0.00036 / 1.2 - 0.002]).real)
    assert 0.02 * h / 2e-3 == pytest.approx(0.95, abs=0.002)
    assert beyond("works") == pytest.approx(0.02 * h / 2e-3, abs=0.01)
    assert beyond("fitted backwards") == pytest.approx(1.0 - 0.02 * h / 2e-3, abs=0.01)
    assert beyond("stuck open") == pytest.approx(0.5, abs=0.2)
    assert beyond("stuck shut") == pytest.approx(0.5, abs=1e-6)


@pytest.mark.expected_from("property", "without pump the height of the oil's middle never rises in still oil")
def test_no_energy_from_nowhere() -> None:
    tanks = (box(0.0, 0.2, 0.1, 0.3), box(0.2, 0.5, 0.1, 0.3))
    hole = window(0.2, 0.02, 0.08, -0.19, -0.10)
    start = np.array([0.02 * 0.2, 0.03 * 0.01])
    run = drive(
        chambers(tanks, (hole,)), still(10.0), replace(THIN, in_pan=float(start.sum())), STILL, volumes=start
    )
    energy = run.volumes[:, 0] ** 2 / (2 * 0.02) + run.volumes[:, 1] ** 2 / (2 * 0.03)
    assert np.all(np.diff(energy) <= 1e-12)


@pytest.mark.expected_from(
    "closed form", "a half bare mouth under one suction: oil share w / (w + (1 - w) sqrt(rho / rho_air))"
)
def test_a_half_bare_mouth_draws_mostly_air() -> None:
    tank = box(0.0, 0.4, 0.4, 0.3)
    pan = replace(chambers((tank,), ()), mouth=np.array([0.2, 0.2, -0.1]))
    pull = G * np.array([math.sin(0.2), 0.0, -math.cos(0.2)])
    oil = replace(THIN, in_pan=0.16 * 0.1, density=850.0)
    trace = still(0.1, pull=pull)
    trace = replace(trace, speeds=np.ones(len(trace.speeds)))
    run = drive(pan, trace, oil, PumpDemand(1e-7, 1.0), is_lagged=False)
    assert run.cover[0] == pytest.approx(-0.015 * math.sin(0.2), abs=1e-6)
    share = 0.5 / (0.5 + 0.5 * math.sqrt(850.0 / 1.2))
    assert run.oil_taken[0] / 1e-7 == pytest.approx(share, rel=1e-3)


@pytest.mark.expected_from("closed form", "a box carried up by 0.4 m holds its floor area more of it")
def test_walls_are_carried_up() -> None:
    low = box(0.0, 0.3, 0.2, 0.1, z0=-0.1)
    high = carried_up_surface(low, 0.4)
    assert enclosed(high) == pytest.approx(0.06 * 0.5)


@pytest.mark.expected_from(
    "closed form", "two returns over one box and one over the other: two thirds and one third"
)
def test_oil_comes_back_below_its_returns() -> None:
    tanks = (box(0.0, 0.2, 0.1, 0.3), box(0.2, 0.5, 0.1, 0.3))
    up = np.array([0.0, 0.0, 1.0])
    places = np.array([[0.05, 0.05, 0.5], [0.15, 0.02, 0.5], [0.4, 0.05, 0.5]])
    shares = returns_of(tanks, np.array([0.02, 0.03]), places, up)
    np.testing.assert_allclose(shares, [2.0 / 3.0, 1.0 / 3.0])
    beside = returns_of(tanks, np.array([0.02, 0.03]), np.array([[2.0, 0.05, 0.5]]), up)
    np.testing.assert_allclose(beside, [0.4, 0.6])
    np.testing.assert_allclose(returns_of(tanks, np.array([0.02, 0.03]), None, up), [0.4, 0.6])
    # What they carry: 10 %, 20 % and 60 %; the tenth that is left is spread over the opening.
    carried = returns_of(tanks, np.array([0.02, 0.03]), places, up, np.array([0.1, 0.2, 0.6]))
    np.testing.assert_allclose(carried, [0.3 + 0.04, 0.6 + 0.06])


@pytest.mark.expected_from(
    "closed form",
    "two tanks through two like orifices in a row with a full space between: a / sqrt(2) in the book time",
)
def test_a_space_full_to_its_roof_passes_the_push_on() -> None:
    tanks = (box(0.0, 0.2, 0.1, 0.3), box(0.2, 0.5, 0.1, 0.05), box(0.5, 0.8, 0.1, 0.3))
    ways = (
        window(0.2, 0.045, 0.055, -0.19, -0.18, name="in"),
        window(0.5, 0.045, 0.055, -0.19, -0.18, name="out", between=(1, 2)),
    )
    a1, a2, h0 = 0.02, 0.03, 0.10
    start = np.array([a1 * 0.20, 0.03 * 0.05, a2 * 0.10])
    oil = replace(THIN, in_pan=float(start.sum()))
    run = drive(chambers(tanks, ways), still(80.0), oil, STILL, volumes=start)
    area, both = 1e-4 / math.sqrt(2.0), a1 * a2 / (a1 + a2)
    time = 2.0 * both * math.sqrt(h0) / (0.61 * area * math.sqrt(2.0 * G))
    gap = run.volumes[:, 0] / a1 - run.volumes[:, 2] / a2
    inside = run.times < time
    exact = (math.sqrt(h0) - 0.61 * area * math.sqrt(2.0 * G) * run.times[inside] / (2.0 * both)) ** 2
    np.testing.assert_allclose(gap[inside], exact, atol=2e-3 * h0)
    np.testing.assert_allclose(run.volumes[:, 1], 0.03 * 0.05, rtol=1e-6)
    assert abs(run.balance_error) < 1e-9 * oil.in_pan


@pytest.mark.expected_from(
    "closed form", "a full box beside an empty one of the same floor: both end half full, in the book time"
)
def test_a_space_full_to_its_roof_gives_its_oil_back() -> None:
    tanks = (box(0.0, 0.2, 0.1, 0.1), box(0.2, 0.4, 0.1, 0.1))
    hole = window(0.2, 0.045, 0.055, -0.199, -0.195, rows=8)
    start = np.array([0.02 * 0.1, 0.02 * 0.005])
    oil = replace(THIN, in_pan=float(start.sum()))
    run = drive(chambers(tanks, (hole,)), still(120.0), oil, STILL, volumes=start)
    time = 2.0 * 0.01 * math.sqrt(0.095) / (0.61 * 4e-5 * math.sqrt(2.0 * G))
    gap = run.volumes[:, 0] / 0.02 - run.volumes[:, 1] / 0.02
    half = np.interp(-0.095 / 4.0, -gap, run.times)
    assert half == pytest.approx(0.5 * time, rel=0.01)
    assert abs(gap[-1]) < 1e-4
