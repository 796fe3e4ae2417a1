/** The frame round a picture: its four worded buttons, its place in the sheet, its print on paper. */

import { make, newId } from "../make";
import { type Picture, VIEWS, type View } from "./picture";

/** A picture that is built when it is first wanted, and what stands round it. */
export class PictureFrame {
  readonly element = make("figure", { class: "picture" });
  readonly holder: HTMLElement;
  readonly controls = make("div", { class: "controls" });
  readonly caption = make("figcaption", {});
  private readonly seenFrom = make("span", { class: "seen-from" });
  private picture: Picture | null = null;
  private wanted: View | null = null;

  constructor(
    name: string,
    private readonly build: (holder: HTMLElement) => Picture,
    private readonly built: (picture: Picture) => void,
  ) {
    const hint = make(
      "p",
      { class: "hint", id: newId("hint") },
      "Drag to turn, arrow keys too; + and − bring it nearer (or Ctrl with the wheel, or two fingers).",
    );
    this.holder = make("div", { class: "holder", tabindex: 0, role: "application", "aria-roledescription": "picture to turn", "aria-label": name, "aria-describedby": hint.id });
    const looks = VIEWS.map((view) =>
      make("button", { type: "button", onclick: () => { this.show(view); } }, view),
    );
    this.element.append(
      make("div", { class: "line views", role: "group", "aria-label": `${name}: look` }, ...looks, this.seenFrom),
      this.holder,
      hint,
      this.controls,
      this.caption,
    );
    const watch = new IntersectionObserver(
      (seen) => {
        if (seen.some((one) => one.isIntersecting)) this.ready();
      },
      { rootMargin: "300px" },
    );
    watch.observe(this.holder);
    addEventListener("beforeprint", () => { this.toPaper(); });
  }

  private isWithout = false;

  /** The picture, built now if it was not; null where this browser cannot draw it. */
  ready(): Picture | null {
    if (this.picture || this.isWithout) return this.picture;
    try {
      this.picture = this.build(this.holder);
    } catch (trouble) {
      this.isWithout = true;
      this.holder.classList.add("without");
      const why = trouble instanceof Error ? trouble.message : String(trouble);
      this.holder.append(
        make("p", { class: "none" }, `This browser cannot draw the picture (${why}). Numbers and findings are not touched by that.`),
      );
      return null;
    }
    this.picture.viewChanged = (words) => {
      this.seenFrom.textContent = words === "turned" ? "turned" : `seen ${words}`;
    };
    this.built(this.picture);
    if (this.wanted) this.picture.show(this.wanted);
    return this.picture;
  }

  private show(view: View): void {
    this.wanted = view;
    this.picture?.show(view);
  }

  private toPaper(): void {
    if (!this.picture) return;
    this.holder.querySelector("canvas.paper")?.remove();
    this.picture.draw(true);
    const from = this.picture.canvas;
    const copy = make("canvas", { class: "paper", width: from.width, height: from.height });
    copy.getContext("2d")?.drawImage(from, 0, 0);
    this.holder.append(copy);
  }
}

/** A slider with its words: what it is called, where it stands. */
export function slider(
  label: string,
  range: { least: number; most: number; step: number; at: number },
  words: (value: number) => string,
  moved: (value: number) => void,
): { element: HTMLElement; set: (value: number) => void; input: HTMLInputElement } {
  const id = newId("slider");
  const input = make("input", { type: "range", id, min: range.least, max: range.most, step: range.step, value: range.at });
  const output = make("output", { for: id });
  const tell = (): void => {
    const text = words(Number(input.value));
    output.textContent = text;
    input.setAttribute("aria-valuetext", text);
  };
  input.addEventListener("input", () => {
    tell();
    moved(Number(input.value));
  });
  tell();
  return {
    element: make("div", { class: "slider" }, make("label", { for: id }, label), input, output),
    input,
    set: (value) => {
      input.value = String(value);
      tell();
    },
  };
}
