/** A new job by a few questions. */

import { Refused, get, send } from "../link";
import { make, newId } from "../make";
import type { NewAnswer, Question, Questions } from "../messages";

export class NewJob {
  readonly element = make("section", { class: "paper new-job", "aria-label": "New job" });
  private readonly words = new Map<string, () => string[]>();
  private readonly trouble = new Map<string, HTMLElement>();
  private readonly whole = make("p", { class: "faults", role: "alert" });

  constructor(private readonly laidOut: (notes: readonly string[]) => void) {}

  async show(): Promise<void> {
    const { questions } = await get<Questions>("/questions");
    const form = make(
      "form",
      { onsubmit: (event: SubmitEvent) => { event.preventDefault(); void this.layOut(); } },
      make("h1", {}, "A new pan"),
      make("p", {}, "A few questions first. Everything can be changed later; what is not answered stands on the sheet as an assumption."),
      ...questions.map((question) => this.question(question)),
      this.whole,
      make("button", { type: "submit", class: "main" }, "lay out the job"),
    );
    this.element.replaceChildren(form);
  }

  private question(question: Question): HTMLElement {
    const trouble = make("p", { class: "faults", id: newId("trouble"), "aria-live": "polite" });
    this.trouble.set(question.key, trouble);
    const why = make("p", { class: "help", id: newId("why") }, question.why);
    const asks = question.needed ? `${question.asks} (needed)` : question.asks;
    if (question.holds === "choices" || question.holds === "choice") {
      const name = newId("choice");
      const type = question.holds === "choices" ? "checkbox" : "radio";
      const entries = question.words.map((word) => make("input", { type, id: newId("word"), name, value: word }));
      this.words.set(question.key, () => entries.filter((entry) => entry.checked).map((entry) => entry.value));
      return make(
        "fieldset",
        { class: "question", "aria-describedby": why.id },
        make("legend", {}, asks),
        why,
        make("div", { class: "choices" }, ...entries.map((entry) => make("span", { class: "choice" }, entry, make("label", { for: entry.id }, entry.value)))),
        trouble,
      );
    }
    if (question.holds === "tilt") return this.tilt(question, why, trouble);
    const entry = make("input", { type: "text", id: newId("answer"), placeholder: question.example, "aria-describedby": `${why.id} ${trouble.id}`, autocomplete: "off" });
    this.words.set(question.key, () => (entry.value.trim() ? [entry.value.trim()] : []));
    return make("div", { class: "question" }, make("label", { for: entry.id }, asks), why, entry, trouble);
  }

  /** Level, or one of two sides and by how much: both sides at once cannot be given. */
  private tilt(question: Question, why: HTMLElement, trouble: HTMLElement): HTMLElement {
    const name = newId("tilt");
    const entries = question.words.map((word, k) => make("input", { type: "radio", id: newId("word"), name, value: word, checked: k === 0 }));
    const angle = make("input", { type: "text", id: newId("answer"), placeholder: question.example, disabled: true, autocomplete: "off", "aria-label": `${question.asks} By how much` });
    const side = (): string => entries.find((entry) => entry.checked)?.value ?? "";
    for (const entry of entries) entry.addEventListener("change", () => { angle.disabled = side() === question.words[0]; });
    this.words.set(question.key, () => (angle.disabled ? [side()] : [side(), angle.value.trim()].filter(Boolean)));
    return make(
      "fieldset",
      { class: "question", "aria-describedby": why.id },
      make("legend", {}, question.asks),
      why,
      make("div", { class: "choices" }, ...entries.map((entry) => make("span", { class: "choice" }, entry, make("label", { for: entry.id }, entry.value)))),
      angle,
      trouble,
    );
  }

  private async layOut(): Promise<void> {
    for (const place of this.trouble.values()) place.textContent = "";
    this.whole.textContent = "";
    try {
      const answers = [...this.words].map(([key, words]) => ({ key, words: words() }));
      const answer = await send<NewAnswer>("/new", { answers });
      if (answer.laid_out) {
        this.laidOut(answer.notes);
        return;
      }
      for (const fault of answer.faults) {
        const place = this.trouble.get(fault.key) ?? this.whole;
        place.textContent = [fault.rule, fault.allowed, fault.good ? `for example ${fault.good}` : ""].filter(Boolean).join("; ");
      }
      this.element.querySelector<HTMLElement>(".faults:not(:empty)")?.scrollIntoView({ block: "center" });
    } catch (trouble) {
      if (!(trouble instanceof Refused)) throw trouble;
      this.whole.textContent = trouble.message;
    }
  }
}
