/** The pan built up step by step as the weld plan has it: parts come on, seams light up, the torch reaches in. */

import { Group, LineSegments, Mesh } from "three";
import { make, newId } from "../make";
import type { BuildPicture, BuildSeam, BuildStep, FindingRow, FlatShape, PartsPicture, TorchAt } from "../messages";
import { type Vector, plus, unit } from "../solid/closed_surface";
import { PictureFrame, slider } from "./frame";
import { PAPER, inks } from "./inks";
import { boxOf, empty, flatMesh } from "./pan_drawing";
import { Picture } from "./picture";
import { Playing } from "./playing";
import { sharpEdges, stretches, tube } from "./shapes";

/** How far a part that is still to come is drawn away, as a share of the pan's size. */
const REACH = 0.26;
/** Half the width of a seam in the picture, as a share of the pan's size. */
const BEAD = 0.0038;
/** Length of filler rod that is drawn [mm]. */
const ROD = 130;
/** Each step of the build in so many of the slider's. */
const FINE = 4;

export class BuildView {
  readonly element = make("div", {});
  private readonly frame: PictureFrame;
  private readonly inks = inks([]);
  private readonly root = new Group();
  private readonly beads = new Group();
  private readonly torch = new Group();
  private readonly groups = new Map<string, Group>();
  private readonly step: Playing;
  private readonly along: ReturnType<typeof slider>;
  private readonly says = make("output", { class: "readout" });
  private readonly none = make("p", { class: "none" });
  private readonly shown = make("div", { hidden: true });
  private readonly order = make("ol", { class: "order" });
  private readonly numbers: HTMLInputElement;
  private pins: (() => void)[] = [];
  private picture: Picture | null = null;
  private parts: readonly FlatShape[] = [];
  private plan: BuildPicture | null = null;
  private rows: readonly Vector[] | null = null;
  private size = 300;
  private isFramed = false;
  private marker: (() => void) | null = null;

  constructor() {
    this.step = new Playing("built up", (value) => this.words(value), () => { this.place(); }, { each: 160, by: 1 / FINE });
    this.along = slider("torch along the seam", { least: 0, most: 1, step: 1, at: 0 }, (value) => this.alongWords(value), () => { this.placeTorch(); });
    this.frame = new PictureFrame(
      "The pan built up in the order of welding",
      (holder) => {
        this.picture = new Picture(holder, PAPER);
        this.picture.engine.add(this.root, this.beads, this.torch);
        return this.picture;
      },
      () => { this.fill(); },
    );
    const id = newId("numbers");
    this.numbers = make("input", { type: "checkbox", id, checked: true });
    this.numbers.addEventListener("change", () => { this.place(); });
    this.frame.controls.append(
      make("div", { class: "line" }, this.step.button, make("span", { class: "choice" }, this.numbers, make("label", { for: id }, "numbers of the seams"))),
      this.step.slider.element,
      this.along.element,
      this.says,
    );
    this.order.addEventListener("click", (event) => {
      const at = (event.target as HTMLElement).closest("button")?.dataset["step"];
      if (at === undefined) return;
      this.step.set(Number(at) + 1);
      this.place();
    });
    this.shown.append(this.frame.element, make("h4", {}, "The order"), this.order);
    this.element.append(this.none, this.shown);
  }

  showParts(picture: PartsPicture, rows: readonly Vector[] | null): void {
    this.parts = picture.parts;
    this.rows = rows;
    this.fill();
  }

  show(plan: BuildPicture): void {
    const isOther = this.plan?.steps.length !== plan.steps.length;
    this.plan = plan;
    this.none.textContent = plan.trouble.join(" ");
    this.shown.hidden = plan.steps.length === 0;
    this.element.classList.toggle("stale", plan.stale);
    this.frame.caption.textContent = `Number: its turn on the weld map. Thick: welded. ${plan.checked}`;
    this.step.setMost(Math.max(1, plan.steps.length));
    if (isOther) this.step.set(plan.steps.length);
    this.order.replaceChildren(
      ...plan.steps.map((step, k) =>
        make(
          "li",
          { class: step.action, "data-step": k },
          make("button", { type: "button", class: "quiet", "data-step": k }, step.says),
          step.place === "bench" && step.action !== "stop" ? make("span", { class: "hint" }, " on the bench") : null,
          step.checks.length ? make("ul", {}, ...step.checks.map((check) => make("li", {}, check))) : null,
        ),
      ),
    );
    this.fill();
  }

  /** Show the place of a finding about welding. */
  showPlace(finding: FindingRow): boolean {
    if (this.shown.hidden) return false;
    const picture = this.frame.ready();
    this.frame.holder.scrollIntoView({ block: "center" });
    const place = finding.place_mm;
    if (!picture || !place) return true;
    this.marker?.();
    this.marker = picture.pin(make("span", { class: "pointer" }, `${finding.code} ${finding.where}`), () => place);
    picture.bringToMiddle(place);
    this.frame.holder.focus({ preventScroll: true });
    return true;
  }

  private fill(): void {
    const { picture, plan } = this;
    if (!picture || !plan) return;
    for (const group of this.groups.values()) empty(group);
    this.groups.clear();
    this.root.clear();
    for (const part of this.parts) {
      const group = new Group();
      const loose = part.triangles.flatMap((k) => part.solid_mm.slice(3 * k, 3 * k + 3));
      group.add(
        flatMesh({ points: part.solid_mm, triangles: part.triangles }, this.inks.part, 0),
        new LineSegments(stretches(sharpEdges(loose)), this.inks.line),
      );
      this.groups.set(part.name, group);
      this.root.add(group);
    }
    const all = this.parts.flatMap((part) => part.solid_mm);
    if (all.length) {
      const [low, high] = boxOf(all);
      this.size = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
      if (!this.isFramed) picture.frame(low, high, 1.35);
      this.isFramed = true;
    }
    if (this.rows) picture.stand(this.rows);
    this.place();
  }

  /** What is done of a step: nothing, all, or a share of it. */
  private shareOf(k: number): number {
    return Math.max(0, Math.min(1, this.step.value - k));
  }

  /** The step that is being done, or was done last. */
  private get at(): number {
    return Math.max(0, Math.ceil(this.step.value) - 1);
  }

  private place(): void {
    const { plan } = this;
    if (!plan) return;
    const now = this.step.value > 0 ? plan.steps[this.at] : undefined;
    const come = new Map<string, number>();
    plan.steps.forEach((step, k) => {
      if (step.action === "set") for (const name of step.parts) come.set(name, Math.max(come.get(name) ?? 0, this.shareOf(k)));
    });
    for (const part of this.parts) {
      const group = this.groups.get(part.name);
      if (!group) continue;
      const far = this.size * REACH * (1 - (come.get(part.name) ?? 1));
      group.position.set(part.apart[0] * far, part.apart[1] * far, part.apart[2] * far);
      const isNow = now?.action === "set" && now.parts.includes(part.name);
      for (const thing of group.children) if (thing instanceof Mesh) thing.material = isNow ? this.inks.partNow : this.inks.part;
    }
    this.lightSeams(plan, now);
    this.tell(plan, now);
    const holds = now?.holds.length ?? 0;
    this.along.input.max = String(Math.max(1, holds - 1));
    this.along.input.disabled = holds < 2;
    if (Number(this.along.input.value) > holds - 1) this.along.set(0);
    this.along.set(Number(this.along.input.value));
    this.placeTorch();
  }

  /** Welded seams thick and dark, the one that is welded now lit, each with its number. */
  private lightSeams(plan: BuildPicture, now: BuildStep | undefined): void {
    const { picture } = this;
    empty(this.beads);
    for (const unpin of this.pins.splice(0)) unpin();
    if (!picture) return;
    const done = new Map<number, number>();
    plan.steps.forEach((step, k) => {
      if (step.seam !== null) done.set(step.seam, Math.max(done.get(step.seam) ?? 0, this.shareOf(k)));
    });
    plan.seams.forEach((seam, k) => {
      const share = done.get(k) ?? 0;
      const isNow = now?.seam === k;
      if (share > 0) {
        const bead = tube(stretch(seam, share), this.size * BEAD * (isNow ? 1.5 : 1));
        this.beads.add(flatMesh(bead, isNow ? this.inks.beadNow : this.inks.bead, 2));
      }
      if (seam.turn === null || !(this.numbers.checked || isNow) || share === 0) return;
      const middle = midOf(seam);
      this.pins.push(picture.pin(make("span", { class: isNow ? "turn now" : "turn" }, String(seam.turn)), () => middle));
    });
    picture.askToDraw();
  }

  private placeTorch(): void {
    empty(this.torch);
    const { plan, picture } = this;
    const now = this.step.value > 0 ? plan?.steps[this.at] : undefined;
    const hold = now?.holds[Number(this.along.input.value)];
    if (plan?.torch && hold) this.drawTorch(hold, plan.torch);
    picture?.askToDraw();
  }

  private drawTorch(hold: TorchAt, torch: NonNullable<BuildPicture["torch"]>): void {
    const out = (far: number): Vector => plus(hold.tip_mm, hold.axis, far);
    const cup = out(hold.stick_out_mm);
    const neck = out(hold.stick_out_mm + torch.cup_length_mm);
    const solid = (path: readonly Vector[], radius: number): void => {
      this.torch.add(flatMesh(tube(path, radius), this.inks.torch, 3));
    };
    solid([hold.tip_mm, cup], 1.2);
    solid([cup, neck], torch.cup_mm / 2);
    if (torch.back_cap_mm > 0) solid([neck, out(hold.stick_out_mm + torch.cup_length_mm + torch.back_cap_mm)], torch.body_mm / 2);
    solid([neck, plus(neck, hold.body, torch.body_length_mm)], torch.body_mm / 2);
    if (hold.rod) solid([hold.tip_mm, plus(hold.tip_mm, unit(hold.rod), Math.min(ROD, torch.rod_mm ?? ROD))], 1.2);
  }

  private tell(plan: BuildPicture, now: BuildStep | undefined): void {
    this.says.textContent = now ? `Step ${this.at + 1} of ${plan.steps.length}: ${now.says}.` : "Nothing is set yet.";
    for (const item of this.order.children) {
      const k = Number((item as HTMLElement).dataset["step"]);
      const isNow = now !== undefined && k === this.at;
      item.querySelector("button")?.setAttribute("aria-current", isNow ? "step" : "false");
      item.classList.toggle("to-come", k > this.at || now === undefined);
      if (isNow) this.bringUp(item as HTMLElement);
    }
  }

  /** Keep the step in view within its own list; the sheet itself stays where it is. */
  private bringUp(item: HTMLElement): void {
    const { order } = this;
    const top = item.offsetTop - order.offsetTop;
    if (top < order.scrollTop || top + item.offsetHeight > order.scrollTop + order.clientHeight) order.scrollTop = top - 40;
  }

  private words(value: number): string {
    const count = this.plan?.steps.length ?? 0;
    return value <= 0 ? "all apart" : value >= count ? "all on" : `step ${Math.ceil(value)} of ${count}`;
  }

  private alongWords(k: number): string {
    const now = this.plan?.steps[this.at];
    const hold = now?.holds[k];
    return hold ? `${Math.round(hold.at_mm)} mm from its start` : "no weld now";
  }
}

/** The first share of a seam's line. */
function stretch(seam: BuildSeam, share: number): Vector[] {
  const points = pointsOf(seam);
  if (share >= 1 || points.length < 2) return points;
  let left = share * lengthOf(points);
  const out: Vector[] = [points[0]!];
  for (let k = 0; k + 1 < points.length && left > 0; k++) {
    const far = Math.hypot(...plus(points[k + 1]!, points[k]!, -1));
    out.push(far <= left ? points[k + 1]! : plus(points[k]!, plus(points[k + 1]!, points[k]!, -1), left / far));
    left -= far;
  }
  return out;
}

function pointsOf(seam: BuildSeam): Vector[] {
  const points: Vector[] = [];
  for (let k = 0; k + 2 < seam.path_mm.length; k += 3) points.push([seam.path_mm[k]!, seam.path_mm[k + 1]!, seam.path_mm[k + 2]!]);
  return points;
}

function lengthOf(points: readonly Vector[]): number {
  let sum = 0;
  for (let k = 0; k + 1 < points.length; k++) sum += Math.hypot(...plus(points[k + 1]!, points[k]!, -1));
  return sum;
}

function midOf(seam: BuildSeam): Vector {
  const half = stretch(seam, 0.5);
  return half[half.length - 1] ?? [0, 0, 0];
}
