/** The distance between two points of the picture, picked by finger, mouse or keys. */

import { LineSegments, type LineBasicMaterial, type Object3D, type Plane } from "three";
import { make } from "../make";
import type { Vector } from "../solid/closed_surface";
import { type Units, lengthWords } from "../words";
import type { Picture } from "./picture";
import { stretches } from "./shapes";

/** A corner this near to the finger is what is meant [px]. */
const CATCH = 14;

export class Measuring {
  readonly element: HTMLElement;
  private readonly button = make("button", { type: "button", "aria-pressed": "false" }, "distance between two points");
  private readonly says = make("output", { class: "readout" });
  private readonly aim = make("span", { class: "aim", "aria-hidden": "true" });
  private picks: Vector[] = [];
  private unpin: (() => void)[] = [];
  private line: LineSegments | null = null;
  private aimAt = { x: 0, y: 0 };
  private press = { x: 0, y: 0 };
  units: Units = "mm";

  constructor(
    private readonly picture: Picture,
    private readonly holder: HTMLElement,
    private readonly ink: LineBasicMaterial,
    private readonly things: () => { touchable: Object3D[]; corners: ArrayLike<number>; cuts: Plane[] },
  ) {
    this.element = make("div", { class: "line" }, this.button, this.says);
    this.button.addEventListener("click", () => { this.turn(!this.isOn); });
    picture.canvas.addEventListener("pointerdown", (event) => { this.press = { x: event.clientX, y: event.clientY }; });
    picture.canvas.addEventListener("pointerup", (event) => {
      const moved = Math.hypot(event.clientX - this.press.x, event.clientY - this.press.y);
      if (!this.isOn || moved > 6) return;
      const box = holder.getBoundingClientRect();
      this.pick(event.clientX - box.left, event.clientY - box.top);
    });
    holder.addEventListener("keydown", (event) => {
      if (!this.isOn || event.target !== holder) return;
      const step = event.shiftKey ? 1 : 8;
      const moves: Record<string, [number, number]> = {
        ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step],
      };
      const move = moves[event.key];
      if (move) this.moveAim(this.aimAt.x + move[0], this.aimAt.y + move[1]);
      else if (event.key === "Enter") this.pick(this.aimAt.x, this.aimAt.y);
      else if (event.key === "Escape") this.turn(false);
      else return;
      event.preventDefault();
    });
  }

  private get isOn(): boolean {
    return this.button.getAttribute("aria-pressed") === "true";
  }

  private turn(on: boolean): void {
    this.button.setAttribute("aria-pressed", String(on));
    this.picture.keysAreTaken = on;
    this.forget();
    if (on) {
      this.holder.append(this.aim);
      this.moveAim(this.holder.clientWidth / 2, this.holder.clientHeight / 2);
      this.says.textContent = "Pick the first point. By keys: move the cross with the arrows, Enter picks, Esc ends.";
      this.holder.focus({ preventScroll: true });
    } else {
      this.aim.remove();
      this.says.textContent = "";
    }
  }

  private moveAim(x: number, y: number): void {
    const { clientWidth, clientHeight } = this.holder;
    this.aimAt = { x: Math.max(0, Math.min(clientWidth, x)), y: Math.max(0, Math.min(clientHeight, y)) };
    this.aim.style.transform = `translate(${this.aimAt.x}px, ${this.aimAt.y}px)`;
  }

  private pick(x: number, y: number): void {
    if (this.picks.length === 2) this.forget();
    const point = this.corner(x, y) ?? this.surface(x, y);
    if (!point) {
      this.says.textContent = "There is nothing under that point; pick on the pan.";
      return;
    }
    this.picks.push(point);
    const dot = make("span", { class: "dot", "aria-hidden": "true" });
    this.unpin.push(this.picture.pin(dot, () => point));
    if (this.picks.length === 1) {
      this.says.textContent = `First point at ${placeWords(point, this.units)}. Pick the second.`;
      return;
    }
    const [a, b] = this.picks as [Vector, Vector];
    const apart: Vector = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
    this.line = new LineSegments(stretches([...a, ...b]), this.ink);
    this.picture.engine.add(this.line);
    this.says.textContent =
      `${lengthWords(Math.hypot(...apart), this.units)} apart: ` +
      `${lengthWords(Math.abs(apart[0]), this.units)} along the engine, ` +
      `${lengthWords(Math.abs(apart[1]), this.units)} across, ${lengthWords(Math.abs(apart[2]), this.units)} up.`;
    this.picture.askToDraw();
  }

  private forget(): void {
    this.picks = [];
    for (const take of this.unpin.splice(0)) take();
    if (this.line) {
      this.line.removeFromParent();
      this.line.geometry.dispose();
      this.line = null;
    }
    this.picture.askToDraw();
  }

  private corner(x: number, y: number): Vector | null {
    const { corners } = this.things();
    let best: Vector | null = null;
    let least = CATCH;
    let depth = Infinity;
    for (let k = 0; k + 2 < corners.length; k += 3) {
      const place: Vector = [corners[k]!, corners[k + 1]!, corners[k + 2]!];
      const at = this.picture.onScreen(place);
      const far = Math.hypot(at.x - x, at.y - y);
      if (far < least - 0.5 || (far < least + 0.5 && at.depth < depth)) {
        [best, least, depth] = [place, far, at.depth];
      }
    }
    return best;
  }

  private surface(x: number, y: number): Vector | null {
    const { touchable, cuts } = this.things();
    return this.picture.hit(x, y, touchable, cuts);
  }
}

function placeWords([x, y, z]: Vector, units: Units): string {
  const side = y >= 0 ? "to the left" : "to the right";
  const height = z <= 0 ? "below the rail" : "above the rail";
  return `${lengthWords(x, units)} forward, ${lengthWords(Math.abs(y), units)} ${side}, ${lengthWords(Math.abs(z), units)} ${height}`;
}
