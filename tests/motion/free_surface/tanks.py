"""Plain tanks for the free-surface tests."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from sumpwright.geometry import Surface
from sumpwright.motion.free_surface.domain import Domain, make_domain
from sumpwright.motion.free_surface.engine_cpu import CpuEngine
from sumpwright.motion.free_surface.engine_numpy import ArrayEngine
from sumpwright.motion.free_surface.layout import lay_out
from sumpwright.motion.free_surface.seeding import fill

G = 9.80665
QUADS = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
FACETS = np.array([t for a, b, c, d in QUADS for t in ((a, b, c), (a, c, d))])


def box(length: float, width: float, height: float, turn: float = 0.0) -> Surface:
    """A box with a corner at the origin, turned about y."""
    corners = np.array([[x, y, z] for x in (0, length) for y in (0, width) for z in (0, height)], float)
    return Surface(corners @ about_y(turn).T, FACETS)


def prism(profile: list[tuple[float, float]], triangles: list[tuple[int, int, int]], width: float) -> Surface:
    """A profile in x, z (anticlockwise, with its triangles) drawn along y."""
    n = len(profile)
    corners = np.array([[x, y, z] for y in (0.0, width) for x, z in profile])
    facets = []
    for a, b, c in triangles:
        facets += [(a, b, c), (n + a, n + c, n + b)]
    for i in range(n):
        j = (i + 1) % n
        facets += [(i, n + j, j), (i, n + i, n + j)]
    return Surface(corners, np.array(facets))


def about_y(turn: float) -> np.ndarray:
    c, s = math.cos(turn), math.sin(turn)
    return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])


@dataclass
class Rig:
    """An engine and what the tests read off it."""

    domain: Domain
    engine: Any
    time: float = 0.0

    @property
    def places(self) -> np.ndarray:
        p = self.engine.host("parcels")[:3].astype(float)
        return self.domain.origin + p.T * self.domain.cell

    @property
    def velocities(self) -> np.ndarray:
        return np.asarray(self.engine.host("parcels")[3:6].astype(float).T * self.domain.cell)

    def run(self, seconds: float, gravity: np.ndarray, most: float = 0.005) -> None:
        end = self.time + seconds
        while self.time < end - 1e-9:
            speed = self.engine.liquid_speed()
            assert math.isfinite(speed)
            dt = min(most, 1.5 / max(speed, 1e-6), end - self.time)
            self.engine.step(gravity, dt)
            self.time += dt


def engine_of(name: str) -> Any:
    """Class of the engine; the test is skipped, saying so, where there is no card."""
    if name == "processor":
        return CpuEngine
    if name == "plain arrays":
        return ArrayEngine
    cupy = pytest.importorskip("cupy", reason="not run: CuPy is not installed here")
    try:
        cards = cupy.cuda.runtime.getDeviceCount()
    except cupy.cuda.runtime.CUDARuntimeError:
        cards = 0
    if not cards:
        pytest.skip("not run: there is no graphics card here")
    from sumpwright.motion.free_surface.engine_gpu import CardEngine

    return CardEngine


def rig(
    surface: Surface,
    cell: float,
    oil: float,
    up: np.ndarray,
    nu: float = 0.0,
    omega: float = 5.0,
    engine: str = "processor",
) -> Rig:
    domain = make_domain(surface, cell)
    parcels, each = fill(domain, up, oil)
    return Rig(domain, engine_of(engine)(domain, lay_out(domain), parcels, each, nu, omega))


def first_mode(length: float, depth: float) -> float:
    return math.sqrt(G * math.pi / length * math.tanh(math.pi * depth / length))


def swing(
    length: float,
    width: float,
    depth: float,
    cell: float,
    turn: float = 0.0,
    nu: float = 0.0,
    seconds: float = 3.0,
    tilt: float = 0.03,
    engine: str = "processor",
) -> tuple[float, float]:
    """Circular frequency and rate of decay of the oil let go from a plane tilted by ``tilt``."""
    from scipy.optimize import curve_fit

    r = about_y(turn)
    up = r @ np.array([-math.sin(tilt), 0.0, math.cos(tilt)])
    omega = first_mode(length, depth)
    shaken = rig(box(length, width, 0.25, turn), cell, length * width * depth, up, nu, omega, engine)
    gravity = r @ np.array([0.0, 0.0, -G])
    along = r @ np.array([1.0, 0.0, 0.0])
    times, places = [], []
    for _ in range(round(seconds / 0.005)):
        shaken.engine.step(gravity, 0.005)
        times.append((len(times) + 1) * 0.005)
        places.append(float((shaken.places @ along).mean()) - 0.5 * length)
    found, _ = curve_fit(
        lambda t, a, z, o, ph, c: a * np.exp(-z * t) * np.cos(o * t + ph) + c,
        np.array(times),
        np.array(places),
        p0=[places[0], 0.1, omega, 0.0, 0.0],
    )
    return float(found[2]), float(found[1])
