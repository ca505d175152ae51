// The phone's engine under Node: computes days written by tests/web/days.py and says what came out.
//
//     node engine.mjs settings.json day.json ... > one line of JSON a day
import { readFileSync } from "node:fs";
import { Clip } from "../../../web/src/core/clip";
import { find } from "../../../web/src/core/day";
import { areaOf } from "../../../web/src/core/rings";
import { type Settings, SETTINGS } from "../../../web/src/core/words";
import { type Given, logOf, paddockOf } from "./given";

function main([settings, ...days]: string[]): void {
  const chosen = {
    ...SETTINGS,
    ...(JSON.parse(readFileSync(settings ?? "", "utf8")) as Partial<Settings>),
  };
  for (const path of days) {
    const given = JSON.parse(readFileSync(path, "utf8")) as Given;
    const [log, paddock] = [logOf(given), paddockOf(given)];
    const started = process.cpuUsage();
    const at: Record<string, number> = {};
    // processor time, so that a busy machine does not show
    const since = (): number => {
      const { user, system } = process.cpuUsage(started);
      return (user + system) / 1e6;
    };
    const { tally } = find(log, paddock, given.rigs, chosen, new Clip(), ({ stage }) => {
      at[stage] ??= since();
    });
    const { ground, patches, ...rest } = tally;
    const areas = Object.entries(ground).map(([state, area]) => [state, areaOf(area)]);
    const said = patches.map((patch) =>
      Object.assign(patch, { outline: patch.outline.map((ring) => Array.from(ring)) }),
    );
    const used = { seconds: since(), at, heap: process.memoryUsage().heapUsed };
    const row = { ...rest, ground_m2: Object.fromEntries(areas), patches: said, ...used };
    process.stdout.write(`${JSON.stringify(row)}\n`);
  }
}

main(process.argv.slice(2));
