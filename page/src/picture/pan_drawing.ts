/** The pan, what is in it and what stands round it, as things of a picture. */

import { Group, Line, type LineBasicMaterial, LineSegments, type Material, Mesh, type Object3D, type Plane } from "three";
import type { PanPicture } from "../messages";
import { type ClosedSurface, type HalfSpace, type Vector, dot } from "../solid/closed_surface";
import { type Inks, inks } from "./inks";
import { flatFaced } from "./picture";
import { ring, sharpEdges, stretches, stretchesThrough, tube } from "./shapes";

export const LAYERS = ["walls and doors", "pickup and dipstick", "crank sweep", "keep-outs and ground"] as const;
export type Layer = (typeof LAYERS)[number];

/** Oil under one surface. */
export interface OilPiece {
  readonly solid: ClosedSurface;
  readonly up: Vector;
  readonly level_mm: number;
}

/** A triangle with all corners this near to a level lies in the oil's surface [mm]. */
const FLAT = 1e-4;

export class PanDrawing {
  readonly root = new Group();
  /** planes that the metal is cut away by, in the world's axes; change in place */
  readonly cuts: Plane[] = [];
  private readonly inks: Inks = inks(this.cuts);
  private readonly layers = new Map<Layer, Group>(LAYERS.map((name) => [name, new Group()]));
  private readonly skin = new Group();
  private readonly oil = new Group();
  /** what a finger can rest on for measuring */
  touchable: Object3D[] = [];
  /** least and greatest x, y, z of pan and flange [mm] */
  box: [Vector, Vector] = [[0, 0, 0], [0, 0, 0]];

  constructor() {
    this.root.add(this.skin, this.oil, ...this.layers.values());
  }

  layer(name: Layer): Group {
    return this.layers.get(name)!;
  }

  setPan(pan: PanPicture): void {
    for (const group of [this.skin, ...this.layers.values()]) empty(group);
    this.touchable = [];
    this.box = boxOf([...pan.vertices_mm, ...pan.flange_mm.flatMap(([x, y]) => [x, y, 0])]);
    this.addSkin(pan);
    this.addWalls(pan);
    this.addPickup(pan);
    if (pan.crank) {
      const { rear_mm, front_mm, radius_mm } = pan.crank;
      const sweep = tube([rear_mm, front_mm], radius_mm);
      this.add(this.layer("crank sweep"), flatMesh(sweep, this.inks.crank, 8));
      for (const end of [rear_mm, front_mm]) {
        const axis: Vector = [front_mm[0] - rear_mm[0], front_mm[1] - rear_mm[1], front_mm[2] - rear_mm[2]];
        this.addLines(this.layer("crank sweep"), stretchesThrough(ring(end, axis, radius_mm, 36), true), this.inks.line);
      }
    }
    this.addSurroundings(pan);
  }

  /** Oil under its surfaces, with their lines as far as a cut-away leaves them. */
  setOil(pieces: readonly OilPiece[], lines: number[], kept: HalfSpace | null): void {
    empty(this.oil);
    for (const { solid, up, level_mm } of pieces) {
      const top: number[] = [];
      const below: number[] = [];
      const height = (k: number): number =>
        dot(up, [solid.points[3 * k]!, solid.points[3 * k + 1]!, solid.points[3 * k + 2]!]);
      for (let t = 0; t < solid.triangles.length; t += 3) {
        const corners = [...solid.triangles.slice(t, t + 3)];
        const isTop = corners.every((k) => Math.abs(height(k) - level_mm) < FLAT);
        (isTop ? top : below).push(...corners);
      }
      this.add(this.oil, flatMesh({ points: solid.points, triangles: below }, this.inks.oil, 0));
      this.add(this.oil, flatMesh({ points: solid.points, triangles: top }, this.inks.oilTop, 0));
    }
    this.addLines(this.oil, keptStretches(lines, kept), this.inks.oilLine);
  }

  get measureInk(): LineBasicMaterial {
    return this.inks.stick;
  }

  private addSkin(pan: PanPicture): void {
    const triangles = pan.faces.filter((face) => face.role !== "rail").flatMap((face) => face.triangles);
    const skin = flatMesh({ points: pan.vertices_mm, triangles }, this.inks.skin, 10);
    this.add(this.skin, skin);
    this.touchable.push(skin);
    const at = (k: number): Vector => [pan.vertices_mm[3 * k]!, pan.vertices_mm[3 * k + 1]!, pan.vertices_mm[3 * k + 2]!];
    this.addLines(this.skin, pan.edges.flatMap((edge) => [...at(edge.start), ...at(edge.end)]), this.inks.line);
    const flange = pan.flange_mm.map(([x, y]): Vector => [x, y, 0]);
    this.addLines(this.skin, stretchesThrough(flange, true), this.inks.line);
    for (const hole of pan.holes) {
      const edge = ring([hole.x_mm, hole.y_mm, 0], [0, 0, 1], hole.diameter_mm / 2, 14);
      this.addLines(this.skin, stretchesThrough(edge, true), this.inks.hole);
    }
    if (pan.drain_mm) {
      this.addLines(this.skin, stretchesThrough(ring(pan.drain_mm, [0, 0, 1], 9, 18), true), this.inks.line);
    }
  }

  private addWalls(pan: PanPicture): void {
    const group = this.layer("walls and doors");
    for (const wall of pan.walls) {
      const metal = loose(wall.triangles_mm, this.inks.wall, 5);
      this.add(group, metal);
      this.touchable.push(metal);
      for (const loop of wall.loops_mm) this.addLines(group, stretchesThrough(loop, true), this.inks.line);
      for (const cut of wall.cuts) {
        this.addLines(group, stretchesThrough(cut.loop_mm, true), this.inks.line);
        if (cut.passes) this.addArrow(group, cut.loop_mm, cut.passes);
      }
    }
  }

  /** The way a door lets oil through. */
  private addArrow(group: Group, loop: readonly Vector[], way: Vector): void {
    const middle = loop.reduce<Vector>(
      (sum, p) => [sum[0] + p[0] / loop.length, sum[1] + p[1] / loop.length, sum[2] + p[2] / loop.length],
      [0, 0, 0],
    );
    const reach = (far: number, across: number): Vector => [
      middle[0] + way[0] * far - way[1] * across,
      middle[1] + way[1] * far + way[0] * across,
      middle[2] + way[2] * far,
    ];
    const tip = reach(22, 0);
    const lines = [...reach(-4, 0), ...tip, ...tip, ...reach(13, 5), ...tip, ...reach(13, -5)];
    this.addLines(group, lines, this.inks.stick);
  }

  private addPickup(pan: PanPicture): void {
    const group = this.layer("pickup and dipstick");
    if (pan.pickup) {
      const { mouth_mm, mouth_diameter_mm, path_mm, bore_mm } = pan.pickup;
      const path = path_mm.length > 1 ? path_mm : [mouth_mm, [mouth_mm[0], mouth_mm[1], mouth_mm[2] + 30] as Vector];
      this.add(group, flatMesh(tube(path, (bore_mm ?? mouth_diameter_mm * 0.6) / 2), this.inks.tube, 0));
      const bell = tube([mouth_mm, [mouth_mm[0], mouth_mm[1], mouth_mm[2] + 6]], mouth_diameter_mm / 2);
      this.add(group, flatMesh(bell, this.inks.tube, 0));
      this.addLines(group, stretchesThrough(ring(mouth_mm, [0, 0, 1], mouth_diameter_mm / 2, 24), true), this.inks.stick);
    }
    if (pan.stick) {
      this.addLines(group, stretchesThrough(pan.stick.line_mm), this.inks.stick);
      for (const mark of pan.stick.marks) {
        if (mark.place_mm) this.addLines(group, stretchesThrough(ring(mark.place_mm, [0, 0, 1], 5, 12), true), this.inks.stick);
      }
    }
  }

  private addSurroundings(pan: PanPicture): void {
    const group = this.layer("keep-outs and ground");
    for (const keepOut of pan.keep_outs) {
      const body = loose(keepOut.triangles_mm, this.inks.keepOut, 9);
      this.add(group, body);
      this.touchable.push(body);
      const lines = new LineSegments(stretches(sharpEdges(keepOut.triangles_mm)), this.inks.keepOutLine);
      lines.computeLineDistances();
      group.add(lines);
    }
    if (pan.ground_mm !== null) {
      const { forward, left, up, ground_mm } = pan;
      const at = (f: number, l: number): Vector => [0, 1, 2].map(
        (k) => up[k]! * ground_mm + forward[k]! * f + left[k]! * l,
      ) as unknown as Vector;
      const [low, high] = boxOf(pan.vertices_mm);
      const corners = [at(low[0] - 80, low[1] - 80), at(high[0] + 80, low[1] - 80), at(high[0] + 80, high[1] + 80), at(low[0] - 80, high[1] + 80)];
      this.addLines(group, stretchesThrough(corners, true), this.inks.ground);
    }
  }

  private add(group: Group, thing: Mesh): void {
    group.add(thing);
  }

  private addLines(group: Group, numbers: ArrayLike<number>, ink: Material): void {
    if (numbers.length) group.add(new LineSegments(stretches(numbers), ink));
  }
}

/** Least and greatest x, y, z of flat corners. */
export function boxOf(points: ArrayLike<number>): [Vector, Vector] {
  const low: [number, number, number] = [Infinity, Infinity, Infinity];
  const high: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (let k = 0; k < points.length; k++) {
    low[k % 3] = Math.min(low[k % 3]!, points[k]!);
    high[k % 3] = Math.max(high[k % 3]!, points[k]!);
  }
  return [low, high];
}

export function flatMesh(
  solid: { points: ArrayLike<number>; triangles: ArrayLike<number> },
  ink: Material,
  order: number,
): Mesh {
  const mesh = new Mesh(flatFaced(solid.points, solid.triangles), ink);
  mesh.renderOrder = order;
  return mesh;
}

function loose(corners: readonly number[], ink: Material, order: number): Mesh {
  return flatMesh({ points: corners, triangles: corners.slice(0, corners.length / 3).map((_, k) => k) }, ink, order);
}

/** Take everything out of a group and let its memory go. */
export function empty(group: Group): void {
  for (const thing of [...group.children]) {
    group.remove(thing);
    if (thing instanceof Mesh || thing instanceof Line) thing.geometry.dispose();
  }
}

/** The part of each stretch that a cut-away leaves. */
function keptStretches(numbers: number[], kept: HalfSpace | null): number[] {
  if (!kept) return numbers;
  const out: number[] = [];
  for (let k = 0; k + 5 < numbers.length; k += 6) {
    const a: Vector = [numbers[k]!, numbers[k + 1]!, numbers[k + 2]!];
    const b: Vector = [numbers[k + 3]!, numbers[k + 4]!, numbers[k + 5]!];
    const [ha, hb] = [dot(kept.normal, a) - kept.offset, dot(kept.normal, b) - kept.offset];
    if (ha > 0 && hb > 0) continue;
    const at = (share: number): Vector => [
      a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share, a[2] + (b[2] - a[2]) * share,
    ];
    const meet = ha / (ha - hb);
    out.push(...(ha > 0 ? at(meet) : a), ...(hb > 0 ? at(meet) : b));
  }
  return out;
}
