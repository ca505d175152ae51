// The clipping module under Node: its glue and its wasm, read from the folder they are installed in.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import type { Clipper } from "../../../web/src/core/clip";

type Make = (options: { wasmBinary: Uint8Array }) => Promise<Clipper>;

export async function clipper(folder: string): Promise<Clipper> {
  const glue = pathToFileURL(`${folder}/clipper2z.js`).href;
  const { default: make } = (await import(/* @vite-ignore */ glue)) as { default: Make };
  return make({ wasmBinary: readFileSync(`${folder}/clipper2z.wasm`) });
}
