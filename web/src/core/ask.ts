// What to ask: stretches without positions in which the tool may have been down.
import { mean } from "./columns";
import type { Asked } from "./outcome";
import { type Span, marked } from "./spans";
import { type Answer, covers } from "./told";
import type { Trail } from "./trail";
import type { Rig } from "./words";

/** Blind stretches shorter than this are left as doubt without a question, s. */
const BLIND_S = 5.5;
/** An answered blind stretch is bridged when its length is this near to speed times time. */
const BRIDGE = 0.1;

/** What blind stretches came to: questions, those bridged, those answered up, and notes. */
export interface Blind {
  readonly asked: Asked[];
  readonly bridged: Span[];
  readonly up: Span[];
  readonly notes: string[];
}

/** Questions for blind stretches that touch seeded ground, and what answers made of others. */
export function blindStretches(
  trail: Trail,
  seeded: readonly Span[],
  answers: readonly Answer[],
  rig: Rig,
): Blind {
  const out: Blind = { asked: [], bridged: [], up: [], notes: [] };
  for (const [i, j] of marked(trail.blind)) {
    const [a, b] = [trail.t_s[i], trail.t_s[j]];
    if (!seeded.some(([lo, hi]) => lo < b && hi > a)) continue;
    const straight = Math.hypot(trail.x_m[j] - trail.x_m[i], trail.y_m[j] - trail.y_m[i]);
    const given = answers.filter((w) => w.about === "blind" && covers(w, a, b));
    if (given.length === 0) {
      if (b - a >= BLIND_S) out.asked.push(question(trail, i, j, straight, rig));
      continue;
    }
    const before = mean(trail.speed_m_s.subarray(Math.max(i - 5, 0), i + 1));
    const after = mean(trail.speed_m_s.subarray(j, j + 6));
    const expected = ((before + after) / 2) * (b - a);
    const { word } = given[given.length - 1];
    if (word === "up") out.up.push([a, b]);
    else if (word === "down" && Math.abs(straight - expected) <= BRIDGE * expected) {
      out.bridged.push([a, b]);
    } else if (word === "down") {
      out.notes.push(
        `blind stretch of ${(b - a).toFixed(0)} s called down, but ${straight.toFixed(0)} m straight is` +
          ` not the ${expected.toFixed(0)} m driven at that speed: it stays doubt`,
      );
    }
  }
  return out;
}

function question(trail: Trail, i: number, j: number, straight_m: number, rig: Rig): Asked {
  const [from_s, to_s] = [trail.t_s[i], trail.t_s[j]];
  const [took, far] = [(to_s - from_s).toFixed(0), straight_m.toFixed(0)];
  return {
    kind: "blind",
    from_s,
    to_s,
    x_m: (trail.x_m[i] + trail.x_m[j]) / 2,
    y_m: (trail.y_m[i] + trail.y_m[j]) / 2,
    text: `No position for ${took} s, ${far} m. Down all the way, up, or not sure?`,
    answers: { down: straight_m * rig.tool.width_m, up: 0, unsure: 0 },
  };
}
