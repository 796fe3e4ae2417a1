/** Lines over a common axis, with every limit drawn and named. */

import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { draw, make } from "../make";
import type { Chart } from "../messages";

const HEIGHT = 250;
/** Told apart by their dashes first; the tones only help. */
const DASHES: number[][] = [[], [8, 4], [2, 3], [12, 3, 2, 3], [18, 4], [6, 2, 1, 2, 1, 2]];
const TONES = ["#1c1b19", "#7a4a00", "#4c4a44", "#1d3a4d", "#6b665b", "#1c1b19"];

export class ChartDrawing {
  readonly element = make("figure", { class: "drawing chart" });
  private readonly holder = make("div", { class: "plot", role: "img" });
  private readonly values: HTMLOutputElement[] = [];
  private readonly at = make("li", { class: "hint" });
  private plot: uPlot | null = null;
  private resizing: ResizeObserver | null = null;

  constructor(chart: Chart) {
    this.holder.setAttribute("aria-label", `${chart.title}. ${chart.words}`);
    this.element.append(make("h4", {}, chart.title), this.legend(chart), this.holder, make("figcaption", {}, `${chart.words} ${limitWords(chart)}`));
    // A chart is built when it first comes into view, so that a long sheet opens at once.
    const watch = new IntersectionObserver((seen) => {
      if (!seen.some((one) => one.isIntersecting)) return;
      watch.disconnect();
      this.build(chart);
    });
    watch.observe(this.holder);
  }

  /** Let go of the drawing. */
  close(): void {
    this.resizing?.disconnect();
    this.plot?.destroy();
  }

  /** A sample of each line with its name, and its value where the chart is pointed at. */
  private legend(chart: Chart): HTMLElement {
    return make(
      "ul",
      { class: "lines" },
      ...chart.lines.map((line, k) => {
        const value = make("output", {});
        this.values.push(value);
        const sample = draw("svg", { viewBox: "0 0 50 10", "aria-hidden": "true" });
        const stroke = draw("line", { x1: 0, x2: 50, y1: 5, y2: 5, stroke: TONES[k % TONES.length]!, "stroke-width": 2, "stroke-dasharray": DASHES[k % DASHES.length]!.join(" ") || null });
        sample.append(stroke);
        return make("li", {}, sample, line.name, value);
      }),
      this.at,
    );
  }

  private read(index: number | null, chart: Chart): void {
    this.at.textContent = index === null ? "" : `at ${chart.x_label} ${String(Number((chart.x[index] ?? 0).toPrecision(3)))}`;
    chart.lines.forEach((line, k) => {
      const value = index === null ? null : (line.values[index] ?? null);
      this.values[k]!.textContent = value === null ? "" : String(Number(value.toPrecision(3)));
    });
  }

  private build(chart: Chart): void {
    const [low, high] = rangeOf(chart);
    const options: uPlot.Options = {
      width: Math.max(280, this.holder.clientWidth),
      height: HEIGHT,
      scales: { x: { time: false }, y: { range: [low, high] } },
      axes: [
        { label: chart.x_label, labelSize: 22, size: 40, font: "12px system-ui", labelFont: "12px system-ui", grid: { stroke: "#e2dfd5", width: 1 } },
        { label: chart.y_label, labelSize: 22, size: 54, font: "12px system-ui", labelFont: "12px system-ui", grid: { stroke: "#e2dfd5", width: 1 } },
      ],
      series: [
        { label: chart.x_label },
        ...chart.lines.map((line, k) => ({
          label: line.name,
          stroke: TONES[k % TONES.length]!,
          width: 1.6,
          dash: DASHES[k % DASHES.length]!,
          points: { show: false },
        })),
      ],
      cursor: { drag: { x: false, y: false } },
      legend: { show: false },
      hooks: {
        draw: [(plot) => { drawLimits(plot, chart); }],
        setCursor: [(plot) => { this.read(plot.cursor.idx ?? null, chart); }],
      },
    };
    const data: uPlot.AlignedData = [chart.x, ...chart.lines.map((line) => line.values)];
    this.plot = new uPlot(options, data, this.holder);
    this.resizing = new ResizeObserver(() => {
      const width = Math.max(280, this.holder.clientWidth);
      if (this.plot && width !== this.plot.width) this.plot.setSize({ width, height: HEIGHT });
    });
    this.resizing.observe(this.holder);
  }
}

function limitWords(chart: Chart): string {
  return chart.limits
    .map((limit) => `Limit "${limit.name}": ${limit.least ? "no less" : "no more"} than ${String(Number(limit.value.toPrecision(3)))}.`)
    .join(" ");
}

function rangeOf(chart: Chart): [number, number] {
  const values = [
    ...chart.lines.flatMap((line) => line.values.filter((value): value is number => value !== null)),
    ...chart.limits.map((limit) => limit.value),
  ];
  const low = Math.min(...values, 0);
  const high = Math.max(...values, 0);
  const room = (high - low || 1) * 0.08;
  return [low < 0 ? low - room : 0, high + room];
}

function drawLimits(plot: uPlot, chart: Chart): void {
  const pen = plot.ctx;
  const { left, width } = plot.bbox;
  pen.save();
  pen.font = `${12 * devicePixelRatio}px system-ui`;
  for (const limit of chart.limits) {
    const y = Math.round(plot.valToPos(limit.value, "y", true));
    pen.strokeStyle = "#1c1b19";
    pen.lineWidth = 2.2 * devicePixelRatio;
    pen.setLineDash([10 * devicePixelRatio, 5 * devicePixelRatio]);
    pen.beginPath();
    pen.moveTo(left, y);
    pen.lineTo(left + width, y);
    pen.stroke();
    pen.setLineDash([]);
    pen.textAlign = "right";
    pen.lineWidth = 3 * devicePixelRatio;
    pen.strokeStyle = "#fbfaf5";
    pen.fillStyle = "#1c1b19";
    const at = [left + width - 4, y - 5 * devicePixelRatio] as const;
    pen.strokeText(limit.name, ...at);
    pen.fillText(limit.name, ...at);
  }
  pen.restore();
}
