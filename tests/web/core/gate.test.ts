import { gateOf } from "../../../web/src/core/back";
import type { Area } from "../../../web/src/core/words";

// the same square and places as tests/core/test_back.py
const SQUARE: Area = [[Float64Array.of(0, 0, 600, 0, 600, 600, 0, 600)]];
const [X, Y] = [Float64Array.of(-50, 3, 300), Float64Array.of(310, 310, 300)];

describe("the gate at which a way ends", () => {
  const near = ([x, y]: readonly [number, number], [ax, ay]: readonly [number, number]): void => {
    expect(x).toBeCloseTo(ax, 6);
    expect(y).toBeCloseTo(ay, 6);
  };

  it("is where the rig came in while none is set", () => {
    near(gateOf(SQUARE, X, Y), [0, 310]);
    near(gateOf(SQUARE, X, Y, []), [0, 310]);
  });

  it("is the one that is set nearest to that, on the fence", () => {
    near(gateOf(SQUARE, X, Y, [[200, 30], [-4, 200]]), [0, 200]);
    near(gateOf(SQUARE, X, Y, [[200, -3]]), [200, 0]);
  });
});
