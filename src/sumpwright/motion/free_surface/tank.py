"""One pan being shaken: engine, doors, pump and returns, and the clock. The one mutable state."""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np

from sumpwright.motion.free_surface.constants import COURANT, LIQUID, LONGEST_STEP
from sumpwright.motion.free_surface.domain import Domain
from sumpwright.motion.free_surface.filled import part_below_surface
from sumpwright.motion.free_surface.model import FreeSurfaceError
from sumpwright.motion.free_surface.seeding import ROWS
from sumpwright.motion.free_surface.spin import Spin
from sumpwright.motion.free_surface.ways import OpenedWay, Walls
from sumpwright.quantities.units import (
    CubicMetre,
    FloatArray,
    KilogramPerCubicMetre,
    MetrePerSecond,
    PascalSecond,
    Second,
)

DISCHARGE = 0.61


class Engine(Protocol):
    """What a back end offers: the same state, the same step."""

    name: str
    count: int
    viscosity: float
    steps: int

    def step(self, gravity: FloatArray, dt: Second, spin: Spin | None = None) -> None:
        """Advance by ``dt`` under ``gravity`` (3,) [m/s2], in a pan that turns so."""
        ...

    def set_shut(self, shut: list[np.ndarray]) -> None:
        """Close the marked faces."""
        ...

    def liquid_speed(self) -> float:
        """Largest speed in the oil [cells/s]; NaN if a parcel lost its place."""
        ...

    def host(self, name: str) -> np.ndarray:
        """A state array as numpy."""
        ...

    def at(self, name: str, cells: np.ndarray) -> np.ndarray:
        """A state array's values (m,) in cells (m, 3), without bringing all of it home."""
        ...

    def face_velocity(self, axis: int, faces: np.ndarray) -> np.ndarray:
        """Velocities (m,) [cells/s] on faces (m, 3) across an axis."""
        ...

    def replace(self, parcels: np.ndarray) -> None:
        """Go on with these parcels (6, n)."""
        ...

    def faces(self) -> list[np.ndarray]:
        """Copies of the face velocities."""
        ...

    def set_faces(self, faces: list[np.ndarray], pressure: np.ndarray) -> None:
        """Put face velocities and pressure back."""
        ...

    def pushes(self) -> list[np.ndarray]:
        """Copies of the push on each face that parcels take with their next move [cells]."""
        ...

    def restore(
        self, kind: np.ndarray, rho: np.ndarray, marks: list[np.ndarray], pushes: list[np.ndarray]
    ) -> None:
        """Put kinds, shares, marks and pushes back."""
        ...

    def marks(self) -> list[np.ndarray]:
        """Copies of the faces' marks."""
        ...


def hole_velocity(head: float, viscosity: float, diameter: float, thickness: float) -> MetrePerSecond:
    """Velocity [m/s] through a sharp hole under a pressure over density ``head`` [m2/s2].

    The steady law of the compartment model, u^2 / (2 C^2) + 6 pi nu u / d (1 + 16 t / (3 pi d)) = head.
    """
    a = 1.0 / (2.0 * DISCHARGE * DISCHARGE)
    b = 6.0 * math.pi * viscosity / diameter * (1.0 + 16.0 * thickness / (3.0 * math.pi * diameter))
    return 2.0 * head / (b + math.sqrt(b * b + 4.0 * a * head)) if head > 0.0 else 0.0


class Tank:
    """The engine's oil in a pan with inner walls."""

    def __init__(
        self,
        domain: Domain,
        engine: Engine,
        walls: Walls,
        parcel_volume: CubicMetre,
        density: KilogramPerCubicMetre,
        viscosity: PascalSecond,
    ) -> None:
        self.domain = domain
        self.engine = engine
        self.walls = walls
        self.parcel_volume = parcel_volume
        self.density = density
        self.viscosity = viscosity
        self.time: Second = 0.0
        self.steps = 0
        count = len(walls.ways)
        self.is_open = np.array([not w.way.is_door for w in walls.ways], dtype=bool)
        self.swing = np.zeros(count)  # s since the door was pushed to change its state
        self.owed = np.zeros(count)  # m3 of a link's flow not yet made up of whole parcels
        self.flow = np.zeros(count)  # m3/s, first to second
        self.sides = [_cells_beside(domain, walls, w) for w in walls.ways]
        # By the faces' own identity, so that an engine can keep the places where it works.
        self.below = {
            id(f): f - np.eye(3, dtype=f.dtype)[axis] for w in walls.ways for axis, f in enumerate(w.faces)
        }
        self.stuck: dict[str, str] = {}
        self._set_faces()

    def _set_faces(self) -> None:
        shut = [np.array(a) for a in self.walls.shut]
        for index, opened in enumerate(self.walls.ways):
            if self.is_open[index] and not opened.is_link:
                for axis in range(3):
                    f = opened.faces[axis]
                    shut[axis][f[:, 0], f[:, 1], f[:, 2]] = 0
        self.engine.set_shut(shut)

    def refresh_doors(self) -> None:
        """Lay the doors' states on the grid again, after a checkpoint was read."""
        self._set_faces()

    def safe_step(self) -> Second:
        """Longest good step [s] from the oil's own speed; what flies above it does not count."""
        speed = self.engine.liquid_speed()
        if not math.isfinite(speed):
            raise FreeSurfaceError(
                f"the computation broke down {self.time:.3f} s into the trace: a velocity is no number"
            )
        return min(LONGEST_STEP, COURANT / max(speed, 1e-6))

    def step(self, gravity: FloatArray, dt: Second, turning: Spin | None = None) -> None:
        """Advance everything by ``dt``; ``gravity`` (3,) [m/s2] as the pan feels it at its origin."""
        if not np.isfinite(gravity).all():
            raise FreeSurfaceError(f"the trace holds no number {self.time:.3f} s in")
        if self.walls.ways:
            self._swing_doors(dt)
        self.engine.step(np.asarray(gravity, dtype=float), dt, turning)
        if self.walls.ways:
            self._run_links(dt)
        self.time += dt
        self.steps += 1

    def _heads(self, index: int) -> tuple[float, float]:
        """Mean pressure over density [m2/s2] of the cells beside a way, first and second side."""
        scale = self.domain.cell**2
        found = []
        for cells in self.sides[index]:
            values = self.engine.at("pressure", cells)
            found.append(float(np.maximum(values, 0.0).mean()) * scale if len(cells) else 0.0)
        return found[0], found[1]

    def _swing_doors(self, dt: Second) -> None:
        """Open on pressure in the good sense, shut on flow in the bad one, both after the flap's lag."""
        changed = False
        for index, opened in enumerate(self.walls.ways):
            way = opened.way
            state = self.stuck.get(way.name, "works")
            if not way.is_door or state in ("stuck open", "stuck shut"):
                wanted = state != "stuck shut" if way.is_door else True
            else:
                sense = -way.passes if state == "fitted backwards" else way.passes
                if self.is_open[index] and not opened.is_link:
                    wanted = self._mean_flow(opened) * sense > 0.0
                else:
                    first, second = self._heads(index)
                    wanted = (first - second) * sense > 0.0
            if wanted == bool(self.is_open[index]):
                self.swing[index] = 0.0
                continue
            self.swing[index] += dt
            if self.swing[index] >= way.lag or not way.is_door:
                self.is_open[index] = wanted
                self.swing[index] = 0.0
                changed = True
        if changed:
            self._set_faces()

    def _mean_flow(self, opened: OpenedWay) -> float:
        """Flow [m3/s] through the open faces, first to second, where there is oil."""
        opens = (self.domain.open_x, self.domain.open_y, self.domain.open_z)
        total = 0.0
        for axis in range(3):
            f = opened.faces[axis]
            if not len(f):
                continue
            wet = self.engine.at("kind", f) == LIQUID
            wet |= self.engine.at("kind", self.below[id(f)]) == LIQUID
            part = opens[axis][f[:, 0], f[:, 1], f[:, 2]] * opened.signs[axis]
            total += float((self.engine.face_velocity(axis, f) * part * wet).sum())
        return total * self.domain.cell**3

    def _run_links(self, dt: Second) -> None:
        """Flow of ways too narrow for the cells, and what leaks past shut doors."""
        nu = self.viscosity / self.density
        for index, opened in enumerate(self.walls.ways):
            way = opened.way
            if not opened.is_link and not (way.is_door and not self.is_open[index]):
                self.flow[index] = self._mean_flow(opened)
                self.owed[index] = 0.0
                continue
            first, second = self._heads(index)
            head = first - second
            if opened.is_link and self.is_open[index]:
                q = hole_velocity(abs(head), nu, way.hydraulic_diameter, way.thickness) * way.area
                if not way.is_door and way.passes and head * way.passes < 0.0:
                    q = 0.0
            else:
                lap = max(way.overlap, 1e-3)
                creeping = (
                    way.girth * way.leak_gap**3 * abs(head) * self.density / (12.0 * self.viscosity * lap)
                )
                q = min(creeping, DISCHARGE * way.girth * way.leak_gap * math.sqrt(2.0 * abs(head)))
            q = math.copysign(q, head)
            self.flow[index] = q
            self.owed[index] += q * dt
            count = int(abs(self.owed[index]) / self.parcel_volume)
            if count:
                moved = self._carry(index, count, 0 if self.owed[index] > 0.0 else 1)
                self.owed[index] -= math.copysign(moved * self.parcel_volume, self.owed[index])
                if moved < count:
                    self.owed[index] = 0.0

    def _carry(self, index: int, count: int, source: int) -> int:
        """Take parcels from cells on one side of a way and set them down on the other."""
        give, take = self.sides[index][source], self.sides[index][1 - source]
        if not len(give) or not len(take):
            return 0
        parcels = np.array(self.engine.host("parcels"))
        chosen = self._in_cells(parcels, give)[:count]
        for number, p in enumerate(chosen):
            spot = take[(self.steps + number) % len(take)]
            inside = parcels[:3, p] - np.floor(parcels[:3, p])
            parcels[:3, p] = spot + 0.1 + 0.8 * inside
            parcels[3:, p] = 0.0
        if len(chosen):
            self.engine.replace(parcels)
        return len(chosen)

    def _in_cells(self, parcels: np.ndarray, cells: np.ndarray) -> np.ndarray:
        """Parcels inside any of the cells, in their order."""
        flags = np.zeros(self.domain.shape, dtype=bool)
        flags[cells[:, 0], cells[:, 1], cells[:, 2]] = True
        at = parcels[:3].astype(np.int64)
        return np.flatnonzero(flags[at[0], at[1], at[2]])

    def take(self, cells: np.ndarray, count: int) -> int:
        """Remove up to ``count`` parcels from cells; returns how many there were."""
        parcels = self.engine.host("parcels")
        chosen = self._in_cells(parcels, cells)[:count]
        if len(chosen):
            self.engine.replace(np.delete(parcels, chosen, axis=1))
        return len(chosen)

    def give(self, points: FloatArray) -> None:
        """Add parcels at rest at points (n, 3) [cells]."""
        fresh = np.zeros((ROWS, len(points)), dtype=np.float32)
        fresh[:3] = np.asarray(points).T
        self.engine.replace(np.concatenate([self.engine.host("parcels"), fresh], axis=1))

    def volumes(self) -> FloatArray:
        """Oil in every compartment (c,) [m3]."""
        at = self.engine.host("parcels")[:3].astype(np.int64)
        label = self.walls.compartment[at[0], at[1], at[2]]
        count = int(self.walls.compartment.max()) + 1
        # A parcel in a closed corner cell belongs to the first compartment beside it.
        return np.asarray(np.bincount(np.maximum(label, 0), minlength=count) * self.parcel_volume)

    def occupied(self) -> float:
        """Volume below the reconstructed surface over the oil's own."""
        part = part_below_surface(self.engine.host("rho"))
        held = float((part * self.domain.open_volume).sum(dtype=np.float64)) * self.domain.cell**3
        return held / (self.engine.count * self.parcel_volume)


def _cells_beside(domain: Domain, walls: Walls, opened: OpenedWay) -> tuple[np.ndarray, np.ndarray]:
    """Cells on the first and the second side of a way; nearest ones where no face belongs to it."""
    lists: list[list[np.ndarray]] = [[], []]
    for axis in range(3):
        f, sign = opened.faces[axis], opened.signs[axis]
        low = f - np.eye(3, dtype=int)[axis]
        lists[0] += [low[sign > 0], f[sign < 0]]
        lists[1] += [f[sign > 0], low[sign < 0]]
    found = []
    for side in range(2):
        cells = np.unique(np.concatenate(lists[side]), axis=0) if lists[side] else np.empty((0, 3), int)
        if not len(cells):
            mine = np.argwhere(walls.compartment == opened.way.between[side])
            centre = (opened.way.centre - domain.origin) / domain.cell
            away = np.linalg.norm(mine + 0.5 - centre, axis=1)
            cells = mine[np.argsort(away, kind="stable")[:4]]
        found.append(cells.astype(np.int64))
    return found[0], found[1]
