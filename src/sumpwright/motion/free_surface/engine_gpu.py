"""One step of the oil on a graphics card. Imports CuPy; nothing else here does.

State and order of the work are those of ``ArrayEngine``; the loops are the kernels of
``card_kernels.py``. Sums of parcels are added in no fixed order, so two runs agree to rounding only.
"""

from __future__ import annotations

from typing import Any

import cupy
import numpy as np

from sumpwright.motion.free_surface import constants
from sumpwright.motion.free_surface.card_kernels import SOURCE
from sumpwright.motion.free_surface.constants import DENSITY_TOLERANCE, LARGEST_PUSH, PRESSURE_TOLERANCE
from sumpwright.motion.free_surface.domain import Domain
from sumpwright.motion.free_surface.engine_numpy import MOST_ITERATIONS, ArrayEngine
from sumpwright.motion.free_surface.filled import part_below_surface
from sumpwright.motion.free_surface.layout import Layout
from sumpwright.motion.free_surface.spin import Spin
from sumpwright.motion.free_surface.viscous import wall_drag
from sumpwright.quantities.units import CubicMetre, FloatArray, RadianPerSecond, Second, SquareMetrePerSecond

THREADS = 256
NOWHERE = np.uintp(0)
"""An address that is none."""
SORT_EACH = 16
KERNELS = (
    "carry",
    "average",
    "classify",
    "judge",
    "build",
    "divergence",
    "solve",
    "gradient",
    "keep_pressure",
    "wet_faces",
    "diffuse",
    "spread",
    "carry_to_wall",
    "turn_along_walls",
    "write_faces",
    "largest",
)


def cards() -> int:
    """How many cards can be used here."""
    try:
        return int(cupy.cuda.runtime.getDeviceCount())
    except cupy.cuda.runtime.CUDARuntimeError:
        return 0


def card_name() -> str:
    """What the card calls itself."""
    return str(cupy.cuda.runtime.getDeviceProperties(cupy.cuda.Device().id)["name"].decode())


class CardEngine(ArrayEngine):
    """Parcels, face velocities and scratch of one run, all on the card. Mutable."""

    name = "card"

    def __init__(
        self,
        domain: Domain,
        layout: Layout,
        parcels: np.ndarray,  # (6, n) float32
        parcel_volume: CubicMetre,
        viscosity: SquareMetrePerSecond,
        first_mode: RadianPerSecond,
    ) -> None:
        super().__init__(domain, layout, parcels, parcel_volume, viscosity, first_mode, cupy)
        nx, ny, nz = domain.shape
        self.size = nx * ny * nz
        self.most_faces = max(int(np.prod(s)) for s in self.shapes)
        shared = {
            name: getattr(constants, name)
            for name in ("FILLED", "LARGEST_MOVE", "LEAST_THETA", "LIQUID_SHARE", "OFF_WALL")
        }
        head = "".join(f"#define {name} {value!r}f\n" for name, value in shared.items())
        head += "".join(f"#define {name} {getattr(constants, name)}\n" for name in ("AIR", "LIQUID", "WALL"))
        head += f"#define NX {nx}\n#define NY {ny}\n#define NZ {nz}\n"
        code, options = head + SOURCE, ("-std=c++14",)
        module = cupy.RawModule(code=code, options=options)
        self.kernel = {name: module.get_function(name) for name in KERNELS}
        # Blocks of the solver wait for each other, so they must all be on the card at once.
        together = cupy.RawModule(code=code, options=options, enable_cooperative_groups=True)
        self.kernel["solve"] = together.get_function("solve")
        self.tables: dict[tuple[int, ...], Any] = {}
        self.places: dict[int, tuple[np.ndarray, tuple[Any, ...]]] = {}
        f4, i4 = np.float32, np.int32
        self.number = cupy.zeros((nx, ny, nz), i4)
        self.pressure = cupy.zeros((nx, ny, nz), f4)
        self.own_kind, self.own_rho = cupy.zeros_like(self.kind), cupy.zeros_like(self.rho)
        self.judge = self.judge.astype(i4)
        self.links = cupy.zeros((3, nx, ny, nz), f4)
        self.diagonal, self.b, self.x, self.r, self.s, self.q, self.u, self.w = (
            cupy.zeros((nx, ny, nz), f4) for _ in range(8)
        )
        self.cells, self.liquid_count = cupy.zeros(self.size, i4), cupy.zeros(1, i4)
        self.sums = [cupy.zeros((*s, 2), f4) for s in self.shapes]
        self.spin = cupy.zeros((6, 3), f4)
        self.old = [cupy.zeros(s, f4) for s in self.shapes]
        self.wet = [cupy.zeros(s, np.int8) for s in self.shapes]
        self.walls_at = [cupy.asarray(np.ascontiguousarray(f, dtype=i4)) for f in layout.wall_faces]
        self.wall_counts = cupy.asarray(np.array([len(f) for f in layout.wall_faces], dtype=i4))
        self.turned = [cupy.zeros(max(len(f), 1), f4) for f in layout.wall_faces]
        self.found = cupy.zeros(1, i4)
        self.signal = cupy.zeros(2, i4)
        self.lost, self.best = self.signal[:1], self.signal[1:]
        # Two messages from the card, read one step late, so that it never waits for the host.
        self.told = [_pinned() for _ in range(2)]
        self.sent = [cupy.cuda.Event(disable_timing=True) for _ in range(2)]
        self.tickets = cupy.zeros(1, np.uint32)
        self.totals = cupy.zeros(3 * MOST_ITERATIONS + 6)
        self.blocks = int(cupy.cuda.Device().attributes["MultiProcessorCount"])

    def step(self, gravity: FloatArray, dt: Second, spin: Spin | None = None) -> None:
        """Advance by ``dt`` under the effective gravity (3,) [m/s2] along the grid, in a pan turning so."""
        if self.steps % SORT_EACH == 0:
            self.sort()
        f4, n, shut = np.float32, self.count, int(self.has_shut)
        field, opened, mark = self._three(self.velocity), self._three(self.open), self._three(self.mark)
        push, closed, sums = self._three(self.push), self._three(self.shut), self._three(self.sums)
        force = np.asarray(gravity, dtype=float) * (dt / self.domain.cell)
        table = NOWHERE
        if spin is not None:
            force = force + spin.at_corner(self.domain, dt)
            self.spin.set(spin.table(dt))
            table = self.spin
        over = (-(-n // THREADS),)
        self._call(
            "carry", over, self.parcels, np.int32(n), field, push, f4(dt), self.distance, closed,
            np.int32(shut), f4(force[0]), f4(force[1]), f4(force[2]), table, sums, self.share, self.number,
            self.kind, self.lost,
        )  # fmt: skip
        per_cell = (-(-self.size // THREADS),)
        self._call(
            "classify", per_cell, self.share, self.number, self.full, f4(self.per_cell), self.open_volume,
            self.own_kind, self.own_rho,
        )  # fmt: skip
        self.liquid_count.fill(0)
        self._call(
            "judge", per_cell, self.own_kind, self.own_rho, self.judge, self.kind, self.rho, self.links,
            self.u, self.x, self.cells, self.liquid_count,
        )  # fmt: skip
        self._call(
            "build", per_cell, self.cells, self.liquid_count, self.kind, self.rho, opened, self.open_volume,
            self.diagonal, self.links, self.b,
        )  # fmt: skip
        self._solve(DENSITY_TOLERANCE, 60)
        faces = (-(-self.most_faces // THREADS), 3)
        self._call("gradient", faces, self.kind, self.rho, self.x, opened, push, mark, f4(LARGEST_PUSH))
        self._call("average", faces, sums, field, mark, opened)
        if self.viscosity > 0.0:
            law = wall_drag(self.viscosity, self.first_mode, self.domain.cell, dt)
            old, wet, friction = self._three(self.old), self._three(self.wet), self._three(self.friction)
            self._call("wet_faces", faces, self.kind, opened, field, old, wet)
            for sweep in range(2 * law.sweeps):
                self._call(
                    "diffuse", faces, field, old, wet, friction, f4(law.alpha), f4(law.drag), f4(law.relax),
                    np.int32(sweep % 2),
                )  # fmt: skip
        self._call(
            "divergence", per_cell, self.cells, self.liquid_count, field, opened, self.pressure, f4(dt),
            self.b, self.x,
        )  # fmt: skip
        self._solve(PRESSURE_TOLERANCE, MOST_ITERATIONS)
        self._call("gradient", faces, self.kind, self.rho, self.x, opened, field, mark, f4(-1.0))
        self._call("keep_pressure", per_cell, self.kind, self.x, f4(dt), self.pressure)
        for best in (2, 3):
            self._call("spread", faces, field, mark, np.int32(best))
        self._along_walls(field, mark)
        self._send_speed(field, mark, self.steps % 2)
        self.steps += 1

    def _solve(self, tolerance: float, most: int) -> None:
        self.totals.fill(0.0)
        self.tickets.fill(0)
        self._call(
            "solve", (self.blocks,), self.cells, self.liquid_count, self.diagonal, self.links, self.b, self.x,
            self.r, self.s, self.q, self.u, self.w, self.totals, self.tickets, np.float64(tolerance),
            np.int32(most), self.found, threads=1024,
        )  # fmt: skip

    def _along_walls(self, field: Any, mark: Any) -> None:
        """Closed faces beside the oil: the mean of their neighbours, turned along the wall."""
        blocks = (-(-max(len(f) for f in self.walls_at) // THREADS), 3)
        if not blocks[0]:
            return
        lists, turned = self._three(self.walls_at), self._three(self.turned)
        for turn in (0, 1):
            self._call("carry_to_wall", blocks, lists, self.wall_counts, field, mark, np.int32(turn))
        self._call(
            "turn_along_walls", blocks, lists, self.wall_counts, self._three(self.normals),
            self._three(self.beyond), field, mark, turned,
        )  # fmt: skip
        self._call("write_faces", blocks, lists, self.wall_counts, turned, field)

    def _call(self, name: str, blocks: tuple[int, ...], *arguments: Any, threads: int = THREADS) -> None:
        self.kernel[name](blocks, (threads,), arguments)

    def _three(self, arrays: list[Any]) -> Any:
        """Addresses of three arrays on the card, as a kernel takes them."""
        key = tuple(int(a.data.ptr) for a in arrays)
        if key not in self.tables:
            self.tables[key] = cupy.asarray(np.array(key, dtype=np.uint64))
        return self.tables[key]

    def sort(self) -> None:
        """Parcels in the order of their cells, so that neighbours lie side by side in memory."""
        _, ny, nz = self.domain.shape
        at = self.parcels[:3].astype(np.int32)
        order = cupy.argsort((at[0] * ny + at[1]) * nz + at[2])
        self.parcels = cupy.ascontiguousarray(self.parcels[:, order])

    def liquid_speed(self) -> float:
        """Largest speed on faces of liquid cells [cells/s], a step ago; NaN if a parcel lost its place."""
        if not self.steps:
            self._send_speed(self._three(self.velocity), self._three(self.mark), 0)
            which = 0
        else:
            which = max(self.steps - 2, 0) % 2
        self.sent[which].synchronize()
        told = self.told[which]
        return float("nan") if told[0] else float(told[1:].view(np.float32)[0])

    def _send_speed(self, field: Any, mark: Any, which: int) -> None:
        self.best.fill(0)
        self._call("largest", (-(-self.most_faces // THREADS), 3), field, mark, self.best)
        self.signal.get(out=self.told[which], blocking=False)
        self.sent[which].record()

    def occupied(self) -> float:
        """Cells of oil below the surface, without bringing the grid home."""
        part = part_below_surface(self.rho, cupy)
        return float((part * self.open_volume).sum(dtype=np.float64))

    def at(self, name: str, cells: np.ndarray) -> np.ndarray:
        """A state array's values (m,) in cells (m, 3); only these come home."""
        return self._home(getattr(self, name)[self._places(cells)])

    def face_velocity(self, axis: int, faces: np.ndarray) -> np.ndarray:
        """Velocities (m,) [cells/s] on faces (m, 3) across an axis; only these come home."""
        return self._home(self.velocity[axis][self._places(faces)])

    def _places(self, where: np.ndarray) -> tuple[Any, ...]:
        """Indices on the card; a list of places is sent once, and kept so that it stays the same one."""
        if id(where) not in self.places:
            columns = cupy.asarray(np.ascontiguousarray(where.T))
            self.places[id(where)] = (where, (columns[0], columns[1], columns[2]))
        return self.places[id(where)][1]

    def set_shut(self, shut: list[np.ndarray]) -> None:
        """Close the marked faces to everything."""
        self.has_shut = any(bool(a.any()) for a in shut)
        for axis in range(3):
            self.shut[axis][...] = cupy.asarray(np.ascontiguousarray(shut[axis], dtype=np.uint8))
            self.open[axis][...] = cupy.where(self.shut[axis] != 0, 0.0, self.domain_open[axis])

    def set_faces(self, faces: list[np.ndarray], pressure: np.ndarray) -> None:
        """Face velocities and pressure of a checkpoint."""
        for axis in range(3):
            self.velocity[axis][...] = cupy.asarray(np.array(faces[axis], dtype=np.float32))
        self.pressure[...] = cupy.asarray(np.array(pressure, dtype=np.float32))

    def restore(
        self, kind: np.ndarray, rho: np.ndarray, marks: list[np.ndarray], pushes: list[np.ndarray]
    ) -> None:
        """Kinds, shares, marks and pushes of a checkpoint."""
        self.kind[...] = cupy.asarray(np.array(kind, dtype=np.int8))
        self.rho[...] = cupy.asarray(np.array(rho, dtype=np.float32))
        for axis in range(3):
            self.mark[axis][...] = cupy.asarray(np.array(marks[axis], dtype=np.int8))
            self.push[axis][...] = cupy.asarray(np.array(pushes[axis], dtype=np.float32))
        for which in (0, 1):
            self._send_speed(self._three(self.velocity), self._three(self.mark), which)

    def _home(self, values: Any) -> np.ndarray:
        return np.asarray(cupy.asnumpy(values))


def _pinned() -> np.ndarray:
    """Two integers in memory that the card can write to while the host goes on."""
    memory = cupy.cuda.alloc_pinned_memory(8)
    return np.frombuffer(memory, np.int32, 2)
