// What the phone's script holds a value in while it is asked about.
import { transformWithOxc } from "vite";
import { declared, HELD, withOneHeld } from "../../web/held";

const SOURCE = `
  export const nth = (a, i) => a[i] ?? "none";
  export const deep = (p) => [p?.r?.c[0] ?? null, p?.r?.c[p?.r?.at ?? 1], p?.r?.say?.(p?.r?.at ?? 7)];
  export const nested = (a, b) => (a.x ?? (b.x ?? 0)) + ((a.y ?? b.y) ?? 100);
  export const wait = async (a) => [(await a.x) ?? (await a.y), a.z?.[await a.y]];
  export function put(p) { p.a ??= 4; p.q?.push(p.a ?? 0); return p; }
`;

type Called = Readonly<Record<string, (...given: unknown[]) => unknown>>;

const compiled = async (source: string): Promise<string> => (await transformWithOxc(source, "a.ts", { target: "es2017" })).code;

/** What a compiled module exports. */
const run = async (code: string): Promise<Called> => (await import(/* @vite-ignore */ `data:text/javascript,${encodeURIComponent(code)}`)) as Called;

describe("what is asked whether it is there", () => {
  it("is held in one variable, and found and missed as before", async () => {
    const code = await compiled(SOURCE);
    const one = withOneHeld(code);
    expect(one.split(HELD).length).toBeGreaterThan(20);
    const [was, is] = [await run(code), await run(`let ${HELD};${one}`)];
    const r = { c: [0, 5], say: (n: number) => n + 1 };
    const given: Readonly<Record<string, readonly unknown[][]>> = {
      nth: [[[0, Number.NaN, null], 0], [[0, Number.NaN], 1], [[null], 0], [[], 3]],
      deep: [[null], [{}], [{ r }], [{ r: { ...r, at: 0 } }]],
      nested: [[{}, {}], [{ x: 1 }, { y: 2 }], [{ y: 3 }, { x: 4 }]],
      wait: [[{}], [{ x: 1, y: 0, z: [8] }], [{ y: 1, z: [8, 9] }]],
      put: [[{}], [{ a: 0, q: [] }]],
    };
    for (const name of Object.keys(given)) {
      for (const each of given[name] ?? []) expect(await is[name]?.(...structured(each)), name).toEqual(await was[name]?.(...structured(each)));
    }
  });

  it("is held in a variable that the script declares, and no module has", () => {
    expect(declared('(()=>{"use strict";f()})();')).toBe(`(()=>{"use strict";let ${HELD};f()})();`);
    expect(() => declared("f()")).toThrow("expected a script that begins with");
    expect(() => withOneHeld(`export const f = (${HELD}) => ${HELD};`)).toThrow("of the module's own");
  });

  it("keeps a variable of its own where something runs before it is read", async () => {
    const called = await compiled("export const f = (o) => o.find.deep?.(1);");
    expect(called).toContain(".call(_");
    expect(withOneHeld(called)).toContain(".call(_");
    const apart = "export const f = (x, g) => { var _a; _a = x.a; g(); return _a; }";
    expect(withOneHeld(apart)).toBe(apart);
    const late = "export const f = (x, g) => { var _a; _a = x.a; g(); return _a == null ? 0 : _a; }";
    expect(withOneHeld(late)).toBe(late);
    const skipped = "export const f = (x, a) => { var _a; return x && (_a = a) == null ? 0 : _a; }";
    expect(withOneHeld(skipped)).toBe(skipped);
  });
});

/** The same again, for each of two to change. */
const structured = (given: readonly unknown[]): unknown[] => given.map((each) => (Array.isArray(each) ? each.slice() : each !== null && typeof each === "object" ? { ...each, ...("q" in each ? { q: [] } : {}) } : each));
