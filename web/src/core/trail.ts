// Where the openers were: from the cleaned track and the rig card to poses of the tool.
import type { Track } from "./clean";
import { hypot, noughts } from "./columns";
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
  const points = dense(track);
  const { t_s, speed_m_s, jump_x, jump_y, backing, blind, standing, fresh, ratio, fix } = points;
  const tool = bar(rig, points.x_m, points.y_m, points.course_rad, { backing, fresh });
  const { x_m, y_m, heading_rad, tractor_rad } = tool;
  const settle_m = rig.kind === "mounted" ? 0.1 : Math.max(rig.tool.pin_to_axle_m, 0.1);
  const n = fix.length;
  const path_m = new Float64Array(n);
  const swing_sigma_rad = new Float64Array(n).fill(START_SIGMA_RAD);
  let since = 0;
  let gone = 0;
  for (let k = 0; k + 1 < n; k++) {
    const lost = blind[k] || backing[k];
    if (!lost) gone += hypot(x_m[k + 1] - x_m[k], y_m[k + 1] - y_m[k]) * ratio[fix[k]];
    const swing = tractor_rad[k + 1] - heading_rad[k + 1];
    if (lost || (Math.abs(swing) > 1 && Math.cos(swing) < FOLDED)) since = gone;
    path_m[k + 1] = gone;
    swing_sigma_rad[k + 1] = START_SIGMA_RAD * Math.exp((since - gone) / settle_m);
    x_m[k] += jump_x[fix[k]];
    y_m[k] += jump_y[fix[k]];
  }
  x_m[n - 1] += jump_x[fix[n - 1]];
  y_m[n - 1] += jump_y[fix[n - 1]];
  return { t_s, x_m, y_m, heading_rad, swing_sigma_rad, path_m, speed_m_s, backing, blind, standing, fix };
}

/**
 * The phone's path in points finer in turns, as a trail has them; steps are `fresh` that tell no direction. `ratio`
 * is that of the way by speed to the way by positions, `jump_x, jump_y` how far it was moved while it stood, fix by fix.
 */
interface Dense {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly course_rad: Floats;
  readonly speed_m_s: Floats;
  readonly backing: Flags;
  readonly blind: Flags;
  readonly standing: Flags;
  readonly fresh: Flags;
  readonly fix: Ints;
  readonly ratio: Floats;
  readonly jump_x: Floats;
  readonly jump_y: Floats;
}

/** Cubic Hermite points along the track with the jumps of standing stretches taken out. */
function dense({ t_s: t, motion: m, step, backing: backs }: Track): Dense {
  const { x_m: x, y_m: y, speed_m_s: v, heading_rad: heading } = m;
  const last = step.length;
  const pieces = new Uint8Array(last).fill(1);
  let count = 1;
  for (let k = 0; k < last; k++) {
    if (step[k] !== STAND && step[k] !== BLIND) {
      const bend = Math.abs(heading[k + 1] - heading[k]);
      const wanted = Math.ceil(Math.sqrt((hypot(x[k + 1] - x[k], y[k + 1] - y[k]) * bend) / (8 * SAGITTA_M)));
      pieces[k] = Math.min(Math.max(wanted, 1), PIECES);
    }
    count += pieces[k];
  }
  const [t_s, x_m, y_m, course_rad, speed_m_s] = noughts(5, count);
  const [backing, blind, standing, fresh] = [0, 0, 0, 0].map(() => new Uint8Array(count - 1));
  const [ratio, jump_x, jump_y] = noughts(3, last + 1);
  const fix = new Int32Array(count);
  let at = 0;
  let [c, s] = [Math.cos(heading[0]), Math.sin(heading[0])];
  // whether a direction was told since the start or a blind step, and how far it went since
  let [told, gone] = [false, 0];
  for (let k = 0; k < last; k++) {
    const h = t[k + 1] - t[k];
    const fromX = x[k] - jump_x[k];
    const fromY = y[k] - jump_y[k];
    const stood = step[k] === STAND;
    const lost = step[k] === BLIND;
    const toX = stood ? fromX : x[k + 1] - jump_x[k];
    const toY = stood ? fromY : y[k + 1] - jump_y[k];
    jump_x[k + 1] = x[k + 1] - toX;
    jump_y[k + 1] = y[k + 1] - toY;
    if (lost) [told, gone] = [false, 0];
    else if (stood) told = told && gone >= TOLD_M; // what moved less before it stood was noise too
    else {
      gone += hypot(toX - fromX, toY - fromY);
      told = told || Math.max(Math.abs(v[k]), Math.abs(v[k + 1])) >= CREEPING_M_S;
    }
    const ax = v[k] * h * c;
    const ay = v[k] * h * s;
    c = Math.cos(heading[k + 1]);
    s = Math.sin(heading[k + 1]);
    const bx = v[k + 1] * h * c;
    const by = v[k + 1] * h * s;
    let way = 0;
    for (let j = 0; j < pieces[k]; j++, at++) {
      const u = j / pieces[k];
      const h01 = u * u * (3 - 2 * u);
      const h10 = u * (1 - u) * (1 - u);
      const h11 = u * u * (u - 1);
      x_m[at] = fromX + h10 * ax + h01 * (toX - fromX) + h11 * bx;
      y_m[at] = fromY + h10 * ay + h01 * (toY - fromY) + h11 * by;
      if (j > 0) way += hypot(x_m[at] - x_m[at - 1], y_m[at] - y_m[at - 1]);
      t_s[at] = t[k] + u * h;
      course_rad[at] = heading[k] + u * (heading[k + 1] - heading[k]);
      speed_m_s[at] = v[k] + u * (v[k + 1] - v[k]);
      fix[at] = k;
      backing[at] = backs[k] & backs[k + 1];
      blind[at] = lost ? 1 : 0;
      standing[at] = stood ? 1 : 0;
      fresh[at] = told ? 0 : 1;
    }
    way += hypot(toX - x_m[at - 1], toY - y_m[at - 1]);
    const bySpeed = (Math.abs(v[k] + v[k + 1]) / 2) * h;
    ratio[k] = way > 0.2 ? Math.min(Math.max(bySpeed / way, 0.5), 1.5) : 1;
  }
  fix[at] = last;
  t_s[at] = t[last];
  x_m[at] = x[last] - jump_x[last];
  y_m[at] = y[last] - jump_y[last];
  course_rad[at] = heading[last];
  speed_m_s[at] = v[last];
  return { t_s, x_m, y_m, course_rad, speed_m_s, backing, blind, standing, fresh, fix, ratio, jump_x, jump_y };
}
