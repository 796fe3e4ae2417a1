/** A replay file of the free surface: any moment of it, fetched and unpacked when it is wanted. */

import { getBytes } from "../link";
import type { ReplayRun } from "../messages";
import type { Grid } from "../solid/field_surface";

/** So many bytes round a moment are fetched at once. */
const PART = 400_000;
const FULL = 200;

export class ReplayFile {
  readonly grid: Grid;
  private open: Int32Array | null = null;
  private readonly parts = new Map<number, Promise<Uint8Array>>();

  constructor(readonly run: ReplayRun) {
    this.grid = { shape: run.shape, origin: run.origin_mm, cell: run.cell_mm };
  }

  get count(): number {
    return this.run.times_s.length;
  }

  /** Share of oil of every cell at one moment, in grid order. */
  async shares(moment: number): Promise<Float32Array> {
    const packed = await this.packed(moment);
    const full = await unpacked(packed);
    this.open ??= await openCells(this.run);
    const shares = new Float32Array(this.run.shape[0] * this.run.shape[1] * this.run.shape[2]);
    for (let k = 0; k < this.open.length; k++) shares[this.open[k]!] = (full[k] ?? 0) / FULL;
    return shares;
  }

  /** The bytes of one frame, out of the part of the file that holds it. */
  private async packed(moment: number): Promise<Uint8Array> {
    const at = this.run.places[2 * moment]!;
    const size = this.run.places[2 * moment + 1]!;
    const first = Math.floor(at / PART);
    const pieces: Uint8Array[] = [];
    for (let part = first; part * PART < at + size; part++) {
      const bytes = await this.part(part);
      pieces.push(bytes.subarray(Math.max(0, at - part * PART), Math.max(0, at + size - part * PART)));
    }
    if (pieces.length === 1) return pieces[0]!;
    const whole = new Uint8Array(size);
    let filled = 0;
    for (const piece of pieces) {
      whole.set(piece, filled);
      filled += piece.length;
    }
    return whole;
  }

  private part(number: number): Promise<Uint8Array> {
    const known = this.parts.get(number);
    if (known) return known;
    const path = `/replay-part?run=${encodeURIComponent(this.run.name)}&at=${number * PART}&size=${PART}`;
    const fetched = getBytes(path);
    fetched.catch(() => this.parts.delete(number));
    this.parts.set(number, fetched);
    return fetched;
  }
}

async function unpacked(packed: Uint8Array): Promise<Uint8Array> {
  const stream = new Blob([packed as BlobPart]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

/** Places of the open cells in grid order: one bit a cell, the highest of a byte first. */
async function openCells(run: ReplayRun): Promise<Int32Array> {
  const bits = await unpacked(Uint8Array.from(atob(run.open_cells), (letter) => letter.charCodeAt(0)));
  const found: number[] = [];
  const count = run.shape[0] * run.shape[1] * run.shape[2];
  for (let k = 0; k < count; k++) if ((bits[k >> 3]! >> (7 - (k & 7))) & 1) found.push(k);
  return Int32Array.from(found);
}
