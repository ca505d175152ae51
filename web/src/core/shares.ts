// What each of several rigs at work did: its own strips, apart from those of the others.
import type { Clip } from "./clip";
import { type Strip, flat, sownByAll } from "./cover";
import type { Leg } from "./legs";
import type { Share } from "./rigs";
import { areaOf, ringsOf } from "./rings";
import type { Area, Rig, Run } from "./words";

/** The rigs in the order of their outfits' numbers; none where it was one. `strips` in the order of `runs`. */
export function shares(clip: Clip, strips: readonly Strip[], runs: readonly Run[], legs: readonly Leg[], rigs: readonly Rig[], net: Area): Share[] {
  const out: Share[] = [];
  for (let outfit = 0; ; outfit++) {
    const mine = legs.filter((leg) => leg.outfit === outfit);
    if (mine.length === 0) return out;
    if (mine.length === legs.length) return [];
    const own = strips.filter((_, i) => runs[i].outfit === outfit);
    const sown = clip.polygons(clip.intersection(clip.union(flat(sownByAll(clip, own))), ringsOf(net)));
    out.push({ name: rigs[mine[0].cards[0]].name, phones: mine.map((leg) => leg.phone), sown_ha: areaOf(sown) / 1e4 });
  }
}
