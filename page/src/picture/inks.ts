/** The few tones of the pictures. They differ in lightness, so that they hold in grey. */

import {
  DoubleSide,
  LineBasicMaterial,
  LineDashedMaterial,
  MeshBasicMaterial,
  type Plane,
} from "three";

export const PAPER = "#fbfaf5";

/** Materials of one picture; `cuts` is shared, so that a cut-away reaches all metal at once. */
export function inks(cuts: Plane[]) {
  const sheet = { vertexColors: true, side: DoubleSide, clippingPlanes: cuts };
  return {
    skin: new MeshBasicMaterial({ ...sheet, color: "#cfcabb", transparent: true, opacity: 0.34, depthWrite: false }),
    line: new LineBasicMaterial({ color: "#2a2925", clippingPlanes: cuts }),
    wall: new MeshBasicMaterial({ ...sheet, color: "#a9a393", transparent: true, opacity: 0.82 }),
    door: new MeshBasicMaterial({ ...sheet, color: "#4c4a44" }),
    keepOut: new MeshBasicMaterial({ ...sheet, color: "#8f8b80", transparent: true, opacity: 0.22, depthWrite: false }),
    keepOutLine: new LineDashedMaterial({ color: "#4c4a44", dashSize: 7, gapSize: 4, clippingPlanes: cuts }),
    crank: new MeshBasicMaterial({ ...sheet, color: "#8f8b80", transparent: true, opacity: 0.3, depthWrite: false }),
    tube: new MeshBasicMaterial({ vertexColors: true, color: "#5d5a52", side: DoubleSide }),
    stick: new LineBasicMaterial({ color: "#111111" }),
    hole: new LineBasicMaterial({ color: "#2a2925", clippingPlanes: cuts }),
    oil: new MeshBasicMaterial({ vertexColors: true, color: "#a8690f", side: DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 }),
    oilTop: new MeshBasicMaterial({ color: "#e3a93c", side: DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 }),
    oilLine: new LineBasicMaterial({ color: "#3d2503" }),
    ground: new LineBasicMaterial({ color: "#2a2925" }),
    part: new MeshBasicMaterial({ vertexColors: true, color: "#d9d5c8", side: DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 }),
    bead: new MeshBasicMaterial({ vertexColors: true, color: "#2a2925", side: DoubleSide }),
    beadNow: new MeshBasicMaterial({ vertexColors: true, color: "#e3a93c", side: DoubleSide }),
    torch: new MeshBasicMaterial({ vertexColors: true, color: "#6b665b", side: DoubleSide }),
    partNow: new MeshBasicMaterial({ vertexColors: true, color: "#8f8b80", side: DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 }),
  };
}

export type Inks = ReturnType<typeof inks>;
