/** The whole sheet: one section after the other in the order of the work. */

import { Refused, get, listen, send } from "../link";
import { make } from "../make";
import type {
  EditAnswer, FaultRow, FieldRow, FindingRow, LastChange, ProposalRow, RunState, SectionAsks, SectionKey, SectionSays,
  ServerEvent, SheetState, SlowEvent, SlowWork, TryAnswer,
} from "../messages";
import { Asks } from "./asks";
import { Editing } from "./editing";
import { JobHead } from "./job_head";
import type { Pictures } from "./pictures";
import { NewJob } from "./questions";
import { Readings } from "./readings";
import { Says, stamp } from "./says";
import { SlowBox } from "./slow_work";
import { StandingLine } from "./verdict_line";

/** Which section begins which slow work. */
const SLOW_OF: Partial<Record<SectionKey, readonly Exclude<SlowWork, "">[]>> = { motion: ["drive", "free surface"], weld: ["weld"] };

interface Section {
  readonly key: SectionKey;
  readonly element: HTMLElement;
  readonly head: HTMLElement;
  readonly asks: Asks;
  readonly slow: readonly SlowBox[];
  readonly looks: HTMLElement;
  readonly did: HTMLElement;
  readonly says: Says;
}

export class Sheet {
  private state: SheetState;
  private readonly sections = new Map<SectionKey, Section>();
  private readonly main = make("main", { id: "sheet", tabindex: -1 });
  private readonly line: StandingLine;
  private readonly head: JobHead;
  private readonly editing: Editing;
  private readonly readings: Readings;
  private readonly spoken = make("p", { class: "spoken", role: "alert" });
  private pictures: Pictures | null = null;

  constructor(state: SheetState) {
    this.state = state;
    const write = (edits: Parameters<Editing["write"]>[0]): Promise<boolean> => this.editing.write(edits);
    this.editing = new Editing({
      version: () => this.state.version,
      answered: (answer) => { this.take(answer); },
      says: (words) => { this.say(words); },
    });
    this.line = new StandingLine({
      goTo: (key) => { this.goToSection(key); },
      undo: () => { void this.editing.undo(); },
      redo: () => { void this.editing.redo(); },
    });
    this.head = new JobHead({ version: () => this.state.version, goTo: (key) => { this.goToKey(key); } });
    this.readings = new Readings(write);
    document.body.replaceChildren(
      make("a", { class: "skip", href: "#sheet", onclick: (event: Event) => { event.preventDefault(); this.main.focus(); } }, "to the sheet"),
      this.line.element,
      this.spoken,
      this.main,
    );
    addEventListener("keydown", (event) => { this.key(event); });
  }

  /** Put it up and keep it fresh until the page is closed. */
  async run(): Promise<void> {
    if (this.state.has_job) this.build();
    else await this.askQuestions();
    void this.bringPictures();
    await listen(
      (event) => { this.hear(event); },
      () => { this.say("Sumpwright has gone silent: is it still running in its window? What was typed before is in the files."); },
      () => { this.say(""); void this.getAgain(); },
    );
  }

  private async askQuestions(): Promise<void> {
    const questions = new NewJob((notes) => {
      void this.getAgain().then(() => { this.say(notes.join(" ")); });
    });
    this.main.replaceChildren(questions.element);
    await questions.show();
  }

  /** Pictures come after the words, so that the sheet stands at once. */
  private async bringPictures(): Promise<void> {
    const { Pictures } = await import("./pictures");
    this.pictures = new Pictures({
      writeDrag: (edits) => this.editing.write(edits, "drag", true),
      says: (words) => { this.say(words); },
    });
    this.placePictures();
  }

  private placePictures(): void {
    const { pictures, state } = this;
    if (!pictures || !state.job) return;
    pictures.setJob(state.job.units, this.datum());
    pictures.refresh(state.pictures);
    this.main.append(pictures.explored.element);
    for (const section of this.sections.values()) {
      const drawn = pictures.of(section.key);
      section.looks.hidden = drawn.length === 0;
      section.looks.replaceChildren(make("h3", {}, "What it looks like"), ...drawn);
      const watch = new IntersectionObserver(
        (seen) => {
          if (!seen.some((one) => one.isIntersecting)) return;
          watch.disconnect();
          pictures.near(section.key);
        },
        { rootMargin: "600px" },
      );
      watch.observe(section.element);
    }
  }

  private datum(): string {
    const rail = this.state.asks.find((asks) => asks.section === "rail");
    return rail?.groups.flatMap((group) => group.fields).find((field) => field.key === "rail.datum")?.text ?? "";
  }

  private build(): void {
    const { state } = this;
    this.sections.clear();
    document.title = `${state.job?.name ?? "New job"}: job sheet`;
    const keys: SectionKey[] = state.verdict.sections.map((one) => one.section).filter((key) => key !== "job");
    for (const one of [...state.asks, ...state.says]) if (!keys.includes(one.section) && one.section !== "job") keys.push(one.section);
    const headAsks = state.asks.find((asks) => asks.section === "job");
    const jobAsks = new Asks((edits) => this.editing.write(edits));
    if (headAsks) jobAsks.show(headAsks);
    this.jobAsks = jobAsks;
    const title = make("h1", {}, state.job?.name ?? "");
    this.main.replaceChildren(
      make("section", { class: "paper", id: "section-job", "aria-label": "The job" }, title, make("p", { class: "tally" }, state.verdict.tally), this.head.element, jobAsks.element),
      ...keys.map((key, k) => this.section(key, k + 1)),
    );
    this.head.show(state);
    this.line.show(state.verdict);
    this.line.steps(state.undo, state.redo);
    this.line.run(state.run);
    this.line.others(state.also_open);
    for (const says of state.says) this.showSays(says);
    this.tellChange(state.last_change);
    if (state.readings) this.readings.show(state.readings);
  }

  private jobAsks: Asks | null = null;

  private section(key: SectionKey, number: number): HTMLElement {
    const asks = this.state.asks.find((one) => one.section === key) ?? { section: key, heading: "", groups: [], offers: [] };
    const says = this.state.says.find((one) => one.section === key);
    const heading = asks.heading || says?.heading || this.state.verdict.sections.find((one) => one.section === key)?.heading || key;
    const section: Section = {
      key,
      element: make("section", { class: "paper", id: `section-${key}`, "aria-labelledby": `heading-${key}` }),
      head: make("div", { class: "section-head" }, make("h2", { id: `heading-${key}`, tabindex: -1 }, `${number} ${heading}`), make("span", { class: "verdict" })),
      asks: new Asks((edits) => this.editing.write(edits)),
      slow: (SLOW_OF[key] ?? []).map((work) => new SlowBox(work, () => this.state.version)),
      looks: make("div", { class: "looks", hidden: true }),
      did: make("p", { class: "did", role: "status" }),
      says: new Says({
        showMe: (finding) => { this.showMe(key, finding); },
        change: (proposal) => { void this.propose(proposal); },
        tryOut: (proposal, say) => { void this.tryOut(proposal, say); },
      }),
    };
    this.showAsks(section, asks);
    section.element.append(
      section.head,
      make("div", { class: "strip" }, make("h3", {}, "What you enter"), section.asks.element, key === "rail" ? this.readings.element : null),
      ...(section.slow.length ? [make("div", { class: "strip" }, make("h3", {}, "What takes longer"), ...section.slow.map((box) => box.element))] : []),
      section.looks,
      make("div", { class: "strip" }, make("h3", {}, "What it says"), section.did, section.says.element),
    );
    for (const box of section.slow) box.show(this.state.run);
    this.sections.set(key, section);
    return section.element;
  }

  private showAsks(section: Section, asks: SectionAsks): void {
    section.asks.show(asks);
  }

  private showSays(says: SectionSays): void {
    const section = this.sections.get(says.section);
    if (!section) return;
    section.says.show(says);
    section.head.querySelector(".verdict")?.replaceChildren(stamp(says.verdict));
    section.element.classList.toggle("stale", says.stale && says.verdict !== null);
  }

  /** Where the work stands; the head tells what can be stopped. */
  private takeRun(run: RunState): void {
    this.state = { ...this.state, run };
    this.line.run(run);
    this.head.run(run);
    for (const box of this.slowBoxes()) box.show(run);
  }

  private slowBoxes(): SlowBox[] {
    return [...this.sections.values()].flatMap((section) => section.slow);
  }

  /** Slow work has gone on, or has ended. */
  private takeSlow(event: SlowEvent): void {
    this.state = { ...this.state, pack: event.pack };
    this.takeRun(event.run);
    if (event.run.slow_running) return;
    this.head.show(this.state);
    this.head.slow(event);
    for (const section of this.sections.values()) {
      for (const work of SLOW_OF[section.key] ?? []) if (work === event.work) section.slow[SLOW_OF[section.key]!.indexOf(work)]?.ended(event.trouble);
    }
  }

  /** Figures of an earlier state are grey until fresh ones come. */
  private setStale(section: Section, stale: readonly SectionKey[]): void {
    const judged = this.state.says.some((says) => says.section === section.key && says.verdict !== null);
    section.element.classList.toggle("stale", judged && stale.includes(section.key));
  }

  private tellChange(change: LastChange | null): void {
    for (const asks of this.allAsks()) asks.tellChange(change);
    for (const section of this.sections.values()) section.did.textContent = "";
    if (!change || !change.steps.length) return;
    for (const section of this.sections.values()) {
      const says = this.state.says.find((one) => one.section === section.key);
      const codes = new Set(says?.findings.map((finding) => finding.code));
      const mine = change.steps.filter((step) => codes.has(step.code));
      if (mine.length) section.did.textContent = `The last change (${change.key}: ${change.after || "taken out"}): ${mine.map((step) => step.says).join(" ")}`;
    }
  }

  private allAsks(): Asks[] {
    const all = [...this.sections.values()].map((section) => section.asks);
    return this.jobAsks ? [this.jobAsks, ...all] : all;
  }

  /** An answer to this page's own edit. */
  private take(answer: EditAnswer): void {
    if (answer.outcome === "asks") {
      this.state = { ...this.state, version: answer.version };
      return;
    }
    if (answer.outcome === "refused") {
      const homeless = answer.faults.filter((fault) => !this.allAsks().some((asks) => asks.refuse(fault.key, faultWords(fault))));
      this.say(homeless.map((fault) => `${fault.key}: ${faultWords(fault)}.`).join(" "));
      return;
    }
    this.say("");
    this.state = { ...this.state, version: answer.version, faults: answer.faults, undo: answer.undo, redo: answer.redo };
    this.takeFields(answer.fields);
    this.line.steps(answer.undo, answer.redo);
    this.head.show(this.state);
    if (answer.reshaped) void this.getAgain();
  }

  private takeFields(fields: readonly FieldRow[]): void {
    if (!fields.length) return;
    const fresh = new Map(fields.map((field) => [`${field.file} ${field.key}`, field]));
    this.state = {
      ...this.state,
      asks: this.state.asks.map((asks) => ({
        ...asks,
        groups: asks.groups.map((group) => ({ ...group, fields: group.fields.map((field) => fresh.get(`${field.file} ${field.key}`) ?? field) })),
      })),
    };
    for (const asks of this.allAsks()) asks.update(fields);
  }

  private hear(event: ServerEvent): void {
    switch (event.event) {
      case "stale":
        this.state = { ...this.state, version: event.version };
        this.takeRun(event.run);
        for (const section of this.sections.values()) this.setStale(section, event.run.stale);
        break;
      case "working":
        this.takeRun(event.run);
        break;
      case "said":
        this.state = {
          ...this.state,
          says: [...this.state.says.filter((one) => one.section !== event.says.section), event.says],
          verdict: event.verdict,
          pictures: event.pictures,
        };
        if (!this.sections.has(event.says.section)) this.build();
        this.showSays(event.says);
        this.line.show(event.verdict);
        this.pictures?.refresh(event.pictures);
        break;
      case "settled":
        this.state = { ...this.state, run: event.run, verdict: event.verdict, pictures: event.pictures, last_change: event.last_change, assumptions: event.assumptions, readings: event.readings, pack: event.pack };
        for (const section of this.sections.values()) this.setStale(section, event.run.stale);
        this.takeRun(event.run);
        this.line.show(event.verdict);
        this.head.show(this.state);
        this.tellChange(event.last_change);
        if (event.readings) this.readings.show(event.readings);
        this.pictures?.refresh(event.pictures);
        break;
      case "files":
        this.state = { ...this.state, version: event.version, faults: event.faults, changes: event.changes, undo: event.undo, redo: event.redo };
        this.takeFields(event.fields);
        this.line.steps(event.undo, event.redo);
        this.head.show(this.state);
        if (event.by === "outside") this.say("The files were changed outside this page; what stands here has been brought up to date.");
        if (event.reshaped) void this.getAgain();
        break;
      case "slow":
        this.takeSlow(event);
        break;
      case "trouble":
        this.say(event.says);
        break;
      case "others":
        this.state = { ...this.state, also_open: event.also_open };
        this.head.show(this.state);
        this.line.others(event.also_open);
        break;
      case "here":
        break;
    }
  }

  private async getAgain(): Promise<void> {
    const scrolled = scrollY;
    this.state = await get<SheetState>("/sheet");
    if (!this.state.has_job) return;
    this.build();
    this.placePictures();
    scrollTo({ top: scrolled });
  }

  private async propose(proposal: ProposalRow): Promise<void> {
    if (proposal.file === "readings") return;
    await this.editing.write([{ do: "set", file: proposal.file, key: proposal.key, text: proposal.value, was: null }], "proposal");
  }

  private async tryOut(proposal: ProposalRow, say: (words: string) => void): Promise<void> {
    say("working it out");
    try {
      const answer = await send<TryAnswer>("/try", { key: proposal.key, value: proposal.value });
      const faults = answer.faults.map((fault) => fault.rule).join("; ");
      say(faults || answer.steps.map((step) => step.says).join(" ") || "It would move no finding.");
    } catch (trouble) {
      if (!(trouble instanceof Refused)) throw trouble;
      say(trouble.message);
    }
  }

  private showMe(section: SectionKey, finding: FindingRow): void {
    if (!this.pictures) this.say("The pictures are still on their way.");
    this.pictures?.showMe(section, finding);
  }

  private goToSection(key: SectionKey): void {
    const element = key === "job" ? this.main.querySelector<HTMLElement>("#section-job") : this.sections.get(key)?.element;
    element?.scrollIntoView();
    element?.querySelector<HTMLElement>("h2")?.focus({ preventScroll: true });
  }

  private goToKey(key: string): void {
    if (!this.allAsks().some((asks) => asks.goTo(key))) this.say(`${key} has no field of its own yet: add its section first.`);
  }

  private key(event: KeyboardEvent): void {
    const isTyping = event.target instanceof HTMLInputElement || event.target instanceof HTMLTextAreaElement;
    if (!(event.ctrlKey || event.metaKey) || isTyping) return;
    if (event.key === "z" && !event.shiftKey) void this.editing.undo();
    else if (event.key === "y" || (event.key === "Z" && event.shiftKey)) void this.editing.redo();
    else return;
    event.preventDefault();
  }

  private say(words: string): void {
    this.spoken.textContent = words;
  }
}

function faultWords(fault: FaultRow): string {
  return [fault.rule, fault.allowed, fault.good ? `for example ${fault.good}` : ""].filter(Boolean).join("; ");
}
