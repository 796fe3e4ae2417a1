/** A picture in three dimensions that is drawn only when something in it has changed. */

import {
  BufferAttribute,
  BufferGeometry,
  Color,
  ColorManagement,
  Group,
  LinearSRGBColorSpace,
  Matrix4,
  type Object3D,
  OrthographicCamera,
  Plane,
  Raycaster,
  Scene,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import { type Vector, cross, dot, plus } from "../solid/closed_surface";

export const VIEWS = ["from below", "from the left", "from the front", "turn"] as const;
export type View = (typeof VIEWS)[number];

/** Direction from which each view is seen and what points up in it, vehicle axes. */
const LOOKS: Record<Exclude<View, "turn">, { from: Vector; up: Vector }> = {
  // As one lies under the engine: front to the right, the engine's left down the page.
  "from below": { from: [0, 0, -1], up: [0, -1, 0] },
  "from the left": { from: [0, 1, 0], up: [0, 0, 1] },
  "from the front": { from: [1, 0, 0], up: [0, 0, 1] },
};
/** So long after the last move the picture is drawn finely [ms]. */
const STILL_AFTER = 600;
/** Points of the picture to one of the screen, each way. */
const FINE = 2;
const MOVING = 0.7;
const TURN_STEP = Math.PI / 6;
const START_AROUND = (35 * Math.PI) / 180;
const START_OVER = (-22 * Math.PI) / 180;

// Tones are given as they shall look; nothing is to be turned into another tone on the way.
ColorManagement.enabled = false;

/** Something that stands over the picture at a place of the engine's axes. */
interface Pinned {
  readonly element: HTMLElement;
  place: () => Vector;
}

export class Picture {
  readonly engine = new Group();
  readonly canvas: HTMLCanvasElement;
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new OrthographicCamera(-1, 1, 1, -1, 1, 40000);
  private readonly pinned: Pinned[] = [];
  private middle = new Vector3();
  private reach = 300;
  private nearer = 1;
  private from = new Vector3(1, 1, -1);
  private up = new Vector3(0, 0, 1);
  private readonly startOver: number;
  private around = START_AROUND;
  private over = START_OVER;
  private asked = 0;
  private settling = 0;
  private readonly holder: HTMLElement;
  /** called when the view changes, with the words of where it is seen from */
  viewChanged: (words: string) => void = () => undefined;

  /** `over` is how high above the rail the turned view begins [rad]. */
  constructor(holder: HTMLElement, paper: string, over = START_OVER) {
    this.startOver = over;
    this.holder = holder;
    this.renderer = new WebGLRenderer({ antialias: false, powerPreference: "low-power" });
    this.renderer.outputColorSpace = LinearSRGBColorSpace;
    this.renderer.localClippingEnabled = true;
    this.renderer.setClearColor(new Color(paper));
    this.canvas = this.renderer.domElement;
    holder.prepend(this.canvas);
    this.scene.add(this.engine);
    this.engine.matrixAutoUpdate = false;
    new ResizeObserver(() => {
      this.fitToHolder();
    }).observe(holder);
    this.listen();
    this.fitToHolder();
    this.turnTo(START_AROUND, over);
  }

  /** How the engine stands: rows of the rotation from engine to world axes. */
  stand(rows: readonly (readonly number[])[]): void {
    const [a, b, c] = [rows[0]!, rows[1]!, rows[2]!];
    this.engine.matrix.set(
      a[0]!, a[1]!, a[2]!, 0, b[0]!, b[1]!, b[2]!, 0, c[0]!, c[1]!, c[2]!, 0, 0, 0, 0, 1,
    );
    this.engine.matrixWorldNeedsUpdate = true;
    this.askToDraw();
  }

  /** Frame what reaches from low to high [mm, engine axes], with room for more round it. */
  frame(low: Vector, high: Vector, room = 1): void {
    this.home = {
      middle: new Vector3(...low).add(new Vector3(...high)).multiplyScalar(0.5),
      reach: 0.43 * room * new Vector3(...high).distanceTo(new Vector3(...low)),
    };
    this.middle.copy(this.home.middle);
    this.reach = this.home.reach;
    this.nearer = 1;
    this.place();
  }

  private home = { middle: new Vector3(), reach: 300 };

  show(view: View): void {
    this.middle.copy(this.home.middle);
    this.nearer = 1;
    if (view === "turn") {
      this.turnTo(this.isTurned ? this.around + TURN_STEP : START_AROUND, this.startOver);
      return;
    }
    this.isTurned = false;
    this.from.set(...LOOKS[view].from);
    this.up.set(...LOOKS[view].up);
    this.place();
    this.viewChanged(view);
  }

  private isTurned = true;

  private turnTo(around: number, over: number): void {
    const most = (85 * Math.PI) / 180;
    this.isTurned = true;
    this.around = around;
    this.over = Math.max(-most, Math.min(most, over));
    const level = Math.cos(this.over);
    this.from.set(level * Math.cos(around), level * Math.sin(around), Math.sin(this.over));
    this.up.set(0, 0, 1);
    this.place();
    this.viewChanged("turned");
  }

  /** Turn by hand: radians around the upright, and over it. */
  turnBy(around: number, over: number): void {
    if (!this.isTurned) {
      this.around = Math.atan2(this.from.y, this.from.x);
      this.over = Math.asin(Math.max(-1, Math.min(1, this.from.z)));
      // From straight below there is no way round yet: keep what pointed up the page.
      if (Math.abs(this.from.z) > 0.99) this.around = Math.atan2(this.up.y, this.up.x);
    }
    this.turnTo(this.around + around, this.over + over);
  }

  zoomBy(factor: number): void {
    this.nearer = Math.max(0.4, Math.min(12, this.nearer * factor));
    this.place();
  }

  /** Bring a place of the engine's axes [mm] into the middle, a little nearer. */
  bringToMiddle(place: Vector): void {
    this.middle.set(...place);
    this.nearer = Math.max(this.nearer, 1.8);
    this.place();
  }

  /** Keep an element over a place; returns what takes it away again. */
  pin(element: HTMLElement, place: () => Vector): () => void {
    const one = { element, place };
    this.pinned.push(one);
    this.holder.append(element);
    this.askToDraw();
    return () => {
      this.pinned.splice(this.pinned.indexOf(one), 1);
      element.remove();
    };
  }

  /** Where a place of the engine's axes stands in the holder [px], and how deep. */
  onScreen(place: Vector): { x: number; y: number; depth: number } {
    const p = new Vector3(...place).applyMatrix4(this.engine.matrix).project(this.camera);
    const { clientWidth, clientHeight } = this.holder;
    return { x: ((p.x + 1) / 2) * clientWidth, y: ((1 - p.y) / 2) * clientHeight, depth: p.z };
  }

  /** Millimetres of the engine's axes a screen pixel stands for. */
  get millimetresAPixel(): number {
    return (this.camera.top - this.camera.bottom) / Math.max(1, this.holder.clientHeight);
  }

  /** How far a move on the screen [px] goes along a direction of the engine's axes [mm]; null when it points at the viewer. */
  along(direction: Vector, place: Vector, dx: number, dy: number): number | null {
    const here = this.onScreen(place);
    const far: Vector = [place[0] + direction[0], place[1] + direction[1], place[2] + direction[2]];
    const there = this.onScreen(far);
    const [ux, uy] = [there.x - here.x, there.y - here.y];
    const length2 = ux * ux + uy * uy;
    const one = 1 / this.millimetresAPixel;
    if (length2 < (0.15 * one) ** 2) return null;
    return (dx * ux + dy * uy) / length2;
  }

  /** The nearest thing under a point of the holder [px], in the engine's axes. */
  hit(x: number, y: number, things: readonly Object3D[], keeps: readonly Plane[] = []): Vector | null {
    const ray = new Raycaster();
    const { clientWidth, clientHeight } = this.holder;
    ray.setFromCamera(
      new Vector2((x / clientWidth) * 2 - 1, 1 - (y / clientHeight) * 2),
      this.camera,
    );
    for (const found of ray.intersectObjects([...things], false)) {
      if (keeps.some((plane) => plane.distanceToPoint(found.point) < 0)) continue;
      const p = found.point.applyMatrix4(new Matrix4().copy(this.engine.matrix).invert());
      return [p.x, p.y, p.z];
    }
    return null;
  }

  /** A plane of the engine's axes as the drawing needs it: keeps normal . p <= offset. */
  keeping(normal: Vector, offset: number): Plane {
    const plane = new Plane(new Vector3(...normal).negate(), offset);
    return plane.applyMatrix4(this.engine.matrix);
  }

  /** Draw soon: at once as fast as it goes, and finely as soon as nothing moves any more. */
  askToDraw(): void {
    clearTimeout(this.settling);
    this.settling = window.setTimeout(() => {
      requestAnimationFrame(() => {
        this.draw(true);
      });
    }, STILL_AFTER);
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => {
      this.asked = 0;
      this.draw(false);
    });
  }

  /**
   * Draw now. Finely takes four points for one, which smooths lines without a card's help;
   * while something moves half as many do, which a processor alone draws in time.
   */
  draw(finely: boolean): void {
    const density = Math.min(window.devicePixelRatio, 2) * (finely ? FINE : MOVING);
    if (this.renderer.getPixelRatio() !== density) this.renderer.setPixelRatio(density);
    this.engine.updateMatrixWorld(true);
    this.renderer.render(this.scene, this.camera);
    for (const { element, place } of this.pinned) {
      const at = this.onScreen(place());
      element.style.transform = `translate(${at.x.toFixed(1)}px, ${at.y.toFixed(1)}px)`;
      const { clientWidth, clientHeight } = this.holder;
      element.hidden = at.x < 0 || at.y < 0 || at.x > clientWidth || at.y > clientHeight;
    }
    this.holder.dispatchEvent(new Event("drawn"));
  }

  private place(): void {
    const middle = this.middle.clone().applyMatrix4(this.engine.matrix);
    this.camera.position.copy(middle).addScaledVector(this.from, 20000);
    this.camera.up.copy(this.up);
    this.camera.lookAt(middle);
    const half = this.reach / this.nearer;
    const { clientWidth, clientHeight } = this.holder;
    const wide = clientWidth / Math.max(1, clientHeight);
    const tall = wide > 1.55 ? half : (half * 1.55) / wide;
    this.camera.top = tall * 0.78;
    this.camera.bottom = -tall * 0.78;
    this.camera.right = tall * 0.78 * wide;
    this.camera.left = -this.camera.right;
    this.camera.updateProjectionMatrix();
    this.camera.updateMatrixWorld(true);
    this.askToDraw();
  }

  private fitToHolder(): void {
    const { clientWidth, clientHeight } = this.holder;
    if (clientWidth === 0 || clientHeight === 0) return;
    this.renderer.setSize(clientWidth, clientHeight, true);
    this.place();
  }

  private listen(): void {
    const fingers = new Map<number, { x: number; y: number }>();
    this.canvas.addEventListener("pointerdown", (event) => {
      fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
      this.canvas.setPointerCapture(event.pointerId);
    });
    this.canvas.addEventListener("pointermove", (event) => {
      const was = fingers.get(event.pointerId);
      if (!was) return;
      const now = { x: event.clientX, y: event.clientY };
      if (fingers.size === 1) {
        this.turnBy((was.x - now.x) * 0.008, (now.y - was.y) * 0.008);
      } else {
        const other = [...fingers].find(([id]) => id !== event.pointerId)?.[1];
        if (other) {
          const before = Math.hypot(was.x - other.x, was.y - other.y);
          const after = Math.hypot(now.x - other.x, now.y - other.y);
          if (before > 10) this.zoomBy(after / before);
        }
      }
      fingers.set(event.pointerId, now);
    });
    for (const end of ["pointerup", "pointercancel"] as const) {
      this.canvas.addEventListener(end, (event) => fingers.delete(event.pointerId));
    }
    this.canvas.addEventListener(
      "wheel",
      (event) => {
        // The wheel scrolls the sheet; with the control key it brings the picture nearer.
        if (!event.ctrlKey) return;
        event.preventDefault();
        this.zoomBy(Math.exp(-event.deltaY * 0.002));
      },
      { passive: false },
    );
    this.holder.addEventListener("keydown", (event) => {
      if (event.target !== this.holder || event.ctrlKey || event.metaKey || event.altKey) return;
      const turns: Record<string, () => void> = {
        ArrowLeft: () => { this.turnBy(-0.15, 0); },
        ArrowRight: () => { this.turnBy(0.15, 0); },
        ArrowUp: () => { this.turnBy(0, 0.15); },
        ArrowDown: () => { this.turnBy(0, -0.15); },
        "+": () => { this.zoomBy(1.2); },
        "=": () => { this.zoomBy(1.2); },
        "-": () => { this.zoomBy(1 / 1.2); },
      };
      const turn = turns[event.key];
      if (!turn || this.keysAreTaken) return;
      event.preventDefault();
      turn();
    });
  }

  /** While something else listens to the arrow keys over the picture. */
  keysAreTaken = false;
}

/** Where the light of the pictures comes from, engine axes: from ahead, the left and above. */
const LIGHT: Vector = [0.42, 0.55, 0.72];
const DARKEST = 0.74;

/**
 * Geometry of flat-faced triangles. Each face carries its own tone, worked out here once, so
 * that drawing costs a processor without a graphics card next to nothing.
 */
export function flatFaced(points: ArrayLike<number>, triangles: ArrayLike<number>): BufferGeometry {
  const position = new Float32Array(triangles.length * 3);
  const tone = new Float32Array(triangles.length * 3);
  for (let k = 0; k < triangles.length; k++) {
    const from = 3 * triangles[k]!;
    for (let axis = 0; axis < 3; axis++) position[3 * k + axis] = points[from + axis]!;
  }
  const at = (k: number): Vector => [position[3 * k]!, position[3 * k + 1]!, position[3 * k + 2]!];
  for (let k = 0; k < triangles.length; k += 3) {
    const normal = cross(plus(at(k + 1), at(k), -1), plus(at(k + 2), at(k), -1));
    const length = Math.hypot(...normal);
    const lit = length > 0 ? 0.5 + (0.5 * dot(normal, LIGHT)) / length : 1;
    tone.fill(DARKEST + (1 - DARKEST) * lit, 3 * k, 3 * k + 9);
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(position, 3));
  geometry.setAttribute("color", new BufferAttribute(tone, 3));
  return geometry;
}
