/** A slider over moments or steps that can also run by itself. */

import { make } from "../make";
import { slider } from "./frame";

export class Playing {
  readonly button = make("button", { type: "button", "aria-pressed": "false" }, "play");
  readonly slider: ReturnType<typeof slider>;
  private clock = 0;

  /** `each` is the time from one to the next [ms], `by` how far it goes each time. */
  constructor(
    label: string,
    words: (value: number) => string,
    private readonly moved: (value: number) => void,
    private readonly pace: { each: number; by: number },
  ) {
    this.slider = slider(label, { least: 0, most: 1, step: pace.by, at: 0 }, words, (value) => {
      this.stop();
      moved(value);
    });
    this.button.addEventListener("click", () => {
      if (this.clock) this.stop();
      else this.start();
    });
  }

  get value(): number {
    return Number(this.slider.input.value);
  }

  setMost(most: number): void {
    this.slider.input.max = String(most);
    this.slider.set(Math.min(this.value, most));
  }

  set(value: number): void {
    this.stop();
    this.slider.set(value);
  }

  stop(): void {
    clearInterval(this.clock);
    this.clock = 0;
    this.tell();
  }

  private start(): void {
    const most = Number(this.slider.input.max);
    if (this.value >= most) this.slider.set(0);
    this.clock = window.setInterval(() => {
      const next = Math.min(most, this.value + this.pace.by);
      this.slider.set(next);
      this.moved(next);
      if (next >= most) this.stop();
    }, this.pace.each);
    this.tell();
  }

  private tell(): void {
    this.button.setAttribute("aria-pressed", String(this.clock !== 0));
    this.button.textContent = this.clock ? "stop" : "play";
  }
}
