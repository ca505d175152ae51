// What was sown of late, and what of it is painted once more when seed turns out to have stopped.
import { Behind } from "../../../web/src/core/behind";
import { LiveGrid } from "../../../web/src/core/grid";

/** A bar 10 m wide that goes east, a metre a stretch and a second: the corners from `x_m` on. */
const quad = (x_m: number): Float64Array => Float64Array.of(x_m, 10, x_m, 0, x_m + 1, 0, x_m + 1, 10);

/** So many stretches of runs of 100 m each, forgotten beyond `most_m` of way. */
function drove(count: number, most_m: number): Behind {
  const behind = new Behind();
  for (let k = 0; k < count; k++) {
    behind.push(quad(k), { run: Math.floor(k / 100), t_s: k, way_m: k, width_m: 10 });
    behind.forget(k + 1 - most_m);
  }
  return behind;
}

/** Where ground was painted, m: from and to. */
function span(behind: Behind, run: number, from_s: number): [number, number] {
  const grid = new LiveGrid();
  behind.paint(grid, run, from_s);
  const at = Array.from({ length: 1000 }, (_, x) => x).filter((x) => grid.passesAt(x + 0.25, 5) > 0);
  return [at[0] ?? Number.NaN, (at[at.length - 1] ?? Number.NaN) + 1];
}

describe("what lies behind the bar", () => {
  // more stretches than there is room for at first, and round the ring more than once
  it.each([40, 150, 400])("is the last %d m of way and no more, however far it has gone", (most_m) => {
    const behind = drove(990, most_m);
    expect(span(behind, 9, -Infinity)).toEqual([Math.max(900, 990 - most_m), 990]);
    expect(span(behind, 8, -Infinity)).toEqual(most_m > 90 ? [Math.max(800, 990 - most_m), 900] : [Number.NaN, Number.NaN]);
  });

  it("is painted from a moment on, in one run only", () => {
    expect(span(drove(250, 400), 2, 230)).toEqual([230, 250]);
    expect(span(drove(250, 400), 1, 150)).toEqual([150, 200]);
  });
});
