"""One step of the oil in plain array operations: the reference of the other two engines.

``arrays`` is numpy, or a library with numpy's own functions that keeps its arrays on a card. The
layout is that of the processor engine: ``parcels`` (6, n) float32, face arrays (nx + 1, ny, nz) and
so on, lengths in cells. Slow and short; what it does is what the ``cpu_`` files do loop by loop.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sumpwright.motion.free_surface.constants import (
    AIR,
    DENSITY_TOLERANCE,
    FILLED,
    LARGEST_MOVE,
    LARGEST_PUSH,
    LEAST_THETA,
    LIQUID,
    LIQUID_SHARE,
    OFF_WALL,
    PRESSURE_TOLERANCE,
    WALL,
)
from sumpwright.motion.free_surface.domain import Domain
from sumpwright.motion.free_surface.layout import Layout
from sumpwright.motion.free_surface.spin import Spin
from sumpwright.motion.free_surface.viscous import wall_drag
from sumpwright.quantities.units import CubicMetre, FloatArray, RadianPerSecond, Second, SquareMetrePerSecond

MOST_ITERATIONS = 300
CORNERS = tuple((c >> 2 & 1, c >> 1 & 1, c & 1) for c in range(8))


class ArrayEngine:
    """Parcels, face velocities and scratch of one run. Mutable: it is what a step advances."""

    name = "plain arrays"

    def __init__(
        self,
        domain: Domain,
        layout: Layout,
        parcels: np.ndarray,  # (6, n) float32
        parcel_volume: CubicMetre,
        viscosity: SquareMetrePerSecond,
        first_mode: RadianPerSecond,
        arrays: Any = np,
    ) -> None:
        xp = self.xp = arrays
        nx, ny, nz = domain.shape
        self.domain = domain
        self.parcels = xp.asarray(np.array(parcels, dtype=np.float32, order="C"))
        self.count = int(self.parcels.shape[1])
        self.per_cell = domain.cell**3 / parcel_volume
        self.viscosity = viscosity
        self.first_mode = first_mode
        self.shapes = ((nx + 1, ny, nz), (nx, ny + 1, nz), (nx, ny, nz + 1))
        f4 = np.float32

        def put(values: Any, kind: Any = f4) -> Any:
            return xp.asarray(np.ascontiguousarray(values, dtype=kind))

        self.shut = [xp.zeros(s, np.uint8) for s in self.shapes]
        self.has_shut = False
        self.domain_open = [put(a) for a in (domain.open_x, domain.open_y, domain.open_z)]
        self.open = [a.copy() for a in self.domain_open]
        self.velocity = [xp.zeros(s, f4) for s in self.shapes]
        self.mark = [xp.zeros(s, np.int8) for s in self.shapes]
        self.push = [xp.zeros(s, f4) for s in self.shapes]
        self.share = xp.zeros((nx, ny, nz), f4)
        self.number = xp.zeros((nx, ny, nz), f4)
        self.rho = xp.zeros((nx, ny, nz), f4)
        self.kind = xp.zeros((nx, ny, nz), np.int8)
        self.pressure = xp.zeros((nx, ny, nz))
        self.open_volume = put(domain.open_volume)
        self.distance = put(domain.wall_distance)
        self.full = put(np.maximum(layout.full * self.per_cell, 1e-6))
        self.judge = put(_judges(domain), np.int64)
        self.faces_at = [
            put(_flat(f, s), np.int64) for f, s in zip(layout.wall_faces, self.shapes, strict=True)
        ]
        self.wall_faces = [put(f, np.int64) for f in layout.wall_faces]
        self.normals = [put(a) for a in layout.wall_normals]
        self.beyond = [put(a) for a in layout.wall_beyond]
        self.friction = [put(a) for a in layout.friction]
        self.parity = [put(np.indices(s).sum(axis=0) % 2, np.int8) for s in self.shapes]
        self.inner = [put(_inside(s), bool) for s in self.shapes]
        self.steps = 0
        self.iterations = (0, 0)

    # One step, in the order of the work.

    def step(self, gravity: FloatArray, dt: Second, spin: Spin | None = None) -> None:
        """Advance by ``dt`` under the effective gravity (3,) [m/s2] along the grid, in a pan turning so."""
        force = np.asarray(gravity) * (dt / self.domain.cell)
        if spin is not None:
            force = force + spin.at_corner(self.domain, dt)
        sums = self.carry(force, dt, None if spin is None else spin.table(dt))
        self.classify()
        self.build()
        push, first = self.solve(self.density_source(), None, DENSITY_TOLERANCE, 60)
        zero = [self.xp.zeros(s, np.float32) for s in self.shapes]
        self.push, _ = self.without_gradient(zero, None, push, LARGEST_PUSH)
        for axis in range(3):
            self._average(axis, *sums[axis])
        if self.viscosity > 0.0:
            self._viscosity(dt)
        found, second = self.solve(
            self.minus_divergence(), self.pressure * dt, PRESSURE_TOLERANCE, MOST_ITERATIONS
        )
        self.velocity, self.mark = self.without_gradient(self.velocity, self.mark, found, -1.0)
        self.pressure = found / dt
        self.spread()
        self.walls()
        self.steps += 1
        self.iterations = (first, second)

    def carry(self, force: FloatArray, dt: Second, spin: np.ndarray | None) -> list[tuple[Any, Any]]:
        """Parcels along the grid's velocities and the density push, their bulk to the cells.

        Returns mass and momentum of the faces by axis, with what each parcel gains in the step.
        """
        xp, p = self.xp, self.parcels
        at = self._stencil(p[:3])
        v, slopes, push = [], [], []
        for axis in range(3):
            value, slope = self._sample(self.velocity[axis], at, axis)
            for other in range(3):
                if other != axis and self.has_shut:
                    part = at[3][other]
                    slope[other] = xp.where((part == 0.0) | (part == 1.0), 0.0, slope[other])
            v.append(value)
            slopes.append(slope)
            push.append(self._sample(self.push[axis], at, axis)[0])
        # The velocity is that where the push sets the parcel down.
        v = [v[a] + sum(slopes[a][b] * push[b] for b in range(3)) for a in range(3)]
        half = np.float32(0.5 * dt)
        move = [
            push[a] + np.float32(dt) * (v[a] + half * sum(slopes[a][b] * v[b] for b in range(3)))
            for a in range(3)
        ]
        move = [xp.clip(m, -LARGEST_MOVE, LARGEST_MOVE) for m in move]
        wanted = [p[a] + move[a] for a in range(3)]
        p[:3] = xp.stack(self._walk([p[0], p[1], p[2]], move))
        # What a wall has stopped outside the oil loses its speed into the wall.
        cell = [p[a].astype(np.int64) for a in range(3)]
        is_alone = self.kind[cell[0], cell[1], cell[2]] != LIQUID
        back = [p[a] - wanted[a] for a in range(3)]
        into = sum(back[a] * v[a] for a in range(3))
        size = sum(b * b for b in back)
        into = xp.where((into < 0.0) & is_alone, into / xp.where(size > 0.0, size, 1.0), 0.0)
        v = [v[a] - into * back[a] for a in range(3)]
        p[3:6] = xp.stack(v)
        self._deposit()
        if spin is not None:
            turn = [[float(x) for x in row] for row in spin]
            v = [
                v[a] + sum(turn[3 + a][b] * v[b] for b in range(3)) + sum(turn[a][b] * p[b] for b in range(3))
                for a in range(3)
            ]
            slopes = [[slopes[a][b] + turn[a][b] for b in range(3)] for a in range(3)]
        return self._scatter([v[a] + np.float32(force[a]) for a in range(3)], slopes)

    def _deposit(self) -> None:
        xp = self.xp
        cell, _, low, part = self._stencil(self.parcels[:3])
        shape = self.domain.shape
        size = int(np.prod(shape))
        total = xp.zeros(size)
        for corner in CORNERS:
            weight = _weight(part, corner)
            total += xp.bincount(_index(low, corner, shape), weights=weight, minlength=size)
        self.share = total.astype(np.float32).reshape(shape)
        self.number = xp.bincount(_index(cell, (0, 0, 0), shape), minlength=size).reshape(shape)

    def classify(self) -> None:
        """Liquid, air or wall for each cell; slivers are what their most open neighbour is."""
        xp = self.xp
        rho = xp.where(self.full > 1e-6, self.share / self.full, 0.0)
        crowded = (self.number >= FILLED * self.per_cell * self.open_volume) & (self.number >= 3)
        kind = xp.where((rho > LIQUID_SHARE) | crowded, LIQUID, AIR)
        kind = xp.where(self.open_volume > 0.0, kind, WALL)
        rho = xp.where(self.open_volume > 0.0, rho, 0.0)
        self.kind = kind.ravel()[self.judge].reshape(kind.shape).astype(np.int8)
        self.rho = rho.ravel()[self.judge].reshape(rho.shape).astype(np.float32)

    def build(self) -> None:
        """Open parts between liquid cells, over theta towards air; their sum in each cell."""
        xp = self.xp
        liquid, air = self.kind == LIQUID, self.kind == AIR
        self.liquid = liquid
        self.link, self.to_air = [], []
        diagonal = xp.zeros(self.domain.shape)
        for axis in range(3):
            low, high = _sides(axis)
            opened = self.open[axis][_middle(axis)].astype(np.float64)
            both = liquid[low] & liquid[high]
            theta_up = _theta(xp, self.rho[low], self.rho[high])
            theta_down = _theta(xp, self.rho[high], self.rho[low])
            link = xp.where(both, opened, 0.0)
            up = xp.where(liquid[low] & air[high], 1.0 / theta_up, 0.0)
            down = xp.where(air[low] & liquid[high], 1.0 / theta_down, 0.0)
            diagonal[low] += link + opened * up
            diagonal[high] += link + opened * down
            self.link.append(link)
            self.to_air.append((up, down))
        self.diagonal = xp.where(diagonal > 1e-12, diagonal, 1.0)

    def density_source(self) -> Any:
        """What each liquid cell must give away: share above one; surface cells never draw in."""
        xp, air = self.xp, self.kind == AIR
        beside = xp.zeros(air.shape, bool)
        for axis in range(3):
            low, high = _sides(axis)
            beside[low] |= air[high]
            beside[high] |= air[low]
        excess = xp.clip(self.rho - 1.0, -0.5, 0.5)
        excess = xp.where(beside, xp.maximum(excess, 0.0), excess)
        return xp.where(self.liquid, excess * self.open_volume, 0.0).astype(np.float64)

    def minus_divergence(self) -> Any:
        """Minus the net outflow of every liquid cell."""
        out = self.xp.zeros(self.domain.shape)
        for axis in range(3):
            low, high = _sides(axis)
            flow = (self.open[axis] * self.velocity[axis]).astype(np.float64)
            out -= flow[high] - flow[low]
        return self.xp.where(self.liquid, out, 0.0)

    def _apply(self, x: Any) -> Any:
        out = self.diagonal * x
        for axis in range(3):
            low, high = _sides(axis)
            out[low] -= self.link[axis] * x[high]
            out[high] -= self.link[axis] * x[low]
        return out

    def solve(self, b: Any, start: Any, tolerance: float, most: int) -> tuple[Any, int]:
        """Conjugate gradients over the diagonal; the answer is 0 outside the oil."""
        xp = self.xp
        target = tolerance * tolerance * float((b * b).sum())
        x = xp.zeros_like(b) if start is None else xp.where(self.liquid, start, 0.0)
        if target == 0.0:
            return xp.zeros_like(b), 0
        r = b - self._apply(x) if start is not None else b.copy()
        s, sigma = xp.zeros_like(b), 1.0
        for it in range(most):
            if float((r * r).sum()) <= target:
                return x, it
            z = r / self.diagonal
            new = float((r * z).sum())
            s = z + (new / sigma if it else 0.0) * s
            sigma = new
            q = self._apply(s)
            dot = float((q * s).sum())
            if dot == 0.0:
                return x, it
            x += (sigma / dot) * s
            r -= (sigma / dot) * q
        return x, most

    def without_gradient(self, faces: Any, marks: Any, x: Any, limit: float) -> tuple[list[Any], list[Any]]:
        """Faces less the gradient of ``x``; touched faces are marked 2. ``limit`` > 0 clips it."""
        xp = self.xp
        out, touched = [], []
        for axis in range(3):
            low, high = _sides(axis)
            middle = _middle(axis)
            up, down = self.to_air[axis]
            step = xp.where(self.liquid[low] & self.liquid[high], x[high] - x[low], 0.0)
            step = step - x[low] * up + x[high] * down
            if limit > 0.0:
                step = xp.clip(step, -limit, limit)
            hit = (self.open[axis][middle] > 0.0) & (
                (self.liquid[low] & (self.kind[high] != WALL))
                | (self.liquid[high] & (self.kind[low] != WALL))
            )
            value = faces[axis].copy()
            value[middle] -= xp.where(hit, step, 0.0).astype(np.float32)
            mark = xp.zeros(value.shape, np.int8) if marks is None else marks[axis].copy()
            mark[middle] = xp.where(hit, 2, mark[middle])
            out.append(value)
            touched.append(mark)
        return out, touched

    def _scatter(self, v: list[Any], slopes: list[list[Any]]) -> list[tuple[Any, Any]]:
        """Mass and momentum of the faces, by axis."""
        xp, p = self.xp, self.parcels
        cell, frac, low, part = self._stencil(p[:3])
        out = []
        for axis in range(3):
            shape = self.shapes[axis]
            size = int(np.prod(shape))
            base = [cell[a] if a == axis else low[a] for a in range(3)]
            away = [frac[a] if a == axis else p[a] - low[a].astype(np.float32) - 0.5 for a in range(3)]
            parts = [frac[a] if a == axis else part[a] for a in range(3)]
            first = v[axis] - sum(slopes[axis][a] * away[a] for a in range(3))
            mass, momentum = xp.zeros(size), xp.zeros(size)
            for corner in CORNERS:
                weight = _weight(parts, corner)
                index = _index(base, corner, shape)
                value = first + sum(slopes[axis][a] for a in range(3) if corner[a])
                mass += xp.bincount(index, weights=weight, minlength=size)
                momentum += xp.bincount(index, weights=weight * value, minlength=size)
            out.append((mass.reshape(shape), momentum.reshape(shape)))
        return out

    def _average(self, axis: int, mass: Any, momentum: Any) -> None:
        xp = self.xp
        met, opened = mass > 1e-6, self.open[axis] > 0.0
        mean = momentum / xp.where(met, mass, 1.0)
        self.velocity[axis] = xp.where(met & opened, mean, 0.0).astype(np.float32)
        self.mark[axis] = xp.where(met, xp.where(opened, 1, -1), 0).astype(np.int8)

    def _viscosity(self, dt: Second) -> None:
        """Implicit: red-black relaxation of (1 - alpha laplace + drag) v = old v on faces beside oil."""
        xp = self.xp
        law = wall_drag(self.viscosity, self.first_mode, self.domain.cell, dt)
        for axis in range(3):
            low, high = _sides(axis)
            wet = xp.zeros(self.shapes[axis], bool)
            wet[_middle(axis)] = self.liquid[low] | self.liquid[high]
            wet &= (self.open[axis] > 0.0) & self.inner[axis]
            value = self.velocity[axis].astype(np.float64)
            old, beside = value.copy(), _sum_beside(xp, wet.astype(np.float64))
            under = 1.0 + law.alpha * beside + law.drag * self.friction[axis]
            for sweep in range(2 * law.sweeps):
                new = (old + law.alpha * _sum_beside(xp, xp.where(wet, value, 0.0))) / under
                turn = wet & (self.parity[axis] == sweep % 2)
                value = xp.where(turn, value + law.relax * (new - value), value)
            self.velocity[axis] = value.astype(np.float32)

    def spread(self) -> None:
        """Carry the oil's velocity two faces out over parcels that fly free (marks 3, then 4)."""
        xp = self.xp
        for axis in range(3):
            value, mark = self.velocity[axis], self.mark[axis]
            for best in (2, 3):
                good = (mark >= 2) & (mark <= best)
                number = _sum_beside(xp, good.astype(np.float32))
                mean = _sum_beside(xp, xp.where(good, value, 0.0)) / xp.maximum(number, 1.0)
                hit = (mark == 1) & (number > 0.0) & self.inner[axis]
                value = xp.where(hit, mean, value)
                mark = xp.where(hit, best + 1, mark).astype(np.int8)
            self.velocity[axis], self.mark[axis] = value.astype(np.float32), mark

    def walls(self) -> None:
        """Closed faces beside the oil: the mean of their neighbours, turned along the wall."""
        xp = self.xp
        for axis in range(3):
            value, mark = self.velocity[axis].ravel(), self.mark[axis].ravel()
            here = self.faces_at[axis]
            steps = _strides(self.shapes[axis])
            for turn in range(2):
                total, number = xp.zeros(len(here), np.float32), xp.zeros(len(here), np.float32)
                for step in (*steps, *(-s for s in steps)):
                    m = mark[here + step]
                    good = (m > 0) & (m < (6 + turn))
                    total += xp.where(good, value[here + step], 0.0)
                    number += good
                hit = (mark[here] == -1) & (number > 0)
                value[here] = xp.where(hit, total / xp.maximum(number, 1.0), value[here])
                mark[here] = xp.where(hit, 6 + turn, mark[here])
            self.velocity[axis], self.mark[axis] = (
                value.reshape(self.shapes[axis]),
                mark.reshape(self.shapes[axis]),
            )
        turned = [self._along(axis) for axis in range(3)]
        for axis in range(3):
            value = self.velocity[axis].ravel()
            value[self.faces_at[axis]] = turned[axis]
            self.velocity[axis] = value.reshape(self.shapes[axis])

    def _along(self, axis: int) -> Any:
        """Values of the closed faces with the part across the wall through zero at the wall itself."""
        xp, here = self.xp, self.wall_faces[axis]
        at = [here[:, 0], here[:, 1], here[:, 2]]
        own = self.velocity[axis][at[0], at[1], at[2]]
        across = self.normals[axis][:, axis] * own
        for other in range(3):
            if other == axis:
                continue
            total, number = xp.zeros(len(here), np.float32), xp.zeros(len(here), np.float32)
            for back in (1, 0):
                for up in (0, 1):
                    spot = [at[a] - back * (a == axis) + up * (a == other) for a in range(3)]
                    good = self.mark[other][spot[0], spot[1], spot[2]] > 0
                    total += xp.where(good, self.velocity[other][spot[0], spot[1], spot[2]], 0.0)
                    number += good
            across = across + self.normals[axis][:, other] * total / xp.maximum(number, 1.0)
        keep = 1.0 - self.beyond[axis]
        met = self.mark[axis][at[0], at[1], at[2]] > 0
        return xp.where(met, own - keep * self.normals[axis][:, axis] * across, 0.0).astype(np.float32)

    # Parcels on the grid.

    def _stencil(self, at: Any) -> tuple[list[Any], list[Any], list[Any], list[Any]]:
        """Cell and parts, lower centre and parts of places (3, n); a shut face keeps all on this side."""
        xp = self.xp
        cell = [at[a].astype(np.int64) for a in range(3)]
        frac = [at[a] - cell[a].astype(np.float32) for a in range(3)]
        low, part = [], []
        for a in range(3):
            f = frac[a] - np.float32(0.5)
            under = f < 0.0
            share = xp.where(under, f + np.float32(1.0), f)
            if self.has_shut:
                up = [cell[b] + (b == a) for b in range(3)]
                below = self.shut[a][cell[0], cell[1], cell[2]] != 0
                above = self.shut[a][up[0], up[1], up[2]] != 0
                share = xp.where(under & below, 1.0, xp.where(~under & above, 0.0, share))
            low.append(cell[a] - under)
            part.append(share.astype(np.float32))
        return cell, frac, low, part

    def _sample(self, field: Any, at: Any, axis: int) -> tuple[Any, list[Any]]:
        """Value and slopes (3 of (n,)) of a face array at places that ``_stencil`` has laid out."""
        cell, frac, low, part = at
        base = [cell[a] if a == axis else low[a] for a in range(3)]
        return _interpolated(field, base, [frac[a] if a == axis else part[a] for a in range(3)])

    def _walk(self, here: list[Any], move: list[Any]) -> list[Any]:
        """Places after a move that stops at shut faces, stays inside the walls and on the grid."""
        xp = self.xp
        move = [xp.clip(m, -LARGEST_MOVE, LARGEST_MOVE) for m in move]
        if not self.has_shut:
            return self._inside([self._kept(here[a] + move[a], a) for a in range(3)])
        went = list(here)
        for axis in range(3):
            went[axis] = self._kept(self._stopped(went, move[axis], axis), axis)
        good = self._inside(went)
        back = list(went)
        for axis in range(3):
            back[axis] = self._kept(self._stopped(back, good[axis] - back[axis], axis), axis)
        return back

    def _stopped(self, here: list[Any], move: Any, axis: int) -> Any:
        """New coordinate along one axis; a shut face is met where it stands on the grid."""
        xp = self.xp
        target = here[axis] + move
        at = [h.astype(np.int64) for h in here]
        up = (move > 0.0).astype(np.int64)
        final, is_done = target, target.astype(np.int64) == at[axis]
        for _ in range(4):
            spot = list(at)
            spot[axis] = at[axis] + up
            met = ~is_done & (self.shut[axis][spot[0], spot[1], spot[2]] != 0)
            edge = xp.where(up > 0, spot[axis] - 1e-3, at[axis] + 1e-3).astype(np.float32)
            final = xp.where(met, edge, final)
            is_done = is_done | met
            at[axis] = xp.where(is_done, at[axis], at[axis] + 2 * up - 1)
            is_done = is_done | (target.astype(np.int64) == at[axis])
        return final

    def _kept(self, x: Any, axis: int) -> Any:
        """On the grid; what is no number lands on its edge."""
        last = np.float32(self.domain.shape[axis] - 2.001)
        return self.xp.where(x > 2.001, self.xp.where(x < last, x, last), np.float32(2.001))

    def _inside(self, at: list[Any]) -> list[Any]:
        """Points beyond a wall brought back to just inside it, along the wall's normal."""
        xp = self.xp
        for _ in range(2):
            cell = [x.astype(np.int64) for x in at]
            value, slope = _interpolated(
                self.distance, cell, [x - c.astype(np.float32) for x, c in zip(at, cell, strict=True)]
            )
            size = slope[0] ** 2 + slope[1] ** 2 + slope[2] ** 2
            short = np.float32(OFF_WALL) - value
            scale = xp.where((short > 0.0) & (size >= 1e-12), short / xp.maximum(size, 0.25), 0.0)
            at = [
                xp.where(scale > 0.0, self._kept(at[a] + scale * slope[a], a), at[a]).astype(np.float32)
                for a in range(3)
            ]
        return at

    # What a tank asks of its engine.

    def set_shut(self, shut: list[np.ndarray]) -> None:
        """Close the marked faces to everything."""
        xp = self.xp
        self.has_shut = any(bool(a.any()) for a in shut)
        for axis in range(3):
            self.shut[axis] = xp.asarray(np.ascontiguousarray(shut[axis], dtype=np.uint8))
            self.open[axis] = xp.where(self.shut[axis] != 0, 0.0, self.domain_open[axis]).astype(np.float32)

    def liquid_speed(self) -> float:
        """Largest speed on faces of liquid cells [cells/s]; NaN if any parcel has lost its place."""
        xp = self.xp
        if not bool(xp.isfinite(self.parcels[:6].sum(dtype=np.float64))):
            return float("nan")
        return max(float(xp.where(self.mark[a] == 2, xp.abs(self.velocity[a]), 0.0).max()) for a in range(3))

    def host(self, name: str) -> np.ndarray:
        """A state array as numpy: "parcels", "kind", "rho", "pressure"."""
        return self._home(getattr(self, name))

    def _home(self, values: Any) -> np.ndarray:
        return np.asarray(values)

    def at(self, name: str, cells: np.ndarray) -> np.ndarray:
        """A state array's values (m,) in cells (m, 3)."""
        return np.asarray(getattr(self, name)[cells[:, 0], cells[:, 1], cells[:, 2]])

    def face_velocity(self, axis: int, faces: np.ndarray) -> np.ndarray:
        """Velocities (m,) [cells/s] on faces (m, 3) across an axis."""
        return np.asarray(self.velocity[axis][faces[:, 0], faces[:, 1], faces[:, 2]])

    def replace(self, parcels: np.ndarray) -> None:
        """Go on with these parcels (6, n)."""
        self.parcels = self.xp.asarray(np.array(parcels, dtype=np.float32, order="C"))
        self.count = int(self.parcels.shape[1])

    def faces(self) -> list[np.ndarray]:
        """Copies of the face velocities."""
        return [np.array(self._home(a)) for a in self.velocity]

    def set_faces(self, faces: list[np.ndarray], pressure: np.ndarray) -> None:
        """Face velocities and pressure of a checkpoint."""
        self.velocity = [self.xp.asarray(np.array(a, dtype=np.float32)) for a in faces]
        self.pressure = self.xp.asarray(np.array(pressure, dtype=np.float64))

    def pushes(self) -> list[np.ndarray]:
        """The push on every face [cells] that the parcels take with their next move, for a checkpoint."""
        return [np.array(self._home(a)) for a in self.push]

    def restore(
        self, kind: np.ndarray, rho: np.ndarray, marks: list[np.ndarray], pushes: list[np.ndarray]
    ) -> None:
        """Kinds, shares, marks and pushes of a checkpoint."""
        self.push = [self.xp.asarray(np.array(a, dtype=np.float32)) for a in pushes]
        self.kind = self.xp.asarray(np.array(kind, dtype=np.int8))
        self.rho = self.xp.asarray(np.array(rho, dtype=np.float32))
        self.mark = [self.xp.asarray(np.array(a, dtype=np.int8)) for a in marks]

    def marks(self) -> list[np.ndarray]:
        """Copies of the faces' marks, for a checkpoint."""
        return [np.array(self._home(a)) for a in self.mark]


def _judges(domain: Domain) -> np.ndarray:
    """Flat index (nx, ny, nz) of the cell that decides about each cell: itself, or a sliver's neighbour."""
    index = np.arange(int(np.prod(domain.shape))).reshape(domain.shape)
    steps = _strides(domain.shape)
    for code in range(1, 7):
        axis, sense = (code - 1) // 2, 2 * ((code - 1) % 2) - 1
        index[domain.host == code] += sense * steps[axis]
    return index


def _strides(shape: tuple[int, int, int]) -> tuple[int, int, int]:
    return shape[1] * shape[2], shape[2], 1


def _flat(where: np.ndarray, shape: tuple[int, int, int]) -> np.ndarray:
    a, b, c = _strides(shape)
    return np.asarray(where[:, 0].astype(np.int64) * a + where[:, 1] * b + where[:, 2] * c)


def _inside(shape: tuple[int, int, int]) -> np.ndarray:
    """All but the outermost layer."""
    inside = np.zeros(shape, dtype=bool)
    inside[1:-1, 1:-1, 1:-1] = True
    return inside


def _middle(axis: int) -> tuple[slice, ...]:
    """The faces that have a cell on both sides."""
    return tuple(slice(1, -1) if a == axis else slice(None) for a in range(3))


def _sides(axis: int) -> tuple[tuple[slice, ...], tuple[slice, ...]]:
    """Cells below and above these faces; also the lower and the upper face of every cell."""
    low = tuple(slice(None, -1) if a == axis else slice(None) for a in range(3))
    high = tuple(slice(1, None) if a == axis else slice(None) for a in range(3))
    return low, high


def _index(base: list[Any], corner: tuple[int, int, int], shape: tuple[int, int, int]) -> Any:
    a, b, c = _strides(shape)
    return (base[0] + corner[0]) * a + (base[1] + corner[1]) * b + (base[2] + corner[2]) * c


def _weight(part: list[Any], corner: tuple[int, int, int]) -> Any:
    x, y, z = (part[a] if corner[a] else 1 - part[a] for a in range(3))
    return x * y * z


def _interpolated(field: Any, base: list[Any], part: list[Any]) -> tuple[Any, list[Any]]:
    """Value and slopes of a grid array between its eight values at ``base`` and above."""
    shape = field.shape
    q = [field.ravel()[_index(base, corner, shape)] for corner in CORNERS]
    x, y, z = part
    d = [q[2 * n + 1] - q[2 * n] for n in range(4)]
    e = [q[2 * n] + z * d[n] for n in range(4)]
    g0, g1 = e[1] - e[0], e[3] - e[2]
    f0, f1 = e[0] + y * g0, e[2] + y * g1
    h0, h1 = d[0] + y * (d[1] - d[0]), d[2] + y * (d[3] - d[2])
    gx = f1 - f0
    return f0 + x * gx, [gx, g0 + x * (g1 - g0), h0 + x * (h1 - h0)]


def _sum_beside(xp: Any, values: Any) -> Any:
    """Sum of the six neighbours; the outermost layer stays 0."""
    out = xp.zeros_like(values)
    v = values
    out[1:-1, 1:-1, 1:-1] = (
        v[:-2, 1:-1, 1:-1]
        + v[2:, 1:-1, 1:-1]
        + v[1:-1, :-2, 1:-1]
        + v[1:-1, 2:, 1:-1]
        + v[1:-1, 1:-1, :-2]
        + v[1:-1, 1:-1, 2:]
    )
    return out


def _theta(xp: Any, inside: Any, outside: Any) -> Any:
    """Part of the way from a liquid centre to an air centre at which the surface stands."""

    def phi(r: Any) -> Any:
        r = r.astype(np.float64)
        low = 1.0 - xp.sqrt(2.0 * xp.maximum(r, 0.0))
        high = xp.sqrt(2.0 * (1.0 - xp.clip(r, 0.0, 1.0))) - 1.0
        return xp.where(r < 0.5, low, high)

    a = xp.minimum(phi(inside), -1e-3)
    b = xp.maximum(phi(outside), 1e-3)
    return xp.maximum(a / (a - b), LEAST_THETA)
