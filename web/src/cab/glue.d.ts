// The clipping module's glue as it is built in (glue.ts takes out what a page may not run).
declare module "clipper2-wasm/dist/es/clipper2z.js" {
  import type { MainModule } from "clipper2-wasm/dist/clipper2z";
  export default function make(options: { wasmBinary: ArrayBuffer }): Promise<MainModule>;
}
