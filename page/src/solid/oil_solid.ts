/** The oil as a solid: what lies under its surfaces in the pan. */

import { ShapeUtils, Vector2 } from "three";
import type { LeanAnswer, OilSurface } from "../messages";
import { type ClosedSurface, type CutSurface, cut } from "./closed_surface";

/** Triangles of a plane outline with holes, as corner numbers counted through all of it. */
export function triangulate(outer: number[][], holes: number[][][]): number[][] {
  const points = (ring: number[][]): Vector2[] => ring.map((p) => new Vector2(p[0], p[1]));
  return ShapeUtils.triangulateShape(points(outer), holes.map(points));
}

/**
 * The oil under the level that all of it shares, closed by its surface. Where pools can be cut
 * off from the mouth the answer has a second level, the one at the mouth then: that is another
 * case, not more oil, and is drawn as a line only.
 */
export function oilSolid(openTop: ClosedSurface, answer: LeanAnswer): CutSurface | null {
  const shared = answer.surfaces.find((surface) => surface.shared);
  return shared ? cut(openTop, { normal: answer.up, offset: shared.level_mm }, triangulate) : null;
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
