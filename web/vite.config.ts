import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";
import { plain } from "./plain.ts";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

// One line a page: its name in the built folder, and where its HTML stands. The phone's page has a build
// of its own, vite.cab.ts.
const pages = { desk: "desk.html" };

export default defineConfig({
  root: here("."),
  base: "/static/",
  publicDir: here("public"),
  build: {
    outDir: here("../server/unsown/static"),
    emptyOutDir: true,
    target: "es2022",
    // the policy of the pages allows no data: scripts or styles, and small files compress well alone
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      input: Object.fromEntries(
        Object.entries(pages)
          .filter(([, file]) => existsSync(here(file)))
          .map(([name, file]) => [name, here(file)]),
      ),
    },
  },
  // the tests have the libraries as a phone has them
  plugins: process.env["VITEST"] === undefined ? [] : [plain()],
  server: { proxy: { "/api": "http://127.0.0.1:8610" } },
  test: {
    dir: here("../tests/web"),
    globals: true,
    environment: "node",
    server: { deps: { inline: [/clipper2-ts/, /idb/] } },
    // tests lie outside of this folder
    alias: Object.fromEntries(["fake-indexeddb", "clipper2-ts"].map((name) => [name, here(`node_modules/${name}`)])),
  },
});
