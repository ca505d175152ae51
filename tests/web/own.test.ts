// Which names of the phone's script may be shortened.
import { ownNames } from "../../web/own";

const SCRIPT = `
  class Tank {
    constructor(litres) { this.litres = litres; this.gauge = 0; this.label = "tank"; this.tare = 1; this.mark = 2; }
    fill(by) { this.gauge = this.rounded(by); this[by] = 1; return this; }
    rounded(by) { const { tare, litres: { length } } = this; return tare * length * by; }
    toString() { return this.label + this.mark; }
  }
  const made = new Tank(10).fill(3);
  console.log(made.litres, { label: 1 }, "mark");
`;

describe("a name of the phone's script", () => {
  it("is an object's own where it stands only after this, or in a class", () => {
    expect([...ownNames(SCRIPT)].toSorted()).toEqual(["gauge", "rounded", "tare"]);
  });

  it("is not an object's own where another object is asked for it", () => {
    expect(ownNames("class A { b() { return this.c; } } x.b().c")).toEqual(new Set());
    expect(ownNames("class A { b() { return this.c; } } const { c } = x; x.b()")).toEqual(new Set());
    expect(ownNames("class A { b() { return this.c; } } x['b'](`c`)")).toEqual(new Set());
  });
});
