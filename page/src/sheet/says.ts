/** What one section says: findings worst first, key figures, tables. */

import { make } from "../make";
import type { FindingRow, ProposalRow, SectionSays, TableBlock, Verdict } from "../messages";

export interface SaysTells {
  showMe: (finding: FindingRow) => void;
  change: (proposal: ProposalRow) => void;
  tryOut: (proposal: ProposalRow, say: (words: string) => void) => void;
}

/** The word of a verdict in its box: the frame differs as well as the word. */
export function stamp(verdict: Verdict | null): HTMLElement {
  const words = verdict ?? "not judged";
  return make("span", { class: `stamp ${words.replace(" ", "-")}` }, words);
}

export class Says {
  readonly element = make("div", { class: "says" });

  constructor(private readonly tells: SaysTells) {}

  show(says: SectionSays): void {
    const open = says.findings.filter((finding) => finding.verdict !== "holds");
    const held = says.findings.filter((finding) => finding.verdict === "holds");
    const wasOpen = this.element.querySelector<HTMLDetailsElement>("details.held")?.open ?? false;
    this.element.replaceChildren(
      make("p", { class: "tally" }, says.tally || "Nothing was judged here yet."),
      make("ol", { class: "findings" }, ...open.map((finding) => this.finding(finding))),
      ...(held.length
        ? [
            make(
              "details",
              { class: "held", open: wasOpen || open.length === 0 },
              make("summary", {}, `${held.length} that ${held.length === 1 ? "holds" : "hold"}`),
              make("ol", { class: "findings" }, ...held.map((finding) => this.finding(finding))),
            ),
          ]
        : []),
      ...(says.numbers.length
        ? [make("dl", { class: "numbers" }, ...says.numbers.map((one) => make("div", {}, make("dt", {}, one.label), make("dd", {}, one.text, one.note ? make("small", {}, ` ${one.note}`) : null))))]
        : []),
      ...says.tables.map(table),
    );
  }

  private finding(finding: FindingRow): HTMLElement {
    const show = finding.place_mm
      ? make("button", { type: "button", class: "show-me", "aria-label": `show me ${finding.code}, ${finding.where}`, onclick: () => { this.tells.showMe(finding); } }, "show me")
      : null;
    return make(
      "li",
      { class: `finding ${finding.verdict.replace(" ", "-")}${finding.stale ? " old" : ""}` },
      finding.stale ? make("p", { class: "hint" }, "From before a change of the files:") : null,
      make("div", { class: "finding-head" }, stamp(finding.verdict), make("strong", {}, finding.where), make("code", {}, finding.code), show),
      make("p", {}, finding.says),
      make("p", { class: "sure" }, `How sure: ${finding.how_sure}`),
      finding.do ? make("p", { class: "do" }, make("b", {}, "What to do: "), finding.do) : null,
      ...finding.proposals.map((proposal) => this.proposal(proposal)),
      ...finding.cautions.map((caution) => make("p", { class: "caution" }, make("b", {}, `Caution, ${caution.heading}: `), caution.says)),
      make("p", { class: "source" }, `Source: ${finding.source}`),
    );
  }

  private proposal(proposal: ProposalRow): HTMLElement {
    const effect = make("output", {});
    return make(
      "div",
      { class: "proposal" },
      make("p", {}, proposal.says),
      make(
        "div",
        { class: "line" },
        make("button", { type: "button", onclick: () => { this.tells.tryOut(proposal, (words) => { effect.textContent = words; }); } }, "what would it do?"),
        make("button", { type: "button", onclick: () => { this.tells.change(proposal); } }, `write ${proposal.value}`),
        effect,
      ),
    );
  }
}

function table(block: TableBlock, number: number): HTMLElement {
  const side = (k: number): string | null => (block.right[k] ? "right" : null);
  const name = block.caption || `table ${number + 1}`;
  const hasHeads = block.columns.some((column) => column !== "");
  const heads = block.columns.map((column, k) =>
    column ? make("th", { scope: "col", class: side(k) }, column) : make("td", {}),
  );
  const rows = block.rows.map((row) =>
    make("tr", { class: row.marked ? "marked" : null }, ...row.cells.map((cell, k) => make("td", { class: side(k) }, cell))),
  );
  const grid = make("table", {}, hasHeads ? make("thead", {}, make("tr", {}, ...heads)) : null, make("tbody", {}, ...rows));
  const words = block.words.map((text) => make("p", {}, text));
  if (!block.rows.length) return make("div", {}, block.caption ? make("h4", {}, block.caption) : null, ...words);
  return make(
    "details",
    { class: block.stale ? "table old" : "table", open: block.caption === "" },
    make("summary", {}, block.stale ? `${name} (from before a change of the files)` : name),
    ...words,
    make("div", { class: "wide", tabindex: 0, role: "group", "aria-label": name }, grid),
  );
}
