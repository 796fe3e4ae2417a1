/** Work that takes longer than one waits for: begun by hand, told how far it is, stopped at any time. */

import { Refused, send } from "../link";
import { make, newId } from "../make";
import type { RunState, SlowWork, StartAnswer } from "../messages";

type Kind = Exclude<SlowWork, "">;

interface Words {
  readonly path: string;
  /** on the button: never done, old, and fresh */
  readonly first: string;
  readonly old: string;
  readonly again: string;
  readonly help: string;
  readonly done: string;
  readonly stopped: string;
}

const WORDS: Record<Kind, Words> = {
  drive: {
    path: "/drive",
    first: "drive the pan",
    old: "drive the pan again: its figures are old",
    again: "drive the pan again",
    help: "Through its corners, braking, hills and logged runs, from compartment to compartment.",
    done: "Driven.",
    stopped: "Stopped.",
  },
  "free surface": {
    path: "/free-surface",
    first: "work out how the oil really moves",
    old: "work out again how the oil really moves: it is old",
    again: "work out again how the oil really moves",
    help: "In three dimensions, for the worst manoeuvres. It can lower a verdict, never raise one.",
    done: "Worked out; what was run is kept in the folder free-surface.",
    stopped: "Stopped. What was run is kept; the next start goes on from there.",
  },
  weld: {
    path: "/weld",
    first: "plan the welds",
    old: "plan the welds again: the plan is old",
    again: "plan the welds again",
    help: "In which order, where the torch gets to, and how far the pan bows.",
    done: "Planned.",
    stopped: "Stopped.",
  },
  pack: {
    path: "/pack",
    first: "write the shop pack",
    old: "write the shop pack",
    again: "write the shop pack again",
    help: "",
    done: "The shop pack is written.",
    stopped: "Stopped; a pack that was there before is as it was.",
  },
};

/** One kind of slow work: its button, how far it is, what came of it. */
export class SlowBox {
  readonly element = make("div", { class: "slow-work" });
  private readonly button: HTMLButtonElement;
  private readonly stopIt: HTMLButtonElement;
  private readonly bar = make("progress", { max: 1, value: 0, hidden: true });
  private readonly says = make("p", { role: "status", class: "doing" });
  private readonly minutes: HTMLInputElement | null = null;
  private isRunning = false;

  constructor(private readonly work: Kind, private readonly version: () => string) {
    const words = WORDS[work];
    this.button = make("button", { type: "button", class: work === "pack" ? "main" : null, onclick: () => { void this.start(); } }, words.first);
    this.stopIt = make("button", { type: "button", hidden: true, onclick: () => { void this.cancel(); } }, "stop that");
    this.bar.setAttribute("aria-label", `${words.first}: how far it is`);
    const line = make("div", { class: "line" }, this.button, this.stopIt);
    if (work === "free surface") {
      const id = newId("minutes");
      this.minutes = make("input", { type: "text", id, class: "cell", inputmode: "decimal", autocomplete: "off", placeholder: "as in the job file" });
      line.append(make("label", { for: id }, "minutes it may take"), this.minutes);
    }
    this.element.append(line, words.help ? make("p", { class: "hint" }, words.help) : "", this.bar, this.says);
  }

  show(run: RunState): void {
    const words = WORDS[this.work];
    const state = run.slow.find((one) => one.work === this.work);
    this.isRunning = run.slow_running === this.work;
    this.button.textContent = !state?.done ? words.first : state.stale ? words.old : words.again;
    this.button.disabled = run.slow_running !== "";
    this.stopIt.hidden = !this.isRunning;
    this.bar.hidden = !this.isRunning;
    this.element.classList.toggle("old", state?.stale ?? false);
    if (!this.isRunning) return;
    this.bar.value = run.slow_of ? run.slow_done / run.slow_of : 0;
    const share = run.slow_of >= 100 ? `${Math.floor((100 * run.slow_done) / run.slow_of)} %` : `${run.slow_done + 1} of ${run.slow_of}`;
    this.says.textContent = run.slow_doing ? `${run.slow_doing} (${share})` : "";
  }

  ended(trouble: string): void {
    const words = WORDS[this.work];
    this.says.textContent = trouble === "it was stopped" ? words.stopped : trouble ? `Not done: ${trouble}` : words.done;
  }

  private async start(): Promise<void> {
    const version = this.version();
    const typed = this.minutes?.value.trim().replace(",", ".") ?? "";
    const minutes = typed === "" ? null : Number(typed);
    if (minutes !== null && !(minutes >= 0.1 && minutes <= 1440)) {
      this.says.textContent = "Minutes: a number between 0.1 and 1440, or nothing for the cells of the job file.";
      this.minutes?.focus();
      return;
    }
    await this.ask(WORDS[this.work].path, this.minutes ? { version, minutes } : { version });
  }

  private async cancel(): Promise<void> {
    await this.ask("/cancel", { version: this.version() });
  }

  private async ask(path: string, body: unknown): Promise<void> {
    try {
      const answer = await send<StartAnswer>(path, body);
      if (!answer.started) this.says.textContent = answer.why_not;
    } catch (trouble) {
      if (!(trouble instanceof Refused)) throw trouble;
      this.says.textContent = trouble.message;
    }
  }
}
