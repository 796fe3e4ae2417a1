/** What one section asks for: its groups of fields, and lists that can grow. */

import { make, newId } from "../make";
import type { Edit, FieldGroup, FieldRow, LastChange, ListOffer, SectionAsks } from "../messages";
import { Field } from "./field";

type Write = (edits: Edit[]) => Promise<boolean>;

export class Asks {
  readonly element = make("div", { class: "asks" });
  private readonly fields = new Map<string, Field>();
  private readonly open = new Map<string, boolean>();
  private groups: readonly FieldGroup[] = [];

  constructor(private readonly write: Write) {}

  show(asks: SectionAsks): void {
    this.groups = asks.groups;
    this.fields.clear();
    const given = asks.groups.filter((group) => group.given || group.fields.some((field) => field.needed));
    const others = asks.groups.filter((group) => !given.includes(group));
    this.element.replaceChildren(
      ...given.map((group) => this.group(group)),
      ...(others.length ? [this.more(`Not said yet (${others.map((group) => group.title).join(", ")})`, others.map((group) => this.group(group)))] : []),
      ...asks.offers.map((offer) => this.offer(offer)),
    );
  }

  /** Show changed fields in their places; false when one has no place here. */
  update(rows: readonly FieldRow[]): void {
    for (const row of rows) this.fields.get(nameOf(row))?.show(row);
  }

  tellChange(change: LastChange | null): void {
    for (const field of this.fields.values()) field.tellChange(change);
  }

  /** Say at the field why its text was not taken; false where the key has no field here. */
  refuse(key: string, words: string): boolean {
    const field = [...this.fields.values()].find((one) => one.key === key);
    field?.refuse(words);
    return field !== undefined;
  }

  /** Bring a key into view and into the hand; false where it does not stand here. */
  goTo(key: string): boolean {
    const field = [...this.fields.values()].find((one) => one.key === key || one.key.startsWith(`${key}.`));
    if (!field) return false;
    for (let box = field.element.closest("details"); box; box = box.parentElement?.closest("details") ?? null) box.open = true;
    field.element.scrollIntoView({ block: "center" });
    field.focus();
    return true;
  }

  private group(group: FieldGroup): HTMLElement {
    const said = group.fields.filter((field) => field.given || field.needed || field.faults.length);
    const unsaid = group.fields.filter((field) => !said.includes(field));
    const rows = said.map((row) => this.field(row));
    const rest = unsaid.length
      ? this.more(`More that can be said (${unsaid.length})`, [make("div", { class: "fields" }, ...unsaid.map((row) => this.field(row)))], group.key)
      : null;
    const canGo = group.list_key !== "" && group.file !== "readings";
    const remove = canGo
      ? make("button", { type: "button", class: "quiet", onclick: () => { this.remove(group); } }, "take it out")
      : null;
    return make(
      "fieldset",
      { class: group.given ? "group" : "group unsaid" },
      make("legend", {}, group.title),
      group.help ? make("p", { class: "help" }, group.help) : null,
      make("div", { class: "fields" }, ...rows),
      rest,
      remove,
    );
  }

  private field(row: FieldRow): HTMLElement {
    const field = new Field(row, this.write);
    this.fields.set(nameOf(row), field);
    return field.element;
  }

  private more(words: string, parts: HTMLElement[], key = words): HTMLElement {
    const box = make("details", { class: "more", open: this.open.get(key) ?? false }, make("summary", {}, words), ...parts);
    box.addEventListener("toggle", () => this.open.set(key, box.open));
    return box;
  }

  private offer(offer: ListOffer): HTMLElement {
    if (offer.file === "readings") return make("span", {});
    const file = offer.file;
    const hint = make("span", { class: "hint", id: newId("hint") }, offer.help);
    const add = (): void => {
      void this.write([{ do: "add", file, list_key: offer.list_key, member: offer.new_member }]);
    };
    return make(
      "div",
      { class: "line offer" },
      make("button", { type: "button", onclick: add, "aria-describedby": hint.id }, `add ${offer.title}`),
      hint,
    );
  }

  private remove(group: FieldGroup): void {
    if (group.file === "readings") return;
    void this.write([{ do: "remove", file: group.file, key: group.key }]);
  }

  get isEmpty(): boolean {
    return this.groups.length === 0 && this.element.children.length === 0;
  }
}

function nameOf(row: FieldRow): string {
  return `${row.file} ${row.key}`;
}
