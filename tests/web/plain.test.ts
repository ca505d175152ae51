// The libraries as a phone carries them, and what is left out of its script.
import { readFileSync } from "node:fs";
import { leanCore, leanEngine, plainEngine, plainStore } from "../../web/plain";
import { withoutUnused } from "../../web/unused";

const source = (file: string): string => readFileSync(new URL(`../../web/node_modules/${file}`, import.meta.url), "utf8");

describe("the clipping library's engine", () => {
  const engine = source("clipper2-ts/dist/Engine.js");

  it("asks no more for lines that do not close, trees and heights", () => {
    const plain = plainEngine(engine);
    expect(plain).not.toMatch(/this\.usingPolytree|ClipperBase\.isOpen\(|this\.setZ\(/);
    expect(plain).toContain("export class Clipper64 extends ClipperBase {");
    expect(plain.length).toBeGreaterThan(0.6 * engine.length);
  });

  it("of another version is not touched", () => {
    expect(() => plainEngine(engine.replace("this.usingPolytree", "this.treeWanted"))).toThrow("has changed");
  });
});

describe("the clipping library's tools", () => {
  const core = source("clipper2-ts/dist/Core.js");

  it("are those that its engine names, and those that they name", () => {
    const lean = leanCore(core, "InternalClipper.segsIntersect(");
    expect(lean).toContain("export function segsIntersect(");
    expect(lean).toContain("export function crossProduct(");
    expect(lean).not.toContain("dotProduct");
    expect(lean).not.toContain("reverse64");
  });

  it("are taken by the engine one by one", () => {
    const engine = source("clipper2-ts/dist/Engine.js");
    expect(leanEngine(engine)).toContain('import * as InternalClipper from "./Core.js";');
    expect(() => leanEngine(engine.replace("InternalClipper,", ""))).toThrow("has changed");
  });
});

describe("the store's library", () => {
  const store = source("idb/build/index.js");

  it("has no short cuts and iterators, and all else", () => {
    const plain = plainStore(store);
    expect(plain).not.toMatch(/iterate|readMethods/);
    expect(plain).toContain("export { deleteDB, openDB, unwrap, wrap };");
  });

  it("of another version is not touched", () => {
    expect(() => plainStore(store.replace("async function* iterate", "function iterate"))).toThrow("has changed");
  });
});

describe("methods that nobody names", () => {
  it("are left out, with those that only they called", () => {
    const code = "(()=>{class A{used(){return 1}lone(){return this.deeper()}deeper(){return this.lone()}get quiet(){return 3}}new A().used()})();";
    expect(withoutUnused(code)).toBe("(()=>{class A{used(){return 1}}new A().used()})();");
  });

  it("stay where a string names them, or the language calls them", () => {
    const code = '(()=>{class A{named(){}toString(){return ""}static[Symbol.iterator](){}}new A()["named"]()})();';
    expect(withoutUnused(code)).toBe(code);
  });
});
