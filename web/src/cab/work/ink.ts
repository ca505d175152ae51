// The colours of the ground, day and night, and the patterns that tell its states without colour. Cells
// are half a metre: a pattern repeats every three.

export interface Ink {
  readonly ground: string;
  readonly ink: string;
  readonly sown: string;
  readonly twice: string;
  readonly bare: string;
}

export const DAY: Ink = { ground: "#ffffff", ink: "#000000", sown: "#4f7fb5", twice: "#14233f", bare: "#ffa800" };
export const NIGHT: Ink = { ground: "#0b0c0e", ink: "#e9dcc0", sown: "#34567d", twice: "#86a6cc", bare: "#ffc65c" };

/** Cells between two lines of a hatch, and between two dots. */
const HATCH = 8;
const DOT = 6;

/** A colour as the four bytes of a picture's cell, opaque. */
function word(colour: string): number {
  const value = parseInt(colour.slice(1), 16);
  const [r, g, b] = [value >> 16, (value >> 8) & 255, value & 255];
  return ((255 << 24) | (b << 16) | (g << 8) | r) >>> 0;
}

/** Whether a cell lies on a line of the cross-hatch. */
export const onHatch = (column: number, row: number): boolean => ((column + row) & (HATCH - 1)) === 0 || ((column - row) & (HATCH - 1)) === 0;
/** Whether a cell lies in a dot. */
export const inDot = (column: number, row: number): boolean => column % DOT < 2 && row % DOT < 2;

/** Says of a cell what it looks like: nought where the ground shows. Little-endian, as every phone is. */
export function cellInk({ ground, sown, twice, ink }: Ink): (passes: number, doubt: number, column: number, row: number) => number {
  const [plain, dark, line, dot, bare] = [word(sown), word(twice), word(ground), word(ink), word(ground)];
  return (passes, doubt, column, row) => {
    if (doubt > 0) return inDot(column, row) ? dot : bare;
    if (passes === 0) return 0;
    if (passes === 1) return plain;
    return onHatch(column, row) ? line : dark;
  };
}
