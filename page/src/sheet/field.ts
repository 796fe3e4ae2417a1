/** One key of a file: as typed, with its range, and what the last change of it did. */

import { make, newId } from "../make";
import type { Edit, FieldRow, LastChange } from "../messages";
import { listShape, shownList, writtenList } from "./list_text";

type Write = (edits: Edit[]) => Promise<boolean>;
type Entry = HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement;

/** A text longer than this gets room for several lines. */
const LONG = 60;

export class Field {
  readonly element: HTMLElement;
  private readonly entry: Entry;
  private readonly note = make("p", { class: "note", id: newId("note") });
  private readonly did = make("p", { class: "did", "aria-live": "polite" });
  private row: FieldRow;
  /** what the hand saw when it began to type; null while nothing is being typed */
  private seen: string | null = null;
  private isRefused = false;

  constructor(row: FieldRow, private readonly write: Write) {
    this.row = row;
    const id = newId("field");
    const help = make("p", { class: "field-help", id: newId("help") }, row.help);
    this.entry = entryFor(row, id);
    this.entry.setAttribute("aria-describedby", `${this.note.id} ${help.id}`);
    this.entry.addEventListener("input", () => { this.seen ??= this.row.text; });
    this.entry.addEventListener("change", () => { void this.changed(); });
    this.entry.addEventListener("keydown", (event) => {
      if ((event as KeyboardEvent).key === "Escape") this.fill(this.row);
    });
    this.element = make(
      "div",
      { class: this.entry instanceof HTMLTextAreaElement || row.holds === "list" ? "field long" : "field" },
      make("label", { for: id }, row.label),
      this.entry,
      this.note,
      help,
      this.did,
    );
    this.fill(row);
  }

  get key(): string {
    return this.row.key;
  }

  /** Show another state of the same key; what is being typed stays. */
  show(row: FieldRow): void {
    this.row = row;
    if (this.seen === null && !this.isRefused) this.fill(row);
    else if (!this.isRefused) this.tell(row);
  }

  /** What the last change of this key did; null takes the words away. */
  tellChange(change: LastChange | null): void {
    if (!change || change.key !== this.row.key) {
      this.did.textContent = "";
      return;
    }
    this.did.textContent = change.steps.length
      ? `This change: ${change.steps.map((step) => step.says).join(" ")}`
      : "This change moved no finding.";
  }

  /** The file did not take what was typed: it stays in the field, with the reason, to be put right. */
  refuse(words: string): void {
    this.isRefused = true;
    this.entry.setAttribute("aria-invalid", "true");
    this.element.classList.add("faulty");
    this.note.textContent = `${words}. Nothing was written; Esc brings back what stands in the file.`;
  }

  focus(): void {
    this.entry.focus();
  }

  private fill(row: FieldRow): void {
    this.seen = null;
    this.isRefused = false;
    if (this.entry instanceof HTMLInputElement && this.entry.type === "checkbox") {
      this.entry.checked = row.text === "true";
    } else {
      this.entry.value = shownList(row.text);
    }
    this.tell(row);
  }

  private tell(row: FieldRow): void {
    const faulty = row.faults.length > 0;
    this.entry.setAttribute("aria-invalid", String(faulty));
    this.element.classList.toggle("faulty", faulty);
    const words = faulty
      ? row.faults
      : [row.allowed, row.given ? "" : row.taken || (row.needed ? `needed; for example ${shownList(row.example)}` : "")];
    this.note.textContent = words.filter(Boolean).join("; ");
  }

  private async changed(): Promise<void> {
    const row = this.row;
    const was = this.seen ?? row.text;
    const text = textOf(this.entry, row);
    this.seen = null;
    this.isRefused = false;
    if (text === row.text || row.file === "readings") {
      this.fill(row);
      return;
    }
    const place = { file: row.file, key: row.key, was };
    const taken = await this.write([text === "" ? { do: "clear", ...place } : { do: "set", text, ...place }]);
    if (!taken && !this.isRefused) this.fill(this.row);
  }
}

function entryFor(row: FieldRow, id: string): Entry {
  if (row.holds === "word" && row.words.length) {
    const words = row.words.includes(row.text) ? row.words : [row.text, ...row.words];
    const all = row.given && words.includes("") ? words : ["", ...words.filter(Boolean)];
    return make("select", { id }, ...all.map((word) => make("option", { value: word }, word || "not said")));
  }
  if (row.holds === "flag") return make("input", { id, type: "checkbox" });
  const shown = shownList(row.text);
  const lines = shown.split("\n").length;
  if (lines > 1 || shown.length > LONG) {
    return make("textarea", { id, rows: lines > 1 ? Math.min(12, lines + 1) : Math.min(8, Math.ceil(shown.length / 90)), spellcheck: "false" });
  }
  return make("input", { id, type: "text", spellcheck: "false", autocomplete: "off", placeholder: row.given ? "" : shownList(row.example) });
}

/** What is typed, as the file has it. */
function textOf(entry: Entry, row: FieldRow): string {
  if (entry instanceof HTMLInputElement && entry.type === "checkbox") {
    return entry.checked ? "true" : row.given ? "false" : "";
  }
  const typed = entry.value.trim();
  if (typed === shownList(row.text)) return row.text;
  const shape = listShape(row.text) ?? (row.holds === "list" ? listShape(row.example) : null);
  return typed && shape ? writtenList(typed, shape) : typed;
}
