/** Numbers of the pictures as the fabricator writes them. */

export type Units = "mm" | "in";

const MM_PER_INCH = 25.4;
const LITRES_PER_QUART = 0.946352946;

/** A length [mm] in the job's own units. */
export function lengthWords(mm: number, units: Units, digits?: number): string {
  if (units === "mm") return `${plain(mm, digits ?? 1)} mm`;
  return `${plain(mm / MM_PER_INCH, digits ?? 3)} in`;
}

/** Oil in litres, or in quarts where the job is in inches. */
export function volumeWords(litres: number, units: Units): string {
  if (units === "mm") return `${plain(litres, 2)} L`;
  return `${plain(litres / LITRES_PER_QUART, 2)} qt`;
}

/** A number without a minus before nought. */
export function plain(value: number, digits: number): string {
  const text = value.toFixed(digits);
  return Number(text) === 0 ? (0).toFixed(digits) : text.replace("-", "−");
}

/** How a vehicle stands and what it does, in words. */
export function standWords(
  noseUp: number,
  leanRight: number,
  braking: number,
  leftTurn: number,
): string {
  const words: string[] = [];
  if (noseUp) words.push(`nose ${plain(Math.abs(noseUp), 0)}° ${noseUp > 0 ? "up" : "down"}`);
  if (leanRight) {
    words.push(`leaned ${plain(Math.abs(leanRight), 0)}° to the ${leanRight > 0 ? "right" : "left"}`);
  }
  if (braking) words.push(`${braking > 0 ? "braking" : "accelerating"} ${plain(Math.abs(braking), 2)} g`);
  if (leftTurn) words.push(`${leftTurn > 0 ? "left" : "right"} turn ${plain(Math.abs(leftTurn), 2)} g`);
  return words.length ? words.join(", ") : "level, standing still";
}
