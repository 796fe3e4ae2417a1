/** The pan in the sheet: turned, cut away, measured, dragged, and filled with oil. */

import { make, newId } from "../make";
import type { FindingRow, LeanAnswer, LeanRequest, PanPicture } from "../messages";
import { type ClosedSurface, type CutSurface, type HalfSpace, type Vector, dot, volumeOf } from "../solid/closed_surface";
import { oilSolid, surfaceLines } from "../solid/oil_solid";
import { openTopOf } from "../solid/pan_solid";
import type { Units } from "../words";
import { CutAway } from "./cut_away";
import { Handle, type WriteDrag } from "./dragging";
import { PictureFrame } from "./frame";
import { PAPER } from "./inks";
import { Measuring } from "./measuring";
import { type Layer, type OilPiece, PanDrawing } from "./pan_drawing";
import { Picture } from "./picture";

export class PanView {
  readonly frame: PictureFrame;
  private readonly cutAway = new CutAway(() => { this.redraw(); });
  private drawing: PanDrawing | null = null;
  private picture: Picture | null = null;
  private measuring: Measuring | null = null;
  private pan: PanPicture | null = null;
  private openTop: ClosedSurface | null = null;
  private units: Units = "mm";
  private lean: { asked: LeanRequest; answer: LeanAnswer } | null = null;
  private oil: CutSurface | null = null;
  private moment: readonly OilPiece[] | null = null;
  private field: ((kept: HalfSpace | null) => ClosedSurface) | null = null;
  private handles: Handle[] = [];
  private marker: (() => void) | null = null;
  private readonly hidden: Set<Layer>;
  /** writes what a dragged thing changes */
  writeDrag: WriteDrag = () => Promise.resolve(false);

  constructor(
    name: string,
    private readonly options: { handles: boolean; hidden: readonly Layer[]; layers: readonly Layer[]; over: number },
  ) {
    this.hidden = new Set(options.hidden);
    this.frame = new PictureFrame(
      name,
      (holder) => {
        const picture = new Picture(holder, PAPER, options.over);
        this.picture = picture;
        this.drawing = new PanDrawing();
        picture.engine.add(this.drawing.root);
        this.measuring = new Measuring(picture, holder, this.drawing.measureInk, () => ({
          touchable: this.drawing?.touchable ?? [],
          corners: this.pan?.vertices_mm ?? [],
          cuts: this.drawing?.cuts ?? [],
        }));
        this.frame.controls.append(this.measuring.element);
        return picture;
      },
      () => {
        if (this.pan) this.take(this.pan, true);
      },
    );
    this.frame.controls.append(this.layerChoices(), this.cutAway.element);
  }

  show(pan: PanPicture, units: Units): void {
    const isFirst = this.pan === null;
    this.pan = pan;
    this.units = units;
    this.openTop = pan.faces.length ? openTopOf(pan) : null;
    if (this.picture) this.take(pan, isFirst);
  }

  /** Oil as answered for a way of standing. */
  setLean(asked: LeanRequest, answer: LeanAnswer): void {
    this.lean = { asked, answer };
    if (!this.picture || !this.pan) return;
    this.picture.stand(standing(this.pan, asked));
    this.redraw();
  }

  /** Move the picture to where a finding is. */
  showPlace(finding: FindingRow): void {
    const place = finding.place_mm;
    const picture = this.frame.ready();
    this.frame.holder.scrollIntoView({ block: "center" });
    if (!picture || !place) return;
    this.marker?.();
    const label = make("span", { class: `pointer` }, `${finding.code} ${finding.where}`);
    this.marker = picture.pin(label, () => place);
    picture.bringToMiddle(place);
    this.frame.holder.focus({ preventScroll: true });
  }

  private take(pan: PanPicture, isFirst: boolean): void {
    const { picture, drawing } = this;
    if (!picture || !drawing) return;
    drawing.setPan(pan);
    for (const name of this.hidden) drawing.layer(name).visible = false;
    if (this.measuring) this.measuring.units = this.units;
    if (pan.vertices_mm.length) {
      const [low, high] = drawing.box;
      this.cutAway.setBox(low, high);
      if (isFirst) picture.frame(low, high);
    }
    picture.stand(standing(pan, this.lean?.asked));
    this.placeHandles();
    this.redraw();
  }

  /** A handle for everything that can be dragged; one that is held stays until it is let go. */
  private placeHandles(): void {
    const { picture, pan } = this;
    if (!picture || !pan || !this.options.handles || this.handles.some((handle) => handle.isHeld)) return;
    const inHand = this.handles.find((handle) => handle.element === document.activeElement)?.name;
    for (const handle of this.handles.splice(0)) handle.close();
    this.handles = pan.drags.map(
      (drag) => new Handle(drag, picture, this.units, (edits) => this.writeDrag(edits), () => { this.placeHandles(); }),
    );
    this.handles.find((handle) => handle.name === inHand)?.element.focus({ preventScroll: true });
  }

  /** Oil of a moment that was driven: every compartment with its own surface. */
  setMoment(pieces: readonly OilPiece[]): void {
    this.moment = pieces;
    this.redraw();
  }

  /** Oil as a body of its own, made anew for every cut. */
  setField(make: (kept: HalfSpace | null) => ClosedSurface): void {
    this.field = make;
    this.redraw();
  }

  /** Oil and cut, after either has changed. */
  private redraw(): void {
    const { picture, drawing, pan } = this;
    if (!picture || !drawing || !pan) return;
    this.cutAway.apply(drawing.cuts, picture);
    const kept = this.cutAway.kept;
    if (this.field) {
      drawing.setOil([{ solid: this.field(kept), up: [0, 0, 1], level_mm: NaN }], [], kept);
    } else if (this.moment) {
      drawing.setOil(this.moment.map((piece) => ({ ...piece, solid: this.cutAway.open(piece.solid) })), [], kept);
    } else if (this.lean && this.openTop) {
      const { answer } = this.lean;
      this.oil = oilSolid(this.openTop, answer);
      this.tellWhatIsDrawn(this.lean);
      const level_mm = answer.surfaces.find((surface) => surface.shared)?.level_mm ?? NaN;
      drawing.setOil(
        this.oil ? [{ solid: this.cutAway.open(this.oil), up: answer.up, level_mm }] : [],
        surfaceLines(answer.surfaces),
        kept,
      );
    }
    picture.askToDraw();
  }

  /** What the picture truly shows, for whoever wants to check it: litres drawn, and how the surface slopes. */
  private tellWhatIsDrawn({ asked, answer }: { asked: LeanRequest; answer: LeanAnswer }): void {
    if (!this.pan) return;
    const litres = (this.oil ? volumeOf(this.oil) : 0) / 1e6;
    const upright = standing(this.pan, asked)[2]!;
    const slope = Math.acos(Math.max(-1, Math.min(1, dot(upright, answer.up))));
    const { dataset } = this.frame.holder;
    dataset["litresDrawn"] = litres.toFixed(4);
    dataset["surfaceSlope"] = ((slope * 180) / Math.PI).toFixed(3);
  }

  private layerChoices(): HTMLElement {
    const boxes = this.options.layers.map((name) => {
      const id = newId("layer");
      const box = make("input", { type: "checkbox", id, checked: !this.hidden.has(name) });
      box.addEventListener("change", () => {
        if (box.checked) this.hidden.delete(name);
        else this.hidden.add(name);
        if (this.drawing) this.drawing.layer(name).visible = box.checked;
        this.picture?.askToDraw();
      });
      return make("span", { class: "choice" }, box, make("label", { for: id }, name));
    });
    return make("fieldset", { class: "line" }, make("legend", {}, "Shown"), ...boxes);
  }
}

/**
 * Rows of the rotation from the engine's axes to the level world's: the engine in its
 * vehicle, then the vehicle nose up, then leaned to the right, each about the axis that the
 * one before left behind.
 */
export function standing(pan: PanPicture, lean?: LeanRequest): Vector[] {
  const nose = ((lean?.nose_up_deg ?? 0) * Math.PI) / 180;
  const over = ((lean?.lean_right_deg ?? 0) * Math.PI) / 180;
  const [cn, sn, cl, sl] = [Math.cos(nose), Math.sin(nose), Math.cos(over), Math.sin(over)];
  const slope: Vector[] = [
    [cn, -sn * sl, -sn * cl],
    [0, cl, -sl],
    [sn, cn * sl, cn * cl],
  ];
  const columns = [0, 1, 2].map((axis): Vector => [pan.forward[axis]!, pan.left[axis]!, pan.up[axis]!]);
  return slope.map((row): Vector => [dot(row, columns[0]!), dot(row, columns[1]!), dot(row, columns[2]!)]);
}
