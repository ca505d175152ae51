// Colours and patterns of the five states of ground: pattern and rim tell them apart, colour comes last.
// The same colours and patterns as server/unsown/formats/ink.py, which says why.
import { isDark } from "./theme";

export interface Ink {
  ground: string;
  sown: string;
  twice: string;
  hatch: string;
  bare: string;
  rim: string;
  /** What a patch's number stands on. */
  disc: string;
  number: string;
  ink: string;
}

export const DAY: Ink = {
  ground: "#FFFFFF",
  sown: "#4F7FB5",
  twice: "#14233F",
  hatch: "#A9C1E0",
  bare: "#FFA800",
  rim: "#000000",
  disc: "#FFA800",
  number: "#000000",
  ink: "#000000",
};
export const NIGHT: Ink = {
  ground: "#0B0C0E",
  sown: "#34567D",
  twice: "#86A6CC",
  hatch: "#0B0C0E",
  bare: "#FFC65C",
  rim: "#0B0C0E",
  disc: "#FFC65C",
  number: "#0B0C0E",
  ink: "#E9DCC0",
};

export const ink = (): Ink => (isDark() ? NIGHT : DAY);

export type GroundState = "sown" | "part" | "twice" | "bare" | "cant-tell" | "doubt" | "unreachable" | "keep-out" | "ground";

type Draw = (pen: CanvasRenderingContext2D, ink: Ink) => void;
const line = (pen: CanvasRenderingContext2D, colour: string, width: number, ...paths: number[][]): void => {
  pen.strokeStyle = colour;
  pen.lineWidth = width;
  pen.beginPath();
  for (const [x1 = 0, y1 = 0, x2 = 0, y2 = 0] of paths) {
    pen.moveTo(x1, y1);
    pen.lineTo(x2, y2);
  }
  pen.stroke();
};

const tiles: Partial<Record<GroundState, { width: number; height: number; back: keyof Ink; draw: Draw }>> = {
  twice: { width: 9, height: 9, back: "twice", draw: (pen, c) => line(pen, c.hatch, 1.1, [0, 0, 9, 9], [9, 0, 0, 9]) },
  part: { width: 8, height: 8, back: "ground", draw: (pen, c) => line(pen, c.sown, 2, [-2, 6, 6, -2], [0, 8, 8, 0], [2, 10, 10, 2]) },
  doubt: {
    width: 6,
    height: 6,
    back: "ground",
    draw: (pen, c) => {
      pen.fillStyle = c.ink;
      pen.beginPath();
      pen.arc(3, 3, 1.35, 0, 2 * Math.PI);
      pen.fill();
    },
  },
  "keep-out": {
    width: 20,
    height: 14,
    back: "ground",
    draw: (pen, c) => line(pen, c.ink, 1, [0, 0.5, 20, 0.5], [0, 7.5, 20, 7.5], [5, 0, 5, 7], [15, 7, 15, 14]),
  },
  unreachable: { width: 10, height: 8, back: "ground", draw: (pen, c) => line(pen, c.ink, 1.2, [1, 2, 6, 2], [6, 6, 10, 6]) },
};

/** What fills a state's ground: a colour, or a pattern at the screen's own resolution. */
export function paint(state: GroundState, colours: Ink, ratio: number): string | CanvasPattern {
  const tile = tiles[state];
  if (!tile) {
    if (state === "sown") return colours.sown;
    return state === "bare" ? colours.bare : colours.ground;
  }
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(tile.width * ratio);
  canvas.height = Math.round(tile.height * ratio);
  const pen = canvas.getContext("2d");
  if (!pen) return colours[tile.back];
  pen.scale(canvas.width / tile.width, canvas.height / tile.height);
  pen.fillStyle = colours[tile.back];
  pen.fillRect(0, 0, tile.width, tile.height);
  tile.draw(pen, colours);
  return pen.createPattern(canvas, "repeat") ?? colours[tile.back];
}

/** A small picture of a state for legends and marks; it says nothing to a screen reader. */
export function swatch(state: GroundState, width = 32, height = 20): HTMLCanvasElement {
  const ratio = Math.max(1, devicePixelRatio);
  const canvas = document.createElement("canvas");
  canvas.width = width * ratio;
  canvas.height = height * ratio;
  canvas.style.width = `${width}px`;
  canvas.style.height = `${height}px`;
  canvas.className = "swatch";
  canvas.setAttribute("aria-hidden", "true");
  const pen = canvas.getContext("2d");
  if (!pen) return canvas;
  const colours = ink();
  pen.fillStyle = paint(state, colours, ratio);
  pen.fillRect(0, 0, canvas.width, canvas.height);
  const rim = state === "bare" ? 3 : state === "cant-tell" ? 2.5 : 1;
  pen.scale(ratio, ratio);
  pen.strokeStyle = colours.ink; // also round bare at night: its own dark rim would be lost on dark
  pen.lineWidth = rim;
  if (state === "cant-tell") pen.setLineDash([3, 3]);
  pen.strokeRect(rim / 2, rim / 2, width - rim, height - rim);
  return canvas;
}

/** Shares of a whole as one strip of patterns; what is left of it is ground. Nothing is said aloud. */
export function ribbon(shares: readonly (readonly [GroundState, number])[], width = 280, height = 16): HTMLCanvasElement {
  const ratio = Math.max(1, devicePixelRatio);
  const canvas = document.createElement("canvas");
  canvas.width = width * ratio;
  canvas.height = height * ratio;
  canvas.className = "ribbon";
  canvas.setAttribute("aria-hidden", "true");
  const pen = canvas.getContext("2d");
  if (!pen) return canvas;
  const colours = ink();
  pen.fillStyle = colours.ground;
  pen.fillRect(0, 0, canvas.width, canvas.height);
  let from = 0;
  for (const [state, share] of shares) {
    const to = Math.min(1, from + share);
    const [left, right] = [Math.round(from * canvas.width), Math.round(to * canvas.width)];
    pen.fillStyle = paint(state, colours, ratio);
    pen.fillRect(left, 0, right - left, canvas.height);
    pen.fillStyle = colours.ink;
    if (right - left > 2 * ratio && right < canvas.width) pen.fillRect(right - ratio, 0, ratio, canvas.height);
    from = to;
  }
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 2 * ratio;
  pen.strokeRect(0, 0, canvas.width, canvas.height);
  return canvas;
}
