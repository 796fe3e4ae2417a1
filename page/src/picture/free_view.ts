/** The free surface's own run played in the pan, any moment of it. */

import { Refused } from "../link";
import { make, newId } from "../make";
import type { PanPicture, ReplayPicture } from "../messages";
import { stamp } from "../sheet/says";
import { fieldSurface } from "../solid/field_surface";
import { type Units, lengthWords, plain } from "../words";
import { PanView } from "./pan_view";
import { Playing } from "./playing";
import { ReplayFile } from "./replay_file";

/** Moments shown in a second while it plays. */
const A_SECOND = 12;

export class FreeView {
  readonly element = make("div", {});
  private readonly view = new PanView("The oil as it really moves", {
    handles: false,
    layers: ["walls and doors", "pickup and dipstick"],
    hidden: ["crank sweep", "keep-outs and ground"],
    over: 0.5,
  });
  private readonly choice = make("select", { id: newId("run") });
  private readonly moment: Playing;
  private readonly says = make("output", { class: "readout" });
  private readonly none = make("p", { class: "none" });
  private readonly shown = make("div", { hidden: true });
  private files: readonly ReplayFile[] = [];
  private units: Units = "mm";
  private isFetching = false;
  private isNewer = false;

  constructor() {
    this.moment = new Playing("moment", (k) => `${plain(this.file?.run.times_s[k] ?? 0, 2)} s`, () => { this.draw(); }, { each: 1000 / A_SECOND, by: 1 });
    this.choice.addEventListener("change", () => { this.begin(); });
    const worst = make("button", { type: "button", onclick: () => { this.toWorst(); } }, "to the worst moment");
    this.shown.append(
      make("div", { class: "line" }, make("label", { for: this.choice.id }, "Manoeuvre"), this.choice, this.moment.button, worst),
      this.moment.slider.element,
      this.says,
      this.view.frame.element,
    );
    this.element.append(make("h4", {}, "The oil as it really moves"), this.none, this.shown);
  }

  setPan(pan: PanPicture, units: Units): void {
    this.units = units;
    this.view.show(pan, units);
  }

  show(picture: ReplayPicture): void {
    const chosen = this.choice.value;
    this.moment.stop();
    this.none.textContent = picture.why_not;
    this.files = picture.runs.map((run) => new ReplayFile(run));
    this.shown.hidden = this.files.length === 0;
    this.choice.replaceChildren(...picture.runs.map((run) => make("option", {}, run.name)));
    if (picture.runs.some((run) => run.name === chosen)) this.choice.value = chosen;
    if (this.files.length) this.begin();
  }

  private get file(): ReplayFile | undefined {
    return this.files[Math.max(0, this.choice.selectedIndex)];
  }

  private begin(): void {
    this.moment.setMost(Math.max(1, (this.file?.count ?? 1) - 1));
    this.moment.set(0);
    this.draw();
  }

  private toWorst(): void {
    const cover = this.file?.run.cover_mm ?? [];
    this.moment.set(Math.max(0, cover.indexOf(Math.min(...cover))));
    this.draw();
  }

  /** One moment at a time; what was asked for meanwhile comes next, the newest only. */
  private draw(): void {
    if (this.isFetching) this.isNewer = true;
    else void this.drawNow();
  }

  private async drawNow(): Promise<void> {
    const { file } = this;
    if (!file) return;
    const k = this.moment.value;
    this.isFetching = true;
    try {
      const shares = await file.shares(k);
      this.view.setField((kept) => fieldSurface(file.grid, shares, kept));
      this.tell(file, k, shares);
    } catch (trouble) {
      if (!(trouble instanceof Refused)) throw trouble;
      this.moment.stop();
      this.says.textContent = trouble.message;
    } finally {
      this.isFetching = false;
      if (this.isNewer) {
        this.isNewer = false;
        this.draw();
      }
    }
  }

  private tell(file: ReplayFile, k: number, shares: Float32Array): void {
    const cover = file.run.cover_mm[k] ?? 0;
    this.view.frame.holder.dataset["cellsDrawn"] = String(shares.reduce((sum, share) => sum + Number(share >= 0.5), 0));
    this.says.replaceChildren(
      stamp(file.run.verdict),
      ` ${cover < 0 ? `The mouth stands ${lengthWords(-cover, this.units, this.units === "mm" ? 0 : 2)} out of the oil` : `${lengthWords(cover, this.units, this.units === "mm" ? 0 : 2)} of oil over the mouth`}, after ${plain(file.run.times_s[k] ?? 0, 2)} s. Cells of ${lengthWords(file.grid.cell, this.units)}; drawn is every cell that is at least half full.`,
    );
  }
}
