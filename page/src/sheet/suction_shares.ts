/** Who takes how much of the pressure on the way to the pump, one bar a running condition. */

import { draw, make } from "../make";
import type { ShareBar } from "../messages";
import { plain } from "../words";

const WIDTH = 1000;
const TALL = 34;

export function shareBars(bars: readonly ShareBar[]): HTMLElement[] {
  if (!bars.length) return [];
  const most = Math.max(...bars.map((bar) => bar.parts.reduce((sum, part) => sum + Math.max(0, part.loss_kpa), 0)), 0.01);
  return bars.map((bar) => {
    const whole = bar.parts.reduce((sum, part) => sum + part.loss_kpa, 0);
    const drawing = draw("svg", { viewBox: `0 0 ${WIDTH} ${TALL}`, class: "shares", role: "img", "aria-label": `${bar.name}: ${plain(whole, 1)} kPa lost` });
    let at = 0;
    bar.parts.forEach((part, k) => {
      const wide = (Math.max(0, part.loss_kpa) / most) * WIDTH;
      drawing.append(draw("rect", { x: at, y: 0, width: wide, height: TALL, class: `share tone-${k % 4}` }));
      if (wide > 22) drawing.append(draw("text", { x: at + wide / 2, y: 22, "text-anchor": "middle", "font-size": 15, class: `on-${k % 4}` }, String(k + 1)));
      at += wide;
    });
    return make(
      "figure",
      { class: "drawing" },
      make("h4", {}, bar.name),
      drawing,
      make(
        "figcaption",
        {},
        `${plain(bar.pressure_kpa, 1)} kPa at the pump's inlet, ${plain(bar.limit_kpa, 1)} kPa is the limit. Lost on the way: `,
        bar.parts.map((part, k) => `${k + 1} ${part.name} ${plain(part.loss_kpa, 2)} kPa (${plain(part.least_kpa, 2)} to ${plain(part.most_kpa, 2)})`).join("; "),
        ".",
      ),
    );
  });
}
