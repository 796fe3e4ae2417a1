/** Lists as a fabricator would write them: no brackets, no quotes; points one a line. */

const WORD = String.raw`"[^"\\,\[\]\n]*"`;
const FLAT = new RegExp(String.raw`^\[\s*(?:${WORD}\s*(?:,\s*${WORD}\s*)*,?)?\s*\]$`);
const POINT = String.raw`\[\s*${WORD}\s*(?:,\s*${WORD}\s*)*,?\s*\]`;
const POINTS = new RegExp(String.raw`^\[\s*${POINT}\s*(?:,\s*${POINT}\s*)*,?\s*\]$`);

/** A list of words, or of points of words; null for anything that is better shown as the file has it. */
export function listShape(text: string): "words" | "points" | null {
  if (FLAT.test(text)) return "words";
  return POINTS.test(text) ? "points" : null;
}

/** As shown in the field. */
export function shownList(text: string): string {
  const shape = listShape(text);
  if (shape === null) return text;
  const words = (part: string): string => (JSON.parse(part.replace(/,\s*\]$/, "]")) as string[]).join(", ");
  if (shape === "words") return words(text);
  return [...text.matchAll(new RegExp(POINT, "g"))].map((match) => words(match[0])).join("\n");
}

/** As written to the file; `shape` is that of the text that stood there. */
export function writtenList(shown: string, shape: "words" | "points"): string {
  const trimmed = shown.trim();
  if (trimmed.startsWith("[")) return trimmed;
  const words = (line: string): string =>
    `[${line.split(",").map((word) => JSON.stringify(word.trim())).filter((word) => word !== '""').join(", ")}]`;
  if (shape === "words") return words(trimmed);
  return `[${trimmed.split("\n").filter((line) => line.trim()).map(words).join(", ")}]`;
}
