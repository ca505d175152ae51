// Patterns for ground that is drawn as shapes, not as cells: bricks, the hatch of what was sown twice, the
// dots of doubt. They keep their size on the screen whatever the scale.
import type { Ink } from "./ink";

export type Kind = "brick" | "hatch" | "dots";

const SIZES: Readonly<Record<Kind, readonly [number, number]>> = { brick: [24, 16], hatch: [16, 16], dots: [12, 12] };

export class Patterns {
  private readonly made = new Map<Kind, CanvasPattern>();
  private of = "";

  constructor(private readonly context: CanvasRenderingContext2D) {}

  /** The pattern, or a plain colour where a browser cannot: rims and letters are left then. */
  fill(kind: Kind, ink: Ink, scale: number): CanvasPattern | string {
    const key = `${ink.ink} ${scale}`;
    if (key !== this.of) this.made.clear();
    this.of = key;
    const known = this.made.get(kind);
    if (known !== undefined) return known;
    const plain = kind === "hatch" ? ink.twice : ink.ground;
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = SIZES[kind];
    const context = canvas.getContext("2d");
    if (context === null) return plain;
    context.fillStyle = plain;
    context.fillRect(0, 0, canvas.width, canvas.height);
    DRAW[kind](context, ink);
    const pattern = this.context.createPattern(canvas, "repeat");
    if (pattern === null || typeof DOMMatrix === "undefined" || typeof pattern.setTransform !== "function") return plain;
    pattern.setTransform(new DOMMatrix().scale(1 / scale, 1 / scale));
    this.made.set(kind, pattern);
    return pattern;
  }
}

const DRAW: Readonly<Record<Kind, (context: CanvasRenderingContext2D, ink: Ink) => void>> = {
  brick(context, { ink }) {
    context.fillStyle = ink;
    for (const [x, y, w, h] of [[0, 0, 24, 2], [0, 8, 24, 2], [4, 0, 2, 8], [16, 8, 2, 8]] as const) context.fillRect(x, y, w, h);
  },
  hatch(context, { ground }) {
    context.strokeStyle = ground;
    context.lineWidth = 2;
    context.beginPath();
    for (const [x0, y0, x1, y1] of [[0, 0, 16, 16], [16, 0, 0, 16]] as const) {
      context.moveTo(x0, y0);
      context.lineTo(x1, y1);
    }
    context.stroke();
  },
  dots(context, { ink }) {
    context.fillStyle = ink;
    context.fillRect(3, 3, 6, 6);
  },
};
