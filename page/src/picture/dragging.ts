/** What can be taken by hand in the picture: a floor, a wall, a door, the pickup. */

import { make } from "../make";
import type { Drag } from "../messages";
import type { Vector } from "../solid/closed_surface";
import { type Units, lengthWords } from "../words";
import type { Picture } from "./picture";

/** Steps in which a hand or a key moves a thing [mm]; a typed value knows no steps. */
const STEP = 1;
const BIG_STEP = 10;
/** After the last key for so long the new value is written [ms]. */
const AFTER_KEYS = 700;

export class Handle {
  readonly element: HTMLButtonElement;
  private readonly words = make("span", {});
  private moved = 0;
  private writing = 0;
  private readonly unpin: () => void;

  constructor(
    private readonly drag: Drag,
    private readonly picture: Picture,
    private readonly units: Units,
    private readonly write: (drag: Drag, mm: number) => void,
  ) {
    this.element = make("button", { type: "button", class: "handle" }, this.words);
    this.unpin = picture.pin(this.element, () => this.place);
    this.tell();
    this.element.addEventListener("pointerdown", (event) => { this.take(event); });
    this.element.addEventListener("keydown", (event) => { this.key(event); });
    this.element.addEventListener("blur", () => { if (this.writing) this.finish(); });
  }

  close(): void {
    clearTimeout(this.writing);
    this.unpin();
  }

  private get value(): number {
    return this.drag.value_mm + this.moved;
  }

  private get place(): Vector {
    const { place_mm: p, axis } = this.drag;
    return [p[0] + axis[0] * this.moved, p[1] + axis[1] * this.moved, p[2] + axis[2] * this.moved];
  }

  private tell(): void {
    const now = lengthWords(this.value, this.units);
    this.words.textContent = this.moved ? `${this.drag.name}: ${lengthWords(this.drag.value_mm, this.units)} → ${now}` : this.drag.name;
    this.element.setAttribute("aria-label", `${this.drag.name}, ${now}; arrow keys move it`);
    this.element.classList.toggle("moved", this.moved !== 0);
    this.picture.askToDraw();
  }

  private moveTo(moved: number): void {
    const value = Math.round((this.drag.value_mm + moved) / STEP) * STEP;
    this.moved = Math.max(this.drag.least_mm, Math.min(this.drag.most_mm, value)) - this.drag.value_mm;
    this.tell();
  }

  private take(event: PointerEvent): void {
    event.preventDefault();
    this.element.focus({ preventScroll: true });
    this.element.setPointerCapture(event.pointerId);
    const start = { x: event.clientX, y: event.clientY, moved: this.moved };
    const move = (now: PointerEvent): void => {
      const far = this.picture.along(this.drag.axis, this.drag.place_mm, now.clientX - start.x, now.clientY - start.y);
      if (far !== null && far !== 0) this.moveTo(start.moved + far);
    };
    const end = (): void => {
      this.element.removeEventListener("pointermove", move);
      if (this.moved !== start.moved) this.finish();
    };
    this.element.addEventListener("pointermove", move);
    this.element.addEventListener("pointerup", end, { once: true });
    this.element.addEventListener("pointercancel", end, { once: true });
  }

  private key(event: KeyboardEvent): void {
    const step = event.shiftKey ? BIG_STEP : STEP;
    const moves: Record<string, number> = { ArrowUp: step, ArrowRight: step, ArrowDown: -step, ArrowLeft: -step };
    if (event.key === "Escape") this.moveTo(0);
    else if (event.key === "Enter" && this.moved) this.finish();
    else {
      const move = moves[event.key];
      if (move === undefined) return;
      this.moveTo(this.moved + move);
      clearTimeout(this.writing);
      this.writing = window.setTimeout(() => { this.finish(); }, AFTER_KEYS);
    }
    event.preventDefault();
  }

  private finish(): void {
    clearTimeout(this.writing);
    this.writing = 0;
    if (!this.moved) return;
    this.write(this.drag, Number(this.value.toFixed(3)));
  }
}
