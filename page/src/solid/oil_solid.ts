/** The oil as a solid: what lies under its surfaces in the pan. */

import { ShapeUtils, Vector2 } from "three";
import type { LeanAnswer, OilSurface } from "../messages";
import { type ClosedSurface, type CutSurface, type Vector, cross, cut, dot, plus, unit } from "./closed_surface";

/** Triangles of a plane outline with holes, as corner numbers counted through all of it. */
export function triangulate(outer: number[][], holes: number[][][]): number[][] {
  const points = (ring: number[][]): Vector2[] => ring.map((p) => new Vector2(p[0], p[1]));
  return ShapeUtils.triangulateShape(points(outer), holes.map(points));
}

/** The oil under every surface of an answer, each with its lid. */
export function oilSolids(openTop: ClosedSurface, answer: LeanAnswer): CutSurface[] {
  const solids: CutSurface[] = [];
  for (const surface of answer.surfaces) {
    const below = cut(openTop, { normal: answer.up, offset: surface.level_mm }, triangulate);
    if (surface.shared) {
      solids.push(below);
      continue;
    }
    for (const loop of surface.loops_mm) {
      const pool = underLoop(below, loop, answer.up);
      if (pool) solids.push(pool);
    }
  }
  return solids;
}

/** What lies straight under one line of a surface; null where the line bends inwards. */
function underLoop(below: ClosedSurface, loop: readonly number[], up: Vector): CutSurface | null {
  const corners: Vector[] = [];
  for (let k = 0; k < loop.length; k += 3) corners.push([loop[k]!, loop[k + 1]!, loop[k + 2]!]);
  const middle = corners.reduce((sum, p) => plus(sum, p, 1 / corners.length), [0, 0, 0] as Vector);
  let pool: CutSurface = { ...below, lidFrom: below.triangles.length };
  for (let k = 0; k < corners.length; k++) {
    const p = corners[k]!;
    const q = corners[(k + 1) % corners.length]!;
    const along = plus(q, p, -1);
    if (Math.hypot(...along) < 1e-6) continue;
    let normal = unit(cross(along, up));
    if (dot(normal, middle) > dot(normal, p)) normal = [-normal[0], -normal[1], -normal[2]];
    if (corners.some((other) => dot(normal, other) > dot(normal, p) + 0.01)) return null;
    pool = cut(pool, { normal, offset: dot(normal, p) }, triangulate);
  }
  return pool;
}

/** The lines of a surface as x, y, z of both ends of each stretch. */
export function surfaceLines(surfaces: readonly OilSurface[]): number[] {
  const lines: number[] = [];
  for (const surface of surfaces) {
    for (const loop of surface.loops_mm) {
      for (let k = 0; k < loop.length; k += 3) {
        const after = (k + 3) % loop.length;
        lines.push(loop[k]!, loop[k + 1]!, loop[k + 2]!);
        lines.push(loop[after]!, loop[after + 1]!, loop[after + 2]!);
      }
    }
  }
  return lines;
}
