"""One step of the oil on the processor. Imports numba; nothing else here does."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np

from sumpwright.motion.free_surface import cpu_cells, cpu_faces, cpu_parcels, cpu_solve
from sumpwright.motion.free_surface.constants import (
    AIR,
    DENSITY_TOLERANCE,
    LARGEST_PUSH,
    OFF_WALL,
    PRESSURE_TOLERANCE,
    WALL,
)
from sumpwright.motion.free_surface.domain import Domain
from sumpwright.motion.free_surface.layout import Layout
from sumpwright.motion.free_surface.spin import NO_SPIN, Spin
from sumpwright.motion.free_surface.viscous import wall_drag
from sumpwright.quantities.units import CubicMetre, FloatArray, RadianPerSecond, Second, SquareMetrePerSecond

# The compiled loops carry no types that a checker could read.
cells_of: Any = cpu_cells
faces_of: Any = cpu_faces
parcels_of: Any = cpu_parcels
rows_of: Any = cpu_solve

MOST_ITERATIONS = 300
SORT_EACH = 8
MARGIN = 3
"""Cells round the oil's own that a step may touch."""
FEW = 4000
"""Of these many rows or fewer a second thread costs more than it saves."""


class CpuEngine:
    """Parcels, face velocities and scratch of one run. Mutable: it is what a step advances.

    Cells and faces stand in flat arrays; ``velocity``, ``open``, ``push`` and ``mark`` show them by axis.
    """

    name = "processor"

    def __init__(
        self,
        domain: Domain,
        layout: Layout,
        parcels: np.ndarray,  # (6, n) float32
        parcel_volume: CubicMetre,
        viscosity: SquareMetrePerSecond,
        first_mode: RadianPerSecond,
        lanes: int = 2,
    ) -> None:
        nx, ny, nz = domain.shape
        f4, i4 = np.float32, np.int32
        self.domain = domain
        self.parcels = np.array(parcels, dtype=f4, order="C")
        self.count = self.parcels.shape[1]
        self.per_cell = f4(domain.cell**3 / parcel_volume)
        self.viscosity = viscosity
        self.first_mode = first_mode
        self.lanes = lanes
        self.pool = ThreadPoolExecutor(lanes - 1) if lanes > 1 else None
        # Cells, faces and corners alike stand in arrays one longer each way: one number finds them all.
        self.padded = (nx + 1, ny + 1, nz + 1)
        self.size = size = (nx + 1) * (ny + 1) * (nz + 1)
        self.sx, self.sy = (ny + 1) * (nz + 1), nz + 1
        self.steps_of = (size, self.sx, self.sy)
        self.shape = np.array(domain.shape, dtype=np.int64)
        self.last = (np.array(domain.shape) - cpu_parcels.EDGE).astype(f4)
        self.shut = np.zeros(3 * size, np.uint8)
        self.has_shut = False
        self.domain_open = self._on_faces([domain.open_x, domain.open_y, domain.open_z])
        self.all_open = self.domain_open.copy()
        self.all_velocity, self.all_push, self.work = (np.zeros(3 * size, f4) for _ in range(3))
        self.all_marks, self.push_marks, self.wet = (np.zeros(3 * size, np.int8) for _ in range(3))
        self.velocity, self.push = self._axes(self.all_velocity), self._axes(self.all_push)
        self.open, self.mark = self._axes(self.all_open), self._axes(self.all_marks)
        self.sums = np.zeros((lanes, 6 * size), f4)
        self.share = np.zeros((lanes, size), f4)
        self.number = np.zeros((lanes, size), i4)
        self.open_volume = self._on_cells(domain.open_volume)
        self.flat_rho, self.flat_pressure = np.zeros(size, f4), np.zeros(size, f4)
        self.flat_kind = np.where(self.open_volume > 0.0, AIR, WALL).astype(np.int8)
        self.rho, self.pressure = self._shown(self.flat_rho), self._shown(self.flat_pressure)
        self.kind = self._shown(self.flat_kind)
        self.row = np.full(size, -1, i4)
        self.distance = np.ascontiguousarray(domain.wall_distance, dtype=f4).ravel()
        self.beside_wall = self._on_cells(beside_wall(domain)).astype(np.uint8)
        self.full = self._on_cells(layout.full * self.per_cell)
        mine, theirs = slivers(domain)
        self.hosts, self.judges = (np.ravel_multi_index(tuple(a.T), self.padded) for a in (mine, theirs))
        self.host_kind, self.host_rho = np.zeros(len(mine), np.int8), np.zeros(len(mine), f4)
        self.wall_of = np.full(3 * size, -1, i4)
        before = 0
        for axis in range(3):
            where = layout.wall_faces[axis].astype(np.int64)
            flat = np.ravel_multi_index(tuple(where.T), self.padded) + axis * size
            self.wall_of[flat] = before + np.arange(len(flat))
            before += len(flat)
        self.normals = np.concatenate(layout.wall_normals).astype(f4).reshape(-1, 3)
        self.beyond = np.concatenate(layout.wall_beyond).astype(f4)
        self.friction = self._on_faces(list(layout.friction))
        self._make_rows(int((domain.open_volume > 0).sum()) + 1)
        self.flying, self.closed = np.zeros(3 * size, i4), np.zeros(3 * size, i4)
        self.listed = np.zeros((2, 3 * size), i4)
        self.boxes = np.zeros((lanes, 6), np.int64)
        self.levels = np.zeros(nx + ny + nz + 2, np.int64)
        self.last_box: np.ndarray | None = None
        self.liquid_cells = 0
        self.steps = 0
        self.iterations = (0, 0)
        self.fastest: float | None = None  # cells/s in the oil; None = not known yet
        self.is_lost = False

    def _make_rows(self, most: int) -> None:
        """Room for the rows of the two solves."""
        f4, i4 = np.float32, np.int32
        self.cells = np.zeros(most + 1, i4)
        self.link, self.up, self.down = (np.zeros((3, most + 1), f4) for _ in range(3))
        self.above, self.below = (np.zeros((3, most + 1), i4) for _ in range(2))
        self.to_air = np.zeros((6, most + 1), f4)
        self.diagonal, self.scale, self.rest, self.b, self.x, self.r, self.p, self.t, self.w = (
            np.zeros(most + 1, f4) for _ in range(9)
        )

    def _on_cells(self, values: Any) -> np.ndarray:
        """Values of cells (nx, ny, nz), laid out flat."""
        out = np.zeros(self.padded, np.float32)
        self._shown(out.reshape(-1))[...] = values
        return out.reshape(-1)

    def _on_faces(self, by_axis: list[Any], kind: Any = np.float32) -> np.ndarray:
        """Values of faces by axis, laid out flat."""
        out = np.zeros(3 * self.size, kind)
        for shown, values in zip(self._axes(out), by_axis, strict=True):
            shown[...] = values
        return out

    def _shown(self, flat: np.ndarray) -> np.ndarray:
        """The cells (nx, ny, nz) of a flat array."""
        nx, ny, nz = self.domain.shape
        return flat.reshape(self.padded)[:nx, :ny, :nz]

    def _axes(self, flat: np.ndarray) -> list[np.ndarray]:
        """The three face arrays that stand in one."""
        nx, ny, nz = self.domain.shape
        whole = flat.reshape(3, *self.padded)
        return [whole[0, :, :ny, :nz], whole[1, :nx, :, :nz], whole[2, :nx, :ny, :]]

    def _each_lane(
        self, work: Callable[[int, int, int], Any], first: int, end: int, few: int = 1
    ) -> list[Any]:
        """Run ``work(lane, first, end)`` for equal parts, a thread each."""
        if self.pool is None or end - first < few:
            return [work(0, first, end)]
        cuts = [first + (end - first) * n // self.lanes for n in range(self.lanes + 1)]
        others = [self.pool.submit(work, n, cuts[n], cuts[n + 1]) for n in range(1, self.lanes)]
        return [work(0, cuts[0], cuts[1]), *(other.result() for other in others)]

    def set_shut(self, shut: list[np.ndarray]) -> None:
        """Close the marked faces to everything."""
        self.shut[:] = self._on_faces(shut, np.uint8)
        self.has_shut = bool(self.shut.any())
        self.all_open[:] = np.where(self.shut != 0, np.float32(0.0), self.domain_open)

    def step(self, gravity: FloatArray, dt: Second, spin: Spin | None = None) -> None:
        """Advance by ``dt`` under the effective gravity (3,) [m/s2] along the grid, in a pan turning so."""
        if self.steps % SORT_EACH == 0:
            self.sort()
        box = self._carry(np.asarray(gravity, dtype=float), dt, spin)
        self._lay_out_rows(box)
        first = self._push_apart()
        self._each_lane(
            lambda lane, a, b: faces_of.average(
                a, b, box, *self.steps_of, self.sums, self.all_open, self.all_velocity, self.all_marks
            ),
            int(box[0]), int(box[1]),
        )  # fmt: skip
        if self.viscosity > 0.0:
            self._viscosity(dt)
        second = self._make_even(dt)
        self._beyond_the_oil(box)
        self.steps += 1
        self.iterations = (first, second)

    def _carry(self, gravity: FloatArray, dt: Second, spin: Spin | None) -> np.ndarray:
        """Move the parcels, lay them on the grid; bounds (6,) of the cells that this step can touch."""
        force = gravity * (dt / self.domain.cell)
        turning = NO_SPIN if spin is None else spin.table(dt)
        if spin is not None:
            force = force + spin.at_corner(self.domain, dt)

        def carry(lane: int, first: int, end: int) -> float:
            return float(
                parcels_of.carry(
                    self.parcels, first, end, *self.steps_of, self.last, self.all_velocity, self.all_push, dt,
                    self.distance, self.beside_wall, self.shut, self.has_shut, force, turning,
                    spin is not None, self.sums[lane], self.share[lane], self.number[lane],
                    self.flat_kind, self.boxes[lane],
                )
            )  # fmt: skip

        totals = self._each_lane(carry, 0, self.count)
        self.is_lost = not np.isfinite(sum(totals))
        used = self.boxes[: len(totals)]
        low = np.maximum(used[:, 0::2].min(axis=0) - MARGIN, 0)
        high = np.minimum(used[:, 1::2].max(axis=0) + MARGIN, self.shape)
        own = np.stack([low, high], axis=1).ravel()
        box = own.copy()
        if self.last_box is not None:
            box[0::2] = np.minimum(box[0::2], self.last_box[0::2])
            box[1::2] = np.maximum(box[1::2], self.last_box[1::2])
        self.last_box = own
        return box

    def _lay_out_rows(self, box: np.ndarray) -> None:
        """Which cells hold oil, and the matrix of the two solves."""
        cells_of.clear_faces(self.liquid_cells, self.cells, *self.steps_of, self.all_push)
        self._each_lane(
            lambda lane, a, b: cells_of.classify(
                a, b, box, self.sx, self.sy, self.share, self.number, self.full, self.per_cell,
                self.open_volume, self.flat_kind, self.flat_rho, self.row,
            ),
            int(box[0]), int(box[1]),
        )  # fmt: skip
        count = self.liquid_cells = int(
            cells_of.number_rows(
                box, self.sx, self.sy, self.hosts, self.judges, self.host_kind, self.host_rho, self.flat_kind,
                self.flat_rho, self.row, self.cells, self.levels,
            )
        )  # fmt: skip
        self._each_lane(
            lambda lane, a, b: cells_of.build(
                a, b, count, self.cells, *self.steps_of, self.all_open, self.flat_kind,
                self.flat_rho, self.row, self.open_volume, self.diagonal, self.link, self.above, self.below,
                self.to_air, self.b,
            ),
            0, count, FEW,
        )  # fmt: skip
        rows_of.factor(
            count, self.diagonal, self.link, self.above, self.below, self.scale, self.rest, self.up, self.down
        )

    def _push_apart(self) -> int:
        """The push that evens out crowded parcels; they take it with their next move."""
        found = self._solve(False, DENSITY_TOLERANCE, 60)
        self._gradient(self.all_push, self.push_marks, LARGEST_PUSH)
        return found

    def _make_even(self, dt: Second) -> int:
        """Pressure that leaves no squeeze."""
        count = self.liquid_cells
        self._each_lane(
            lambda lane, a, b: cells_of.divergence(
                a, b, self.cells, *self.steps_of, self.all_velocity, self.all_open,
                self.flat_pressure, np.float32(dt), self.b, self.x,
            ),
            0, count, FEW,
        )  # fmt: skip
        found = self._solve(True, PRESSURE_TOLERANCE, MOST_ITERATIONS)
        self.fastest = self._gradient(self.all_velocity, self.all_marks, -1.0)
        self.flat_pressure[:] = 0.0
        cells_of.put(count, self.cells, self.x, np.float32(dt), self.flat_pressure)
        return found

    def _gradient(self, value: np.ndarray, mark: np.ndarray, limit: float) -> float:
        count = self.liquid_cells
        found = self._each_lane(
            lambda lane, a, b: cells_of.take_gradient(
                a, b, count, self.cells, *self.steps_of, self.above,
                self.to_air, self.x, value, mark, np.float32(limit),
            ),
            0, count, FEW,
        )  # fmt: skip
        return float(max(found))

    def _solve(self, is_started: bool, tolerance: float, most: int) -> int:
        return int(
            rows_of.solve(
                self.liquid_cells, self.diagonal, self.link, self.above, self.below, self.scale, self.rest,
                self.up, self.down, self.b, self.x, is_started, self.r, self.p, self.t, self.w, tolerance,
                most,
            )
        )  # fmt: skip

    def _beyond_the_oil(self, box: np.ndarray) -> None:
        """The oil's velocity to what flies beside it, and to closed faces, turned along the wall."""
        flying, shut = faces_of.list_marked(box, *self.steps_of, self.all_marks, self.flying, self.closed)
        faces_of.spread_over_flying(
            flying, self.flying, self.sx, self.sy, self.all_velocity, self.all_marks, self.work
        )
        faces_of.carry_to_wall(
            shut, self.closed, self.wall_of, self.sx, self.sy, self.all_velocity, self.all_marks
        )
        faces_of.turn_along_walls(
            shut, self.closed, self.wall_of, self.normals, self.beyond, *self.steps_of,
            self.all_velocity, self.all_marks, self.work,
        )  # fmt: skip

    def _viscosity(self, dt: Second) -> None:
        law = wall_drag(self.viscosity, self.first_mode, self.domain.cell, dt)
        even, odd = faces_of.list_wet(
            self.liquid_cells, self.cells, *self.steps_of, self.all_open,
            self.flat_kind, self.wet, self.listed,
        )  # fmt: skip
        f4 = np.float32
        faces_of.diffuse(
            even, odd, self.listed, self.sx, self.sy, self.wet, self.all_velocity, self.work,
            self.friction, f4(law.alpha), f4(law.drag), f4(law.relax), law.sweeps,
        )  # fmt: skip

    def sort(self) -> None:
        """Parcels in the order of their cells."""
        n = self.count
        parcels_of.sort_by_cell(
            self.parcels, self.sx, self.sy, np.empty(n, np.int32), np.empty(self.size + 1, np.int32),
            np.empty(n, np.float32),
        )  # fmt: skip

    def liquid_speed(self) -> float:
        """Largest speed on faces of liquid cells [cells/s]; NaN if any parcel has lost its place."""
        if self.is_lost:
            return float("nan")
        if self.fastest is None:
            good = self.all_marks == 2
            self.fastest = float(np.abs(self.all_velocity[good]).max()) if good.any() else 0.0
        return self.fastest

    def host(self, name: str) -> np.ndarray:
        """A state array: "parcels", "kind", "rho", "pressure"."""
        return np.asarray(getattr(self, name))

    def at(self, name: str, cells: np.ndarray) -> np.ndarray:
        """A state array's values (m,) in cells (m, 3)."""
        return np.asarray(getattr(self, name)[cells[:, 0], cells[:, 1], cells[:, 2]])

    def face_velocity(self, axis: int, faces: np.ndarray) -> np.ndarray:
        """Velocities (m,) [cells/s] on faces (m, 3) across an axis."""
        return np.asarray(self.velocity[axis][faces[:, 0], faces[:, 1], faces[:, 2]])

    def replace(self, parcels: np.ndarray) -> None:
        """Go on with these parcels (6, n)."""
        self.parcels = np.array(parcels, dtype=np.float32, order="C")
        self.count = self.parcels.shape[1]

    def faces(self) -> list[np.ndarray]:
        """Face velocities, for a checkpoint."""
        return [np.array(a) for a in self.velocity]

    def pushes(self) -> list[np.ndarray]:
        """The push on every face [cells] that the parcels take with their next move, for a checkpoint."""
        return [np.array(a) for a in self.push]

    def set_faces(self, faces: list[np.ndarray], pressure: np.ndarray) -> None:
        """Face velocities and pressure of a checkpoint."""
        for axis in range(3):
            self.velocity[axis][:] = faces[axis]
        self.pressure[:] = pressure
        self._know_nothing()

    def restore(
        self, kind: np.ndarray, rho: np.ndarray, marks: list[np.ndarray], pushes: list[np.ndarray]
    ) -> None:
        """Kinds, shares, marks and pushes of a checkpoint."""
        self.kind[:], self.rho[:] = kind, rho
        for axis in range(3):
            self.mark[axis][:] = marks[axis]
            self.push[axis][:] = pushes[axis]
        liquid = np.flatnonzero(self.flat_kind == 1).astype(np.int32)
        self.cells[: len(liquid)] = liquid
        self.liquid_cells = len(liquid)
        self._know_nothing()

    def _know_nothing(self) -> None:
        """What is worked out from the state is asked for anew: the oil may be anywhere on the grid."""
        self.fastest = None
        self.last_box = np.array([0, self.shape[0], 0, self.shape[1], 0, self.shape[2]], dtype=np.int64)

    def marks(self) -> list[np.ndarray]:
        """Copies of the faces' marks, for a checkpoint."""
        return [np.array(a) for a in self.mark]


def beside_wall(domain: Domain) -> np.ndarray:
    """1 for each cell (nx, ny, nz) in which some point can be beyond a wall."""
    d = domain.wall_distance
    near = np.zeros(domain.shape, dtype=bool)
    for a in (0, 1):
        for b in (0, 1):
            for c in (0, 1):
                nx, ny, nz = domain.shape
                near |= d[a : a + nx, b : b + ny, c : c + nz] < OFF_WALL
    return near.astype(np.uint8)


def slivers(domain: Domain) -> tuple[np.ndarray, np.ndarray]:
    """Cells (m, 3) that are too little open to judge, and those (m, 3) that judge for them."""
    mine = np.argwhere(domain.host > 0)
    code = domain.host[tuple(mine.T)].astype(np.int64) - 1
    return mine, mine + (2 * (code % 2) - 1)[:, None] * np.eye(3, dtype=np.int64)[code // 2]
