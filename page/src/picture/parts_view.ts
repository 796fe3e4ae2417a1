/** The parts at their place, drawn apart along the order in which they are welded. */

import { Group, LineSegments, Mesh } from "three";
import type { FindingRow, FlatShape, PartsPicture } from "../messages";
import { make } from "../make";
import type { Vector } from "../solid/closed_surface";
import { PictureFrame, slider } from "./frame";
import { PAPER, inks } from "./inks";
import { boxOf, empty, flatMesh } from "./pan_drawing";
import { Picture } from "./picture";
import { sharpEdges, stretches } from "./shapes";

/** How far a part is drawn away from its place, as a share of the pan's size. */
const REACH = 0.42;

export class PartsView {
  readonly frame: PictureFrame;
  private readonly inks = inks([]);
  private readonly root = new Group();
  private readonly groups = new Map<string, Group>();
  private readonly says = make("output", { class: "readout" });
  private readonly apart: ReturnType<typeof slider>;
  private picture: Picture | null = null;
  private parts: readonly FlatShape[] = [];
  private size = 300;
  private marker: (() => void) | null = null;
  /** called with the name of the part that goes on now */
  partChanged: (name: string) => void = () => undefined;

  constructor() {
    this.apart = slider("drawn apart", { least: 0, most: 1, step: 0.02, at: 0 }, (value) => this.words(value), () => { this.place(); });
    this.frame = new PictureFrame(
      "The parts",
      (holder) => {
        this.picture = new Picture(holder, PAPER);
        this.picture.engine.add(this.root);
        return this.picture;
      },
      () => { this.fill(true); },
    );
    this.frame.controls.append(this.apart.element, this.says);
  }

  show(picture: PartsPicture, rows: readonly Vector[] | null): void {
    const isFirst = this.parts.length === 0;
    this.parts = [...picture.parts].sort((a, b) => a.step - b.step);
    const steps = Math.max(1, ...this.parts.map((part) => part.step));
    this.apart.input.max = String(steps);
    this.apart.set(Math.min(Number(this.apart.input.value), steps));
    this.rows = rows;
    if (this.picture) this.fill(isFirst);
  }

  private rows: readonly Vector[] | null = null;

  showPlace(finding: FindingRow): void {
    const picture = this.frame.ready();
    this.frame.holder.scrollIntoView({ block: "center" });
    const place = finding.place_mm;
    if (!picture || !place) return;
    this.marker?.();
    this.marker = picture.pin(make("span", { class: "pointer" }, `${finding.code} ${finding.where}`), () => place);
    picture.bringToMiddle(place);
    this.frame.holder.focus({ preventScroll: true });
  }

  private fill(isFirst: boolean): void {
    const { picture } = this;
    if (!picture) return;
    for (const group of this.groups.values()) empty(group);
    this.groups.clear();
    this.root.clear();
    for (const part of this.parts) {
      const group = new Group();
      const metal = flatMesh({ points: part.solid_mm, triangles: part.triangles }, this.inks.part, 0);
      const loose = part.triangles.flatMap((k) => part.solid_mm.slice(3 * k, 3 * k + 3));
      group.add(metal, new LineSegments(stretches(sharpEdges(loose)), this.inks.line));
      this.groups.set(part.name, group);
      this.root.add(group);
    }
    const all = this.parts.flatMap((part) => part.solid_mm);
    if (all.length) {
      const [low, high] = boxOf(all);
      this.size = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
      if (isFirst) picture.frame(low, high, 1.15);
    }
    if (this.rows) picture.stand(this.rows);
    this.place();
  }

  /** Parts up to the slider are drawn away, the last to be welded first. */
  private place(): void {
    const value = Number(this.apart.input.value);
    const last = Number(this.apart.input.max);
    const now = this.current(value);
    for (const part of this.parts) {
      const group = this.groups.get(part.name);
      if (!group) continue;
      const share = Math.max(0, Math.min(1, value - (last - part.step)));
      const far = this.size * REACH * share;
      group.position.set(part.apart[0] * far, part.apart[1] * far, part.apart[2] * far);
      for (const thing of group.children) {
        if (thing instanceof Mesh) thing.material = now?.step === part.step ? this.inks.partNow : this.inks.part;
      }
    }
    const built = this.parts.filter((part) => part.step <= last - value).length;
    this.says.textContent = now
      ? `${built} of ${this.parts.length} on. Next to go on: ${this.parts.filter((part) => part.step === now.step).map((part) => part.name).join(", ")} (darker).`
      : "All parts are on.";
    if (now) this.partChanged(now.name);
    this.picture?.askToDraw();
  }

  /** The part that is drawn away now; null while all are on. */
  private current(value: number): FlatShape | null {
    if (value <= 0) return null;
    const step = Number(this.apart.input.max) - Math.ceil(value) + 1;
    return this.parts.find((part) => part.step === step) ?? null;
  }

  private words(value: number): string {
    return value <= 0 ? "all parts on" : `${Math.ceil(value)} ${Math.ceil(value) === 1 ? "step" : "steps"} taken back`;
  }
}
