// From the log to runs: what was tapped, what must be doubted, what has to be asked.
import { median, rowsOf, where } from "./columns";
import { flat } from "./cover";
import { UnsownError } from "./errors";
import { infer } from "./infer";
import type { Leg } from "./legs";
import { rigAt, runsFromSegments } from "./lever";
import { type Asked, asRuns } from "./outcome";
import type { Plane } from "./plane";
import type { Bridged } from "./strips";
import { answered, tapped } from "./told";
import type { Log, Question, Rig, Ring, Run, Settings } from "./words";

/** Phones whose times overlap by more than this part of the shorter saw one day together. */
const TOGETHER = 0.5;
/** A day of its own begins this long before its first fix, s. */
const BEFORE_S = 60;

/**
 * The day's runs, sure and doubtful, and what to ask. `hidden_m2` is what may be bare under guessed runs
 * although nothing shows it.
 */
export interface Work {
  readonly runs: readonly Run[];
  readonly bridged: readonly Bridged[];
  readonly questions: readonly Question[];
  readonly hidden_m2: number;
}

/**
 * The runs of the day, of every rig at work; one of several without a tap is guessed. `fence` is ground that can
 * be sown, on the plane, null where not known yet; undefined: the taps are believed as they are.
 *
 * Throws UnsownError `no-lever` where there are no taps and no guess was asked for.
 */
export function workOf(
  log: Log,
  legs: readonly Leg[],
  rigs: readonly Rig[],
  settings: Settings,
  fence: readonly Ring[] | null | undefined,
  plane: Plane,
  t0_ms: number,
): Work {
  const parts: Work[] = [];
  const several = legs.some((leg) => leg.outfit > 0);
  for (let outfit = 0; ; outfit++) {
    const all = legs.filter((leg) => leg.outfit === outfit);
    if (all.length === 0) break;
    const [{ cards }] = all;
    const phones = all.map((leg) => leg.phone);
    const mine = all.map((leg) => Object.assign({}, leg, { trails: cards.map((k) => leg.trails[k]) }));
    const own = several ? logOf(log, phones, legs.map((leg) => leg.phone)) : log;
    const silent = several && settings.runs === "marked" && tapped(own.marks, t0_ms).length === 0;
    const how = silent ? ({ ...settings, runs: "guess" } as const) : settings;
    const work = ofOne(own, mine, cards.map((k) => rigs[k]), how, fence, plane, t0_ms);
    parts.push({
      ...work,
      runs: work.runs.map((run) => Object.assign(run, { rig: cards[run.rig], outfit })),
      questions: several ? work.questions.map((asked) => Object.assign(asked, { phones })) : work.questions,
      bridged: work.bridged.map(([from, to]) => [from, to, outfit] as const),
    });
  }
  const runs = flat(parts.map((part) => part.runs)).sort((a, b) => a.on_s - b.on_s);
  const questions = flat(parts.map((part) => part.questions)).sort((a, b) => a.from_ms - b.from_ms);
  return {
    runs: runs.map((run, i) => Object.assign(run, { number: i + 1 })),
    bridged: flat(parts.map((part) => part.bridged)),
    questions: questions.map((q, i) => Object.assign(q, { number: i + 1 })),
    hidden_m2: parts.reduce((sum, part) => sum + part.hidden_m2, 0),
  };
}

/** What of the log is about one of several rigs: of its phones, and of the desk for them. */
export function logOf(log: Log, phones: readonly string[], everyone: readonly string[]): Log {
  const { fixes } = log;
  const rows = where(fixes.phone.map((k) => Number(phones.indexOf(fixes.phones[k]) >= 0)));
  const marks = log.marks.filter(({ phone, says }) => phones.indexOf(phone) >= 0 || (everyone.indexOf(phone) < 0 && phones.indexOf(String(says["of_dev"])) >= 0));
  return { ...log, fixes: rowsOf(fixes, rows), marks };
}

/** The runs of one rig. */
function ofOne(
  log: Log,
  legs: readonly Leg[],
  rigs: readonly Rig[],
  settings: Settings,
  fence: readonly Ring[] | null | undefined,
  plane: Plane,
  t0_ms: number,
): Work {
  if (settings.runs === "segments") {
    const runs = runsFromSegments(log.fixes, rigs, t0_ms);
    return { runs, bridged: [], questions: [], hidden_m2: 0 };
  }
  const taps = tapped(log.marks, t0_ms);
  const told = answered(log.marks, t0_ms);
  const guess = settings.runs === "guess";
  if (taps.length === 0 && !guess) {
    throw new UnsownError(
      "no-lever",
      "expected taps of where the tool went down and up, but the log has none",
      { hint: "Have it guessed from the movement: what is not sure is then asked." },
    );
  }
  const runs: Run[] = [];
  const bridged: Bridged[] = [];
  const questions: Question[] = [];
  let hidden_m2 = 0;
  const days = daysOf(legs);
  const edges = [-Infinity, ...edgesOf(days), Infinity];
  days.forEach((leg, k) => {
    const [first, last] = [edges[k], edges[k + 1]];
    const mine = taps.filter((tap) => first < tap.t_s && tap.t_s <= last);
    if (mine.length === 0 && !guess) return;
    const which = rigAt(rigs, t0_ms + 1000 * median(leg.track.t_s));
    const answers = told.filter((a) => first < a.from_s && a.from_s <= last);
    const driven = { track: leg.track, trail: leg.trails[which], rig: rigs[which] };
    const found = infer(driven, mine, fence, answers, guess);
    runs.push(...asRuns(found, rigs, t0_ms));
    bridged.push(...found.bridged.map(([from, to]) => [from, to, 0] as const));
    hidden_m2 += found.hidden_m2;
    questions.push(...found.questions.map((asked) => questionOf(asked, plane, t0_ms)));
  });
  return { runs, bridged, questions, hidden_m2 };
}

/** One witness for each stretch of time: of phones that ran together the one with more. */
function daysOf(legs: readonly Leg[]): Leg[] {
  const out: Leg[] = [];
  const ends = (leg: Leg): [number, number] => [
    leg.track.t_s[0],
    leg.track.t_s[leg.track.t_s.length - 1],
  ];
  for (const leg of [...legs].sort((p, q) => q.track.t_s.length - p.track.t_s.length)) {
    const [a, b] = ends(leg);
    const seen = out.some((other) => {
      const [c, d] = ends(other);
      return Math.min(b, d) - Math.max(a, c) > TOGETHER * (b - a);
    });
    if (!seen) out.push(leg);
  }
  return out.sort((p, q) => p.track.t_s[0] - q.track.t_s[0]);
}

/**
 * Until when a tap belongs to a stretch: a minute before the next, and no sooner than its end. Where one phone
 * goes on at once from another, what was tapped last on the first is its own.
 */
function edgesOf(days: readonly Leg[]): number[] {
  return days.slice(1).map(({ track }, k) => {
    const before = days[k].track.t_s;
    const start = track.t_s[0];
    return Math.max(start - BEFORE_S, Math.min(before[before.length - 1], start - 1e-3));
  });
}

function questionOf(asked: Asked, plane: Plane, t0_ms: number): Question {
  const [lon_deg, lat_deg] = plane.degrees(asked.x_m, asked.y_m);
  return {
    number: 0,
    kind: asked.kind,
    from_ms: Math.round(t0_ms + asked.from_s * 1000),
    to_ms: Math.round(t0_ms + asked.to_s * 1000),
    lon_deg,
    lat_deg,
    answers: asked.answers,
  };
}
