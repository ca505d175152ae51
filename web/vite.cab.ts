// Builds the phone's page: a folder of its own, because its service worker is master of that folder
// only, and older language, because old phones run it.
import { createHash } from "node:crypto";
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join, posix, relative, sep } from "node:path";
import { fileURLToPath } from "node:url";
import { parse } from "acorn";
import { defineConfig, minifySync, transformWithOxc, type Plugin } from "vite";
import { plain } from "./plain.ts";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));
const BASE = "/cab/";
const TARGET = "es2017";
const OUT = process.env["UNSOWN_CAB_OUT"] ?? here("../server/unsown/static/cab");

const VERSION = /__version__ = "([^"]+)"/.exec(readFileSync(here("../server/unsown/__init__.py"), "utf8"))?.[1] ?? "";

/** Writes sw.js, which knows every file by its path and the hash of its content. */
function serviceWorker(): Plugin {
  return {
    name: "unsown-service-worker",
    apply: "build",
    async closeBundle(error) {
      if (error !== undefined) return;
      const files = filesIn(OUT).map((file) => {
        const path = file === "index.html" ? BASE : posix.join(BASE, file);
        return [path, createHash("sha256").update(readFileSync(join(OUT, file))).digest("hex")];
      });
      const version = createHash("sha256").update(JSON.stringify(files)).digest("hex").slice(0, 12);
      const source = readFileSync(here("src/sw.ts"), "utf8").replace(/^export /m, "");
      const made = await transformWithOxc(source, "sw.ts", { target: TARGET, define: { BUILT: JSON.stringify({ version, files }) } });
      const { code } = minifySync("sw.js", made.code, { compress: { target: TARGET } });
      parse(code, { ecmaVersion: 2017, sourceType: "script" });
      writeFileSync(join(OUT, "sw.js"), code);
    },
  };
}

/** Makes a plain script of a module that imports nothing, so that it can be a worker on any phone. */
function oneScript(): Plugin {
  return {
    name: "unsown-one-script",
    apply: "build",
    generateBundle(_options, bundle) {
      for (const made of Object.values(bundle)) {
        if (made.type === "chunk") made.code = `(()=>{"use strict";${made.code}})();`;
      }
    },
  };
}

/** Ends the build where a script needs a browser younger than ES2017. */
function oldPhones(): Plugin {
  return {
    name: "unsown-old-phones",
    apply: "build",
    generateBundle(_options, bundle) {
      for (const made of Object.values(bundle)) {
        const code = made.type === "chunk" ? made.code : made.fileName.endsWith(".js") ? String(made.source) : null;
        if (code === null) continue;
        try {
          parse(code, { ecmaVersion: 2017, sourceType: "script" });
        } catch (error) {
          this.error(`${made.fileName} is not ES2017: ${String(error)}`);
        }
      }
    },
  };
}

function filesIn(folder: string): string[] {
  const found = readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && entry.name !== "sw.js")
    .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join("/"));
  return found.toSorted();
}

export default defineConfig({
  root: here("cab"),
  base: BASE,
  publicDir: here("cab/public"),
  define: { PAGE_VERSION: JSON.stringify(VERSION) },
  plugins: [plain(), oneScript(), oldPhones(), serviceWorker()],
  build: {
    outDir: OUT,
    emptyOutDir: true,
    target: TARGET,
    cssTarget: "chrome61",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    // one script: it is kept whole anyway, an old phone loads one file sooner than ten, and as a plain
    // script it is the worker too
    rolldownOptions: { output: { codeSplitting: false } },
  },
  server: { proxy: { "/api": "http://127.0.0.1:8610" } },
});
