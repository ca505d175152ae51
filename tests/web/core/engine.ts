// The phone's engine under Node: computes days written by tests/web/days.py and says what came out.
//
//     node engine.mjs clipper2z.wasm settings.json day.json ... > one line of JSON a day
import { readFileSync } from "node:fs";
import make from "clipper2-wasm/dist/es/clipper2z.js";
import { Clip } from "../../../web/src/core/clip";
import { find } from "../../../web/src/core/day";
import { type Settings, SETTINGS } from "../../../web/src/core/words";
import { type Given, logOf, paddockOf } from "./given";

async function main([wasm, settings, ...days]: string[]): Promise<void> {
  const lib = await make({ wasmBinary: readFileSync(wasm ?? "") });
  const chosen = {
    ...SETTINGS,
    ...(JSON.parse(readFileSync(settings ?? "", "utf8")) as Partial<Settings>),
  };
  for (const path of days) {
    const given = JSON.parse(readFileSync(path, "utf8")) as Given;
    const [log, paddock] = [logOf(given), paddockOf(given)];
    const started = process.hrtime.bigint();
    const at: Record<string, number> = {};
    const since = (): number => Number(process.hrtime.bigint() - started) / 1e9;
    const { tally } = find(log, paddock, [given.rig], chosen, new Clip(lib), ({ stage }) => {
      at[stage] ??= since();
    });
    const { ground: _, patches, ...rest } = tally;
    const said = patches.map(({ outline, ...patch }) => ({
      ...patch,
      outline: outline.map((ring) => Array.from(ring)),
    }));
    const row = { ...rest, patches: said, seconds: since(), at, heap: process.memoryUsage().heapUsed };
    process.stdout.write(`${JSON.stringify(row)}\n`);
  }
}

void main(process.argv.slice(2));
