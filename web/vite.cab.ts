// Builds the phone's page: a folder of its own, because its service worker is master of that folder
// only, and older language, because old phones run it.
import { createHash } from "node:crypto";
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join, posix, relative, sep } from "node:path";
import { fileURLToPath } from "node:url";
import { gzipAsync } from "@gfx/zopfli";
import { parse } from "acorn";
import { minify } from "terser";
import { defineConfig, minifySync, transformWithOxc, type Plugin } from "vite";
import { withAliases } from "./aliases.ts";
import { withArrows } from "./arrows.ts";
import { HEAD, declared, held } from "./held.ts";
import { ownNames } from "./own.ts";
import { lean, plain } from "./plain.ts";
import { withoutUnused } from "./unused.ts";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));
const BASE = "/cab/";
const TARGET = "es2017";
const OUT = process.env["UNSOWN_CAB_OUT"] ?? here("../server/unsown/static/cab");

const VERSION = /__version__ = "([^"]+)"/.exec(readFileSync(here("../server/unsown/__init__.py"), "utf8"))?.[1] ?? "";

/** The clipping library's two files in use. */
const CORE = readFileSync(here("node_modules/clipper2-ts/dist/Core.js"), "utf8");
const ENGINE = readFileSync(here("node_modules/clipper2-ts/dist/Engine.js"), "utf8");

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

/**
 * Makes a plain script of a module that imports nothing, so that it can be a worker on any phone. What one
 * minifier leaves another makes some kilobytes smaller, and so do short names in place of long ones: those of
 * the clipping library that no other part of the page has, and what only an object itself asks for.
 */
function oneScript(): Plugin {
  let regex = /^$/;
  return {
    name: "unsown-one-script",
    apply: "build",
    generateBundle(_options, bundle) {
      for (const made of Object.values(bundle)) {
        if (made.type !== "chunk") continue;
        const [theirs, ours] = [new Set<string>(), new Set<string>()];
        for (const [id, { code }] of Object.entries(made.modules)) {
          const names = id.includes("clipper2-ts") ? theirs : ours;
          for (const [name] of (code ?? "").matchAll(/[A-Za-z_]\w{3,}/g)) names.add(name);
        }
        made.code = withoutUnused(`(()=>{"use strict";${made.code}})();`);
        const names = [...ownNames(made.code), ...[...theirs].filter((name) => !ours.has(name))];
        regex = new RegExp(`^(?:${names.join("|")})$`);
      }
    },
    async writeBundle(_options, bundle) {
      for (const { fileName, type } of Object.values(bundle)) {
        if (type !== "chunk") continue;
        const file = join(OUT, fileName);
        const { code } = await minify(readFileSync(file, "utf8"), { ecma: 2017, compress: { passes: 4, pure_getters: true, unsafe_arrows: true }, mangle: { properties: { regex, keep_quoted: true } } });
        // and what that one leaves, the first makes smaller once more
        const made = minifySync(fileName, withArrows(code ?? ""), { compress: { target: TARGET } });
        const whole = withAliases(declared(made.code), HEAD);
        parse(whole, { ecmaVersion: 2017, sourceType: "script" });
        writeFileSync(file, whole);
      }
    },
  };
}

/** Puts beside each script and style what travels: packed as small as gzip can be, which takes seconds. */
function packed(): Plugin {
  return {
    name: "unsown-packed",
    apply: (_config, { mode }) => mode === "production",
    async closeBundle(error) {
      if (error !== undefined) return;
      for (const file of filesIn(OUT).filter((name) => /\.(?:js|css)$/.test(name))) {
        writeFileSync(join(OUT, `${file}.gz`), await gzipAsync(readFileSync(join(OUT, file)), {}));
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
    .filter((entry) => entry.isFile() && entry.name !== "sw.js" && !entry.name.endsWith(".gz"))
    .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join("/"));
  return found.toSorted();
}

export default defineConfig({
  root: here("cab"),
  base: BASE,
  publicDir: here("cab/public"),
  define: { PAGE_VERSION: JSON.stringify(VERSION) },
  plugins: [plain(), lean(CORE, ENGINE), held(), oneScript(), oldPhones(), serviceWorker(), packed()],
  // fields that are set instead of defined, also in libraries: smaller, and many times quicker on an old phone
  oxc: { include: /\.[jt]s$/, exclude: [], target: TARGET, assumptions: { setPublicClassFields: true }, typescript: { removeClassFieldsWithoutInitializer: true } },
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
