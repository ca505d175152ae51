// Takes out of clipper2-wasm's glue what the pages' policy forbids and phones lack: functions made from
// text (`new Function`), and the parts for Node. What stands in their place is what the same compiler
// writes where it is told that no text may be run (Emscripten, -sDYNAMIC_EXECUTION=0).
import type { Plugin } from "vite";

const INVOKER = `return (name,fail,invoker,fn,runDestructors,fromRetWire,toThis,...rest)=>function(...args){
var destructors=needsDestructorStack?[]:null;var wired=[fn];
if(isClassMethodFunc)wired.push(toThis(destructors,this));
for(var i=0;i<argCount;++i)wired.push(rest[i](destructors,args[i]));
var rv=invoker(...wired);
if(needsDestructorStack)runDestructors(destructors);
else{var k=argCount;for(var j=isClassMethodFunc?1:2;j<argTypes.length;++j)
if(argTypes[j].destructorFunction!==null)rest[k++](wired[isClassMethodFunc?j:j-1])}
if(returns)return fromRetWire(rv)}`;

const CALLER = `var invokerFunction=(handle,methodName,destructorsRef,args)=>{
var given=argFromPtr.map((read,i)=>read(args+i*GenericWireTypeSize));
var target=kind===3?null:Emval.toValue(handle);
var out=kind===0?target(...given):kind===1?target[getStringOrSymbol(methodName)](...given)
:kind===2?Reflect.construct(target,given):given[given.length-1];
if(!retType.isVoid)return emval_returnValue(toReturnWire,destructorsRef,out)}`;

/** What is replaced by what; each stands there exactly once. */
const CHANGES: readonly (readonly [string, string])[] = [
  ["return new Function(args1,invokerFnBody)", INVOKER],
  ["var invokerFunction=new Function(Object.keys(captures),functionBody)(...Object.values(captures))", CALLER],
  // the wasm is given, not looked for; no browser is Node; what hangs on it falls away when the script is made small
  ['var ENVIRONMENT_IS_NODE=globalThis.process?.versions?.node&&globalThis.process?.type!="renderer"', "var ENVIRONMENT_IS_NODE=false"],
  ['var fs=require("fs")', "var fs=null"],
  ['scriptDirectory=require("path").dirname(require("url").fileURLToPath(_scriptName))+"/"', ""],
  ["minRange===0n", "String(minRange)==='0'"],
  ['const{createRequire}=await import("module");var require=createRequire(import.meta.url)', ""],
  ["var _scriptName=import.meta.url", 'var _scriptName=""'],
  ['return new URL("clipper2z.wasm",import.meta.url).href', 'return ""'],
];

/** The glue as a page may run it. Throws where it is not the version that these changes were made for. */
export function plainGlue(code: string): string {
  let out = code;
  for (const [from, to] of CHANGES) {
    if (out.split(from).length !== 2) throw new Error(`clipper2-wasm has changed: ${JSON.stringify(from.slice(0, 60))} is not there once`);
    out = out.replace(from, () => to);
  }
  if (/\bnew Function\b|\beval\(/.test(out)) throw new Error("clipper2-wasm still makes functions from text");
  return out;
}

/** The same as a step of the build. */
export function glue(): Plugin {
  return {
    name: "unsown-glue",
    enforce: "pre",
    transform: {
      filter: { id: /clipper2z\.js$/ },
      handler: (code) => ({ code: plainGlue(code), map: null }),
    },
  };
}
