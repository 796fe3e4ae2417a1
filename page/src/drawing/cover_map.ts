/** Where the pickup stays covered: white as wanted, hatched less than wanted, black draws air. */

import { make, newId } from "../make";
import type { CoverGrid } from "../messages";
import { type Units, lengthWords, plain } from "../words";

const SIZE = 430;
const RIM = 34;

export class CoverMap {
  readonly element = make("figure", { class: "drawing map" });
  private readonly canvas = make("canvas", { width: SIZE * 2, height: SIZE * 2, tabindex: 0, role: "img" });
  private readonly reading = make("output", { class: "readout" });
  private readonly heading = make("h4", {});
  private readonly caption = make("figcaption", {});
  private grid: CoverGrid | null = null;
  private units: Units = "mm";
  private pointed = 0;
  /** called when a place of the map is chosen: show it in the pan */
  chosen: (grid: CoverGrid, cell: number) => void = () => undefined;

  constructor() {
    const hint = make("p", { class: "hint", id: newId("hint") }, "Point at the map, or use the arrow keys; press Enter or click to see that moment in the Oil picture.");
    this.canvas.setAttribute("aria-describedby", hint.id);
    this.element.append(this.heading, this.canvas, this.reading, this.caption, hint);
    this.canvas.addEventListener("pointermove", (event) => {
      this.pointAt(this.nearest(event.offsetX / this.canvas.clientWidth, event.offsetY / this.canvas.clientHeight));
    });
    this.canvas.addEventListener("click", () => { this.choose(); });
    this.canvas.addEventListener("keydown", (event) => {
      const steps: Record<string, [number, number]> = {
        ArrowLeft: [-0.03, 0], ArrowRight: [0.03, 0], ArrowUp: [0, -0.03], ArrowDown: [0, 0.03],
      };
      const step = steps[event.key];
      if (event.key === "Enter" || event.key === " ") this.choose();
      else if (step && this.grid) {
        const [x, y] = this.where(this.grid, this.pointed);
        this.pointAt(this.nearest(x / SIZE + step[0], y / SIZE + step[1]));
      } else return;
      event.preventDefault();
    });
  }

  show(grid: CoverGrid, units: Units): void {
    this.grid = grid;
    this.units = units;
    this.heading.textContent = grid.title;
    const wanted = lengthWords(grid.wanted_mm, units);
    this.canvas.setAttribute("aria-label", `${grid.title}. Tightest: ${grid.tightest_words}, ${lengthWords(grid.tightest_cover_mm, units)} of oil over the mouth, ${wanted} wanted.`);
    this.caption.textContent =
      `White: covered as wanted (${wanted} over the mouth). Hatched: covered less than that. Black: draws air. ` +
      `The ring marks the tightest place: ${grid.tightest_words}, ${lengthWords(grid.tightest_cover_mm, units)}.` +
      grid.held_to.map((held) => ` ${heldWords(held.words, held.held_g, held.asked_g, held.all)}`).join("");
    this.pointed = this.tightest(grid);
    this.paint();
    this.say();
  }

  private choose(): void {
    if (this.grid) this.chosen(this.grid, this.pointed);
  }

  private pointAt(cell: number): void {
    if (cell === this.pointed) return;
    this.pointed = cell;
    this.paint();
    this.say();
  }

  private say(): void {
    const grid = this.grid;
    if (!grid) return;
    const [across, along] = [grid.across[this.pointed]!, grid.along[this.pointed]!];
    const cover = grid.cover_mm[this.pointed] ?? null;
    const where =
      grid.kind === "accelerations"
        ? `${plain(Math.abs(across), 2)} g ${across >= 0 ? "left" : "right"} turn, ${plain(Math.abs(along), 2)} g ${along >= 0 ? "accelerating" : "braking"}`
        : `leaned ${plain(Math.abs(across), 0)}° to the ${across >= 0 ? "right" : "left"}, nose ${plain(Math.abs(along), 0)}° ${along >= 0 ? "up" : "down"}`;
    const says =
      cover === null
        ? "the mouth stands over nothing that holds oil"
        : cover < 0
          ? `the mouth stands ${lengthWords(-cover, this.units)} above the oil and draws air`
          : `${lengthWords(cover, this.units)} of oil over the mouth`;
    this.reading.textContent = `${where}: ${says}${grid.cut_off[this.pointed] ? ", because other pools keep oil from it" : ""}.`;
  }

  private tightest(grid: CoverGrid): number {
    return nearestOf(grid, grid.tightest_across, grid.tightest_along);
  }

  private scale(grid: CoverGrid): number {
    const most = Math.max(...grid.across.map(Math.abs), ...grid.along.map(Math.abs), 0.01);
    return (SIZE / 2 - RIM) / most;
  }

  /** Left turns to the left, right turns to the right, accelerating up; slopes: leaned left to the left, nose up up. */
  private where(grid: CoverGrid, cell: number): [number, number] {
    return this.spot(grid, grid.across[cell]!, grid.along[cell]!);
  }

  private spot(grid: CoverGrid, across: number, along: number): [number, number] {
    const scale = this.scale(grid);
    const side = grid.kind === "accelerations" ? -1 : 1;
    return [SIZE / 2 + side * across * scale, SIZE / 2 - along * scale];
  }

  private nearest(x: number, y: number): number {
    const grid = this.grid;
    if (!grid) return 0;
    const scale = this.scale(grid);
    const side = grid.kind === "accelerations" ? -1 : 1;
    return nearestOf(grid, (side * (x * SIZE - SIZE / 2)) / scale, (SIZE / 2 - y * SIZE) / scale);
  }

  private paint(): void {
    const grid = this.grid;
    const pen = this.canvas.getContext("2d");
    if (!grid || !pen) return;
    pen.setTransform(2, 0, 0, 2, 0, 0);
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, SIZE, SIZE);
    const hatch = hatching(pen);
    const [rows, columns] = grid.shape;
    const round = grid.kind === "accelerations";
    const rim: [number, number][] = [];
    for (let row = 0; row + 1 < rows; row++) {
      for (let column = 0; column < (round ? columns : columns - 1); column++) {
        const next = (column + 1) % columns;
        const corners = [row * columns + column, (row + 1) * columns + column, (row + 1) * columns + next, row * columns + next];
        const worst = Math.min(...corners.map((k) => grid.cover_mm[k] ?? -Infinity));
        if (worst >= grid.wanted_mm) continue;
        pen.fillStyle = worst < 0 ? "#1c1b19" : hatch;
        pen.beginPath();
        for (const corner of corners) pen.lineTo(...this.where(grid, corner));
        pen.closePath();
        pen.fill();
      }
    }
    if (round) for (let column = 0; column < columns; column++) rim.push(this.where(grid, (rows - 1) * columns + column));
    else rim.push(this.where(grid, 0), this.where(grid, columns - 1), this.where(grid, rows * columns - 1), this.where(grid, (rows - 1) * columns));
    pen.strokeStyle = "#1c1b19";
    pen.lineWidth = 1.4;
    pen.beginPath();
    for (const point of rim) pen.lineTo(...point);
    pen.closePath();
    pen.stroke();
    this.paintAxes(pen, grid);
    this.paintRing(pen, grid, this.tightest(grid), 6, 2);
    this.paintRing(pen, grid, this.pointed, 3.5, 1.2);
  }

  private paintAxes(pen: CanvasRenderingContext2D, grid: CoverGrid): void {
    const middle = SIZE / 2;
    pen.lineWidth = 0.6;
    pen.beginPath();
    pen.moveTo(RIM, middle);
    pen.lineTo(SIZE - RIM, middle);
    pen.moveTo(middle, RIM);
    pen.lineTo(middle, SIZE - RIM);
    pen.stroke();
    const most = (middle - RIM) / this.scale(grid);
    const step = [0.1, 0.2, 0.5, 1, 5, 10, 15, 30].find((one) => most / one <= 5) ?? 30;
    pen.font = "11px system-ui, sans-serif";
    for (let value = step; value <= most * 1.001; value += step) {
      const [, y] = this.spot(grid, 0, value);
      label(pen, grid.kind === "accelerations" ? `${plain(value, step < 1 ? 1 : 0)} g` : `${plain(value, 0)}°`, middle + 4, y + 4, "left");
    }
    const [top, bottom, left, right] =
      grid.kind === "accelerations"
        ? ["accelerating", "braking", "left turn", "right turn"]
        : ["nose up", "nose down", "leaned left", "leaned right"];
    pen.font = "bold 13px system-ui, sans-serif";
    label(pen, top!, middle, 20, "center");
    label(pen, bottom!, middle, SIZE - 10, "center");
    upright(pen, left!, 16, middle);
    upright(pen, right!, SIZE - 10, middle);
  }

  private paintRing(pen: CanvasRenderingContext2D, grid: CoverGrid, cell: number, radius: number, width: number): void {
    const [x, y] = this.where(grid, cell);
    for (const [tone, wide] of [["#fff", width + 2], ["#1c1b19", width]] as const) {
      pen.strokeStyle = tone;
      pen.lineWidth = wide;
      pen.beginPath();
      pen.arc(x, y, radius, 0, 2 * Math.PI);
      pen.stroke();
    }
  }
}

function heldWords(words: string, held: number | null, asked: number, all: boolean): string {
  if (held === null) return `${words}: not even standing still.`;
  return all ? `${words}: all of the ${plain(asked, 2)} g asked.` : `${words}: up to ${plain(held, 2)} g of ${plain(asked, 2)} g asked.`;
}

function nearestOf(grid: CoverGrid, across: number, along: number): number {
  let best = 0;
  let least = Infinity;
  for (let k = 0; k < grid.across.length; k++) {
    const far = (grid.across[k]! - across) ** 2 + (grid.along[k]! - along) ** 2;
    if (far < least) [best, least] = [k, far];
  }
  return best;
}

function hatching(pen: CanvasRenderingContext2D): CanvasPattern | string {
  const tile = make("canvas", { width: 6, height: 6 });
  const tilePen = tile.getContext("2d");
  if (!tilePen) return "#9a968b";
  tilePen.fillStyle = "#d6d2c6";
  tilePen.fillRect(0, 0, 6, 6);
  tilePen.strokeStyle = "#4c4a44";
  tilePen.lineWidth = 1;
  tilePen.beginPath();
  for (const shift of [-6, 0, 6]) {
    tilePen.moveTo(shift, 6);
    tilePen.lineTo(shift + 6, 0);
  }
  tilePen.stroke();
  return pen.createPattern(tile, "repeat") ?? "#9a968b";
}

function label(pen: CanvasRenderingContext2D, words: string, x: number, y: number, align: CanvasTextAlign): void {
  pen.textAlign = align;
  pen.lineWidth = 3;
  pen.strokeStyle = "#fff";
  pen.strokeText(words, x, y);
  pen.fillStyle = "#1c1b19";
  pen.fillText(words, x, y);
}

function upright(pen: CanvasRenderingContext2D, words: string, x: number, y: number): void {
  pen.save();
  pen.translate(x, y);
  pen.rotate(-Math.PI / 2);
  label(pen, words, 0, 0, "center");
  pen.restore();
}
