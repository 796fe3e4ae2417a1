/** Cutting the pan open to look inside: which side is taken away, and how deep. */

import type { Plane } from "three";
import { make, newId } from "../make";
import { type ClosedSurface, type HalfSpace, type Vector, cut } from "../solid/closed_surface";
import { triangulate } from "../solid/oil_solid";
import { slider } from "./frame";
import type { Picture } from "./picture";

const SIDES: Record<string, Vector | null> = {
  "nothing": null,
  "the left side": [0, 1, 0],
  "the right side": [0, -1, 0],
  "the front": [1, 0, 0],
  "the rear": [-1, 0, 0],
  "the top": [0, 0, 1],
};

export class CutAway {
  readonly element: HTMLElement;
  private side: Vector | null = null;
  private depth = 0.5;
  private low: Vector = [0, 0, 0];
  private high: Vector = [0, 0, 0];

  constructor(private readonly changed: () => void) {
    const id = newId("cut");
    const choice = make("select", { id }, ...Object.keys(SIDES).map((name) => make("option", {}, name)));
    const deep = slider("how deep", { least: 2, most: 98, step: 1, at: 50 }, (value) => `${value} %`, (value) => {
      this.depth = value / 100;
      this.changed();
    });
    deep.input.disabled = true;
    choice.addEventListener("change", () => {
      this.side = SIDES[choice.value] ?? null;
      deep.input.disabled = this.side === null;
      this.changed();
    });
    this.element = make("div", { class: "line" }, make("label", { for: id }, "Cut away"), choice, deep.element);
  }

  setBox(low: Vector, high: Vector): void {
    [this.low, this.high] = [low, high];
  }

  /** What is kept, engine axes; null = everything. */
  get kept(): HalfSpace | null {
    if (!this.side) return null;
    const axis = this.side.findIndex((one) => one !== 0);
    const sign = this.side[axis]!;
    const [from, to] = sign > 0 ? [this.high[axis]!, this.low[axis]!] : [this.low[axis]!, this.high[axis]!];
    return { normal: this.side, offset: sign * (from + (to - from) * this.depth) };
  }

  /** Put the cut into the metal's planes. */
  apply(planes: Plane[], picture: Picture): void {
    const kept = this.kept;
    planes.length = 0;
    if (kept) planes.push(picture.keeping(kept.normal, kept.offset));
  }

  /** Cut a solid open, closed by the cut's own face. */
  open<Solid extends ClosedSurface>(solid: Solid): ClosedSurface {
    const kept = this.kept;
    return kept ? cut(solid, kept, triangulate) : solid;
  }
}
