// The ground as the driver sees it: where he goes is up, the rig stands where it stands.
import type { Now } from "../live";
import { CELL_M, TILE } from "../../core/grid";
import type { Place, Stance } from "../../core/follow";
import type { Rig, Ring } from "../../core/words";
import type { Ink } from "./ink";
import { Patterns } from "./patterns";
import type { Tiles } from "./tiles";

/** So much ground is drawn behind the phone, m. */
const BEHIND_M = 150;
/** So many widths of the tool fit beside each other at least, and so many lengths of the rig below it. */
const WIDTHS = 3.4;
const LENGTHS = 4.6;
/** Bounds of the scale, px a metre. */
const LEAST = 2;
const MOST = 14;
/** The phone stands so far down the picture, and never under the texts on it, px. */
const PHONE_AT = 0.38;
const TEXTS_PX = 84;
/** Where it is now is reckoned on from the last position no further than this, s. */
export const ONWARD_S = 1.5;

export type Before = "sown" | "twice" | "doubt";

/** What is drawn beside the ground: lines on the plane, in metres. */
export interface Drawn {
  readonly fence: readonly Ring[];
  readonly outs: readonly { readonly ring: Ring; readonly letter: string; readonly hazard: boolean }[];
  /** Ground of earlier days and of other phones, as the farm pack has it. */
  readonly before: { readonly [state in Before]: readonly Ring[] };
  /** The bare patch that is gone to. */
  readonly aim: { readonly number: number; readonly rings: readonly Ring[]; readonly x_m: number; readonly y_m: number } | null;
}

/** Pixels a metre at which the rig and its neighbours fit a picture. */
export function scaleFor(wide: number, high: number, rig: Rig | null): number {
  if (rig === null) return Math.min(Math.max(high / 60, LEAST), MOST);
  const long = rig.phone.ahead_of_axle_m + rig.axle_to_pin_m + rig.tool.pin_to_axle_m - rig.tool.rear_rank_m + (rig.cart === null ? 0 : rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m);
  return Math.min(Math.max(Math.min(wide / (WIDTHS * rig.tool.width_m), high / (LENGTHS * long)), LEAST), MOST);
}

export class View {
  private readonly patterns: Patterns;
  /** From the plane to the screen: a, b, c, d, e, f as canvases have them. */
  private to: readonly [number, number, number, number, number, number] = [1, 0, 0, 1, 0, 0];

  constructor(private readonly context: CanvasRenderingContext2D) {
    this.patterns = new Patterns(context);
  }

  /** Draws the picture of a moment `age_s` after its last position; sizes in CSS pixels. */
  draw(now: Now, tiles: Tiles, drawn: Drawn, ink: Ink, wide: number, high: number, dpr: number, age_s: number): void {
    const { context } = this;
    const scale = scaleFor(wide, high, now.rig);
    const on = now.standing ? 0 : Math.min(age_s, ONWARD_S);
    const heading = now.heading_rad + now.turn_rad_s * on;
    const [x, y] = [now.x_m + now.speed_m_s * on * Math.cos(now.heading_rad), now.y_m + now.speed_m_s * on * Math.sin(now.heading_rad)];
    context.setTransform(dpr, 0, 0, dpr, 0, 0);
    context.fillStyle = ink.ground;
    context.fillRect(0, 0, wide, high);
    if (!now.known) return;
    // from the plane (y up) to the screen: heading up, the phone at its place
    const turn = heading - Math.PI / 2;
    const [c, s] = [Math.cos(turn) * scale * dpr, Math.sin(turn) * scale * dpr];
    const [px, py] = [(wide / 2) * dpr, Math.max(high * PHONE_AT, Math.min(TEXTS_PX, high / 2)) * dpr];
    this.to = [c, s, s, -c, px - c * x - s * y, py - s * x + c * y];
    context.setTransform(...this.to);
    const reach = Math.min(Math.sqrt(wide * wide + high * high) / scale, BEHIND_M);
    this.before(drawn, ink, scale);
    this.ground(tiles, x, y, reach);
    this.lines(drawn, ink, scale);
    if (now.stance !== null && now.rig !== null) this.rig(now.stance, now.rig, now, on, ink, scale);
    else this.phone(x, y, heading, ink, scale);
    this.letters(drawn, ink, scale);
    context.setTransform(1, 0, 0, 1, 0, 0);
  }

  /** What was there before: sown, on it what was sown twice, and what nobody knows. */
  private before({ before }: Drawn, ink: Ink, scale: number): void {
    for (const [rings, fill] of [
      [before.sown, ink.sown],
      [before.twice, this.patterns.fill("hatch", ink, scale)],
      [before.doubt, this.patterns.fill("dots", ink, scale)],
    ] as const) {
      if (rings.length === 0) continue;
      this.path(rings);
      this.context.fillStyle = fill;
      this.context.fill("evenodd");
    }
  }

  private ground(tiles: Tiles, x: number, y: number, reach: number): void {
    const side = TILE * CELL_M;
    this.context.imageSmoothingEnabled = false;
    for (let row = Math.floor((y - reach) / side); row <= Math.floor((y + reach) / side); row++) {
      for (let column = Math.floor((x - reach) / side); column <= Math.floor((x + reach) / side); column++) {
        const picture = tiles.of(column, row);
        if (picture === null) continue;
        this.context.save();
        this.context.translate(column * side, (row + 1) * side);
        this.context.scale(CELL_M, -CELL_M);
        this.context.drawImage(picture, 0, 0);
        this.context.restore();
      }
    }
  }

  private lines({ fence, outs, aim }: Drawn, ink: Ink, scale: number): void {
    const { context } = this;
    for (const { ring, hazard } of outs) {
      this.path([ring]);
      context.fillStyle = this.patterns.fill("brick", ink, scale);
      context.fill("evenodd");
      context.strokeStyle = ink.ink;
      context.lineWidth = (hazard ? 4 : 2) / scale;
      context.stroke();
    }
    if (aim !== null) {
      this.path(aim.rings);
      context.fillStyle = ink.bare;
      context.fill("evenodd");
      context.strokeStyle = "#000000"; // at night too: bare ground and ink are alike in brightness there
      context.lineWidth = 3 / scale;
      context.stroke();
    }
    this.path(fence);
    context.strokeStyle = ink.ink;
    context.lineWidth = 3 / scale;
    context.stroke();
  }

  /** The rig from its own card: phone, rear axle, drawbar, cart, tool axle, ranks. */
  private rig(stance: Stance, rig: Rig, now: Now, on: number, ink: Ink, scale: number): void {
    const { context } = this;
    const [dx, dy] = [now.speed_m_s * on * Math.cos(now.heading_rad), now.speed_m_s * on * Math.sin(now.heading_rad)];
    context.save();
    context.translate(dx, dy);
    const bars = (colour: string, more: number): void => {
      context.strokeStyle = colour;
      context.lineCap = "round";
      const line = (width: number, ...points: readonly (readonly [number, number])[]): void => {
        context.lineWidth = (width + more) / scale;
        context.beginPath();
        points.forEach(([x, y], i) => (i === 0 ? context.moveTo(x, y) : context.lineTo(x, y)));
        context.stroke();
      };
      const { tractor, pin, cart, tool } = stance;
      line(4, [now.x_m, now.y_m], [tractor.x_m, tractor.y_m], [pin.x_m, pin.y_m]);
      line(6, ...across(tractor, 0, 2));
      if (cart !== null) {
        line(3, [pin.x_m, pin.y_m], [cart.x_m, cart.y_m], end(cart, -(rig.cart?.axle_to_pin_m ?? 0)));
        line(5, ...across(cart, 0, 2));
      }
      if (rig.kind !== "mounted") line(3, end(tool, rig.tool.pin_to_axle_m), [tool.x_m, tool.y_m]);
      const wide = now.down ? 7 : 3;
      line(wide, ...across(tool, rig.tool.front_rank_m, rig.tool.width_m));
      line(wide, ...across(tool, rig.tool.rear_rank_m, rig.tool.width_m));
    };
    bars(ink.ground, 4); // a rim, so that it is seen on any ground
    bars(ink.ink, 0);
    this.dot(now.x_m, now.y_m, ink, scale);
    context.restore();
  }

  private phone(x: number, y: number, heading: number, ink: Ink, scale: number): void {
    const { context } = this;
    context.strokeStyle = ink.ink;
    context.lineWidth = 4 / scale;
    context.beginPath();
    context.moveTo(x, y);
    context.lineTo(x + (30 / scale) * Math.cos(heading), y + (30 / scale) * Math.sin(heading));
    context.stroke();
    this.dot(x, y, ink, scale);
  }

  private dot(x: number, y: number, ink: Ink, scale: number): void {
    const { context } = this;
    context.beginPath();
    context.arc(x, y, 8 / scale, 0, 2 * Math.PI);
    context.fillStyle = ink.ground;
    context.fill();
    context.lineWidth = 4 / scale;
    context.strokeStyle = ink.ink;
    context.stroke();
  }

  /** Letters and numbers stand upright whichever way the ground lies. */
  private letters({ outs, aim }: Drawn, ink: Ink, scale: number): void {
    const { context } = this;
    const write = (text: string, x: number, y: number): void => {
      const [a, b, c, d, e, f] = this.to;
      context.save();
      context.setTransform(1, 0, 0, 1, 0, 0);
      const [px, py] = [a * x + c * y + e, b * x + d * y + f];
      const size = Math.round((24 * Math.sqrt(a * a + b * b)) / scale);
      context.font = `700 ${size}px system-ui, sans-serif`;
      context.textAlign = "center";
      context.textBaseline = "middle";
      context.fillStyle = ink.ground;
      context.fillRect(px - size * 0.6, py - size * 0.65, size * 1.2, size * 1.3);
      context.fillStyle = ink.ink;
      context.fillText(text, px, py);
      context.restore();
    };
    for (const { ring, letter } of outs) write(letter, ...middle(ring));
    if (aim !== null) write(String(aim.number), aim.x_m, aim.y_m);
  }

  private path(rings: readonly Ring[]): void {
    const { context } = this;
    context.beginPath();
    for (const ring of rings) {
      for (let i = 0; i + 1 < ring.length; i += 2) {
        if (i === 0) context.moveTo(ring[0] ?? 0, ring[1] ?? 0);
        else context.lineTo(ring[i] ?? 0, ring[i + 1] ?? 0);
      }
      context.closePath();
    }
  }
}

function end(place: Place, by: number): readonly [number, number] {
  return [place.x_m + by * Math.cos(place.heading_rad), place.y_m + by * Math.sin(place.heading_rad)];
}

/** Both ends of a bar across, `ahead` of a place. */
function across(place: Place, ahead: number, width: number): readonly [readonly [number, number], readonly [number, number]] {
  const [x, y] = end(place, ahead);
  const [c, s] = [Math.cos(place.heading_rad), Math.sin(place.heading_rad)];
  return [[x - (width / 2) * s, y + (width / 2) * c], [x + (width / 2) * s, y - (width / 2) * c]];
}

function middle(ring: Ring): [number, number] {
  let [x, y] = [0, 0];
  for (let i = 0; i + 1 < ring.length; i += 2) [x, y] = [x + (ring[i] ?? 0), y + (ring[i + 1] ?? 0)];
  return [(2 * x) / ring.length, (2 * y) / ring.length];
}
