"""Run one trace with a free surface: from the inputs to the driven model's figures."""

from __future__ import annotations

import math
import time as clock
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

from sumpwright.motion.driven_model import Driven, Stuck
from sumpwright.motion.free_surface.domain import Domain, make_domain
from sumpwright.motion.free_surface.figures import cover, gaps, levels, rim_points, thin_places
from sumpwright.motion.free_surface.layout import Layout, lay_out
from sumpwright.motion.free_surface.model import (
    FreeSurfaceError,
    FreeSurfaceInputs,
    FreeSurfaceRun,
    Link,
    Progress,
    Snapshot,
    ThinPlace,
    View,
)
from sumpwright.motion.free_surface.replay import ReplayWriter
from sumpwright.motion.free_surface.seeding import fill
from sumpwright.motion.free_surface.spin import spin_at
from sumpwright.motion.free_surface.tank import Engine, Tank
from sumpwright.motion.free_surface.ways import Walls, place_walls
from sumpwright.quantities.units import (
    CubicMetre,
    FloatArray,
    Metre,
    RadianPerSecond,
    Second,
    frozen_array,
)

RECORD_EACH: Second = 0.02
FRAME_EACH_ROWS = 2
"""A replay shows every second row of the record: 25 pictures a second."""
EXCHANGE_EACH: Second = 0.01
"""Pump and returns take and give whole parcels this often."""
AIR_LIGHTER = 1.2
"""kg/m3 of air, for the share of air that a half bare mouth draws."""
LEAST_VISCOSITY = 1e-7

FIXED = 9
MARKS = ("mark_u", "mark_v", "mark_w")
PUSHES = ("push_u", "push_v", "push_w")
EngineName = Literal["processor", "card", "plain arrays"]


def first_mode(inputs: FreeSurfaceInputs, pull: float) -> RadianPerSecond:
    """First swing of the pickup's compartment, for the thickness of the layer along the walls."""
    length = float(np.max(inputs.chambers.lengths[inputs.chambers.home]))
    return math.sqrt(max(pull, 1e-3) * math.pi / max(length, 1e-3))


def make_engine(
    name: EngineName,
    ground: Ground,
    parcels: np.ndarray,
    parcel_volume: CubicMetre,
    viscosity: float,
    omega: RadianPerSecond,
) -> Engine:
    """The back end by its name; imports its library only here."""
    given = (ground.domain, ground.layout, parcels, parcel_volume, viscosity, omega)
    if name == "processor":
        from sumpwright.motion.free_surface.engine_cpu import CpuEngine

        return CpuEngine(*given)
    if name == "plain arrays":
        from sumpwright.motion.free_surface.engine_numpy import ArrayEngine

        return ArrayEngine(*given)
    if name == "card":
        try:
            from sumpwright.motion.free_surface.engine_gpu import CardEngine, cards
        except ImportError as error:
            raise FreeSurfaceError(
                "a graphics card was asked for, and what drives it is not installed:"
                " pip install sumpwright[gpu]"
            ) from error
        if not cards():
            raise FreeSurfaceError("a graphics card was asked for, and none here can be used")
        return CardEngine(*given)
    raise FreeSurfaceError(f"there is no engine called {name}")


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """The pan on the grid: the same for every manoeuvre."""

    domain: Domain
    layout: Layout
    walls: Walls
    thin: tuple[ThinPlace, ...]


def lay_ground(inputs: FreeSurfaceInputs) -> Ground:
    """Lay the pan on its grid. Raises FreeSurfaceError where it is not closed or fits no cell."""
    if not (math.isfinite(inputs.cell) and inputs.cell > 0.0):
        raise FreeSurfaceError(f"a cell of {inputs.cell} m is no size: it is no number above nothing")
    domain = make_domain(inputs.surface, inputs.cell)
    walls = place_walls(domain, inputs.chambers.surfaces, inputs.chambers.ways)
    return Ground(domain, lay_out(domain), walls, thin_places(domain))


def check_inputs(inputs: FreeSurfaceInputs) -> None:
    """Raise FreeSurfaceError for what cannot be run, saying what and where."""
    trace, oil = inputs.trace, inputs.oil
    if not oil.in_pan > 0.0:
        raise FreeSurfaceError("there is no oil in the pan to move")
    pulls = np.asarray(trace.pulls)
    if not len(pulls):
        raise FreeSurfaceError(f"the trace {trace.name} is empty")
    bad = np.flatnonzero(~np.isfinite(pulls).all(axis=1))
    if len(bad):
        raise FreeSurfaceError(f"the trace {trace.name} holds no number {bad[0] * trace.step:.3f} s in")
    for value, what in (
        (oil.in_pan, "the oil's volume"),
        (oil.density, "the oil's density"),
        (oil.viscosity, "the oil's viscosity"),
        (inputs.cell, "the cell"),
        (inputs.pump.flow, "the pump's flow"),
    ):
        if not math.isfinite(value):
            raise FreeSurfaceError(f"{what} is no number")
    if np.linalg.norm(pulls[0]) == 0.0:
        raise FreeSurfaceError(f"the trace {trace.name} starts without any pull: where the oil lies is open")


def free_surface_run(
    inputs: FreeSurfaceInputs,
    on_progress: Callable[[Progress], None] | None = None,
    *,
    stuck: tuple[tuple[str, Stuck], ...] = (),
    stop_at: Second | None = None,
    checkpoint: Path | None = None,
    checkpoint_each: Second | None = None,
    resume: Path | None = None,
    replay: Path | None = None,
    engine: EngineName = "processor",
    ground: Ground | None = None,
) -> FreeSurfaceRun:
    """Run the trace, or its part up to ``stop_at`` [s].

    ``checkpoint`` is written when the run ends or stops, and every ``checkpoint_each`` [s] of the
    trace; ``resume`` goes on from one, to the same bits that an unbroken run gives, and ``replay``
    then goes on too. ``ground`` saves laying out the same pan again. Raises FreeSurfaceError with
    a sentence for a person.
    """
    check_inputs(inputs)
    started = clock.perf_counter()
    chambers, trace, oil = inputs.chambers, inputs.trace, inputs.oil
    ground = lay_ground(inputs) if ground is None else ground
    domain, thin, walls = ground.domain, ground.thin, ground.walls
    pull = np.asarray(trace.pulls[0], dtype=float)
    up = -pull / np.linalg.norm(pull)
    parcels, parcel_volume = fill(domain, up, oil.in_pan, seed=inputs.seed)
    top = float((domain.origin[2] + parcels[2] * domain.cell).max())
    if top > 0.5 * domain.cell and len(chambers.rail_points):
        raise FreeSurfaceError(
            f"the oil stands {1e3 * top:.0f} mm above the rail before anything moves:"
            " there is more in the pan than it holds"
        )
    nu = max(oil.viscosity / oil.density, LEAST_VISCOSITY)
    back = make_engine(
        engine, ground, parcels, parcel_volume, nu, first_mode(inputs, float(np.linalg.norm(pull)))
    )
    tank = Tank(domain, back, walls, parcel_volume, oil.density, oil.viscosity)
    names = {w.name for w in chambers.ways if w.is_door}
    unknown = set(dict(stuck)) - names
    if unknown:
        raise FreeSurfaceError(f"no door is called {', '.join(sorted(unknown))}")
    tank.stuck = {name: str(state) for name, state in stuck}
    keeper = _Keeper(inputs, domain, walls, tank)
    if resume is not None:
        keeper.load(resume)
    end = trace.length if stop_at is None else min(stop_at, trace.length)
    writer = ReplayWriter(replay, domain, keeper.frames) if replay is not None else None
    each = None if checkpoint is None else checkpoint_each
    try:
        keeper.go(end, on_progress, writer, None if each is None else (checkpoint, each))
    finally:
        if writer is not None:
            keeper.frames = writer.frames
            writer.close()
    if checkpoint is not None:
        keeper.save(checkpoint)
    return keeper.result(thin, tuple(stuck), clock.perf_counter() - started, back.name, len(parcels[0]))


class _Keeper:
    """The clock of a run, pump and returns, and the rows of figures. Mutable."""

    def __init__(self, inputs: FreeSurfaceInputs, domain: Domain, walls: Walls, tank: Tank) -> None:
        self.inputs = inputs
        self.domain = domain
        self.walls = walls
        self.tank = tank
        self.rows: list[list[float]] = []
        self.occupied: list[float] = []
        self.snapshots: list[Snapshot] = []
        self.held_up = inputs.oil.held_up
        self.started = inputs.oil.in_pan + inputs.oil.held_up
        self.air = 0.0
        self.got = 0.0  # m3/s, as last exchanged
        self.asked = 0.0
        self.owed_out = 0.0  # m3
        self.owed_back = np.zeros(len(inputs.chambers.surfaces))
        self.exchanged_at = 0.0
        self.wet = 1.0
        self.longest = 0.0
        self.bare = 0.0
        self.sink = self._sink_cells(0.0)
        self.wide = self._sink_cells(2.5 * domain.cell)
        self.give_cells = self._return_cells()
        self.worst: View | None = None
        self.frames: list[list[float]] = []

    def _sink_cells(self, more: Metre) -> np.ndarray:
        """Cells round the mouth, in its own compartment."""
        chambers, domain = self.inputs.chambers, self.domain
        mine = np.argwhere(self.walls.compartment == chambers.home)
        if not len(mine):
            raise FreeSurfaceError("the pickup's compartment holds no cell of this size")
        at = domain.origin + (mine + 0.5) * domain.cell
        away = np.linalg.norm(at - chambers.mouth, axis=1)
        near = mine[away <= max(chambers.mouth_radius, domain.cell) + more]
        if len(near):
            return np.asarray(near, dtype=np.int64)
        return np.asarray(mine[np.argsort(away, kind="stable")[:1]], dtype=np.int64)

    def _return_cells(self) -> list[np.ndarray]:
        """Cells into which oil comes back, for each compartment."""
        domain, given = self.domain, self.inputs.return_points
        found = []
        for c in range(len(self.inputs.chambers.surfaces)):
            mine = np.argwhere((self.walls.compartment == c) & (domain.open_volume >= 0.99))
            if not len(mine):
                mine = np.argwhere(self.walls.compartment == c)
            at = domain.origin + (mine + 0.5) * domain.cell
            if given is not None and len(given):
                away = np.linalg.norm(at[:, None, :] - np.asarray(given)[None, :, :], axis=2).min(axis=1)
                found.append(mine[np.argsort(away, kind="stable")[:4]])
                continue
            below = at[:, 2] < 0.0
            if not below.any():
                found.append(mine[:1])
                continue
            top = at[below, 2].max()
            found.append(mine[below & (at[:, 2] > top - 0.5 * domain.cell)])
        return found

    def go(
        self,
        end: Second,
        on_progress: Callable[[Progress], None] | None,
        writer: ReplayWriter | None,
        keep: tuple[Path | None, Second] | None = None,
    ) -> None:
        trace, tank = self.inputs.trace, self.tank
        kept_at = tank.time
        pulls = np.asarray(trace.pulls, dtype=float)
        turning = self.inputs.turning
        while tank.time < end - 1e-9:
            next_row = len(self.rows) * RECORD_EACH
            if tank.time >= next_row - 1e-9:
                if keep is not None and keep[0] is not None and tank.time >= kept_at + keep[1] - 1e-9:
                    self.frames = [] if writer is None else writer.frames
                    self.save(keep[0])
                    kept_at = tank.time
                self._record(on_progress, writer)
                next_row += RECORD_EACH
            dt = min(tank.safe_step(), next_row - tank.time, end - tank.time)
            dt = max(dt, 1e-6)
            at = (tank.time + 0.5 * dt) / trace.step
            row = min(int(at), len(pulls) - 1)
            nxt = min(row + 1, len(pulls) - 1)
            part = min(at - row, 1.0)
            gravity = (1.0 - part) * pulls[row] + part * pulls[nxt]
            spin = None if turning is None else spin_at(turning, row, part, trace.step)
            tank.step(gravity, dt, spin)
            if tank.time - self.exchanged_at >= EXCHANGE_EACH - 1e-9:
                self._exchange(row)
        if tank.time >= len(self.rows) * RECORD_EACH - 1e-9 and end >= trace.length - 1e-9:
            self._record(on_progress, writer)

    def _up(self) -> FloatArray:
        trace = self.inputs.trace
        row = min(int(self.tank.time / trace.step + 1e-9), len(trace.pulls) - 1)
        pull = np.asarray(trace.pulls[row], dtype=float)
        size = float(np.linalg.norm(pull))
        return -pull / size if size > 1e-6 else np.array([0.0, 0.0, 1.0])

    def _exchange(self, row: int) -> None:
        """The pump takes at the mouth, what comes back is given, in whole parcels."""
        inputs, tank = self.inputs, self.tank
        dt = tank.time - self.exchanged_at
        self.exchanged_at = tank.time
        each = tank.parcel_volume
        speed = float(inputs.trace.speeds[min(row, len(inputs.trace.speeds) - 1)])
        self.asked = inputs.pump.flow * speed / inputs.pump.at_speed
        _, self.wet = cover(self.domain, tank.engine.host("rho"), inputs.chambers, self._up())
        heavy = math.sqrt(inputs.oil.density / AIR_LIGHTER)
        share = self.wet / (self.wet + (1.0 - self.wet) * heavy) if self.wet > 0.0 else 0.0
        self.owed_out += self.asked * share * dt
        wanted = int(self.owed_out / each)
        taken = 0
        if wanted > 0:
            taken = tank.take(self.sink, wanted)
            if taken < wanted and self.wet >= 1.0:
                # A mouth that is covered draws from round about, faster than the parcels close in.
                taken += tank.take(self.wide, wanted - taken)
            self.owed_out -= taken * each
            if taken < wanted:
                # The rest is not there: the pump draws air for it.
                self.air += (wanted - taken) * each
                self.owed_out -= (wanted - taken) * each
        self.air += self.asked * (1.0 - share) * dt
        self.got = taken * each / dt if dt > 0.0 else 0.0
        self.held_up += taken * each
        back = self.held_up / inputs.oil.return_time * dt if inputs.oil.return_time > 0.0 else taken * each
        back = min(back, self.held_up)
        self.owed_back += np.asarray(inputs.chambers.returns) * back
        points = []
        rng = np.random.default_rng((inputs.seed, tank.steps))
        for c, cells in enumerate(self.give_cells):
            count = min(int(self.owed_back[c] / each), int(self.held_up / each + 1e-9))
            if count and len(cells):
                self.owed_back[c] -= count * each
                self.held_up -= count * each
                chosen = cells[rng.integers(0, len(cells), count)]
                points.append(chosen + rng.uniform(0.1, 0.9, (count, 3)))
        if points:
            tank.give(np.concatenate(points))

    def _record(self, on_progress: Callable[[Progress], None] | None, writer: ReplayWriter | None) -> None:
        inputs, tank, domain = self.inputs, self.tank, self.domain
        chambers = inputs.chambers
        if tank.steps == 0:
            # Shares and kinds are known only once the oil has been laid on the grid.
            tank.engine.step(np.zeros(3), 1e-9)
        up = self._up()
        rho, kind = tank.engine.host("rho"), tank.engine.host("kind")
        count = len(chambers.surfaces)
        depth, _ = cover(domain, rho, chambers, up)
        volumes = tank.volumes()
        row = len(self.rows)
        speed_row = min(int(tank.time / inputs.trace.step + 1e-9), len(inputs.trace.speeds) - 1)
        asked = inputs.pump.flow * float(inputs.trace.speeds[speed_row]) / inputs.pump.at_speed
        reserve = math.inf
        if asked > 0.0:
            parcels = tank.engine.host("parcels")
            at = domain.origin[:, None] + parcels[:3] * domain.cell
            cell = parcels[:3].astype(np.int64)
            home = self.walls.compartment[cell[0], cell[1], cell[2]] == chambers.home
            edge = float((rim_points(chambers) @ up).max())
            above = float(((up @ at > edge) & home).sum()) * tank.parcel_volume
            reserve = above / asked if depth > 0.0 else 0.0
        crank, rail = gaps(domain, kind, chambers)
        ways = [
            float(tank.is_open[i]) if w.way.is_door else float(tank.flow[i])
            for i, w in enumerate(self.walls.ways)
        ]
        found = levels(domain, kind, self.walls.compartment, up, count)
        self.rows.append(
            [row * RECORD_EACH, depth, reserve, self.got, self.air, self.held_up, crank, rail]
            + [float(x) for x in volumes]
            + [float(x) for x in found]
            + ways
        )
        self.occupied.append(tank.occupied())
        self.bare = self.bare + RECORD_EACH if depth < 0.0 else 0.0
        self.longest = max(self.longest, self.bare)
        if tank.time >= len(self.snapshots) * inputs.snapshots_each - 1e-9:
            height = (np.minimum(rho, 1.0) * domain.open_volume).sum(axis=2) * domain.cell
            self.snapshots.append(Snapshot(tank.time, frozen_array(height)))
        if self.worst is None or depth < min(r[1] for r in self.rows[:-1]):
            self.worst = self._view(rho)
        if writer is not None and row % FRAME_EACH_ROWS == 0:
            writer.add(tank.time, rho, depth)
        if on_progress is not None:
            on_progress(Progress(inputs.trace.name, tank.time, inputs.trace.length, depth, self.longest))

    def _view(self, rho: np.ndarray) -> View:
        """The oil as it lies now, seen from the left and from the front."""
        domain = self.domain
        room = domain.open_volume
        held = np.minimum(rho, 1.0) * room
        seen = []
        for along in (1, 0):
            space = room.sum(axis=along)
            share = held.sum(axis=along) / np.maximum(space, 1e-9)
            seen.append(frozen_array(np.where(space > 0.05, np.clip(share, 0.0, 1.0), np.nan)))
        return View(self.tank.time, domain.origin, domain.cell, seen[0], seen[1])

    def _numbers(self) -> dict[str, float]:
        return {
            "time": self.tank.time,
            "steps": float(self.tank.steps),
            "held_up": self.held_up,
            "air": self.air,
            "got": self.got,
            "asked": self.asked,
            "owed_out": self.owed_out,
            "exchanged_at": self.exchanged_at,
            "longest": self.longest,
            "bare": self.bare,
            "engine_steps": float(self.tank.engine.steps),
            "cell": self.domain.cell,
        }

    def save(self, path: Path) -> None:
        """Everything that a later run needs to go on."""
        tank = self.tank
        faces = tank.engine.faces()
        numbers = self._numbers()
        arrays: dict[str, Any] = {
            "parcels": tank.engine.host("parcels"),
            "u": faces[0],
            "v": faces[1],
            "w": faces[2],
            "pressure": tank.engine.host("pressure"),
            "kind": tank.engine.host("kind"),
            "rho": tank.engine.host("rho"),
            **dict(zip(MARKS, tank.engine.marks(), strict=True)),
            **dict(zip(PUSHES, tank.engine.pushes(), strict=True)),
            "rows": np.array(self.rows),
            "occupied": np.array(self.occupied),
            "is_open": tank.is_open,
            "swing": tank.swing,
            "owed": tank.owed,
            "flow": tank.flow,
            "owed_back": self.owed_back,
            "snapshot_times": np.array([s.time for s in self.snapshots]),
            "snapshot_heights": np.array([s.height for s in self.snapshots]),
            "names": np.array(list(numbers)),
            "numbers": np.array(list(numbers.values())),
            "frames": np.array(self.frames).reshape(-1, 4),
        }
        if self.worst is not None:
            arrays |= {
                "worst_time": np.array(self.worst.time),
                "worst_left": self.worst.from_left,
                "worst_front": self.worst.from_front,
            }
        # A run that is killed while this is written keeps the one before.
        fresh = path.with_name(path.name + ".new")
        with fresh.open("wb") as file:
            np.savez_compressed(file, **arrays)
        fresh.replace(path)

    def load(self, path: Path) -> None:
        """Go on where ``save`` left off."""
        tank = self.tank
        with np.load(path, allow_pickle=False) as kept:
            numbers = dict(zip((str(n) for n in kept["names"]), kept["numbers"], strict=True))
            if kept["pressure"].shape != self.domain.shape or numbers["cell"] != self.domain.cell:
                raise FreeSurfaceError("the checkpoint is of another pan or another cell size")
            tank.engine.replace(kept["parcels"])
            tank.engine.set_faces([kept["u"], kept["v"], kept["w"]], kept["pressure"])
            tank.engine.restore(
                kept["kind"],
                kept["rho"],
                [kept[name] for name in MARKS],
                [kept[name] for name in PUSHES],
            )
            self.rows = [list(map(float, row)) for row in kept["rows"]]
            self.occupied = list(map(float, kept["occupied"]))
            tank.is_open[:] = kept["is_open"]
            tank.swing[:] = kept["swing"]
            tank.owed[:] = kept["owed"]
            tank.flow[:] = kept["flow"]
            self.owed_back[:] = kept["owed_back"]
            self.snapshots = [
                Snapshot(float(t), frozen_array(h))
                for t, h in zip(kept["snapshot_times"], kept["snapshot_heights"], strict=True)
            ]
            self.frames = [list(map(float, frame)) for frame in kept["frames"]]
            if "worst_time" in kept:
                self.worst = View(
                    float(kept["worst_time"]),
                    self.domain.origin,
                    self.domain.cell,
                    frozen_array(kept["worst_left"]),
                    frozen_array(kept["worst_front"]),
                )
        tank.time, tank.steps = float(numbers["time"]), int(numbers["steps"])
        tank.engine.steps = int(numbers["engine_steps"])
        self.held_up, self.air = float(numbers["held_up"]), float(numbers["air"])
        self.got, self.asked = float(numbers["got"]), float(numbers["asked"])
        self.owed_out, self.exchanged_at = float(numbers["owed_out"]), float(numbers["exchanged_at"])
        self.longest, self.bare = float(numbers["longest"]), float(numbers["bare"])
        tank.refresh_doors()

    def result(
        self,
        thin: tuple[Any, ...],
        stuck: tuple[tuple[str, Stuck], ...],
        wall_clock: Second,
        engine: str,
        parcels: int,
    ) -> FreeSurfaceRun:
        rows = np.array(self.rows)
        count = len(self.inputs.chambers.surfaces)
        fixed = FIXED - 1
        held = self.tank.engine.count * self.tank.parcel_volume + self.held_up
        driven = Driven(
            trace=self.inputs.trace.name,
            is_lagged=True,
            times=frozen_array(rows[:, 0]),
            cover=frozen_array(rows[:, 1]),
            reserve=frozen_array(rows[:, 2]),
            oil_taken=frozen_array(rows[:, 3]),
            air_taken=frozen_array(rows[:, 4]),
            held_up=frozen_array(rows[:, 5]),
            crank_gap=frozen_array(rows[:, 6]),
            rail_gap=frozen_array(rows[:, 7]),
            volumes=frozen_array(rows[:, fixed : fixed + count]),
            levels=frozen_array(rows[:, fixed + count : fixed + 2 * count]),
            ways=frozen_array(rows[:, fixed + 2 * count :]),
            balance_error=held - self.started,
            stuck=stuck,
        )
        links = tuple(Link(w.way.name, w.narrowest, self.domain.cell) for w in self.walls.ways if w.is_link)
        return FreeSurfaceRun(
            driven=driven,
            cell=self.domain.cell,
            parcels=parcels,
            steps=self.tank.steps,
            engine=engine,
            occupied=frozen_array(self.occupied),
            thin_places=thin,
            links=links,
            oil_error=held - self.started,
            wall_clock=wall_clock,
            snapshots=tuple(self.snapshots),
            worst=self.worst,
        )
