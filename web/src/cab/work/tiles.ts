// The ground's cells as small pictures, one a tile: only what changed is drawn anew, and only tiles that
// are looked at have a picture.
import { TILE, type LiveGrid, type Rect, type Tile } from "../../core/grid";
import { cellInk, type Ink } from "./ink";

/** More pictures than this are not held: each is a quarter of a megabyte. */
const MOST = 24;

interface Picture {
  readonly canvas: HTMLCanvasElement;
  readonly context: CanvasRenderingContext2D;
}

export class Tiles {
  private readonly pictures = new Map<string, Picture>();
  private inkOf: ReturnType<typeof cellInk>;

  constructor(private readonly grid: LiveGrid, private readonly doubt: LiveGrid, ink: Ink) {
    this.inkOf = cellInk(ink);
  }

  /** Other colours: every picture is drawn anew when it is next looked at. */
  ink(ink: Ink): void {
    this.inkOf = cellInk(ink);
    this.pictures.clear();
  }

  /** Brings the pictures up to what the ground is now. */
  refresh(): void {
    const see = (tile: Tile, rect: Rect): void => {
      const picture = this.pictures.get(keyOf(tile.column, tile.row));
      if (picture !== undefined) this.draw(picture, tile.column, tile.row, rect);
    };
    this.grid.changed(see);
    this.doubt.changed(see);
  }

  /** The picture of a tile, north up with its first row at the bottom; null where nothing is on it. */
  of(column: number, row: number): HTMLCanvasElement | null {
    const key = keyOf(column, row);
    const known = this.pictures.get(key);
    if (known !== undefined) {
      this.pictures.delete(key); // the oldest look stands first
      this.pictures.set(key, known);
      return known.canvas;
    }
    if (this.grid.tile(column, row) === undefined && this.doubt.tile(column, row) === undefined) return null;
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [TILE, TILE];
    const context = canvas.getContext("2d");
    if (context === null) return null;
    const made = { canvas, context };
    this.draw(made, column, row, { west: 0, south: 0, east: TILE, north: TILE });
    this.pictures.set(key, made);
    for (const old of Array.from(this.pictures.keys()).slice(0, Math.max(0, this.pictures.size - MOST))) this.pictures.delete(old);
    return canvas;
  }

  private draw({ context }: Picture, column: number, row: number, { west, south, east, north }: Rect): void {
    const [wide, high] = [east - west, north - south];
    const image = context.createImageData(wide, high);
    const out = new Uint32Array(image.data.buffer);
    const passes = this.grid.tile(column, row)?.passes;
    const doubt = this.doubt.tile(column, row)?.passes;
    for (let r = south; r < north; r++) {
      let to = (north - 1 - r) * wide;
      for (let c = west; c < east; c++, to++) {
        const at = (r << 8) | c;
        out[to] = this.inkOf(passes === undefined ? 0 : (passes[at] ?? 0), doubt === undefined ? 0 : (doubt[at] ?? 0), c, r);
      }
    }
    context.putImageData(image, west, TILE - north);
  }
}

const keyOf = (column: number, row: number): string => `${column} ${row}`;
