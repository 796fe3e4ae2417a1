/** The line that stays in view: every section's verdict in a word, undo, and where the work stands. */

import { make } from "../make";
import type { RunState, SectionKey, VerdictLine } from "../messages";

const SLOW = {
  drive: "driving the pan",
  "free surface": "working out how the oil really moves",
  weld: "planning the welds",
  pack: "writing the shop pack",
} as const;

export class StandingLine {
  readonly element: HTMLElement;
  private readonly list = make("ol", { class: "verdicts" });
  private readonly headline = make("strong", { class: "headline" });
  private readonly beside = make("span", { class: "beside", role: "status" });
  private readonly working = make("span", { class: "working", role: "status" });
  private readonly undoButton: HTMLButtonElement;
  private readonly redoButton: HTMLButtonElement;

  constructor(tells: { goTo: (section: SectionKey) => void; undo: () => void; redo: () => void }) {
    this.undoButton = make("button", { type: "button", disabled: true, onclick: tells.undo }, "undo");
    this.redoButton = make("button", { type: "button", disabled: true, onclick: tells.redo }, "redo");
    this.list.addEventListener("click", (event) => {
      const section = (event.target as HTMLElement).closest("button")?.dataset["section"];
      if (section) tells.goTo(section as SectionKey);
    });
    this.element = make(
      "header",
      { class: "standing" },
      make("div", { class: "standing-top" }, this.headline, this.beside, this.working, this.undoButton, this.redoButton),
      make("nav", { "aria-label": "Verdict of each section" }, this.list),
    );
  }

  show(line: VerdictLine): void {
    this.headline.textContent = line.headline;
    this.list.replaceChildren(
      ...line.sections.map((one) =>
        make(
          "li",
          { class: one.stale && one.verdict ? "stale" : null },
          make(
            "button",
            { type: "button", "data-section": one.section, class: (one.verdict ?? "not yet").replace(" ", "-") },
            make("span", {}, one.heading),
            " ",
            make("b", {}, one.verdict ?? "not yet"),
          ),
        ),
      ),
    );
  }

  steps(undo: string, redo: string): void {
    for (const [button, words, word] of [[this.undoButton, undo, "undo"], [this.redoButton, redo, "redo"]] as const) {
      button.disabled = words === "";
      button.title = words;
      button.setAttribute("aria-label", words ? `${word}: ${words}` : `nothing to ${word}`);
    }
  }

  run(run: RunState): void {
    const slow = run.slow_running ? SLOW[run.slow_running] : "";
    const share = run.slow_of ? ` (${Math.floor((100 * run.slow_done) / run.slow_of)} %)` : "";
    this.working.textContent = run.doing ? `${run.doing} (${run.done} of ${run.of})` : slow && `${slow}${share}`;
  }

  /** Other job sheets on the same folder. */
  others(count: number): void {
    this.beside.textContent = count ? `also open in ${count === 1 ? "another job sheet" : `${count} other job sheets`}` : "";
    this.beside.title = count ? "What the other writes is taken in here and the other way round; where both change the same place you are asked." : "";
  }

  trouble(words: string): void {
    this.working.textContent = words;
  }
}
