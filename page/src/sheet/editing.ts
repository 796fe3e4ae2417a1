/** Edits on their way to the files, one after the other, and what is asked when two meet. */

import { Refused, send } from "../link";
import { make } from "../make";
import type { Asked, Edit, EditAnswer, EditRequest, StepRequest } from "../messages";

export interface EditingTells {
  /** the state of the files that the page shows */
  version: () => string;
  answered: (answer: EditAnswer) => void;
  says: (words: string) => void;
}

export class Editing {
  private queue: Promise<void> = Promise.resolve();

  constructor(private readonly tells: EditingTells) {}

  /** Write; false when it was refused or the other's text stays. */
  write(edits: Edit[], by: EditRequest["by"] = "page", draft = false): Promise<boolean> {
    return this.inOrder(async () => {
      const answer = await this.send({ version: this.tells.version(), edits, by, draft });
      if (answer.outcome !== "asks") return answer.outcome !== "refused";
      if (!(await askWhichStands(answer.asks))) return false;
      const again = await this.send({
        version: answer.version,
        edits: edits.map((edit) => overwriting(edit, answer.asks)),
        by,
        draft: false,
      });
      return again.outcome === "taken" || again.outcome === "kept";
    });
  }

  undo(): Promise<boolean> {
    return this.step("/undo");
  }

  redo(): Promise<boolean> {
    return this.step("/redo");
  }

  private step(path: string): Promise<boolean> {
    return this.inOrder(async () => {
      const request: StepRequest = { version: this.tells.version() };
      const answer = await send<EditAnswer>(path, request);
      this.tells.answered(answer);
      if (answer.outcome === "asks") {
        this.tells.says("The file was changed outside meanwhile, so this step cannot be taken back here. Nothing was written.");
      }
      return answer.outcome === "taken" || answer.outcome === "kept";
    });
  }

  private async send(request: EditRequest): Promise<EditAnswer> {
    const answer = await send<EditAnswer>("/edit", request);
    this.tells.answered(answer);
    return answer;
  }

  /** One at a time: each names the version that the one before it left. */
  private inOrder(work: () => Promise<boolean>): Promise<boolean> {
    const mine = this.queue.then(work).catch((trouble: unknown) => {
      if (!(trouble instanceof Refused)) throw trouble;
      this.tells.says(trouble.message);
      return false;
    });
    this.queue = mine.then(() => undefined, () => undefined);
    return mine;
  }
}

function overwriting(edit: Edit, asks: readonly Asked[]): Edit {
  if (!("was" in edit)) return edit;
  const key = "key" in edit ? edit.key : null;
  const ask = key === null ? asks[0] : asks.find((one) => one.key === key);
  return ask ? ({ ...edit, was: ask.theirs } as Edit) : edit;
}

/** Ask in words which of two changes shall stand; true = mine. */
export function askWhichStands(asks: readonly Asked[]): Promise<boolean> {
  return new Promise((settle) => {
    const mine = make("button", { type: "submit", value: "mine" }, "write what I typed");
    const theirs = make("button", { type: "submit", value: "theirs", autofocus: true }, "leave what stands there");
    const dialog = make(
      "dialog",
      { "aria-labelledby": "two-hands" },
      make(
        "form",
        { method: "dialog" },
        make("h2", { id: "two-hands" }, "Changed in two places"),
        make("p", {}, "Another page or an editor has changed the same place since this page showed it. Nothing of yours is written yet."),
        ...asks.map((ask) =>
          make(
            "dl",
            {},
            make("dt", {}, "place"), make("dd", {}, ask.key),
            make("dt", {}, "you saw"), make("dd", {}, ask.was || "nothing"),
            make("dt", {}, "it now says"), make("dd", {}, ask.theirs || "nothing"),
            make("dt", {}, "you typed"), make("dd", {}, ask.yours || "nothing"),
          ),
        ),
        make("div", { class: "line" }, theirs, mine),
      ),
    );
    dialog.addEventListener("close", () => {
      settle(dialog.returnValue === "mine");
      dialog.remove();
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}
