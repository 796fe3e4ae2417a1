/** The surface of oil that is known as a share of every cell of a grid. */

import type { ClosedSurface, HalfSpace, Vector } from "./closed_surface";

export interface Grid {
  readonly shape: readonly [number, number, number];
  /** corner of the first cell [mm] */
  readonly origin: Vector;
  /** side of a cell [mm] */
  readonly cell: number;
}

/** Share of a cell from which on it is drawn as oil. */
const FULL_ENOUGH = 0.5;

/**
 * Closed surface round all cells that are at least half full, drawn through the middles between
 * fuller and emptier ones. `shares` in grid order, x slowest and z fastest; `kept` takes away
 * whole cells beyond a cut.
 */
export function fieldSurface(grid: Grid, shares: Float32Array, kept: HalfSpace | null): ClosedSurface {
  const [nx, ny, nz] = grid.shape;
  // One ring of empty cells round everything, so that the surface closes.
  const [mx, my, mz] = [nx + 2, ny + 2, nz + 2];
  const value = new Float32Array(mx * my * mz);
  const [ox, oy, oz] = grid.origin;
  const node = (i: number, j: number, k: number): number => (i * my + j) * mz + k;
  for (let i = 0; i < nx; i++) {
    for (let j = 0; j < ny; j++) {
      for (let k = 0; k < nz; k++) {
        const share = shares[(i * ny + j) * nz + k]!;
        if (share === 0 || (kept && isBeyond(kept, grid, i, j, k))) continue;
        value[node(i + 1, j + 1, k + 1)] = share;
      }
    }
  }
  const points: number[] = [];
  const numberOf = new Int32Array(mx * my * mz).fill(-1);
  const corners = new Float32Array(8);
  for (let i = 0; i + 1 < mx; i++) {
    for (let j = 0; j + 1 < my; j++) {
      for (let k = 0; k + 1 < mz; k++) {
        let inside = 0;
        for (let c = 0; c < 8; c++) {
          corners[c] = value[node(i + (c >> 2), j + ((c >> 1) & 1), k + (c & 1))]! - FULL_ENOUGH;
          if (corners[c]! >= 0) inside += 1;
        }
        if (inside === 0 || inside === 8) continue;
        const [x, y, z] = crossing(corners);
        numberOf[node(i, j, k)] = points.length / 3;
        points.push(ox + (i - 0.5 + x) * grid.cell, oy + (j - 0.5 + y) * grid.cell, oz + (k - 0.5 + z) * grid.cell);
      }
    }
  }
  return { points: Float64Array.from(points), triangles: Uint32Array.from(faces(value, numberOf, [mx, my, mz])) };
}

/** Middle of the places where the edges of a cube of cells pass from fuller to emptier. */
function crossing(corners: Float32Array): Vector {
  let [x, y, z, count] = [0, 0, 0, 0];
  for (let a = 0; a < 8; a++) {
    for (const bit of [1, 2, 4]) {
      const b = a | bit;
      if (b === a || corners[a]! >= 0 === corners[b]! >= 0) continue;
      const share = corners[a]! / (corners[a]! - corners[b]!);
      x += (a >> 2) + (bit === 4 ? share : 0);
      y += ((a >> 1) & 1) + (bit === 2 ? share : 0);
      z += (a & 1) + (bit === 1 ? share : 0);
      count += 1;
    }
  }
  return [x / count, y / count, z / count];
}

/** Two triangles across every pair of neighbours of which one is oil and one is not. */
function faces(value: Float32Array, numberOf: Int32Array, [mx, my, mz]: readonly [number, number, number]): number[] {
  const triangles: number[] = [];
  const step = [my * mz, mz, 1] as const;
  for (let i = 1; i < mx; i++) {
    for (let j = 1; j < my; j++) {
      for (let k = 1; k < mz; k++) {
        const here = (i * my + j) * mz + k;
        const isOil = value[here]! >= FULL_ENOUGH;
        for (let axis = 0; axis < 3; axis++) {
          const before = here - step[axis]!;
          const wasOil = value[before]! >= FULL_ENOUGH;
          if (isOil === wasOil) continue;
          const u = step[(axis + 1) % 3]!;
          const v = step[(axis + 2) % 3]!;
          // The four cubes round the edge from `before` to `here`.
          const ring = [before - u - v, before - v, before, before - u].map((n) => numberOf[n]!);
          const [a, b, c, d] = wasOil ? ring : ring.reverse();
          triangles.push(a!, b!, c!, a!, c!, d!);
        }
      }
    }
  }
  return triangles;
}

function isBeyond(kept: HalfSpace, grid: Grid, i: number, j: number, k: number): boolean {
  const [x, y, z] = [i, j, k].map((n, axis) => grid.origin[axis]! + (n + 0.5) * grid.cell) as [number, number, number];
  return kept.normal[0] * x + kept.normal[1] * y + kept.normal[2] * z > kept.offset;
}
