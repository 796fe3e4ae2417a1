/** A driven manoeuvre played in the pan: every compartment with its own surface, doors opening. */

import { make, newId } from "../make";
import type { PanPicture, ReplayFrames, TracesPicture } from "../messages";
import { type ClosedSurface, type Vector, cut } from "../solid/closed_surface";
import { triangulate } from "../solid/oil_solid";
import { type Units, lengthWords, plain } from "../words";
import { slider } from "./frame";
import { PanView } from "./pan_view";

/** Moments shown in a second while it plays. */
const A_SECOND = 15;

export class DrivenView {
  readonly element = make("div", { hidden: true });
  private readonly view = new PanView("The pan while it is driven", {
    handles: false,
    layers: ["walls and doors", "pickup and dipstick"],
    hidden: ["crank sweep", "keep-outs and ground"],
    over: 0.5,
  });
  private readonly choice = make("select", { id: newId("run") });
  private readonly moment: ReturnType<typeof slider>;
  private readonly playing = make("button", { type: "button", "aria-pressed": "false" }, "play");
  private readonly says = make("output", { class: "readout" });
  private replays: readonly ReplayFrames[] = [];
  private chambers: readonly ClosedSurface[] = [];
  private names: readonly string[] = [];
  private units: Units = "mm";
  private clock = 0;

  constructor() {
    this.moment = slider("moment", { least: 0, most: 1, step: 1, at: 0 }, (k) => `${plain(this.run?.times_s[k] ?? 0, 2)} s`, () => { this.draw(); });
    this.choice.addEventListener("change", () => { this.begin(); });
    this.playing.addEventListener("click", () => { this.play(this.clock === 0); });
    this.element.append(
      make("h4", {}, "Drive it again"),
      make("div", { class: "line" }, make("label", { for: this.choice.id }, "Manoeuvre"), this.choice, this.playing),
      this.moment.element,
      this.says,
      this.view.frame.element,
    );
  }

  setPan(pan: PanPicture, units: Units): void {
    this.units = units;
    this.view.show(pan, units);
    if (this.replays.length) this.draw();
  }

  show(traces: TracesPicture): void {
    const chosen = this.choice.value;
    this.play(false);
    this.replays = traces.chambers.length ? traces.replays : [];
    this.names = traces.chambers.map((chamber) => chamber.name);
    this.chambers = traces.chambers.map((chamber) => ({
      points: Float64Array.from(chamber.vertices_mm),
      triangles: Uint32Array.from(chamber.triangles),
    }));
    this.element.hidden = this.replays.length === 0;
    this.choice.replaceChildren(...this.replays.map((replay) => make("option", {}, replay.name)));
    if (this.replays.some((replay) => replay.name === chosen)) this.choice.value = chosen;
    if (this.replays.length) this.begin();
  }

  private get run(): ReplayFrames | undefined {
    return this.replays[Math.max(0, this.choice.selectedIndex)];
  }

  private begin(): void {
    this.moment.input.max = String((this.run?.times_s.length ?? 1) - 1);
    this.moment.set(0);
    this.draw();
  }

  private play(on: boolean): void {
    clearInterval(this.clock);
    this.clock = 0;
    this.playing.setAttribute("aria-pressed", String(on));
    this.playing.textContent = on ? "stop" : "play";
    if (!on) return;
    this.clock = window.setInterval(() => {
      const next = Number(this.moment.input.value) + 1;
      if (next > Number(this.moment.input.max)) {
        this.play(false);
        return;
      }
      this.moment.set(next);
      this.draw();
    }, 1000 / A_SECOND);
  }

  private draw(): void {
    const { run } = this;
    if (!run) return;
    const k = Number(this.moment.input.value);
    const count = this.chambers.length;
    const pieces = this.chambers.map((chamber, c) => {
      const at = (k * count + c) * 3;
      const up: Vector = [run.up[at]!, run.up[at + 1]!, run.up[at + 2]!];
      const level_mm = run.level_mm[k * count + c]!;
      return { solid: cut(chamber, { normal: up, offset: level_mm }, triangulate), up, level_mm };
    });
    this.view.setMoment(pieces);
    const cover = run.cover_mm[k] ?? 0;
    const open = run.doors.filter((_, d) => (run.doors_open[k * run.doors.length + d] ?? 0) > 0.5);
    this.says.textContent =
      `${cover < 0 ? `The mouth stands ${lengthWords(-cover, this.units)} out of the oil` : `${lengthWords(cover, this.units)} of oil over the mouth`}` +
      `${run.doors.length ? `; open: ${open.length ? open.join(", ") : "no door"}` : ""}. Compartments: ${this.names.join(", ")}.`;
  }
}
