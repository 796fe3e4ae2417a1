// Written from src/sumpwright/web/messages.py and picture_messages.py by
// `python -m tests.web.write_messages`. Do not edit by hand.

export const MESSAGES = 1;

export type Verdict = "holds" | "close" | "fails" | "cannot say";

export type SectionKey = "job" | "rail" | "body" | "oil" | "motion" | "suction" | "kit" | "weld" | "proof";

export type SlowWork = "" | "drive" | "free surface" | "weld" | "pack";

export type FileKind = "job" | "shop" | "readings";

export type HoldsWhat = "quantity" | "word" | "flag" | "name" | "list" | "pairs" | "text";

export type Edit = SetKey | ClearKey | AddMember | RemoveMember | SetCell | AddReading | RemoveReading | DragTo;

export type ServerEvent = StaleEvent | WorkingEvent | SaidEvent | SettledEvent | FilesEvent | SlowEvent | TroubleEvent | OthersEvent | HereEvent;

/**
 * One key of a file, as it stands there.
 */
export interface FieldRow {
  file: "job" | "shop" | "readings";
  key: string; // target of an edit: "lumps.sump.depth", 'walls."rear baffle".start'
  label: string; // "depth"
  text: string; // as typed, without the quotes; "" where nothing stands
  given: boolean; // the key stands in the file
  needed: boolean;
  holds: "quantity" | "word" | "flag" | "name" | "list" | "pairs" | "text";
  kind: string; // of a quantity: "length", "volume"; else ""
  words: string[]; // that may stand here; empty where it is no choice
  help: string;
  allowed: string; // "between 5 mm and 800 mm", in the job's units; "" where nothing bounds it
  example: string;
  value: number | null; // of a readable quantity, in ``unit``
  least: number | null; // in ``unit``
  most: number | null;
  unit: string; // "mm", "in", "°"; "" where there is none
  taken: string; // what stands in because nothing is given, a sentence; "" where nothing does
  faults: string[]; // what is wrong with it now
}

/**
 * One section of a file, or one member of a list of sections.
 */
export interface FieldGroup {
  file: "job" | "shop" | "readings";
  key: string; // "pan"; "lumps.sump"
  list_key: string; // "lumps" for a member of a list; "" for a single section
  title: string; // "Pan"; "Lump: sump"
  help: string;
  given: boolean; // stands in the file
  fields: FieldRow[];
}

/**
 * A list of sections to which a member can be added.
 */
export interface ListOffer {
  file: "job" | "shop" | "readings";
  list_key: string;
  title: string; // "a lump"
  help: string;
  members: string[]; // keys of the members, in the order of the file
  new_member: string; // TOML text of a member to begin with: '{ name = "lump 2", ... }'
}

/**
 * One key figure.
 */
export interface KeyNumber {
  label: string;
  text: string; // with its unit
  note: string;
}

/**
 * A marked row wants to be seen first.
 */
export interface TableRow {
  cells: string[];
  marked: boolean;
}

/**
 * A table under a caption, as the printed sheet has it.
 */
export interface TableBlock {
  caption: string;
  columns: string[];
  right: boolean[]; // column stands flush right
  rows: TableRow[];
  words: string[]; // sentences that stand above it
  stale: boolean; // of slow work on an earlier state of the files
}

/**
 * A change that would help.
 */
export interface ProposalRow {
  file: "job" | "shop" | "readings";
  key: string;
  value: string;
  says: string;
}

/**
 * The usual caution beside a step.
 */
export interface CautionRow {
  heading: string;
  says: string;
}

/**
 * One thing that is said.
 */
export interface FindingRow {
  id: string; // code and place: stays the same from run to run
  stale: boolean; // of slow work on an earlier state of the files
  code: string;
  verdict: "holds" | "close" | "fails" | "cannot say";
  where: string;
  says: string;
  how_sure: string;
  do: string;
  source: string;
  value: number | null; // in ``unit``
  limit: number | null;
  u95: number | null;
  unit: string;
  place_mm: [number, number, number] | null; // engine axes, as in the pan's picture
  proposals: ProposalRow[];
  cautions: CautionRow[];
}

/**
 * What one section of the sheet says; sent again whenever it was worked out anew.
 */
export interface SectionSays {
  section: "job" | "rail" | "body" | "oil" | "motion" | "suction" | "kit" | "weld" | "proof";
  heading: string; // "Rail"
  verdict: "holds" | "close" | "fails" | "cannot say" | null; // worst; None where nothing was judged
  tally: string; // "1 fails, 3 are close, 20 hold"
  stale: boolean; // worked out from an earlier state of the files
  findings: FindingRow[]; // worst first
  numbers: KeyNumber[];
  tables: TableBlock[];
}

/**
 * What one section of the sheet asks for.
 */
export interface SectionAsks {
  section: "job" | "rail" | "body" | "oil" | "motion" | "suction" | "kit" | "weld" | "proof";
  heading: string;
  groups: FieldGroup[];
  offers: ListOffer[];
}

/**
 * One line of the readings file.
 */
export interface ReadingRow {
  line: number; // of the file, counted from one
  kind: string;
  a: string;
  b: string;
  reading: string;
  tool: string; // column ``with``
  u: string;
  note: string;
  remark: boolean; // a line that begins with #; ``note`` holds it
  adjusted: string; // what it should have been, with its unit; "" where not known
  off_by: string; // reading less that
  checked: string; // "cannot be checked", "" where it can
  set_aside: boolean;
  faults: string[];
}

/**
 * The readings file as rows.
 */
export interface ReadingsTable {
  file: string;
  kinds: Record<string, string>; // word -> what was read
  tools: string[];
  columns: Record<string, string>; // kind, a, b, reading, with, u, note -> what it holds
  rows: ReadingRow[];
}

/**
 * One thing in the files that cannot be read.
 */
export interface FaultRow {
  file: string;
  line: number | null;
  key: string;
  read: string;
  rule: string;
  allowed: string;
  good: string;
}

/**
 * One change since the job was opened.
 */
export interface ChangeRow {
  number: number;
  file: "job" | "shop" | "readings";
  key: string;
  before: string;
  after: string;
  by: "page" | "outside" | "proposal" | "drag";
}

/**
 * How one finding moved with the last change.
 */
export interface StepRow {
  code: string;
  where: string;
  step: "better" | "worse" | "new" | "gone";
  says: string;
}

/**
 * What the last change did.
 */
export interface LastChange {
  key: string;
  after: string;
  steps: StepRow[];
  seconds: number; // from the edit to the last figure of the quick stages
}

/**
 * Where the work stands.
 */
export interface RunState {
  generation: number; // counts up with every change of the files
  working: "job" | "rail" | "body" | "oil" | "motion" | "suction" | "kit" | "weld" | "proof" | null;
  doing: string;
  done: number;
  of: number;
  stale: ("job" | "rail" | "body" | "oil" | "motion" | "suction" | "kit" | "weld" | "proof")[];
  slow: SlowState[];
  slow_running: "" | "drive" | "free surface" | "weld" | "pack";
  slow_doing: string;
  slow_done: number;
  slow_of: number;
}

/**
 * Work that is only done when it is asked for, and how its figures stand.
 */
export interface SlowState {
  work: "" | "drive" | "free surface" | "weld" | "pack";
  done: boolean;
  stale: boolean; // its figures are of an earlier state of the files
}

/**
 * The line that stays in view.
 */
export interface VerdictLine {
  headline: string;
  tally: string;
  sections: SectionVerdict[];
}

/**
 * One section in that line.
 */
export interface SectionVerdict {
  section: "job" | "rail" | "body" | "oil" | "motion" | "suction" | "kit" | "weld" | "proof";
  heading: string;
  verdict: "holds" | "close" | "fails" | "cannot say" | null;
  stale: boolean;
}

/**
 * Which state each picture was drawn from; fetch again what differs from yours.
 */
export interface PictureRevisions {
  pan: string;
  parts: string;
  build: string;
  rail_plan: string;
  cover: string;
  traces: string;
  suction: string;
  replay: string;
  explored: string; // "" = nothing was explored in this folder
}

/**
 * The shop pack on the disk.
 */
export interface PackState {
  written: boolean;
  stale: boolean; // the files have changed since
  files: string[]; // names for GET /pack-file
  folder: string; // its name beside the job file
}

/**
 * Which job this is.
 */
export interface JobHead {
  name: string;
  folder: string; // its last name only
  job_file: string;
  shop_file: string; // "" = none
  units: "mm" | "in";
  paper: "A4" | "Letter";
}

/**
 * Everything that stands on the sheet but its pictures.
 */
export interface SheetState {
  messages: 1;
  has_job: boolean; // False: the folder is new; show the questions
  job: JobHead | null;
  version: string; // of the files: an edit names the one it was made on
  asks: SectionAsks[];
  says: SectionSays[];
  readings: ReadingsTable | null;
  verdict: VerdictLine;
  run: RunState;
  faults: FaultRow[]; // while there are any, nothing is worked out anew
  assumptions: AssumptionRow[];
  cautions: CautionRow[];
  changes: ChangeRow[];
  undo: string; // what undo would take back; "" = nothing
  redo: string;
  last_change: LastChange | null;
  pictures: PictureRevisions;
  pack: PackState;
  also_open: number; // job sheets on the same folder beside this one
}

/**
 * A figure that was taken because the job does not say.
 */
export interface AssumptionRow {
  key: string;
  says: string;
  source: string;
}

/**
 * Write a key; ``text`` as a fabricator would, lists as the file has them.
 */
export interface SetKey {
  do: "set";
  file: "job" | "shop";
  key: string;
  text: string;
  was: string | null; // what the page showed; None = ask nobody
}

/**
 * Take a key out of the file.
 */
export interface ClearKey {
  do: "clear";
  file: "job" | "shop";
  key: string;
  was: string | null;
}

/**
 * Put a member at the end of a list of sections.
 */
export interface AddMember {
  do: "add";
  file: "job" | "shop";
  list_key: string;
  member: string; // TOML: '{ name = "notch", does = "cuts" }'
}

/**
 * Take a member of a list of sections out, or a whole section.
 */
export interface RemoveMember {
  do: "remove";
  file: "job" | "shop";
  key: string;
}

/**
 * Write one cell of the readings file.
 */
export interface SetCell {
  do: "cell";
  line: number;
  column: "kind" | "a" | "b" | "reading" | "with" | "u" | "note";
  text: string;
  was: string | null;
}

/**
 * Put a line into the readings file; 0 = at the end.
 */
export interface AddReading {
  do: "add reading";
  after_line: number;
  kind: string;
  a: string;
  b: string;
  reading: string;
  tool: string;
  u: string;
  note: string;
}

/**
 * Take a line out of the readings file.
 */
export interface RemoveReading {
  do: "remove reading";
  line: number;
  was: string; // its cell ``reading``
}

/**
 * Write what was dragged in the pan's picture: all its keys at once.
 */
export interface DragTo {
  do: "drag";
  name: string; // of the drag
  to_mm: number;
}

/**
 * One step of undo: all of it is taken or none.
 */
export interface EditRequest {
  version: string; // ``SheetState.version`` the page shows
  edits: (SetKey | ClearKey | AddMember | RemoveMember | SetCell | AddReading | RemoveReading | DragTo)[];
  by?: "page" | "proposal" | "drag";
  draft?: boolean; // typed or dragged further at once: joins the step before it if that was one too
}

/**
 * Undo, redo, drive, pack, cancel.
 */
export interface StepRequest {
  version: string;
}

/**
 * The same place was changed by somebody else meanwhile: which shall stand?
 */
export interface Asked {
  file: "job" | "shop" | "readings";
  key: string;
  was: string;
  theirs: string;
  yours: string;
}

/**
 * What became of an edit.
 *
 * taken: written, and worked out anew (events follow). kept: written although it cannot be
 * read as a whole job; ``faults`` say why, nothing is worked out until they are put right.
 * refused: nothing was written. asks: nothing was written; send the edit again with ``was``
 * as ``theirs`` to write over it.
 */
export interface EditAnswer {
  outcome: "taken" | "kept" | "refused" | "asks";
  version: string;
  generation: number;
  faults: FaultRow[];
  asks: Asked[];
  fields: FieldRow[]; // those whose text changed
  reshaped: boolean; // sections or lines came or went: get the sheet again
  undo: string;
  redo: string;
}

/**
 * What would this change do?
 */
export interface TryRequest {
  key: string;
  value: string;
}

/**
 * Before and after, nothing written.
 */
export interface TryAnswer {
  faults: FaultRow[];
  steps: StepRow[];
}

/**
 * Work out how the oil really moves.
 */
export interface FreeSurfaceRequest {
  version: string;
  minutes: number | null; // cells are chosen for it; None = those of the job file
}

/**
 * Write the job file of a variant that was explored.
 */
export interface TakeRequest {
  number: number;
}

/**
 * Where it stands beside the job file, or why not.
 */
export interface TakeAnswer {
  file: string;
  why_not: string;
}

/**
 * Whether the work has begun.
 */
export interface StartAnswer {
  started: boolean;
  why_not: string;
}

/**
 * The files changed; these sections are old until 'said' comes for them.
 */
export interface StaleEvent {
  event: "stale";
  run: RunState;
  version: string;
}

/**
 * What is being done now.
 */
export interface WorkingEvent {
  event: "working";
  run: RunState;
}

/**
 * One section, fresh.
 */
export interface SaidEvent {
  event: "said";
  generation: number;
  says: SectionSays;
  verdict: VerdictLine;
  pictures: PictureRevisions;
}

/**
 * Everything asked for is fresh.
 */
export interface SettledEvent {
  event: "settled";
  run: RunState;
  verdict: VerdictLine;
  pictures: PictureRevisions;
  last_change: LastChange | null;
  assumptions: AssumptionRow[];
  readings: ReadingsTable | null;
  pack: PackState;
}

/**
 * The files are others than before: by this page, another tab, or an editor outside.
 */
export interface FilesEvent {
  event: "files";
  version: string;
  by: "page" | "outside";
  fields: FieldRow[]; // those whose text changed
  reshaped: boolean;
  faults: FaultRow[];
  changes: ChangeRow[];
  undo: string;
  redo: string;
}

/**
 * How far slow work is.
 */
export interface SlowEvent {
  event: "slow";
  work: "" | "drive" | "free surface" | "weld" | "pack";
  trouble: string; // why it could not be done; "" = nothing
  run: RunState; // without ``slow_running`` once it has ended
  pack: PackState;
}

/**
 * The program itself went wrong while working; the files are as they were.
 */
export interface TroubleEvent {
  event: "trouble";
  says: string;
}

/**
 * Another job sheet was opened on the same folder, or closed.
 */
export interface OthersEvent {
  event: "others";
  also_open: number;
}

/**
 * Sent when nothing happens, so that a page knows that the server is there.
 */
export interface HereEvent {
  event: "here";
}

/**
 * One question before a job is laid out.
 */
export interface Question {
  key: string;
  asks: string;
  why: string;
  holds: "choices" | "choice" | "quantity" | "tilt" | "name";
  words: string[];
  example: string;
  needed: boolean;
}

/**
 * What is asked, in order.
 */
export interface Questions {
  questions: Question[];
}

/**
 * The answer to one question; several words where it allows them.
 */
export interface Answer {
  key: string;
  words: string[];
}

/**
 * Lay out a job.
 */
export interface NewRequest {
  answers: Answer[];
}

/**
 * The job lies there, or what is still wrong with the answers.
 */
export interface NewAnswer {
  laid_out: boolean;
  faults: FaultRow[]; // ``key`` is the question's
  notes: string[]; // what has to be put in next, and what cannot move into a sheet pan
}

/**
 * Where a file went.
 */
export interface UploadAnswer {
  file: string;
  size: number;
  says: string;
}

/**
 * Why a request was not taken.
 */
export interface Refusal {
  says: string;
}

export type Point = [number, number, number];

export type Flat = [number, number];

/**
 * One flat face of the oil space.
 */
export interface FaceShape {
  index: number;
  name: string;
  role: "wall" | "floor" | "roof" | "rail"; // rail = the open top
  lump: string;
  normal: [number, number, number]; // out of the oil
  loops: number[][]; // into ``vertices_mm``, first anticlockwise seen from outside
  triangles: number[]; // three corners each, anticlockwise seen from outside
}

/**
 * Where two faces meet.
 */
export interface EdgeShape {
  face_a: number;
  face_b: number;
  start: number;
  end: number;
  length_mm: number;
  corner_angle_deg: number;
  inward: boolean;
}

/**
 * An opening of an inner wall.
 */
export interface CutShape {
  name: string;
  kind: "window" | "door" | "drain slot";
  loop_mm: [number, number, number][];
  passes: [number, number, number] | null; // a door: the way it lets oil through, unit vector
}

/**
 * An inner wall or roof baffle.
 */
export interface WallShape {
  name: string;
  key: string; // of its section in the job file: 'walls."rear baffle"'
  kind: "wall" | "roof baffle";
  loops_mm: [number, number, number][][]; // outer lines and holes
  triangles_mm: number[]; // flat: nine numbers a triangle
  cuts: CutShape[];
  thickness_mm: number;
}

/**
 * Something to stay clear of.
 */
export interface KeepOutShape {
  name: string;
  lies: "outside" | "inside";
  moves_with: "engine" | "vehicle";
  wanted_mm: number;
  triangles_mm: number[]; // flat: nine numbers a triangle
}

/**
 * A hole of the rail.
 */
export interface HoleShape {
  name: string;
  kind: "bolt" | "stud" | "dowel";
  thread: string;
  x_mm: number;
  y_mm: number;
  diameter_mm: number; // of its edge, or of what goes through
  off_by_long_mm: number; // half axes within which it lies 95 times in 100
  off_by_short_mm: number;
  off_by_turn_deg: number;
  land: string;
}

/**
 * Mouth and tube.
 */
export interface PickupShape {
  key: string;
  mouth_mm: [number, number, number];
  mouth_diameter_mm: number;
  path_mm: [number, number, number][]; // the tube's centre line from the mouth; empty = not given
  bore_mm: number | null;
}

/**
 * The dipstick's line and marks.
 */
export interface StickShape {
  line_mm: [number, number, number][];
  marks: StickMark[];
}

/**
 * One mark.
 */
export interface StickMark {
  name: string;
  from_stop_mm: number | null;
  place_mm: [number, number, number] | null;
}

/**
 * What the crank sweeps.
 */
export interface CrankShape {
  rear_mm: [number, number, number];
  front_mm: [number, number, number];
  radius_mm: number;
}

/**
 * A place that must not drown.
 */
export interface PortShape {
  name: string;
  place_mm: [number, number, number];
}

/**
 * A lump as asked, for dragging its floor.
 */
export interface LumpShape {
  name: string;
  key: string; // 'lumps.sump'
  adds: boolean;
  depth_key: string; // key of its depth; "" = has none
  depth_mm: number | null;
  depth_at_mm: [number, number, number] | null; // the point of its floor that the depth is told for
  floor_normal: [number, number, number] | null;
}

/**
 * Something that can be dragged along ``axis``: sent as the edit 'drag' with its name.
 */
export interface Drag {
  name: string; // "floor of sump", "rear baffle", "mouth, to the front"
  what: "floor" | "wall" | "door" | "pickup";
  key: string; // the first key that it writes
  place_mm: [number, number, number];
  axis: [number, number, number]; // unit vector along which ``value_mm`` grows
  value_mm: number; // what stands in the file now, at ``place_mm``
  least_mm: number;
  most_mm: number;
}

/**
 * The pan as it is.
 */
export interface PanPicture {
  revision: string;
  trouble: string[]; // why there is no shape
  up: [number, number, number]; // the vehicle's up
  forward: [number, number, number]; // the vehicle's forward, level
  left: [number, number, number];
  ground_mm: number | null; // height of level ground along ``up``, from the datum hole
  vertices_mm: number[]; // flat
  faces: FaceShape[];
  edges: EdgeShape[];
  walls: WallShape[];
  compartments: string[];
  lumps: LumpShape[];
  flange_mm: [number, number][]; // outer edge, closed
  holes: HoleShape[];
  pickup: PickupShape | null;
  drain_mm: [number, number, number] | null;
  stick: StickShape | null;
  crank: CrankShape | null;
  ports: PortShape[];
  keep_outs: KeepOutShape[];
  drags: Drag[];
  volume_l: number | null;
}

/**
 * How the vehicle stands and what it does; nought everywhere is standing on level ground.
 *
 * Words on the page, signs here: nose up, leaned right, braking and left turn count up.
 */
export interface LeanRequest {
  nose_up_deg: number;
  lean_right_deg: number;
  braking_g: number;
  left_turn_g: number;
  litres: number | null; // None = the low mark, most of the oil up in the engine
}

/**
 * One level of oil: a plane and what it cuts out of the pan.
 */
export interface OilSurface {
  level_mm: number; // along ``up``
  loops_mm: number[][]; // flat: closed lines of the surface inside the pan
  shared: boolean; // False: a pool that is cut off from the mouth
}

/**
 * Oil at rest under that pull, the space above the rail open.
 */
export interface LeanAnswer {
  revision: string; // of the pan it was worked out on
  trouble: string; // why nothing can be said
  litres: number;
  up: [number, number, number]; // against the pull, engine axes
  pull_g: number;
  surfaces: OilSurface[];
  cover_mm: number | null; // oil over the mouth's highest edge, the worse of both levels; negative = air
  cover_shared_mm: number | null;
  wanted_mm: number;
  above_rail_mm: number | null; // surface above the rail's lowest point; negative = below
  crank_gap_mm: number | null; // negative = the crank is in the oil
  verdict: "holds" | "close" | "fails" | "cannot say";
  words: string; // "nose 12.0° up, braking 0.40 g"
  says: string; // "The mouth is 14 mm under the oil; 20 mm are wanted."
}

/**
 * A round hole.
 */
export interface HoleOfPart {
  label: string;
  x_mm: number;
  y_mm: number;
  diameter_mm: number;
}

/**
 * A fold line in the flat.
 */
export interface FoldOfPart {
  order: number;
  start_mm: [number, number];
  end_mm: [number, number];
  words: string; // "up 90°"
}

/**
 * Etched lines.
 */
export interface MarkOfPart {
  kind: string;
  words: string;
  lines_mm: number[][]; // flat x, y
}

/**
 * One part, flat and at its place.
 */
export interface FlatShape {
  name: string;
  material: string;
  thickness_mm: number;
  quantity: number;
  mass_kg: number;
  length_mm: number;
  width_mm: number;
  note: string;
  seen_from: string; // "from below", "from outside"
  outline_mm: number[]; // flat x, y; closed
  cut_outs_mm: number[][];
  holes: HoleOfPart[];
  folds: FoldOfPart[];
  marks: MarkOfPart[];
  step: number; // in the order of building up, from one
  apart: [number, number, number]; // unit vector along which it is drawn away
  origin_mm: [number, number, number]; // of the flat's axes at its place
  x_axis: [number, number, number];
  y_axis: [number, number, number];
  solid_mm: number[]; // flat corners at its place
  triangles: number[];
}

/**
 * A seam.
 */
export interface SeamShape {
  name: string;
  kind: string;
  part_a: string;
  part_b: string;
  start_mm: [number, number, number];
  end_mm: [number, number, number];
  length_mm: number;
  step: number | null; // in the order of welding; None = not planned
}

/**
 * A place where the kit does not close.
 */
export interface GapShape {
  kind: string;
  where: string;
  place_mm: [number, number, number];
}

/**
 * The flat parts and how they go together.
 */
export interface PartsPicture {
  revision: string;
  trouble: string[];
  parts: FlatShape[];
  seams: SeamShape[];
  gaps: GapShape[];
}

/**
 * A reading between two holes.
 */
export interface RailLine {
  line: number;
  a: string;
  b: string;
  set_aside: boolean;
}

/**
 * The rail; the page shows it from below.
 */
export interface RailPicture {
  revision: string;
  trouble: string[];
  holes: HoleShape[];
  lines: RailLine[];
  flange_mm: [number, number][];
  opening_mm: [number, number][][];
  anchor_mm: [number, number] | null;
}

/**
 * One line of a chart.
 */
export interface ChartLine {
  name: string;
  values: (number | null)[]; // None = a gap
}

/**
 * A named limit.
 */
export interface LimitLine {
  name: string;
  value: number;
  least: boolean; // True: values below it fail
}

/**
 * Lines over one common axis, with their limits.
 */
export interface Chart {
  id: string;
  section: "job" | "rail" | "body" | "oil" | "motion" | "suction" | "kit" | "weld" | "proof";
  title: string;
  x_label: string; // with its unit
  y_label: string;
  x: number[];
  lines: ChartLine[];
  limits: LimitLine[];
  words: string; // one sentence that says what it shows
}

/**
 * A cover map: rings and headings, or lean and nose steps.
 */
export interface CoverGrid {
  kind: "accelerations" | "slopes";
  title: string;
  shape: [number, number];
  across: number[]; // g to the left, or degrees leaned right
  along: number[]; // g forward (braking is negative), or degrees nose up
  cover_mm: (number | null)[]; // None = the mouth stands over nothing that holds oil
  cut_off: boolean[];
  wanted_mm: number;
  tightest_across: number;
  tightest_along: number;
  tightest_words: string;
  tightest_cover_mm: number;
  held_to: HeldRow[];
}

/**
 * How hard one direction can be held.
 */
export interface HeldRow {
  words: string;
  held_g: number | null; // None = not even standing still
  asked_g: number;
  all: boolean;
}

/**
 * Both maps.
 */
export interface CoverPicture {
  revision: string;
  trouble: string[];
  maps: CoverGrid[];
}

/**
 * One driven trace as levels of each compartment, to be drawn in the pan.
 */
export interface ReplayFrames {
  name: string;
  words: string;
  times_s: number[];
  cover_mm: number[];
  up: number[]; // flat: frames, compartments, 3
  level_mm: number[]; // flat: frames, compartments
  doors: string[];
  doors_open: number[]; // flat: frames, doors; 0 shut to 1 open
}

/**
 * One compartment as it was driven: closed, its walls carried up where they reach the rail.
 */
export interface ChamberShape {
  name: string;
  vertices_mm: number[]; // flat
  triangles: number[]; // three corners each, anticlockwise seen from outside
}

/**
 * What was driven.
 */
export interface TracesPicture {
  revision: string;
  trouble: string[];
  stale: boolean;
  charts: Chart[];
  replays: ReplayFrames[];
  chambers: ChamberShape[]; // in the order of a replay's compartments
}

/**
 * Pressure at the pump over speed, and who takes how much of it.
 */
export interface SuctionPicture {
  revision: string;
  trouble: string[];
  charts: Chart[];
  shares: ShareBar[];
}

/**
 * One running condition, element by element.
 */
export interface ShareBar {
  name: string;
  pressure_kpa: number;
  limit_kpa: number;
  parts: ShareOf[];
}

/**
 * One element's loss.
 */
export interface ShareOf {
  name: string;
  loss_kpa: number;
  least_kpa: number;
  most_kpa: number;
}

/**
 * One manoeuvre of the free surface; its frames are fetched from the replay file by their places.
 *
 * A frame is deflated: one byte for each open cell in grid order, x slowest and z fastest, 0 empty
 * to 200 full.
 */
export interface ReplayRun {
  name: string;
  verdict: "holds" | "close" | "fails" | "cannot say";
  shape: [number, number, number];
  origin_mm: [number, number, number];
  cell_mm: number;
  open_cells: string; // base64 of the deflated bits of the grid, one for each open cell
  times_s: number[];
  cover_mm: number[];
  places: number[]; // first byte and length of each frame, one after the other
}

/**
 * The free-surface runs that belong to the job as it stands.
 */
export interface ReplayPicture {
  revision: string;
  why_not: string; // "" where there are runs
  runs: ReplayRun[];
}

/**
 * One step of building the pan up: parts are set, a seam is welded, or one stops to check.
 */
export interface BuildStep {
  action: "set" | "weld" | "stop";
  number: number; // of the step; of the stop
  place: "bench" | "plate";
  says: string;
  parts: string[]; // set: what comes as one
  seam: number | null; // weld: into ``seams``
  checks: string[]; // stop: what is ticked
  holds: TorchAt[]; // weld: how the torch is held, place by place
}

/**
 * How the torch is held at one place of a seam.
 */
export interface TorchAt {
  at_mm: number; // along the seam
  tip_mm: [number, number, number];
  axis: [number, number, number]; // from the weld back through the cup
  body: [number, number, number]; // from the axis along the torch's body
  rod: [number, number, number] | null; // from the pool to the hand with the filler rod
  stick_out_mm: number;
}

/**
 * One seam as it is planned.
 */
export interface BuildSeam {
  turn: number | null; // its number on the weld map; None = it stays unwelded
  where: string;
  tight: boolean;
  length_mm: number;
  path_mm: number[]; // flat
}

/**
 * The torch.
 */
export interface TorchShape {
  cup_mm: number;
  cup_length_mm: number;
  body_mm: number;
  body_length_mm: number;
  back_cap_mm: number;
  rod_mm: number | null;
}

/**
 * The pan built up in the order of welding; the parts are those of ``PartsPicture``.
 */
export interface BuildPicture {
  revision: string;
  trouble: string[];
  stale: boolean;
  seams: BuildSeam[];
  steps: BuildStep[];
  torch: TorchShape | null;
  checked: string; // what the checker that built it up again says
}

/**
 * One answer that counts.
 */
export interface ExploredColumn {
  label: string;
  unit: string;
  want: string; // "more", "less", "only the limit"
  at_least: number | null;
  at_most: number | null;
  is_hard: boolean;
}

/**
 * One variant; lists in the order of the columns.
 */
export interface ExploredRow {
  number: number | null; // None = the job as it stood
  varied: string[];
  answers: (number | null)[];
  gives_up: (number | null)[]; // against the best of the shown; 0 = the best
  misses: (number | null)[];
  checked: boolean; // in full, as by 'check'
  worse: string[];
  better: string[];
}

/**
 * How much of an answer's spread each thing that varies causes, alone and in all.
 */
export interface ExploredShare {
  answer: string;
  alone: (number | null)[];
  in_all: (number | null)[];
  why_not: string;
}

/**
 * What 'explore' found in this folder.
 */
export interface ExploredPicture {
  revision: string;
  why_not: string;
  plan: string;
  says: string[];
  varied: string[];
  columns: ExploredColumn[];
  as_it_stands: ExploredRow | null;
  rows: ExploredRow[];
  dots: ((number | null)[])[];
  matters: ExploredShare[];
  taken: string[];
}

/**
 * What 'explore' found in this folder.
 */
export interface ExploredPicture {
  revision: string;
  why_not: string;
  plan: string;
  says: string[];
  varied: string[];
  columns: ExploredColumn[];
  as_it_stands: ExploredRow | null;
  rows: ExploredRow[];
  dots: ((number | null)[])[];
  matters: ExploredShare[];
  taken: string[];
}
