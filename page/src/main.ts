import "./sheet.css";
import { Refused, get } from "./link";
import { make } from "./make";
import type { SheetState } from "./messages";
import { Sheet } from "./sheet/sheet";

async function start(): Promise<void> {
  const state = await get<SheetState>("/sheet");
  await new Sheet(state).run();
}

start().catch((trouble: unknown) => {
  const says = trouble instanceof Refused ? trouble.message : "The page went wrong. Load it again; what was typed before is in the files.";
  document.body.prepend(make("p", { class: "spoken", role: "alert" }, says));
  if (!(trouble instanceof Refused)) throw trouble;
});
