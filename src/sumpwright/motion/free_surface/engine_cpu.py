"""One step of the oil on the processor. Imports numba; nothing else here does."""

from __future__ import annotations

from typing import Any

import numpy as np

from sumpwright.motion.free_surface import cpu as compiled
from sumpwright.motion.free_surface.constants import (
    DENSITY_TOLERANCE,
    LARGEST_PUSH,
    PRESSURE_TOLERANCE,
)
from sumpwright.motion.free_surface.domain import Domain
from sumpwright.motion.free_surface.layout import Layout
from sumpwright.motion.free_surface.viscous import wall_drag
from sumpwright.quantities.units import CubicMetre, FloatArray, RadianPerSecond, Second, SquareMetrePerSecond

cpu: Any = compiled

MOST_ITERATIONS = 300
SORT_EACH = 8


class CpuEngine:
    """Parcels, face velocities and scratch of one run. Mutable: it is what a step advances."""

    name = "processor"

    def __init__(
        self,
        domain: Domain,
        layout: Layout,
        parcels: np.ndarray,  # (15, n) float32
        parcel_volume: CubicMetre,
        viscosity: SquareMetrePerSecond,
        first_mode: RadianPerSecond,
        lanes: int = 2,
    ) -> None:
        nx, ny, nz = domain.shape
        self.domain = domain
        self.parcels = np.array(parcels, dtype=np.float32, order="C")
        self.count = self.parcels.shape[1]
        self.per_cell = domain.cell**3 / parcel_volume
        self.viscosity = viscosity
        self.first_mode = first_mode
        self.lanes = lanes
        shapes = ((nx + 1, ny, nz), (nx, ny + 1, nz), (nx, ny, nz + 1))
        f4 = np.float32
        self.shut = [np.zeros(s, np.uint8) for s in shapes]
        self.has_shut = False
        self.domain_open = [np.asarray(a, f4) for a in (domain.open_x, domain.open_y, domain.open_z)]
        self.open = [a.copy() for a in self.domain_open]
        self.velocity = [np.zeros(s, f4) for s in shapes]
        self.push = [np.zeros(s, f4) for s in shapes]
        self.work = [np.zeros(s, f4) for s in shapes]
        self.mark = [np.zeros(s, np.int8) for s in shapes]
        self.push_mark = [np.zeros(s, np.int8) for s in shapes]
        self.sums = [np.zeros((lanes, *s, 2), f4) for s in shapes]
        self.share = np.zeros((lanes, nx, ny, nz), f4)
        self.number = np.zeros((lanes, nx, ny, nz), np.int32)
        self.rho = np.zeros((nx, ny, nz), f4)
        self.kind = np.zeros((nx, ny, nz), np.int8)
        self.row = np.full((nx, ny, nz), -1, np.int32)
        self.pressure = np.zeros((nx, ny, nz))
        self.open_volume = np.asarray(domain.open_volume, f4)
        self.distance = np.asarray(domain.wall_distance, f4)
        self.full = np.asarray(layout.full * self.per_cell, f4)
        self.walls = layout
        self.turned = [np.zeros(len(faces), f4) for faces in layout.wall_faces]
        self.normals = [np.asarray(a, f4) for a in layout.wall_normals]
        self.beyond = [np.asarray(a, f4) for a in layout.wall_beyond]
        self.friction = [np.asarray(a, f4) for a in layout.friction]
        most = int((domain.open_volume > 0).sum()) + 1
        self.cells = np.zeros((most, 3), np.int32)
        self.diagonal = np.ones(most)
        self.upper = np.zeros((most, 3))
        self.links = np.full((most, 3), -1, np.int32)
        self.lower = np.full((most, 3), -1, np.int32)
        self.scale = np.ones(most)
        self.b, self.x, self.r, self.z, self.s = (np.zeros(most) for _ in range(5))
        self.steps = 0
        self.iterations = (0, 0)
        self.liquid_cells = 0

    def set_shut(self, shut: list[np.ndarray]) -> None:
        """Close the marked faces to everything."""
        self.has_shut = any(bool(a.any()) for a in shut)
        for axis in range(3):
            self.shut[axis][:] = shut[axis]
            self.open[axis][:] = np.where(shut[axis] != 0, 0.0, self.domain_open[axis])

    def step(self, gravity: FloatArray, dt: Second) -> None:
        """Advance by ``dt`` under the effective gravity (3,) [m/s2] along the grid."""
        d, n = self.domain, self.count
        if self.steps % SORT_EACH == 0:
            self.sort()
        cpu.gather_and_move(
            self.parcels, n, *self.velocity, dt, self.distance, *self.shut, self.has_shut,
            self.share, self.number, self.lanes,
        )  # fmt: skip
        count = int(
            cpu.classify(
                self.share, self.number, self.full, self.per_cell, self.open_volume, d.host,
                self.kind, self.rho, self.row, self.cells,
            )
        )  # fmt: skip
        self.liquid_cells = count
        cpu.build_matrix(
            count, self.cells, self.kind, self.rho, self.row, *self.open,
            self.diagonal, self.upper, self.links, self.lower,
        )  # fmt: skip
        cpu.factor(count, self.diagonal, self.upper, self.lower, self.scale)
        cpu.density_source(count, self.cells, self.kind, self.rho, self.open_volume, self.b, 1.0)
        self.x[:count] = 0.0
        first = self._solve(count, DENSITY_TOLERANCE, 60)
        for axis in range(3):
            self.push[axis][:] = 0.0
            self.push_mark[axis][:] = 0
        cpu.apply_gradient(
            count, self.cells, self.kind, self.rho, self.row, self.x, *self.open,
            *self.push, *self.push_mark, LARGEST_PUSH,
        )  # fmt: skip
        cpu.push_and_scatter(
            self.parcels, n, *self.push, self.distance, *self.shut, self.has_shut, *self.sums, self.lanes
        )
        force = np.asarray(gravity) * (dt / d.cell)
        for axis in range(3):
            cpu.average(self.sums[axis], self.velocity[axis], self.mark[axis], self.open[axis], force[axis])
        if self.viscosity > 0.0:
            self._viscosity(dt)
        cpu.divergence(count, self.cells, *self.velocity, *self.open, self.b)
        cpu.guess(count, self.cells, self.pressure, dt, self.x)
        second = self._solve(count, PRESSURE_TOLERANCE, MOST_ITERATIONS)
        cpu.apply_gradient(
            count, self.cells, self.kind, self.rho, self.row, self.x, *self.open,
            *self.velocity, *self.mark, -1.0,
        )  # fmt: skip
        cpu.keep_pressure(count, self.cells, self.x, dt, self.pressure)
        for axis in range(3):
            cpu.spread_over_flying(self.velocity[axis], self.mark[axis], self.work[axis])
        self._walls(self.velocity, self.mark)
        self.steps += 1
        self.iterations = (first, second)

    def _solve(self, count: int, tolerance: float, most: int) -> int:
        found, _ = cpu.solve(
            count, self.diagonal, self.upper, self.links, self.lower, self.scale,
            self.b, self.x, self.r, self.z, self.s, tolerance, most,
        )  # fmt: skip
        return int(found)

    def _walls(self, value: list[np.ndarray], mark: list[np.ndarray]) -> None:
        faces = self.walls.wall_faces
        for axis in range(3):
            cpu.carry_to_wall(faces[axis], value[axis], mark[axis])
        for axis in range(3):
            cpu.turn_along_walls(
                faces[axis], self.normals[axis], self.beyond[axis], axis, *value, *mark, self.turned[axis]
            )
        for axis in range(3):
            cpu.write_faces(faces[axis], self.turned[axis], value[axis])

    def _viscosity(self, dt: Second) -> None:
        law = wall_drag(self.viscosity, self.first_mode, self.domain.cell, dt)
        for axis in range(3):
            cpu.wet_faces(self.kind, self.open[axis], axis, self.push_mark[axis])
            cpu.diffuse(
                self.velocity[axis], self.work[axis], self.push_mark[axis], self.friction[axis],
                law.alpha, law.drag, law.relax, law.sweeps,
            )  # fmt: skip

    def sort(self) -> None:
        """Parcels in the order of their cells."""
        _, ny, nz = self.domain.shape
        n = self.count
        order = np.empty(n, np.int64)
        start = np.empty(int(np.prod(self.domain.shape)) + 1, np.int64)
        cpu.order_by_cell(self.parcels, n, ny, nz, np.empty(n, np.int64), start, order)
        self.parcels[:, :n] = self.parcels[:, order]

    def liquid_speed(self) -> float:
        """Largest speed on faces of liquid cells [cells/s]; NaN if any parcel has lost its place."""
        if not np.isfinite(self.parcels[:6, : self.count].sum(dtype=np.float64)):
            return float("nan")
        return max(float(cpu.largest(self.velocity[a], self.mark[a])) for a in range(3))

    def host(self, name: str) -> np.ndarray:
        """A state array: "parcels", "kind", "rho", "pressure"."""
        if name == "parcels":
            return self.parcels[:, : self.count]
        return np.asarray(getattr(self, name))

    def replace(self, parcels: np.ndarray) -> None:
        """Go on with these parcels (15, n)."""
        self.parcels = np.array(parcels, dtype=np.float32, order="C")
        self.count = self.parcels.shape[1]

    def faces(self) -> list[np.ndarray]:
        """Face velocities, for a checkpoint."""
        return [np.array(a) for a in self.velocity]

    def set_faces(self, faces: list[np.ndarray], pressure: np.ndarray) -> None:
        """Face velocities and pressure of a checkpoint."""
        for axis in range(3):
            self.velocity[axis][:] = faces[axis]
        self.pressure[:] = pressure

    def restore(self, kind: np.ndarray, rho: np.ndarray, marks: list[np.ndarray]) -> None:
        """Kinds, shares and marks of a checkpoint."""
        self.kind[:], self.rho[:] = kind, rho
        for axis in range(3):
            self.mark[axis][:] = marks[axis]

    def marks(self) -> list[np.ndarray]:
        """Copies of the faces' marks, for a checkpoint."""
        return [np.array(a) for a in self.mark]
