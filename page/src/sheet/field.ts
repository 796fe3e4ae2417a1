/** One key of a file: as typed, with its range, and what the last change of it did. */

import { make, newId } from "../make";
import type { Edit, FieldRow, LastChange } from "../messages";

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

  constructor(row: FieldRow, private readonly write: Write) {
    this.row = row;
    const id = newId("field");
    this.entry = entryFor(row, id);
    this.entry.setAttribute("aria-describedby", this.note.id);
    this.entry.addEventListener("change", () => { void this.changed(); });
    this.entry.addEventListener("keydown", (event) => {
      if ((event as KeyboardEvent).key === "Escape") this.fill(this.row);
    });
    this.element = make(
      "div",
      { class: row.holds === "list" || row.text.length > LONG ? "field long" : "field" },
      make("label", { for: id }, row.label),
      this.entry,
      this.note,
      this.did,
    );
    this.fill(row);
  }

  get key(): string {
    return this.row.key;
  }

  /** Show another state of the same key; what is being typed stays. */
  show(row: FieldRow): void {
    const isBeingTyped = document.activeElement === this.entry && textOf(this.entry, this.row) !== this.row.text;
    const typed = isBeingTyped ? textOf(this.entry, this.row) : null;
    this.row = row;
    if (typed === null) this.fill(row);
    else this.tell(row);
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

  focus(): void {
    this.entry.focus();
  }

  private fill(row: FieldRow): void {
    if (this.entry instanceof HTMLInputElement && this.entry.type === "checkbox") {
      this.entry.checked = row.text === "true";
    } else {
      this.entry.value = row.text;
    }
    this.tell(row);
  }

  private tell(row: FieldRow): void {
    const faulty = row.faults.length > 0;
    this.entry.setAttribute("aria-invalid", String(faulty));
    this.element.classList.toggle("faulty", faulty);
    const words = faulty
      ? row.faults
      : [row.allowed, row.given ? "" : row.taken || (row.needed ? `needed; for example ${row.example}` : "")];
    this.note.textContent = words.filter(Boolean).join("; ");
    this.entry.title = row.help;
  }

  private async changed(): Promise<void> {
    const row = this.row;
    const text = textOf(this.entry, row);
    if (text === row.text || row.file === "readings") return;
    const place = { file: row.file, key: row.key, was: row.text };
    const taken = await this.write([text === "" ? { do: "clear", ...place } : { do: "set", text, ...place }]);
    if (!taken) this.fill(this.row);
  }
}

function entryFor(row: FieldRow, id: string): Entry {
  if (row.holds === "word" && row.words.length) {
    const words = row.words.includes(row.text) ? row.words : [row.text, ...row.words];
    const all = row.given && words.includes("") ? words : ["", ...words.filter(Boolean)];
    return make("select", { id }, ...all.map((word) => make("option", { value: word }, word || "not said")));
  }
  if (row.holds === "flag") return make("input", { id, type: "checkbox" });
  if (row.text.length > LONG) return make("textarea", { id, rows: Math.min(8, Math.ceil(row.text.length / 52)), spellcheck: "false" });
  return make("input", { id, type: "text", spellcheck: "false", autocomplete: "off", placeholder: row.given ? "" : row.example });
}

function textOf(entry: Entry, row: FieldRow): string {
  if (entry instanceof HTMLInputElement && entry.type === "checkbox") {
    return entry.checked ? "true" : row.given ? "false" : "";
  }
  return entry.value.trim();
}
