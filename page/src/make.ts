/** Making elements of the page. */

type Part = Node | string | null | undefined | false;
type Values = Record<string, string | number | boolean | null | undefined | ((event: never) => void)>;

/** An element with its attributes, listeners (`onclick`) and contents. */
export function make<Name extends keyof HTMLElementTagNameMap>(
  name: Name,
  values: Values = {},
  ...parts: Part[]
): HTMLElementTagNameMap[Name] {
  const element = document.createElement(name);
  fill(element, values, parts);
  return element;
}

/** The same for a line drawing. */
export function draw<Name extends keyof SVGElementTagNameMap>(
  name: Name,
  values: Values = {},
  ...parts: Part[]
): SVGElementTagNameMap[Name] {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  fill(element, values, parts);
  return element;
}

function fill(element: Element, values: Values, parts: readonly Part[]): void {
  for (const [name, value] of Object.entries(values)) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") {
      element.addEventListener(name.slice(2), value as EventListener);
    } else {
      element.setAttribute(name, value === true ? "" : String(value));
    }
  }
  for (const part of parts) if (part) element.append(part);
}

let made = 0;

/** A name for an element that no other has. */
export function newId(stem: string): string {
  made += 1;
  return `${stem}-${made}`;
}
