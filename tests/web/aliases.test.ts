// What the phone's script asks of the language under a short name of its own.
import { withAliases } from "../../web/aliases";

const HEAD = "(()=>{";
const often = (what: string): string => `f(${Array.from({ length: 10 }, () => what).join(",")});`;
const aliased = (body: string): string => withAliases(`${HEAD}${body}})();`, HEAD).slice(HEAD.length, -5);

describe("a name for what a script asks of the language", () => {
  it("stands for a function, a number or what makes objects wherever that stood", () => {
    expect(aliased(often("Math.max(1)"))).toBe(`var e$=Math.max;${often("e$(1)")}`);
    expect(aliased(often("new Float64Array(2)"))).toBe(`var e$=Float64Array;${often("new e$(2)")}`);
    expect(aliased(often("Float64Array.from(a)"))).toBe(`var e$=Float64Array;${often("e$.from(a)")}`);
  });

  it("is given where it stands often, the first to what stands most", () => {
    expect(aliased(`f(${"Math.max,".repeat(9)}0);`)).toBe(`f(${"Math.max,".repeat(9)}0);`);
    expect(aliased(`${often("Math.PI")}${often("Math.max")}g(Math.max);`)).toMatch(/^var e\$=Math\.max,t\$=Math\.PI;/);
  });

  it("leaves alone what only looks like it", () => {
    const same = `${often("a.Math.max")}${often("a.Map")}${often("{Map:1}")}${often('"Math.max"')}${often("Math[a]")}${often("Date.now()")}${often("Math")}`;
    expect(aliased(same)).toBe(same);
    expect(aliased(often("{Map}"))).toBe(often("{Map}"));
  });

  it("is none that the script has", () => {
    expect(aliased(`let e$=1;${often("Math.max(e$)")}`)).toBe(`var t$=Math.max;let e$=1;${often("t$(e$)")}`);
  });

  it("gives what was given before", () => {
    const run = (code: string): unknown => new Function(`return ${code.slice(0, -1)}`)();
    const body = `let f=(...all)=>all.map(String).join();return ${often("Array.from([3,Math.max(1,2)],Number.isFinite)")}`;
    const script = `${HEAD}${body}${often("Math.max(2)")}${often("Number.isFinite(1)")}})();`;
    expect(withAliases(script, HEAD)).not.toBe(script);
    expect(run(withAliases(script, HEAD))).toBe(run(script));
  });

  it("is looked for only in a script that begins as told", () => {
    expect(() => withAliases("let a=1", HEAD)).toThrow("expected a script that begins with (()=>{");
  });
});
