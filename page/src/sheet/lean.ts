/** The sliders that stand the vehicle on a slope and drive it, and the oil that answers. */

import { Refused, send } from "../link";
import { make } from "../make";
import type { LeanAnswer, LeanRequest } from "../messages";
import { slider } from "../picture/frame";
import { type Units, lengthWords, plain, standWords, volumeWords } from "../words";
import { stamp } from "./says";

const LEVEL: LeanRequest = { nose_up_deg: 0, lean_right_deg: 0, braking_g: 0, left_turn_g: 0, litres: null };

export class Lean {
  readonly element = make("div", { class: "lean" });
  private readonly says = make("p", { class: "answer", "aria-live": "polite" });
  private readonly sliders: Record<"nose" | "over" | "braking" | "turning" | "litres", ReturnType<typeof slider>>;
  private asked: LeanRequest = { ...LEVEL };
  private isWaiting = false;
  private isNewer = false;
  private units: Units = "mm";
  /** called with every answer */
  answered: (asked: LeanRequest, answer: LeanAnswer) => void = () => undefined;

  constructor() {
    const set = (change: Partial<LeanRequest>): void => {
      this.asked = { ...this.asked, ...change };
      this.ask();
    };
    const side = (plus: string, minus: string, digits: number, unit: string) => (value: number): string =>
      value === 0 ? "none" : `${plain(Math.abs(value), digits)}${unit} ${value > 0 ? plus : minus}`;
    this.sliders = {
      nose: slider("nose up", { least: -45, most: 45, step: 1, at: 0 }, side("up", "down", 0, "°"), (nose_up_deg) => { set({ nose_up_deg }); }),
      over: slider("lean", { least: -45, most: 45, step: 1, at: 0 }, side("to the right", "to the left", 0, "°"), (lean_right_deg) => { set({ lean_right_deg }); }),
      braking: slider("braking", { least: -1.6, most: 1.6, step: 0.05, at: 0 }, side("braking", "accelerating", 2, " g"), (braking_g) => { set({ braking_g }); }),
      turning: slider("turning", { least: -2, most: 2, step: 0.05, at: 0 }, side("left turn", "right turn", 2, " g"), (left_turn_g) => { set({ left_turn_g }); }),
      litres: slider("oil in the pan", { least: 0, most: 8, step: 0.05, at: 0 }, (value) => volumeWords(value, this.units), (litres) => { set({ litres }); }),
    };
    const level = make("button", { type: "button", onclick: () => { this.set(LEVEL); } }, "level, standing still, oil at the low mark");
    this.element.append(
      make("div", { class: "sliders" }, ...Object.values(this.sliders).map((one) => one.element)),
      make("div", { class: "line" }, level),
      this.says,
    );
  }

  /** Units of the job, and how much could be poured in [L]. */
  fit(units: Units, most: number | null): void {
    this.units = units;
    if (most) this.sliders.litres.input.max = String(Math.ceil(most * 1.4 * 2) / 2);
  }

  /** Stand and drive as told, the sliders along. */
  set(request: LeanRequest): void {
    this.asked = { ...request };
    this.sliders.nose.set(request.nose_up_deg);
    this.sliders.over.set(request.lean_right_deg);
    this.sliders.braking.set(request.braking_g);
    this.sliders.turning.set(request.left_turn_g);
    this.ask();
  }

  /** Ask again, because the pan has changed. */
  ask(): void {
    if (this.isWaiting) {
      this.isNewer = true;
      return;
    }
    void this.askNow();
  }

  /** One question at a time; what moved meanwhile is asked next, the newest only. */
  private async askNow(): Promise<void> {
    this.isWaiting = true;
    const asked = this.asked;
    try {
      const answer = await send<LeanAnswer>("/lean", asked);
      if (asked.litres === null) this.sliders.litres.set(answer.litres);
      this.answered(asked, answer);
      this.tell(asked, answer);
    } catch (trouble) {
      if (!(trouble instanceof Refused)) throw trouble;
      this.says.textContent = trouble.message;
    } finally {
      this.isWaiting = false;
      if (this.isNewer) {
        this.isNewer = false;
        void this.askNow();
      }
    }
  }

  private tell(asked: LeanRequest, answer: LeanAnswer): void {
    if (answer.trouble) {
      this.says.replaceChildren(stamp("cannot say"), ` ${answer.trouble}`);
      return;
    }
    const stands = answer.words || standWords(asked.nose_up_deg, asked.lean_right_deg, asked.braking_g, asked.left_turn_g);
    const more: string[] = [];
    if (answer.above_rail_mm !== null && answer.above_rail_mm > 0) {
      more.push(`The oil stands ${lengthWords(answer.above_rail_mm, this.units)} above the lowest place of the rail.`);
    }
    if (answer.crank_gap_mm !== null) {
      more.push(answer.crank_gap_mm < 0 ? `The crank dips ${lengthWords(-answer.crank_gap_mm, this.units)} into the oil.` : `${lengthWords(answer.crank_gap_mm, this.units)} from the oil up to the crank's sweep.`);
    }
    if (answer.surfaces.some((surface) => !surface.shared)) {
      more.push("Pools can be cut off from the mouth here: the second line in the picture is the level at the mouth when they keep what they can.");
    }
    this.says.replaceChildren(stamp(answer.verdict), ` With ${volumeWords(answer.litres, this.units)}, ${stands}: ${[answer.says, ...more].join(" ")}`);
  }
}
