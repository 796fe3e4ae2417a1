/** The pictures of every section, fetched when they come near and again when they are old. */

import { ChartDrawing } from "../drawing/chart";
import { CoverMap } from "../drawing/cover_map";
import { Flats } from "../drawing/flats";
import { RailPlan } from "../drawing/rail_plan";
import { Refused, get } from "../link";
import { make } from "../make";
import type {
  BuildPicture, Chart, CoverPicture, ExploredPicture, FindingRow, PanPicture, PartsPicture, PictureRevisions, RailPicture,
  ReplayPicture, SectionKey, SuctionPicture, TracesPicture,
} from "../messages";
import { BuildView } from "../picture/build_view";
import { DrivenView } from "../picture/driven_view";
import { FreeView } from "../picture/free_view";
import type { WriteDrag } from "../picture/dragging";
import { PanView, standing } from "../picture/pan_view";
import { PartsView } from "../picture/parts_view";
import type { Units } from "../words";
import { Explored } from "./explored";
import { Lean } from "./lean";
import { shareBars } from "./suction_shares";

type PictureName = keyof PictureRevisions;

const PATHS: Record<PictureName, string> = {
  pan: "/pan", parts: "/parts", build: "/build", explored: "/explored", rail_plan: "/rail-plan", cover: "/cover", traces: "/traces", suction: "/suction", replay: "/replay",
};
/** What each section has to look at. */
const OF_SECTION: Partial<Record<SectionKey, readonly PictureName[]>> = {
  rail: ["rail_plan"], body: ["pan"], oil: ["pan"], motion: ["pan", "cover", "traces", "replay"], suction: ["suction"], kit: ["pan", "parts"], weld: ["pan", "parts", "build"],
};

export class Pictures {
  private readonly shape = new PanView("The pan with its walls and what stands round it", {
    handles: true,
    layers: ["walls and doors", "pickup and dipstick", "crank sweep", "keep-outs and ground"],
    hidden: ["crank sweep"],
    over: -0.38,
  });
  private readonly oil = new PanView("The pan with its oil", {
    handles: false,
    layers: ["walls and doors", "pickup and dipstick", "crank sweep"],
    hidden: ["crank sweep", "keep-outs and ground"],
    over: 0.5,
  });
  private readonly parts = new PartsView();
  private readonly rail = new RailPlan();
  private readonly flats = new Flats();
  private readonly maps = make("div", { class: "maps" });
  private readonly traces = make("div", {});
  private readonly driven = new DrivenView();
  private readonly free = new FreeView();
  private readonly build = new BuildView();
  readonly explored = new Explored();
  private readonly suction = make("div", {});
  private readonly lean = new Lean();
  private readonly have = new Map<PictureName, string>();
  private readonly wanted = new Set<PictureName>();
  private charts: ChartDrawing[] = [];
  private revisions: PictureRevisions | null = null;
  private units: Units = "mm";
  private datum = "";
  private pan: PanPicture | null = null;

  constructor(tells: { writeDrag: WriteDrag; says: (words: string) => void }) {
    this.says = tells.says;
    this.shape.writeDrag = tells.writeDrag;
    this.lean.answered = (asked, answer) => { this.oil.setLean(asked, answer); };
    this.parts.partChanged = (name) => { this.flats.choose(name); };
  }

  private readonly says: (words: string) => void;

  setJob(units: Units, datum: string): void {
    this.units = units;
    this.datum = datum;
  }

  /** What a section has to look at; nothing for a section without pictures. */
  of(section: SectionKey): HTMLElement[] {
    switch (section) {
      case "rail": return [this.rail.element];
      case "body": return [this.shape.frame.element];
      case "oil": return [this.lean.element, this.oil.frame.element];
      case "motion": return [this.maps, this.driven.element, this.free.element, this.traces];
      case "suction": return [this.suction];
      case "weld": return [this.build.element];
      case "kit": return [this.parts.frame.element, this.flats.element];
      default: return [];
    }
  }

  /** A section comes near: its pictures are wanted from now on. */
  near(section: SectionKey): void {
    for (const name of OF_SECTION[section] ?? []) this.wanted.add(name);
    this.fetchOld();
  }

  refresh(revisions: PictureRevisions): void {
    this.revisions = revisions;
    this.explored.element.hidden = revisions.explored === "";
    if (revisions.explored) this.wanted.add("explored");
    this.fetchOld();
  }

  /** Move the section's picture to a finding. */
  showMe(section: SectionKey, finding: FindingRow): void {
    this.near(section);
    if (section === "weld" && this.build.showPlace(finding)) return;
    if (section === "kit" || section === "weld") this.parts.showPlace(finding);
    else if (section === "oil" || section === "motion" || section === "suction") this.oil.showPlace(finding);
    else this.shape.showPlace(finding);
    if (this.pan === null) this.wanted.add("pan");
    this.fetchOld();
  }

  private fetchOld(): void {
    if (!this.revisions) return;
    for (const name of this.wanted) {
      const revision = this.revisions[name];
      if (this.have.get(name) === revision) continue;
      this.have.set(name, revision);
      void this.fetch(name);
    }
  }

  private async fetch(name: PictureName): Promise<void> {
    try {
      const picture = await get<unknown>(PATHS[name]);
      this.take(name, picture);
    } catch (trouble) {
      this.have.delete(name);
      if (!(trouble instanceof Refused)) throw trouble;
      this.says(trouble.message);
    }
  }

  private take(name: PictureName, picture: unknown): void {
    switch (name) {
      case "pan": { this.takePan(picture as PanPicture); break; }
      case "parts": { this.takeParts(picture as PartsPicture); break; }
      case "rail_plan": { this.rail.show(picture as RailPicture, this.units, this.datum); break; }
      case "cover": { this.takeCover(picture as CoverPicture); break; }
      case "traces": { this.takeTraces(picture as TracesPicture); break; }
      case "suction": { this.takeSuction(picture as SuctionPicture); break; }
      case "replay": { this.free.show(picture as ReplayPicture); break; }
      case "explored": { this.explored.show(picture as ExploredPicture); break; }
      case "build": { this.build.show(picture as BuildPicture); break; }
    }
  }

  private takePan(pan: PanPicture): void {
    this.pan = pan;
    this.shape.show(pan, this.units);
    this.oil.show(pan, this.units);
    this.driven.setPan(pan, this.units);
    this.free.setPan(pan, this.units);
    this.lean.fit(this.units, pan.volume_l);
    this.lean.ask();
  }

  private takeParts(parts: PartsPicture): void {
    this.parts.show(parts, this.pan ? standing(this.pan) : null);
    this.build.showParts(parts, this.pan ? standing(this.pan) : null);
    this.flats.show(parts, this.units);
  }

  private takeCover(cover: CoverPicture): void {
    this.maps.replaceChildren(
      ...cover.trouble.map((words) => make("p", { class: "none" }, words)),
      ...cover.maps.map((grid) => {
        const map = new CoverMap();
        map.chosen = (one, cell) => {
          const [across, along] = [one.across[cell]!, one.along[cell]!];
          const still = { nose_up_deg: 0, lean_right_deg: 0, braking_g: 0, left_turn_g: 0, litres: null };
          this.lean.set(one.kind === "slopes" ? { ...still, nose_up_deg: along, lean_right_deg: across } : { ...still, braking_g: -along, left_turn_g: across });
          this.oil.frame.holder.scrollIntoView({ block: "center" });
        };
        map.show(grid, this.units);
        return map.element;
      }),
    );
  }

  private takeTraces(traces: TracesPicture): void {
    for (const chart of this.charts.splice(0)) chart.close();
    this.traces.replaceChildren(
      ...traces.trouble.map((words) => make("p", { class: "none" }, words)),
      ...this.drawn(traces.charts),
    );
    this.traces.classList.toggle("stale", traces.stale);
    this.driven.show(traces);
  }

  private takeSuction(suction: SuctionPicture): void {
    this.suction.replaceChildren(
      ...suction.trouble.map((words) => make("p", { class: "none" }, words)),
      ...this.drawn(suction.charts),
      ...shareBars(suction.shares),
    );
  }

  private drawn(charts: readonly Chart[]): HTMLElement[] {
    return charts.map((chart) => {
      const drawing = new ChartDrawing(chart);
      this.charts.push(drawing);
      return drawing.element;
    });
  }
}
