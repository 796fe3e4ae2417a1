/** What can be taken by hand in the picture: a floor, a wall, a door, the pickup. */

import { make } from "../make";
import type { Drag, DragTo } from "../messages";
import { plus } from "../solid/closed_surface";
import { type Units, lengthWords } from "../words";
import type { Picture } from "./picture";

/** Steps in which a hand or a key moves a thing [mm]; a typed value knows no steps. */
const STEP: Record<Units, number> = { mm: 0.5, in: 25.4 / 64 };
/** Steps of a key pressed together with Shift. */
const BIG = 10;
const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowUp: [0, -1],
  ArrowRight: [1, 0],
  ArrowDown: [0, 1],
  ArrowLeft: [-1, 0],
};
/** After the last key for so long the hand counts as taken away [ms]. */
const AFTER_KEYS = 900;

/** So far out on its way a handle of the pickup stands [mm]. */
const OUT = 28;

/** Writes what a drag changes; settles when it is in the file. */
export type WriteDrag = (edits: DragTo[]) => Promise<boolean>;

export class Handle {
  readonly element: HTMLButtonElement;
  private readonly words = make("span", {});
  private readonly unpin: () => void;
  private moved = 0;
  private written = 0;
  private isWriting = false;
  private resting = 0;
  /** while a hand or the keys are on it, the picture may change under it but not take it away */
  isHeld = false;

  constructor(
    private readonly drag: Drag,
    private readonly picture: Picture,
    private readonly units: Units,
    private readonly write: WriteDrag,
    private readonly letGo: () => void,
  ) {
    this.element = make("button", { type: "button", class: `handle ${drag.what}` }, this.words);
    // The three ways of the pickup would lie on one spot: each stands a little out on its own way.
    const out = drag.what === "pickup" ? OUT : 0;
    this.unpin = picture.pin(this.element, () => plus(drag.place_mm, drag.axis, this.moved + out));
    this.tell();
    this.element.addEventListener("pointerdown", (event) => { this.take(event); });
    this.element.addEventListener("keydown", (event) => { this.key(event); });
    this.element.addEventListener("blur", () => { if (this.resting) this.rest(); });
  }

  close(): void {
    clearTimeout(this.resting);
    this.unpin();
  }

  get name(): string {
    return this.drag.name;
  }

  private tell(): void {
    const now = lengthWords(this.drag.value_mm + this.moved, this.units);
    this.words.textContent = this.moved ? `${this.drag.name}: ${now}` : this.drag.name;
    this.element.setAttribute("aria-label", `${this.drag.name}, ${now}; arrow keys move it`);
    this.element.classList.toggle("moved", this.moved !== 0);
    this.picture.askToDraw();
  }

  private moveTo(moved: number): void {
    const step = STEP[this.units];
    const value = Math.round((this.drag.value_mm + moved) / step) * step;
    const held = Math.max(this.drag.least_mm, Math.min(this.drag.most_mm, value)) - this.drag.value_mm;
    if (held === this.moved) return;
    this.moved = held;
    this.tell();
    void this.writeNewest();
  }

  /** The newest place goes to the file; what lay between is never sent. */
  private async writeNewest(): Promise<void> {
    if (this.isWriting) return;
    this.isWriting = true;
    while (this.written !== this.moved) {
      const moved = this.moved;
      const to_mm = Number((this.drag.value_mm + moved).toFixed(4));
      const taken = await this.write([{ do: "drag", name: this.drag.name, to_mm }]);
      if (!taken) {
        this.moved = this.written;
        this.tell();
        break;
      }
      this.written = moved;
    }
    this.isWriting = false;
    if (!this.isHeld) this.letGo();
  }

  private take(event: PointerEvent): void {
    event.preventDefault();
    this.element.focus({ preventScroll: true });
    this.element.setPointerCapture(event.pointerId);
    this.isHeld = true;
    const start = { x: event.clientX, y: event.clientY, moved: this.moved };
    const move = (now: PointerEvent): void => {
      const far = this.picture.along(this.drag.axis, this.drag.place_mm, now.clientX - start.x, now.clientY - start.y);
      if (far !== null) this.moveTo(start.moved + far);
    };
    const end = (): void => {
      this.element.removeEventListener("pointermove", move);
      this.rest();
    };
    this.element.addEventListener("pointermove", move);
    this.element.addEventListener("pointerup", end, { once: true });
    this.element.addEventListener("pointercancel", end, { once: true });
  }

  private key(event: KeyboardEvent): void {
    const step = STEP[this.units] * (event.shiftKey ? BIG : 1);
    const way = ARROWS[event.key];
    if (!way && event.key !== "Escape") return;
    const move = way ? step * this.signOf(way) : -this.moved;
    event.preventDefault();
    this.isHeld = true;
    this.moveTo(this.moved + move);
    clearTimeout(this.resting);
    this.resting = window.setTimeout(() => { this.rest(); }, AFTER_KEYS);
  }

  /** Whether the thing goes along its axis or against it when it follows an arrow over the screen. */
  private signOf([dx, dy]: readonly [number, number]): number {
    const far = this.picture.along(this.drag.axis, this.drag.place_mm, dx, dy);
    // Across the screen of its own way: up and right count as along.
    if (far === null || Math.abs(far) < 0.2 * this.picture.millimetresAPixel) return dx > 0 || dy < 0 ? 1 : -1;
    return Math.sign(far);
  }

  private rest(): void {
    clearTimeout(this.resting);
    this.resting = 0;
    this.isHeld = false;
    if (!this.isWriting) this.letGo();
  }
}
