/** The rail seen from below: holes, readings, and by how much each hole could be off. */

import { draw, make } from "../make";
import type { HoleShape, RailPicture } from "../messages";
import { type Units, lengthWords } from "../words";

const TIMES = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000];

export class RailPlan {
  readonly element = make("figure", { class: "drawing" });

  show(picture: RailPicture, units: Units, datum: string): void {
    this.element.replaceChildren();
    if (!picture.holes.length) {
      this.element.append(make("p", { class: "none" }, picture.trouble.join(" ") || "No holes to draw yet."));
      return;
    }
    const box = boxOf(picture);
    const across = box.right - box.left;
    const letter = across / 44;
    const times = timesTooBig(picture.holes, across);
    const plan = draw("svg", {
      viewBox: `${box.left} ${box.top} ${across} ${box.bottom - box.top}`,
      role: "img",
      "aria-label": `Rail plan seen from below with ${picture.holes.length} holes; the table of holes below says the same.`,
    });
    // Seen from below x runs right and the engine's left points down the page, as in the drawing's own axes.
    for (const loop of [picture.flange_mm, ...picture.opening_mm]) {
      plan.append(draw("path", { class: "thin", d: closed(loop) }));
    }
    const at = new Map(picture.holes.map((hole) => [hole.name, hole]));
    for (const line of picture.lines) {
      const [a, b] = [at.get(line.a), at.get(line.b)];
      if (!a || !b) continue;
      const ends = { x1: a.x_mm, y1: a.y_mm, x2: b.x_mm, y2: b.y_mm };
      plan.append(draw("line", { ...ends, class: line.set_aside ? "suspect" : "reading" }));
      if (line.set_aside) plan.append(cross((a.x_mm + b.x_mm) / 2, (a.y_mm + b.y_mm) / 2, letter * 0.8));
    }
    for (const hole of picture.holes) {
      const { x_mm: x, y_mm: y } = hole;
      plan.append(
        draw("ellipse", {
          class: "off-by",
          rx: hole.off_by_long_mm * times,
          ry: hole.off_by_short_mm * times,
          transform: `translate(${x} ${y}) rotate(${hole.off_by_turn_deg})`,
        }),
        draw("circle", { class: "hole", cx: x, cy: y, r: hole.diameter_mm / 2 }),
      );
      if (hole.name === datum) plan.append(draw("circle", { class: "hole open", cx: x, cy: y, r: hole.diameter_mm / 2 + letter * 0.35 }));
      plan.append(name(hole, box, letter));
    }
    plan.append(frontArrow(box, letter));
    const worst = Math.max(...picture.holes.map((hole) => hole.off_by_long_mm));
    this.element.append(
      plan,
      make(
        "figcaption",
        {},
        "Seen from below, front to the right; the engine's left points down the page. ",
        `Ovals: could be off by this much (inside it 95 times in 100), drawn ${times} times too big; the longest reaches ${lengthWords(worst, units, units === "mm" ? 2 : 4)}. `,
        `Double circle: datum hole ${datum}. Thin lines: readings that agree. Thick and crossed: does not agree and is set aside.`,
      ),
      holeTable(picture.holes, units),
    );
  }
}

interface Box {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

function boxOf(picture: RailPicture): Box {
  const points = [
    ...picture.holes.map((hole): [number, number] => [hole.x_mm, hole.y_mm]),
    ...picture.flange_mm,
    ...picture.opening_mm.flat(),
  ];
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  const [low, high] = [Math.min(...xs), Math.max(...xs)];
  const margin = (high - low) * 0.05;
  return {
    left: low - margin,
    right: high + margin,
    top: Math.min(...ys) - margin,
    bottom: Math.max(...ys) + margin * 1.9,
  };
}

function timesTooBig(holes: readonly HoleShape[], across: number): number {
  const longest = Math.max(...holes.map((hole) => hole.off_by_long_mm));
  if (!(longest > 0)) return 1;
  return TIMES.filter((times) => longest * times <= across * 0.028).at(-1) ?? 1;
}

function closed(loop: readonly (readonly [number, number])[]): string {
  return loop.length ? `M${loop.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join("L")}Z` : "";
}

function cross(x: number, y: number, half: number): SVGElement {
  return draw("path", {
    class: "suspect",
    d: `M${x - half} ${y - half}L${x + half} ${y + half}M${x - half} ${y + half}L${x + half} ${y - half}`,
  });
}

function name(hole: HoleShape, box: Box, letter: number): SVGElement {
  // Towards the middle of the plan, where no flange edge runs.
  const down = hole.y_mm < (box.top + box.bottom) / 2 ? 1 : -1;
  const y = hole.y_mm + down * (hole.diameter_mm / 2 + letter * 0.9) + letter * 0.35;
  return draw("text", { x: hole.x_mm, y, "font-size": letter, "text-anchor": "middle" }, hole.name);
}

function frontArrow(box: Box, letter: number): SVGElement {
  const y = box.bottom - letter * 0.9;
  const [from, to] = [box.right - letter * 6, box.right - letter];
  return draw(
    "g",
    {},
    draw("path", { class: "thin", d: `M${from} ${y}H${to}M${to - letter * 0.7} ${y - letter * 0.35}L${to} ${y}L${to - letter * 0.7} ${y + letter * 0.35}` }),
    draw("text", { x: from - letter * 0.4, y: y + letter * 0.35, "font-size": letter, "text-anchor": "end" }, "front"),
  );
}

function holeTable(holes: readonly HoleShape[], units: Units): HTMLElement {
  const digits = units === "mm" ? 2 : 4;
  const rows = holes.map((hole) =>
    make(
      "tr",
      {},
      make("th", { scope: "row" }, hole.name),
      make("td", {}, [hole.kind, hole.thread].filter(Boolean).join(" ")),
      make("td", { class: "right" }, lengthWords(hole.x_mm, units, digits)),
      make("td", { class: "right" }, lengthWords(hole.y_mm, units, digits)),
      make("td", { class: "right" }, lengthWords(hole.off_by_long_mm, units, digits)),
      make("td", {}, hole.land),
    ),
  );
  const heads = ["hole", "takes", "to the front", "to the engine's left", "could be off by", "land"];
  return make(
    "details",
    {},
    make("summary", {}, "Table of holes"),
    make(
      "table",
      {},
      make("thead", {}, make("tr", {}, ...heads.map((head) => make("th", { scope: "col" }, head)))),
      make("tbody", {}, ...rows),
    ),
  );
}
