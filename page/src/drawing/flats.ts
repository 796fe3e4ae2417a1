/** One flat part with its sizes, as the cutter will see it. */

import { draw, make, newId } from "../make";
import type { FlatShape, PartsPicture } from "../messages";
import { type Units, lengthWords, plain } from "../words";

/** Sides shorter than this share of the part get no size in the drawing. */
const WORTH_WRITING = 0.07;

export class Flats {
  readonly element = make("figure", { class: "drawing flats" });
  private readonly choice = make("select", {});
  private readonly sheet = make("div", {});
  private picture: PartsPicture | null = null;
  private units: Units = "mm";

  constructor() {
    this.choice.id = newId("part");
    this.choice.addEventListener("change", () => { this.drawChosen(); });
    const step = (by: number): void => {
      const count = this.choice.options.length;
      if (!count) return;
      this.choice.selectedIndex = (this.choice.selectedIndex + by + count) % count;
      this.drawChosen();
    };
    this.element.append(
      make(
        "div",
        { class: "line" },
        make("label", { for: this.choice.id }, "Flat part"),
        this.choice,
        make("button", { type: "button", onclick: () => { step(-1); } }, "the one before"),
        make("button", { type: "button", onclick: () => { step(1); } }, "the next"),
      ),
      this.sheet,
    );
  }

  show(picture: PartsPicture, units: Units): void {
    const chosen = this.choice.value;
    this.picture = picture;
    this.units = units;
    this.choice.replaceChildren(...picture.parts.map((part) => make("option", { value: part.name }, part.name)));
    if (picture.parts.some((part) => part.name === chosen)) this.choice.value = chosen;
    this.drawChosen();
  }

  choose(name: string): void {
    this.choice.value = name;
    this.drawChosen();
  }

  private drawChosen(): void {
    const part = this.picture?.parts.find((one) => one.name === this.choice.value);
    this.sheet.replaceChildren(
      ...(part
        ? [flatDrawing(part, this.units), stockWords(part, this.units)]
        : [make("p", { class: "none" }, this.picture?.trouble.join(" ") || "No parts yet.")]),
    );
  }
}

function stockWords(part: FlatShape, units: Units): HTMLElement {
  const mass = units === "mm" ? `${plain(part.mass_kg, 2)} kg` : `${plain(part.mass_kg / 0.45359237, 2)} lb`;
  return make(
    "figcaption",
    {},
    `${part.name}: ${part.material}, ${lengthWords(part.thickness_mm, units)} thick, ${part.quantity} off, ${mass}. `,
    `${part.seen_from.charAt(0).toUpperCase()}${part.seen_from.slice(1)}. ${part.note}`,
  );
}

function flatDrawing(part: FlatShape, units: Units): SVGSVGElement {
  const outline = pairs(part.outline_mm);
  const xs = outline.map((p) => p[0]);
  const ys = outline.map((p) => -p[1]);
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  // A long thin part would get huge letters by its height, a square one tiny by its width.
  const letter = Math.max((right - left) / 52, (bottom - top) / 26);
  const room = letter * 4.2;
  const drawing = draw("svg", {
    viewBox: `${left - room} ${top - room * 0.6} ${right - left + 1.7 * room} ${bottom - top + 1.75 * room}`,
    role: "img",
    "aria-label": `Flat of ${part.name}, ${lengthWords(right - left, units)} by ${lengthWords(bottom - top, units)}`,
  });
  drawing.append(draw("path", { class: "metal", d: [part.outline_mm, ...part.cut_outs_mm].map(path).join(""), "fill-rule": "evenodd" }));
  for (const mark of part.marks) {
    for (const line of mark.lines_mm) drawing.append(draw("path", { class: "etched", d: openPath(line) }));
  }
  for (const fold of part.folds) {
    const [a, b] = [fold.start_mm, fold.end_mm];
    drawing.append(
      draw("line", { class: "fold", x1: a[0], y1: -a[1], x2: b[0], y2: -b[1] }),
      words(`fold ${fold.order}: ${fold.words}`, (a[0] + b[0]) / 2, -(a[1] + b[1]) / 2 - letter * 0.3, letter * 0.8),
    );
  }
  for (const hole of part.holes) {
    const [x, y] = [hole.x_mm, -hole.y_mm];
    drawing.append(draw("circle", { class: "hole", cx: x, cy: y, r: hole.diameter_mm / 2 }));
    const size = `${hole.label} ⌀ ${lengthWords(hole.diameter_mm, units)}`.trim();
    drawing.append(words(part.holes.length > 12 ? hole.label : size, x, y - hole.diameter_mm / 2 - letter * 0.3, letter * 0.75));
  }
  addSides(drawing, outline, letter, units);
  for (const cutOut of part.cut_outs_mm) addSides(drawing, pairs(cutOut), letter * 0.85, units);
  const below = bottom + letter * 2.6;
  const beside = left - letter * 2.6;
  const tick = letter * 0.35;
  drawing.append(
    draw("path", {
      class: "thin",
      d: `M${left} ${below}H${right}M${left} ${below - tick}v${2 * tick}M${right} ${below - tick}v${2 * tick}M${beside} ${top}V${bottom}M${beside - tick} ${top}h${2 * tick}M${beside - tick} ${bottom}h${2 * tick}`,
    }),
    words(lengthWords(right - left, units), (left + right) / 2, below + letter * 1.2, letter, "strong"),
    turned(lengthWords(bottom - top, units), beside - letter * 0.5, (top + bottom) / 2, letter),
  );
  return drawing;
}

function addSides(drawing: SVGSVGElement, outline: readonly [number, number][], letter: number, units: Units): void {
  const size = Math.max(...outline.map((p) => Math.hypot(p[0] - outline[0]![0], p[1] - outline[0]![1])));
  for (let k = 0; k < outline.length; k++) {
    const [a, b] = [outline[k]!, outline[(k + 1) % outline.length]!];
    const along = [b[0] - a[0], b[1] - a[1]] as const;
    const length = Math.hypot(...along);
    if (length < size * WORTH_WRITING) continue;
    // Metal lies to the left of its outline, so inside is to the left.
    const inward = [-along[1] / length, along[0] / length] as const;
    const x = (a[0] + b[0]) / 2 + inward[0] * letter;
    const y = (a[1] + b[1]) / 2 + inward[1] * letter;
    let turn = (-Math.atan2(along[1], along[0]) * 180) / Math.PI;
    if (turn > 90) turn -= 180;
    if (turn <= -90) turn += 180;
    const text = words(lengthWords(length, units), 0, letter * 0.3, letter * 0.75);
    text.setAttribute("transform", `translate(${x} ${-y}) rotate(${turn})`);
    drawing.append(text);
  }
}

function words(text: string, x: number, y: number, size: number, kind = ""): SVGTextElement {
  return draw("text", { x, y, "font-size": size, "text-anchor": "middle", class: kind || null }, text);
}

function turned(text: string, x: number, y: number, size: number): SVGTextElement {
  return draw("text", { "font-size": size, "text-anchor": "middle", class: "strong", transform: `translate(${x} ${y}) rotate(-90)` }, text);
}

function pairs(flat: readonly number[]): [number, number][] {
  const points: [number, number][] = [];
  for (let k = 0; k + 1 < flat.length; k += 2) points.push([flat[k]!, flat[k + 1]!]);
  return points;
}

function openPath(flat: readonly number[]): string {
  return `M${pairs(flat).map(([x, y]) => `${x.toFixed(2)} ${(-y).toFixed(2)}`).join("L")}`;
}

function path(flat: readonly number[]): string {
  return `${openPath(flat)}Z`;
}
