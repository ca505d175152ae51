// The way back and the handover of whole days under Node:
//
//     node back.mjs settings.json day.json ... > one line of JSON a day
import { readFileSync } from "node:fs";
import { back, gateOf, wholeOf } from "../../../web/src/core/back";
import { Clip } from "../../../web/src/core/clip";
import { find } from "../../../web/src/core/day";
import { handover } from "../../../web/src/core/handover";
import { EXAMPLE, EXAMPLE_TRIP_MIN } from "../../../web/src/core/price";
import { centroid } from "../../../web/src/core/swath";
import { waste } from "../../../web/src/core/waste";
import { type Settings, SETTINGS } from "../../../web/src/core/words";
import { netOf, type Worth } from "../../../web/src/core/worth";
import { type Given, logOf, paddockOf } from "./given";

const NOBODY = { paddock: "Here", aboard: [], hazards: [], outs: [], pegs: [], machine: [], driver: "", labels: null, minutes: null };

function said({ groups, stops, route, seconds, net }: Worth): unknown {
  return {
    groups: groups.map((g) => ({ patches: g.patches, label: g.label, net: netOf(g), runs: g.runs.length })),
    stops: stops.map(({ run }) => [...run.start, ...run.end]),
    length_m: route.length_m,
    blocked: route.blocked,
    seconds,
    net,
  };
}

function main([settings, ...days]: string[]): void {
  const chosen = { ...SETTINGS, ...(JSON.parse(readFileSync(settings ?? "", "utf8")) as Partial<Settings>) };
  for (const path of days) {
    const given = JSON.parse(readFileSync(path, "utf8")) as Given;
    const log = logOf(given);
    const clip = new Clip();
    const { tally, plane } = find(log, paddockOf(given), given.rigs, chosen, clip);
    const [x_m, y_m] = plane.toXy(log.fixes.lon_deg, log.fixes.lat_deg);
    const { net, keep_out } = tally.ground;
    const found = back(tally, given.rigs, EXAMPLE, gateOf([...net, ...keep_out], x_m, y_m), EXAMPLE_TRIP_MIN * 60, null, clip);
    const t0_ms = log.fixes.t_ms[0] ?? 0;
    const row = {
      patches: tally.patches.map(({ number, area_m2, chance, outline }) => ({ number, area_m2, chance, at: centroid([outline]) })),
      now: found === null ? null : said(found.now),
      later: found === null ? null : said(found.later),
      waste: waste(tally, given.rigs, wholeOf(net, keep_out, clip)),
      handover: handover(tally, plane, t0_ms, t0_ms, NOBODY),
    };
    process.stdout.write(`${JSON.stringify(row)}\n`);
  }
}

main(process.argv.slice(2));
