/** The head of the sheet: which job, what is being done, what was changed, what was taken for granted. */

import { Refused, packFile, upload } from "../link";
import { make, newId } from "../make";
import type { FaultRow, RunState, SheetState, SlowEvent, UploadAnswer } from "../messages";
import { SlowBox } from "./slow_work";

export class JobHead {
  readonly element = make("div", {});
  private readonly packSays = make("p", { role: "status" });
  private readonly pack: SlowBox;
  private readonly uploadSays = make("p", { role: "status" });

  constructor(private readonly tells: { version: () => string; goTo: (key: string) => void }) {
    this.pack = new SlowBox("pack", tells.version);
    this.pack.element.firstElementChild?.append(make("button", { type: "button", onclick: () => { print(); } }, "print the sheet"));
  }

  show(state: SheetState): void {
    const { job, changes, assumptions, cautions } = state;
    this.pack.show(state.run);
    if (!job) return;
    const opened = new Map([...this.element.querySelectorAll("details")].map((box) => [box.dataset["name"], box.open]));
    const box = (name: string, words: string, ...parts: HTMLElement[]): HTMLElement =>
      make("details", { "data-name": name, open: opened.get(name) ?? false }, make("summary", {}, words), ...parts);
    this.element.replaceChildren(
      ...faultList(state.faults, this.tells.goTo),
      this.pack.element,
      this.packSays,
      ...this.packFiles(state),
      box(
        "changes",
        changes.length ? `Changes since the job was opened: ${changes.length}` : "No changes since the job was opened",
        changes.length
          ? make("ol", { class: "changes" }, ...changes.map((change) =>
              make("li", {}, make("b", {}, change.key), `: ${change.before || "nothing"} → ${change.after || "taken out"}`, change.by === "outside" ? " (by an editor outside)" : change.by === "drag" ? " (by hand in the picture)" : ""),
            ))
          : make("p", {}, "What is typed here goes to the files at once and is listed here."),
      ),
      box(
        "assumptions",
        `Taken because the job does not say: ${assumptions.length}`,
        make("ul", {}, ...assumptions.map((one) => make("li", {}, one.says, " ", make("button", { type: "button", class: "quiet", onclick: () => { this.tells.goTo(one.key); } }, `say it: ${one.key}`), make("span", { class: "source" }, ` Source: ${one.source}`)))),
      ),
      box("cautions", "Cautions", ...cautions.map((one) => make("p", { class: "caution" }, make("b", {}, `${one.heading}: `), one.says))),
      box("files", `Files of this job (folder ${job.folder})`, make("p", {}, [job.job_file, job.shop_file, state.readings?.file].filter(Boolean).join(", ")), this.uploads()),
    );
  }

  run(run: RunState): void {
    this.pack.show(run);
  }

  slow(event: SlowEvent): void {
    this.pack.show(event.run);
    if (event.work === "pack" && event.run.slow_running !== "pack") this.pack.ended(event.trouble);
  }

  private packFiles({ pack }: SheetState): HTMLElement[] {
    if (!pack.written) return [];
    return [make(
      "p",
      { class: "line pack-files" },
      pack.stale ? "Shop pack on disk, older than the files: " : `Shop pack in ${pack.folder}: `,
      ...pack.files.map((name) => make("button", { type: "button", class: "quiet", onclick: () => { void this.save(name); } }, name)),
    )];
  }

  private async save(name: string): Promise<void> {
    try {
      const address = URL.createObjectURL(await packFile(name));
      make("a", { href: address, download: name.split("/").at(-1) ?? name }).click();
      setTimeout(() => { URL.revokeObjectURL(address); }, 10_000);
    } catch (trouble) {
      if (!(trouble instanceof Refused)) throw trouble;
      this.packSays.textContent = trouble.message;
    }
  }

  private uploads(): HTMLElement {
    const id = newId("upload");
    const kinds = make("select", { "aria-label": "what the file is" }, ...UPLOADS.map(([kind, words]) => make("option", { value: kind }, words)));
    const entry = make("input", { type: "file", id });
    const put = async (): Promise<void> => {
      const file = entry.files?.[0];
      if (!file) return;
      if (file.size > LARGEST) {
        this.uploadSays.textContent = `${file.name} is larger than ${LARGEST / 1024 / 1024} MB: thin it out first.`;
        return;
      }
      try {
        const answer = await upload<UploadAnswer>(`/upload?name=${encodeURIComponent(file.name)}&kind=${kinds.value}`, file);
        this.uploadSays.textContent = answer.says;
      } catch (trouble) {
        if (!(trouble instanceof Refused)) throw trouble;
        this.uploadSays.textContent = trouble.message;
      }
    };
    entry.addEventListener("change", () => { void put(); });
    return make("div", {}, make("div", { class: "line" }, make("label", { for: id }, "Put a file into the job folder"), kinds, entry), this.uploadSays);
  }
}

const UPLOADS = [
  ["scan", "a scan of the rail"],
  ["picture", "a picture of the gasket"],
  ["surface", "a surface to stay clear of"],
  ["log", "a log of a run"],
] as const;
/** As much as the server takes in at once [bytes]. */
const LARGEST = 64 * 1024 * 1024;

/** Everything in the files that cannot be read, with the way to it. */
export function faultList(faults: readonly FaultRow[], goTo: (key: string) => void): HTMLElement[] {
  if (!faults.length) return [];
  return [make(
    "div",
    { class: "faults", role: "alert" },
    make("p", {}, make("b", {}, "The files cannot be read as they stand. "), "They are kept as typed; the figures below are those of the last state that could be read."),
    make(
      "ul",
      {},
      ...faults.map((fault) =>
        make(
          "li",
          {},
          `${fault.file}${fault.line === null ? "" : `, line ${fault.line}`}: ${fault.key}: `,
          fault.read ? `read "${fault.read}"; ` : "",
          [fault.rule, fault.allowed, fault.good ? `for example ${fault.good}` : ""].filter(Boolean).join("; "),
          " ",
          make("button", { type: "button", class: "quiet", onclick: () => { goTo(fault.key); } }, "go there"),
        ),
      ),
    ),
  )];
}
