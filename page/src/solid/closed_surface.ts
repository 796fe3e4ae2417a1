/** Closed triangle surfaces, and what a plane leaves of them, lid included. */

export interface ClosedSurface {
  /** x, y, z of each corner, one after the other [mm] */
  readonly points: Float64Array;
  /** three corner numbers a triangle, anticlockwise seen from outside */
  readonly triangles: Uint32Array;
}

export interface CutSurface extends ClosedSurface {
  /** from this entry of `triangles` on stand the triangles of the lid in the plane */
  readonly lidFrom: number;
}

export type Vector = readonly [number, number, number];

export interface HalfSpace {
  /** points out of what is kept */
  readonly normal: Vector;
  /** normal . p of the plane [mm] */
  readonly offset: number;
}

type Triangulate = (outer: number[][], holes: number[][][]) => number[][];

/**
 * What lies on the inner side of a plane, closed by a lid.
 *
 * A corner in the plane itself counts as outside, so every crossing triangle has exactly
 * two crossed edges and the lid's lines close without any tolerance.
 */
export function cut(surface: ClosedSurface, plane: HalfSpace, triangulate: Triangulate): CutSurface {
  const { points, triangles } = surface;
  const [nx, ny, nz] = plane.normal;
  const count = points.length / 3;
  const height = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    height[k] =
      nx * points[3 * k]! + ny * points[3 * k + 1]! + nz * points[3 * k + 2]! - plane.offset;
  }
  const newNumber = new Int32Array(count).fill(-1);
  const kept: number[] = [];
  const out: number[] = [];
  const keep = (k: number): number => {
    if (newNumber[k]! < 0) {
      newNumber[k] = kept.length / 3;
      kept.push(points[3 * k]!, points[3 * k + 1]!, points[3 * k + 2]!);
    }
    return newNumber[k]!;
  };
  const onEdge = new Map<number, number>();
  const crossing = (a: number, b: number): number => {
    const low = Math.min(a, b);
    const high = Math.max(a, b);
    const key = low * count + high;
    const known = onEdge.get(key);
    if (known !== undefined) return known;
    const share = height[low]! / (height[low]! - height[high]!);
    const number = kept.length / 3;
    for (let axis = 0; axis < 3; axis++) {
      const from = points[3 * low + axis]!;
      kept.push(from + (points[3 * high + axis]! - from) * share);
    }
    onEdge.set(key, number);
    return number;
  };
  // The lid's outline runs against the kept triangles' own crossing lines.
  const next = new Map<number, number>();
  for (let t = 0; t < triangles.length; t += 3) {
    let a = triangles[t]!;
    let b = triangles[t + 1]!;
    let c = triangles[t + 2]!;
    const inA = height[a]! < 0;
    const inB = height[b]! < 0;
    const inC = height[c]! < 0;
    const inside = Number(inA) + Number(inB) + Number(inC);
    if (inside === 0) continue;
    if (inside === 3) {
      out.push(keep(a), keep(b), keep(c));
      continue;
    }
    // Turned so that a is the one that stands alone.
    if (inside === 1 ? inB : !inB) [a, b, c] = [b, c, a];
    else if (inside === 1 ? inC : !inC) [a, b, c] = [c, a, b];
    const ab = crossing(a, b);
    const ac = crossing(a, c);
    if (inside === 1) {
      out.push(keep(a), ab, ac);
      next.set(ac, ab);
    } else {
      out.push(ab, keep(b), keep(c), ab, keep(c), ac);
      next.set(ab, ac);
    }
  }
  const lidFrom = out.length;
  addLid(kept, out, next, plane.normal, triangulate);
  return { points: Float64Array.from(kept), triangles: Uint32Array.from(out), lidFrom };
}

/** Two unit vectors that span the plane; first cross second = normal. */
export function axesInPlane(normal: Vector): readonly [Vector, Vector] {
  const [nx, ny, nz] = normal;
  const seed: Vector =
    Math.abs(nx) <= Math.abs(ny) && Math.abs(nx) <= Math.abs(nz)
      ? [1, 0, 0]
      : Math.abs(ny) <= Math.abs(nz)
        ? [0, 1, 0]
        : [0, 0, 1];
  const along = dot(seed, normal);
  const first = unit([seed[0] - along * nx, seed[1] - along * ny, seed[2] - along * nz]);
  return [first, cross(normal, first)];
}

function addLid(
  points: number[],
  triangles: number[],
  next: Map<number, number>,
  normal: Vector,
  triangulate: Triangulate,
): void {
  const [first, second] = axesInPlane(normal);
  const outers: { ring: number[]; flat: number[][] }[] = [];
  const holes: { ring: number[]; flat: number[][] }[] = [];
  const left = new Map(next);
  for (const start of next.keys()) {
    if (!left.has(start)) continue;
    const ring: number[] = [];
    let at = start;
    for (;;) {
      const after = left.get(at);
      if (after === undefined) break;
      ring.push(at);
      left.delete(at);
      at = after;
    }
    if (ring.length < 3) continue;
    const flat = ring.map((k) => {
      const p: Vector = [points[3 * k]!, points[3 * k + 1]!, points[3 * k + 2]!];
      return [dot(p, first), dot(p, second)];
    });
    (twiceArea(flat) > 0 ? outers : holes).push({ ring, flat });
  }
  for (const outer of outers) {
    const mine = holes.filter((hole) => isInside(hole.flat[0]!, outer.flat));
    const numbers = [...outer.ring, ...mine.flatMap((hole) => hole.ring)];
    const corners = [...outer.flat, ...mine.flatMap((hole) => hole.flat)];
    for (const face of triangulate(
      outer.flat,
      mine.map((hole) => hole.flat),
    )) {
      const [i, j, k] = [face[0]!, face[1]!, face[2]!];
      const turnsLeft = twiceArea([corners[i]!, corners[j]!, corners[k]!]) > 0;
      triangles.push(numbers[i]!, numbers[turnsLeft ? j : k]!, numbers[turnsLeft ? k : j]!);
    }
  }
}

function twiceArea(flat: readonly number[][]): number {
  let sum = 0;
  for (let k = 0; k < flat.length; k++) {
    const p = flat[k]!;
    const q = flat[(k + 1) % flat.length]!;
    sum += p[0]! * q[1]! - q[0]! * p[1]!;
  }
  return sum;
}

function isInside(point: readonly number[], ring: readonly number[][]): boolean {
  const [x, y] = [point[0]!, point[1]!];
  let inside = false;
  for (let k = 0; k < ring.length; k++) {
    const p = ring[k]!;
    const q = ring[(k + 1) % ring.length]!;
    if (p[1]! > y !== q[1]! > y) {
      const crossX = p[0]! + ((q[0]! - p[0]!) * (y - p[1]!)) / (q[1]! - p[1]!);
      if (x < crossX) inside = !inside;
    }
  }
  return inside;
}

/** Volume enclosed [mm3]. */
export function volumeOf(surface: ClosedSurface): number {
  const { points, triangles } = surface;
  let sum = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [3 * triangles[t]!, 3 * triangles[t + 1]!, 3 * triangles[t + 2]!];
    sum +=
      points[a]! * (points[b + 1]! * points[c + 2]! - points[b + 2]! * points[c + 1]!) +
      points[a + 1]! * (points[b + 2]! * points[c]! - points[b]! * points[c + 2]!) +
      points[a + 2]! * (points[b]! * points[c + 1]! - points[b + 1]! * points[c]!);
  }
  return sum / 6;
}

export function dot(a: Vector, b: Vector): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

export function cross(a: Vector, b: Vector): Vector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

export function unit(a: Vector): Vector {
  const length = Math.hypot(a[0], a[1], a[2]);
  return [a[0] / length, a[1] / length, a[2] / length];
}

export function plus(a: Vector, b: Vector, times = 1): Vector {
  return [a[0] + b[0] * times, a[1] + b[1] * times, a[2] + b[2] * times];
}
