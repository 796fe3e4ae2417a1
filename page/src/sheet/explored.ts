/** What 'explore' found: the few that nothing beats, as a table and as a plot, and 'take this one'. */

import { Refused, send } from "../link";
import { draw, make, newId } from "../make";
import type { ExploredColumn, ExploredPicture, ExploredRow, TakeAnswer } from "../messages";

const [WIDE, TALL, EDGE] = [760, 380, 62];

export class Explored {
  readonly element = make("section", { class: "paper", id: "section-explored", "aria-labelledby": "heading-explored", hidden: true });
  private readonly body = make("div", {});
  private readonly says = make("p", { role: "status", class: "did" });
  private readonly plot = make("figure", { class: "drawing" });
  private readonly across = make("select", { id: newId("across") });
  private readonly up = make("select", { id: newId("up") });
  private found: ExploredPicture | null = null;

  constructor() {
    this.element.append(make("div", { class: "section-head" }, make("h2", { id: "heading-explored", tabindex: -1 }, "What was explored")), this.body);
    for (const choice of [this.across, this.up]) choice.addEventListener("change", () => { this.drawPlot(); });
  }

  show(found: ExploredPicture): void {
    this.found = found;
    if (found.why_not) {
      this.body.replaceChildren(make("p", { class: "none" }, found.why_not));
      return;
    }
    const names = found.columns.map((column, k) => [column.label, k] as const);
    const [x, y] = [this.across.value, this.up.value];
    for (const choice of [this.across, this.up]) choice.replaceChildren(...names.map(([label, k]) => make("option", { value: k }, label)));
    const differs = (k: number): boolean => new Set([...found.dots, ...found.rows.map((row) => row.answers)].map((values) => values[k])).size > 1;
    const wanted = found.columns.flatMap((column, k) => (column.want !== "only the limit" && differs(k) ? [k] : []));
    this.across.value = x || String(wanted.at(-1) ?? 0);
    this.up.value = y || String(wanted.at(0) ?? 0);
    this.body.replaceChildren(
      ...found.says.map((words) => make("p", {}, words)),
      make("h3", {}, "What it looks like"),
      make("div", { class: "line" }, make("label", { for: this.up.id }, "Up the page"), this.up, make("label", { for: this.across.id }, "across it"), this.across),
      this.plot,
      make("h3", {}, "What it says"),
      this.says,
      this.table(found),
      ...this.matters(found),
      found.taken.length ? make("details", {}, make("summary", {}, "Taken because the plan does not say"), make("ul", {}, ...found.taken.map((words) => make("li", {}, words)))) : "",
    );
    this.drawPlot();
  }

  private table(found: ExploredPicture): HTMLElement {
    const heads = ["", ...found.varied, ...found.columns.map((column) => headOf(column)), "gives up", "checked in full", "take it"];
    const rows = [...(found.as_it_stands ? [found.as_it_stands] : []), ...found.rows];
    return make(
      "div",
      { class: "wide", tabindex: 0, role: "group", "aria-label": "Variants worth a look" },
      make(
        "table",
        {},
        make("thead", {}, make("tr", {}, ...heads.map((head) => (head ? make("th", { scope: "col" }, head) : make("td", {}))))),
        make("tbody", {}, ...rows.map((row) => this.row(row, found))),
      ),
    );
  }

  private row(row: ExploredRow, found: ExploredPicture): HTMLElement {
    const isJob = row.number === null;
    const full = row.checked ? [row.worse.length ? `worse: ${row.worse.join(", ")}` : "nothing worse", row.better.length ? `cured: ${row.better.join(", ")}` : ""].filter(Boolean).join("; ") : isJob ? "" : "not yet";
    return make(
      "tr",
      { class: isJob ? "marked" : null },
      make("th", { scope: "row" }, isJob ? "as it stood" : String(row.number)),
      ...row.varied.map((words) => make("td", {}, words)),
      ...row.answers.map((value, k) => make("td", { class: "right" }, value === null ? "cannot say" : short(value), (row.misses[k] ?? 0) ? make("b", {}, ` misses by ${short(row.misses[k]!)}`) : null)),
      make("td", {}, row.gives_up.flatMap((value, k) => (value ? [`${found.columns[k]!.label} ${short(value)} ${found.columns[k]!.unit}`.trim()] : [])).join(", ") || (isJob ? "" : "nothing")),
      make("td", {}, full),
      make("td", {}, isJob ? null : make("button", { type: "button", class: "quiet", "aria-label": `take this one, variant ${row.number}`, onclick: () => { void this.take(row.number ?? 0); } }, "take this one")),
    );
  }

  private async take(number: number): Promise<void> {
    try {
      const answer = await send<TakeAnswer>("/take", { number });
      this.says.textContent = answer.file ? `Variant ${number} stands in ${answer.file} beside the job file: open that one to go on with it.` : `Not written: ${answer.why_not}`;
    } catch (trouble) {
      if (!(trouble instanceof Refused)) throw trouble;
      this.says.textContent = trouble.message;
    }
  }

  private matters(found: ExploredPicture): HTMLElement[] {
    if (!found.matters.length) return [];
    const share = (value: number | null | undefined): string => (value === null || value === undefined ? "" : `${Math.round(100 * value)} %`);
    return [
      make("h4", {}, "What matters: share of each answer's spread, alone and together with others"),
      make(
        "table",
        {},
        make("thead", {}, make("tr", {}, make("td", {}), ...found.varied.map((name) => make("th", { scope: "col" }, name)))),
        make("tbody", {}, ...found.matters.map((one) => make("tr", {}, make("th", { scope: "row" }, one.answer), ...(one.why_not ? [make("td", { colspan: found.varied.length }, one.why_not)] : found.varied.map((_, k) => make("td", {}, `${share(one.alone[k])} to ${share(one.in_all[k])}`)))))),
      ),
    ];
  }

  private drawPlot(): void {
    const { found } = this;
    if (!found) return;
    const [i, j] = [Number(this.across.value), Number(this.up.value)];
    const [x, y] = [found.columns[i]!, found.columns[j]!];
    const pair = (values: readonly (number | null)[]): [number, number] | null => {
      const [a, b] = [values[i] ?? null, values[j] ?? null];
      return a === null || b === null ? null : [a, b];
    };
    const few = found.rows.flatMap((row) => { const at = pair(row.answers); return at ? [{ at, name: String(row.number) }] : []; });
    const dots = found.dots.flatMap((one) => { const at = pair(one); return at ? [at] : []; });
    const job = found.as_it_stands ? pair(found.as_it_stands.answers) : null;
    const all = [...dots, ...few.map((one) => one.at), ...(job ? [job] : [])];
    this.plot.replaceChildren();
    if (!all.length) {
      this.plot.append(make("p", { class: "none" }, "Neither of these could be told for any variant."));
      return;
    }
    const limits = (column: ExploredColumn): number[] => [column.at_least, column.at_most].filter((one): one is number => one !== null);
    const [toX, lowX, highX] = scale([...all.map((p) => p[0]), ...limits(x)], EDGE, WIDE - 14);
    const [toY, lowY, highY] = scale([...all.map((p) => p[1]), ...limits(y)], TALL - 46, 14);
    const drawing = draw("svg", { viewBox: `0 0 ${WIDE} ${TALL}`, role: "img", "aria-label": `${y.label} against ${x.label}: ${few.length} that nothing beats, ${dots.length} others; the table says the same.` });
    drawing.append(draw("path", { class: "thin", d: `M${EDGE} 14V${TALL - 46}H${WIDE - 14}` }));
    for (const limit of limits(x)) drawing.append(draw("line", { class: "fold", x1: toX(limit), x2: toX(limit), y1: 14, y2: TALL - 46 }), text(`limit ${short(limit)}`, toX(limit), 26));
    for (const limit of limits(y)) drawing.append(draw("line", { class: "fold", x1: EDGE, x2: WIDE - 14, y1: toY(limit), y2: toY(limit) }), text(`limit ${short(limit)}`, EDGE + 40, toY(limit) - 4));
    for (const [a, b] of dots) drawing.append(draw("circle", { class: "other", cx: toX(a), cy: toY(b), r: 2.6 }));
    for (const { at, name } of few) drawing.append(draw("circle", { class: "hole", cx: toX(at[0]), cy: toY(at[1]), r: 11 }), text(name, toX(at[0]), toY(at[1]) + 4));
    if (job) {
      const [px, py] = [toX(job[0]), toY(job[1])];
      drawing.append(draw("path", { class: "suspect", d: `M${px - 7} ${py - 7}l14 14M${px - 7} ${py + 7}l14 -14` }), text("as it stood", px, py - 11));
    }
    drawing.append(
      text(short(lowX), EDGE, TALL - 28), text(short(highX), WIDE - 30, TALL - 28), text(headOf(x), (EDGE + WIDE) / 2, TALL - 10),
      text(short(lowY), EDGE - 28, TALL - 48), text(short(highY), EDGE - 28, 24),
      draw("text", { "font-size": 13, "text-anchor": "middle", transform: `translate(14 ${TALL / 2}) rotate(-90)` }, headOf(y)),
    );
    this.plot.append(drawing, make("figcaption", {}, "Numbered: nothing beats these. Small dots: the others that were tried. Cross: the job as it stood when it was explored. Broken lines: limits of the plan."));
  }
}

function headOf(column: ExploredColumn): string {
  const want = column.want === "only the limit" ? "" : `, ${column.want} is better`;
  return `${column.label}${column.unit ? `, ${column.unit}` : ""}${want}`;
}

function short(value: number): string {
  const digits = Math.abs(value) >= 100 ? 0 : Math.abs(value) >= 10 ? 1 : 2;
  return value.toFixed(digits).replace("-", "−");
}

function scale(values: readonly number[], from: number, to: number): [(value: number) => number, number, number] {
  const [least, most] = [Math.min(...values), Math.max(...values)];
  const room = (most - least || Math.abs(most) || 1) * 0.06;
  const [low, high] = [least - room, most + room];
  return [(value) => from + ((to - from) * (value - low)) / (high - low), low, high];
}

function text(words: string, x: number, y: number): SVGTextElement {
  return draw("text", { x, y, "font-size": 13, "text-anchor": "middle" }, words);
}
