/** Lines and round bodies for the pictures. */

import { BufferAttribute, BufferGeometry } from "three";
import { type Vector, axesInPlane, plus, unit } from "../solid/closed_surface";

/** Separate straight stretches, six numbers each. */
export function stretches(numbers: ArrayLike<number>): BufferGeometry {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(Float32Array.from(numbers), 3));
  return geometry;
}

/** A line through points, as stretches. */
export function stretchesThrough(points: readonly Vector[], close = false): number[] {
  const numbers: number[] = [];
  const last = close ? points.length : points.length - 1;
  for (let k = 0; k < last; k++) numbers.push(...points[k]!, ...points[(k + 1) % points.length]!);
  return numbers;
}

/** A ring of points about an axis. */
export function ring(middle: Vector, axis: Vector, radius: number, count: number): Vector[] {
  const [first, second] = axesInPlane(unit(axis));
  return Array.from({ length: count }, (_, k) => {
    const turn = (2 * Math.PI * k) / count;
    return plus(plus(middle, first, radius * Math.cos(turn)), second, radius * Math.sin(turn));
  });
}

/** A round tube along a path: corners and triangles. */
export function tube(path: readonly Vector[], radius: number): { points: number[]; triangles: number[] } {
  const count = 14;
  const points: number[] = [];
  const triangles: number[] = [];
  for (let k = 0; k + 1 < path.length; k++) {
    const along = plus(path[k + 1]!, path[k]!, -1);
    if (Math.hypot(...along) < 1e-6) continue;
    const axis = unit(along);
    const first = points.length / 3;
    for (const end of [path[k]!, path[k + 1]!]) {
      for (const p of ring(end, axis, radius, count)) points.push(...p);
    }
    for (let j = 0; j < count; j++) {
      const [a, b] = [first + j, first + ((j + 1) % count)];
      triangles.push(a, b, b + count, a, b + count, a + count);
    }
  }
  return { points, triangles };
}

/** Edges of loose triangles that are a fold or a rim: worth a line. */
export function sharpEdges(corners: readonly number[]): number[] {
  const seen = new Map<string, { normal: Vector; ends: number[]; times: number; isSharp: boolean }>();
  const name = (k: number): string =>
    `${corners[k]!.toFixed(2)} ${corners[k + 1]!.toFixed(2)} ${corners[k + 2]!.toFixed(2)}`;
  for (let t = 0; t < corners.length; t += 9) {
    const p = [0, 3, 6].map((k) => [corners[t + k]!, corners[t + k + 1]!, corners[t + k + 2]!] as Vector);
    const [u, v] = [plus(p[1]!, p[0]!, -1), plus(p[2]!, p[0]!, -1)];
    const raw: Vector = [
      u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0],
    ];
    if (Math.hypot(...raw) < 1e-9) continue;
    const normal = unit(raw);
    for (let k = 0; k < 3; k++) {
      const [i, j] = [t + 3 * k, t + 3 * ((k + 1) % 3)];
      const key = [name(i), name(j)].sort().join("|");
      const known = seen.get(key);
      if (known) {
        known.times += 1;
        const same = Math.abs(
          known.normal[0] * normal[0] + known.normal[1] * normal[1] + known.normal[2] * normal[2],
        );
        known.isSharp = same < 0.9;
      } else {
        seen.set(key, { normal, ends: [...p[k]!, ...p[(k + 1) % 3]!], times: 1, isSharp: true });
      }
    }
  }
  return [...seen.values()].filter((edge) => edge.isSharp).flatMap((edge) => edge.ends);
}
