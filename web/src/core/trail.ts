// Where the openers were: from the cleaned track and the rig card to poses of the tool.
import type { Track } from "./clean";
import { hypot } from "./columns";
import { BLIND, STAND } from "./steps";
import { bar } from "./tow";
import type { Flags, Floats, Ints, Rig } from "./words";

/** Sagitta that a step along an arc may have, m: decides how finely a turn is walked. */
const SAGITTA_M = 0.002;
/** A step is walked in so many pieces at most. */
const PIECES = 40;
/**
 * A tool swung further than this from the tractor, going forward, cannot be: a turn tighter than its
 * drawbar is being driven, or the card is wrong. Its heading is then not known.
 */
const FOLDED = Math.cos((100 * Math.PI) / 180);
/** Slower than this nothing is driven that tells a direction, m/s; nor by less way than this, m. */
const CREEPING_M_S = 0.3;
const TOLD_M = 3;
/** What is not known of the tool's heading at the very start, radians. */
const START_SIGMA_RAD = (60 * Math.PI) / 180;

/**
 * Poses of the tool at dense times on the paddock's plane; columns of one length, steps one shorter.
 *
 * `x_m, y_m` is the middle of the bar at the tool's axle (for a mounted tool at the tractor's rear axle),
 * `heading_rad` the tool's heading. `swing_sigma_rad` is what is not known of that heading (after a
 * start, a blind stretch or backing). `path_m` is the way the bar has gone forward, by speed, so that
 * position noise does not lengthen it. `backing`, `blind` and `standing` mark steps. `fix` is the index
 * of the cleaned fix at or before the pose.
 */
export interface Trail {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly heading_rad: Floats;
  readonly swing_sigma_rad: Floats;
  readonly path_m: Floats;
  readonly speed_m_s: Floats;
  readonly backing: Flags;
  readonly blind: Flags;
  readonly standing: Flags;
  readonly fix: Ints;
}

/**
 * Tows the rig's tool along a cleaned track.
 *
 * A standing stretch is a jump of the picture, not of the machine: the chain is towed on the path with
 * such jumps taken out and put back afterwards, so a parked phone that wanders seven metres does not
 * swing the tool. Where the log begins standing, or a blind stretch ends so, the tool lies straight behind
 * the first step that is driven: what a standing phone shows before it is noise, whose direction is any.
 */
export function trail(track: Track, rig: Rig): Trail {
  const { motion: m, step } = track;
  const last = track.t_s.length - 1;
  const [jumpX, jumpY] = [m.x_m, m.y_m].map((a) => {
    const out = new Float64Array(last + 1);
    for (let k = 0; k < last; k++) out[k + 1] = out[k] + (step[k] === STAND ? a[k + 1] - a[k] : 0);
    return out;
  }) as [Floats, Floats];
  const calm: [Floats, Floats] = [
    m.x_m.map((v, i) => v - jumpX[i]),
    m.y_m.map((v, i) => v - jumpY[i]),
  ];
  const { fix, part, x, y, course } = dense(track, ...calm);
  const n = fix.length;
  const between = (a: Floats): Floats =>
    part.map((u, i) => a[fix[i]] + u * (a[Math.min(fix[i] + 1, last)] - a[fix[i]]));
  const steps = (flag: (fix: number) => boolean): Flags =>
    new Uint8Array(n - 1).map((_, k) => (flag(fix[k]) ? 1 : 0));
  const backing = steps((f) => track.backing[f] === 1 && track.backing[f + 1] === 1);
  const blind = steps((f) => step[f] === BLIND);
  const tool = bar(rig, x, y, course, { backing, fresh: steps(untold(track)) });
  const ratio = bySpeed(track, fix, x, y);
  const settle_m = rig.kind === "mounted" ? 0.1 : Math.max(rig.tool.pin_to_axle_m, 0.1);
  const path = new Float64Array(n);
  const swing = new Float64Array(n).fill(START_SIGMA_RAD);
  let since = 0;
  for (let k = 0; k + 1 < n; k++) {
    const lost = blind[k] || backing[k];
    path[k + 1] = path[k] + (lost ? 0 : hypot(tool.x_m[k + 1] - tool.x_m[k], tool.y_m[k + 1] - tool.y_m[k]) * ratio[fix[k]]);
    const bent = Math.cos(tool.tractor_rad[k + 1] - tool.heading_rad[k + 1]) < FOLDED;
    if (lost || bent) since = path[k + 1];
    swing[k + 1] = START_SIGMA_RAD * Math.exp(-(path[k + 1] - since) / settle_m);
  }
  return {
    t_s: between(track.t_s),
    x_m: tool.x_m.map((v, i) => v + jumpX[fix[i]]),
    y_m: tool.y_m.map((v, i) => v + jumpY[fix[i]]),
    heading_rad: tool.heading_rad,
    swing_sigma_rad: swing,
    path_m: path,
    speed_m_s: between(m.speed_m_s),
    backing,
    blind,
    standing: steps((f) => step[f] === STAND),
    fix,
  };
}

/**
 * Whether a step tells no direction: until one is driven after the start or a blind step. What moved less
 * than a little before it stood was noise too.
 */
function untold({ motion: m, step }: Track): (fix: number) => boolean {
  let [told, gone] = [false, 0];
  const out = step.map((kind, k) => {
    if (kind === BLIND) [told, gone] = [false, 0];
    else if (kind !== STAND) {
      gone += hypot(m.x_m[k + 1] - m.x_m[k], m.y_m[k + 1] - m.y_m[k]);
      told ||= Math.max(Math.abs(m.speed_m_s[k]), Math.abs(m.speed_m_s[k + 1])) >= CREEPING_M_S;
    } else told &&= gone >= TOLD_M;
    return told ? 0 : 1;
  });
  return (fix) => out[fix] === 1;
}

interface Dense {
  readonly fix: Ints;
  readonly part: Floats;
  readonly x: Floats;
  readonly y: Floats;
  readonly course: Floats;
}

/** Cubic Hermite points along the track, finer in turns: fix, part of step, place and course. */
function dense(track: Track, x: Floats, y: Floats): Dense {
  const { motion: m, step } = track;
  const last = track.t_s.length - 1;
  const walked = (k: number): boolean => step[k] !== STAND && step[k] !== BLIND;
  const pieces = new Int32Array(last).fill(1);
  let count = 1;
  for (let k = 0; k < last; k++) {
    if (walked(k)) {
      const bend = Math.abs(m.heading_rad[k + 1] - m.heading_rad[k]);
      const length = hypot(x[k + 1] - x[k], y[k + 1] - y[k]);
      const wanted = Math.ceil(Math.sqrt((length * bend) / (8 * SAGITTA_M)));
      pieces[k] = Math.min(Math.max(wanted, 1), PIECES);
    }
    count += pieces[k];
  }
  const out: Dense = {
    fix: new Int32Array(count),
    part: new Float64Array(count),
    x: new Float64Array(count),
    y: new Float64Array(count),
    course: new Float64Array(count),
  };
  let at = 0;
  for (let k = 0; k < last; k++) {
    const h = track.t_s[k + 1] - track.t_s[k];
    const ax = m.speed_m_s[k] * h * Math.cos(m.heading_rad[k]);
    const ay = m.speed_m_s[k] * h * Math.sin(m.heading_rad[k]);
    const bx = m.speed_m_s[k + 1] * h * Math.cos(m.heading_rad[k + 1]);
    const by = m.speed_m_s[k + 1] * h * Math.sin(m.heading_rad[k + 1]);
    for (let j = 0; j < pieces[k]; j++, at++) {
      const u = j / pieces[k];
      out.fix[at] = k;
      out.part[at] = u;
      out.course[at] = m.heading_rad[k] + u * (m.heading_rad[k + 1] - m.heading_rad[k]);
      if (!walked(k)) {
        out.x[at] = x[k];
        out.y[at] = y[k];
        continue;
      }
      const h01 = u * u * (3 - 2 * u);
      const h00 = 1 - h01;
      const h10 = u * (1 - u) * (1 - u);
      const h11 = u * u * (u - 1);
      out.x[at] = h00 * x[k] + h10 * ax + h01 * x[k + 1] + h11 * bx;
      out.y[at] = h00 * y[k] + h10 * ay + h01 * y[k + 1] + h11 * by;
    }
  }
  out.fix[at] = last;
  [out.x[at], out.y[at], out.course[at]] = [x[last], y[last], m.heading_rad[last]];
  return out;
}

/** Ratio of the way by speed to the way by positions, fix by fix. */
function bySpeed(track: Track, fix: Ints, x: Floats, y: Floats): Floats {
  const speed = track.motion.speed_m_s;
  const total = new Float64Array(track.t_s.length);
  for (let k = 0; k + 1 < fix.length; k++) {
    total[fix[k]] += hypot(x[k + 1] - x[k], y[k + 1] - y[k]);
  }
  return total.map((length, f) => {
    if (!(length > 0.2) || f + 1 >= total.length) return 1;
    const way = (Math.abs(speed[f] + speed[f + 1]) / 2) * (track.t_s[f + 1] - track.t_s[f]);
    return Math.min(Math.max(way / length, 0.5), 1.5);
  });
}
