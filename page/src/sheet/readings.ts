/** The readings file as a table to type into. */

import { make, newId } from "../make";
import type { Edit, ReadingRow, ReadingsTable, SetCell } from "../messages";

type Write = (edits: Edit[]) => Promise<boolean>;
type Column = SetCell["column"];

const COLUMNS: readonly (readonly [Column, string])[] = [
  ["kind", "what"], ["a", "from"], ["b", "to"], ["reading", "reading"], ["with", "with"], ["u", "how sure"], ["note", "note"],
];

export class Readings {
  readonly element = make("details", { class: "readings", open: true, hidden: true });
  private readonly tools = make("datalist", { id: newId("tools") });

  constructor(private readonly write: Write) {}

  show(table: ReadingsTable): void {
    this.element.hidden = false;
    const wasOpen = this.element.open;
    const typing = this.typing();
    this.tools.replaceChildren(...table.tools.map((tool) => make("option", { value: tool })));
    const heads = [...COLUMNS.map(([column, words]) => make("th", { scope: "col", title: table.columns[column] ?? "" }, words)),
      make("th", { scope: "col" }, "what the others say"), make("th", { scope: "col" }, "off by"), make("th", { scope: "col" }, "remove")];
    this.element.replaceChildren(
      make("summary", {}, `Readings: ${table.rows.filter((row) => !row.remark).length} lines of ${table.file}`),
      this.tools,
      make(
        "div",
        { class: "wide", tabindex: 0, role: "group", "aria-label": "Readings" },
        make("table", {}, make("thead", {}, make("tr", {}, make("th", { scope: "col" }, "line"), ...heads)), make("tbody", {}, ...table.rows.map((row) => this.row(row, table)))),
      ),
      this.newLine(table),
    );
    this.element.open = wasOpen;
    this.typeOn(typing);
  }

  private row(row: ReadingRow, table: ReadingsTable): HTMLElement {
    if (row.remark) return make("tr", { class: "remark" }, make("td", {}, String(row.line)), make("td", { colspan: 10 }, row.note));
    const state = row.faults.length ? row.faults.join("; ") : row.set_aside ? "set aside: does not agree" : row.checked;
    return make(
      "tr",
      { class: row.set_aside ? "set-aside" : row.faults.length ? "faulty" : null },
      make("th", { scope: "row" }, String(row.line)),
      ...COLUMNS.map(([column]) => make("td", {}, this.cell(row, column, table))),
      make("td", {}, [row.adjusted, state].filter(Boolean).join("; ")),
      make("td", { class: "right" }, row.off_by),
      make("td", {}, make("button", { type: "button", class: "quiet", "aria-label": `remove line ${row.line}`, onclick: () => {
        void this.write([{ do: "remove reading", line: row.line, was: row.reading }]);
      } }, "remove")),
    );
  }

  private cell(row: ReadingRow, column: Column, table: ReadingsTable): HTMLElement {
    const shown = column === "with" ? row.tool : row[column];
    const label = `line ${row.line}, ${COLUMNS.find(([one]) => one === column)?.[1] ?? column}`;
    const commit = async (entry: HTMLInputElement | HTMLSelectElement): Promise<void> => {
      const text = entry.value.trim();
      if (text === shown) return;
      const taken = await this.write([{ do: "cell", line: row.line, column, text, was: shown }]);
      if (!taken) entry.value = shown;
    };
    if (column === "kind") {
      const kinds = Object.keys(table.kinds);
      const choice = make("select", { "aria-label": label, title: table.kinds[shown] ?? "" }, ...(kinds.includes(shown) ? kinds : [shown, ...kinds]).map((kind) => make("option", { value: kind, selected: kind === shown }, kind.replaceAll("_", " "))));
      choice.addEventListener("change", () => { void commit(choice); });
      return choice;
    }
    const entry = make("input", { type: "text", value: shown, "aria-label": label, class: `cell ${column}`, spellcheck: "false", autocomplete: "off", "data-place": `${row.line} ${column}`, list: column === "with" ? this.tools.id : null });
    entry.addEventListener("change", () => { void commit(entry); });
    entry.addEventListener("keydown", (event) => {
      if (event.key === "Escape") entry.value = shown;
      // Down a column as on paper.
      if (event.key === "Enter" || event.key === "ArrowDown" || event.key === "ArrowUp") this.step(row.line, column, event.key === "ArrowUp" ? -1 : 1);
    });
    return entry;
  }

  private step(line: number, column: Column, by: number): void {
    const same = [...this.element.querySelectorAll<HTMLInputElement>(`input.${column}`)];
    const at = same.findIndex((entry) => entry.dataset["place"] === `${line} ${column}`);
    same[at + by]?.focus();
  }

  private newLine(table: ReadingsTable): HTMLElement {
    const kind = make("select", { "aria-label": "what was read" }, ...Object.keys(table.kinds).map((one) => make("option", { value: one }, one.replaceAll("_", " "))));
    const entries = ["from", "to", "reading", "with", "how sure", "note"].map((words) =>
      make("input", { type: "text", "aria-label": words, placeholder: words, class: "cell", autocomplete: "off", list: words === "with" ? this.tools.id : null }),
    );
    const [a, b, reading, tool, u, note] = entries as [HTMLInputElement, HTMLInputElement, HTMLInputElement, HTMLInputElement, HTMLInputElement, HTMLInputElement];
    const add = async (): Promise<void> => {
      const taken = await this.write([{ do: "add reading", after_line: 0, kind: kind.value, a: a.value.trim(), b: b.value.trim(), reading: reading.value.trim(), tool: tool.value.trim(), u: u.value.trim(), note: note.value.trim() }]);
      if (taken) for (const entry of entries) entry.value = "";
    };
    return make(
      "form",
      { class: "line new-reading", onsubmit: (event: SubmitEvent) => { event.preventDefault(); void add(); } },
      make("span", {}, "One more reading:"), kind, ...entries, make("button", { type: "submit" }, "add the reading"),
    );
  }

  private typing(): { place: string; text: string } | null {
    const at = document.activeElement;
    if (!(at instanceof HTMLInputElement) || !this.element.contains(at) || !at.dataset["place"]) return null;
    return { place: at.dataset["place"], text: at.value };
  }

  private typeOn(typing: { place: string; text: string } | null): void {
    if (!typing) return;
    const entry = [...this.element.querySelectorAll<HTMLInputElement>("input.cell")].find((one) => one.dataset["place"] === typing.place);
    if (!entry) return;
    entry.value = typing.text;
    entry.focus({ preventScroll: true });
  }
}
