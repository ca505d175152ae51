// Which functions of the phone's script may be arrows.
import { withArrows } from "../../web/arrows";

const script = (body: string): string => `(()=>{"use strict";${body}})();`;
const arrowed = (body: string): string => withArrows(script(body)).slice(script("").length - 5, -5);

describe("a function of the script's own top", () => {
  it("becomes an arrow, with its parameters and its body as they are", () => {
    expect(arrowed("function a(b,{c:d=1},...e){return b+d}")).toBe("var a=(b,{c:d=1},...e)=>{return b+d};");
    expect(arrowed("async function a(){await b()}")).toBe("var a=async()=>{await b()};");
  });

  it.each([
    ["this", "function a(){return this}"],
    ["this, from an arrow within", "function a(){return ()=>this.b}"],
    ["arguments", "function a(){return arguments.length}"],
    ["new.target", "function a(){return new.target}"],
    ["a pause", "function* a(){yield 1}"],
    ["an object of it", "function a(){}let b=()=>new a"],
    ["a class of it", "function a(){}class b extends a{}"],
  ])("stays one where it is asked for %s", (_what, body) => {
    expect(arrowed(body)).toBe(body);
  });

  it("becomes an arrow where only a function within it asks for this", () => {
    expect(arrowed("function a(){return function(){return this}}")).toMatch(/^var a=/);
  });

  it.each([
    ["at once", "b();function b(){}"],
    ["by what is set out", "let c=b(1);function b(){}"],
    ["by way of another that waits", "let c=()=>b(1),d=c();function b(){}"],
    ["by way of a class", "class C{m(){b()}}new C().m();function b(){}"],
    ["by way of what is handed on", "let d=[1].map(e=>b(e));function b(){}"],
    ["beside a block with the same name of its own", "let d=e();function e(){{let b=1}return b()}function b(){}"],
  ])("stays one where it is called before its line, %s", (_how, body) => {
    expect(arrowed(body)).toContain("function b(){}");
  });

  it.each([
    ["after its line", "function b(){}b();"],
    ["before its line by what is called later only", "let c=()=>b(1);function b(){}c();"],
    ["under its name where that is another's", "let c=(b=>b(1))(d);function b(){}let d=0;"],
    ["under its name where that is a key", "let c={b:1}.b;function b(){}"],
  ])("becomes an arrow where it is called %s", (_how, body) => {
    expect(arrowed(body)).toContain("var b=()=>{};");
  });

  it("does in the script what it did", () => {
    const body = "let told=[one(2)];function two(n){return n*3}function one(n){return n+two(1)}told.push(two(4));return told.join()";
    const run = (code: string): unknown => new Function(`return ${code.slice(0, -1)}`)();
    expect(run(withArrows(script(body)))).toBe("5,12");
  });

  it("is looked for in nothing but one function that is called at once", () => {
    expect(() => withArrows("function a(){}")).toThrow("expected a script that is one function");
  });
});
