// Sparse matrices held row by row, as least squares writes them.
import type { Floats, Ints } from "./words";

/**
 * A matrix by rows: row r holds `value[k]` in `column[k]` for k from `start[r]` to `start[r + 1]`.
 * No column stands twice in a row.
 */
export interface Sparse {
  readonly rows: number;
  readonly columns: number;
  readonly start: Ints;
  readonly column: Ints;
  readonly value: Floats;
}

/** Writes a matrix row by row; what is added to one column of a row twice is summed. */
export class Writer {
  private readonly columns: number;
  private readonly starts: number[] = [0];
  private column = new Int32Array(1024);
  private value = new Float64Array(1024);
  private used = 0;
  /** Where the row being written begins. */
  private from = 0;
  /** Where each column's entry of the row being written stands; stale below the row's start. */
  private readonly at: Ints;

  constructor(columns: number) {
    this.columns = columns;
    this.at = new Int32Array(columns).fill(-1);
  }

  /** Add a value to a column of the row being written; nought leaves no entry. */
  add(column: number, value: number): void {
    if (value === 0) return;
    const known = this.at[column];
    if (known >= this.from) {
      this.value[known] += value;
      return;
    }
    if (this.used === this.column.length) this.grow();
    this.at[column] = this.used;
    this.column[this.used] = column;
    this.value[this.used] = value;
    this.used += 1;
  }

  /** The row is written; the next one begins. */
  end(): void {
    this.from = this.used;
    this.starts.push(this.used);
  }

  matrix(): Sparse {
    return {
      rows: this.starts.length - 1,
      columns: this.columns,
      start: new Int32Array(this.starts),
      column: this.column.slice(0, this.used),
      value: this.value.slice(0, this.used),
    };
  }

  private grow(): void {
    const column = new Int32Array(2 * this.used);
    const value = new Float64Array(2 * this.used);
    column.set(this.column);
    value.set(this.value);
    this.column = column;
    this.value = value;
  }
}

/** A x. */
export function times(a: Sparse, x: Floats): Floats {
  const out = new Float64Array(a.rows);
  for (let r = 0; r < a.rows; r++) {
    let sum = 0;
    for (let k = a.start[r]; k < a.start[r + 1]; k++) sum += a.value[k] * x[a.column[k]];
    out[r] = sum;
  }
  return out;
}

/** Aᵀ y. */
export function transposedTimes(a: Sparse, y: Floats): Floats {
  const out = new Float64Array(a.columns);
  for (let r = 0; r < a.rows; r++) {
    const by = y[r];
    if (by === 0) continue;
    for (let k = a.start[r]; k < a.start[r + 1]; k++) out[a.column[k]] += a.value[k] * by;
  }
  return out;
}

/** Whether two matrices have entries in the same places. */
export function sameShape(a: Sparse, b: Sparse): boolean {
  return a.columns === b.columns && same(a.start, b.start) && same(a.column, b.column);
}

function same(a: Ints, b: Ints): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}
