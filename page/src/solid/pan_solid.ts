/** The oil space as closed surfaces: as it is, and with its walls carried on upwards. */

import type { PanPicture } from "../messages";
import type { ClosedSurface } from "./closed_surface";

/** The cavity, rail opening included. */
export function cavityOf(pan: PanPicture): ClosedSurface {
  return {
    points: Float64Array.from(pan.vertices_mm),
    triangles: Uint32Array.from(pan.faces.flatMap((face) => face.triangles)),
  };
}

/**
 * The cavity with its walls carried on upwards from the rail, so that oil that stands above
 * the rail is drawn where it would stand in the block.
 */
export function openTopOf(pan: PanPicture): ClosedSurface {
  const points = [...pan.vertices_mm];
  const rail = pan.faces.filter((face) => face.role === "rail").flatMap((face) => face.triangles);
  const triangles = pan.faces
    .filter((face) => face.role !== "rail")
    .flatMap((face) => face.triangles);
  const height = 10 * largestExtent(pan.vertices_mm);
  const raised = new Map<number, number>();
  const raise = (corner: number): number => {
    const known = raised.get(corner);
    if (known !== undefined) return known;
    const number = points.length / 3;
    points.push(points[3 * corner]!, points[3 * corner + 1]!, points[3 * corner + 2]! + height);
    raised.set(corner, number);
    return number;
  };
  const sides = new Set<string>();
  for (let t = 0; t < rail.length; t += 3) {
    for (let k = 0; k < 3; k++) sides.add(`${rail[t + k]!},${rail[t + ((k + 1) % 3)]!}`);
  }
  for (const side of sides) {
    const [a, b] = side.split(",").map(Number) as [number, number];
    if (sides.has(`${b},${a}`)) continue;
    triangles.push(a, b, raise(b), a, raise(b), raise(a));
  }
  triangles.push(...rail.map(raise));
  return { points: Float64Array.from(points), triangles: Uint32Array.from(triangles) };
}

function largestExtent(points: readonly number[]): number {
  let most = 0;
  for (let axis = 0; axis < 3; axis++) {
    let low = Infinity;
    let high = -Infinity;
    for (let k = axis; k < points.length; k += 3) {
      low = Math.min(low, points[k]!);
      high = Math.max(high, points[k]!);
    }
    most = Math.max(most, high - low);
  }
  return most;
}
