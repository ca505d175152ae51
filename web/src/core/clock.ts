// A clock that was set while a log was being written: what came later put on the clock before, as at home
// (server/unsown/core/clock.py), where the phone's own word on how far it was set counts too.
import { diff, firstNotBelow, hypot, median, order, rowsOf, taken, where } from "./columns";
import type { Floats, Log, Mark, Reset } from "./words";

/** A clock is set by more than this back, or forward and back again, and twice the same within this, s. */
const [BACK_S, FORWARD_S, SAME_S] = [3, 10, 3];
/** By more than this it is another season's or lost its date: nothing is mixed by it, s. */
const MOST_S = 30 * 86_400;
/** More settings are lines out of order; fewer positions tell nothing, nor does so short a while. */
const [MOST, FEWEST, BRIEF] = [4, 60, 5];
/** A mark this near the fixes written around it was written then, ms. */
const NOW_MS = 60_000;
const [SLOW_M_S, SLACK_M, USUAL_S, M_PER_DEG] = [0.5, 5, 10, 111_195];

/** From which row on how much is added, s; `ahead_s` where the clock jumped ahead there. */
interface Part {
  readonly first: number;
  add_s: number;
  ahead_s: number;
}

/** The log with each phone's times on the clock with which it began; `numbers` are those of its fixes. */
export function steady(log: Log, numbers: Floats): Log {
  if (even(log.fixes, numbers)) return log;
  const { fixes } = log;
  const t_ms = fixes.t_ms.slice();
  let { marks } = log;
  const resets: Reset[] = [];
  fixes.phones.forEach((phone, i) => {
    const mine = where(fixes.phone.map((p) => Number(p === i)));
    const rows = order(taken(numbers, mine)).map((k) => mine[k]);
    const parts = partsOf(rowsOf(fixes, rows));
    if (parts.length < 2) return;
    const add = new Float64Array(rows.length);
    for (const { first, add_s } of parts) add.fill(Math.round(add_s * 1000), first);
    const [was, own] = [taken(t_ms, rows), taken(numbers, rows)];
    parts.slice(1).forEach(({ first, add_s }, k) => resets.push({ t_ms: was[first - 1] + add[first - 1], set_s: parts[k].add_s - add_s }));
    marks = marks.map((mark) => (mark.phone === phone ? moved(mark, firstNotBelow(own, mark.seq), was, add) : mark));
    rows.forEach((row, k) => (t_ms[row] += add[k]));
  });
  return { ...log, fixes: { ...fixes, t_ms }, marks, resets };
}

/** Whether every phone's positions come in the order of their numbers with no clock set back: nearly always. */
function even({ t_ms, phone }: Log["fixes"], numbers: Floats): boolean {
  const last: Record<number, number> = {};
  for (let i = 0; i < t_ms.length; i++) {
    const k = last[phone[i]];
    if (numbers[i] <= numbers[k] || (t_ms[i] - t_ms[k]) / 1000 < -BACK_S) return false;
    last[phone[i]] = i;
  }
  return true;
}

function partsOf({ t_ms, lat_deg, lon_deg, speed_m_s }: Log["fixes"]): Part[] {
  const step_s = diff(t_ms).map((ms) => ms / 1000);
  if (t_ms.length < FEWEST || !step_s.some((s) => s < -BACK_S)) return [];
  const step_m = diff(lat_deg).map((north, k) => M_PER_DEG * hypot((lon_deg[k + 1] - lon_deg[k]) * Math.cos(lat_deg[k] / 57.3), north));
  const plain = where(step_s.map((s) => Number(s > 0 && s <= USUAL_S)));
  const usual_s = median(taken(step_s, plain)) || 1;
  const going = median(taken(step_m, plain).map((m, k) => m / step_s[plain[k]]).filter((v) => v > SLOW_M_S)) || SLOW_M_S;
  const parts: Part[] = [{ first: 0, add_s: 0, ahead_s: 0 }];
  step_s.forEach((s, k) => {
    const told = Math.max(speed_m_s[k] || 0, speed_m_s[k + 1] || 0);
    const fast = told > SLOW_M_S ? told : going;
    const over = s - (step_m[k] > 3 * usual_s * fast + SLACK_M ? step_m[k] / fast : usual_s);
    const back = s < -BACK_S;
    if (Math.abs(s) > MOST_S || (!back && over <= FORWARD_S)) return;
    const latest = parts.slice().reverse();
    let [{ add_s }] = latest;
    const known = latest.find((p) => Math.abs(p.add_s - add_s + over) <= SAME_S);
    const ahead = latest.findIndex((p) => p.ahead_s !== 0 && Math.abs(p.ahead_s + over) <= SAME_S);
    if (known) ({ add_s } = known);
    else if (back && ahead >= 0) {
      const size = latest[ahead].ahead_s;
      for (const p of latest.slice(0, ahead + 1)) {
        p.add_s -= size;
        p.ahead_s = 0;
      }
    } else if (back) add_s -= over;
    parts.push({ first: k + 1, add_s, ahead_s: back || known ? 0 : over });
  });
  let add = 0;
  const whole = parts.filter(({ first, add_s }, n) => {
    const end = n + 1 < parts.length ? parts[n + 1].first : t_ms.length;
    // nothing new, or a stale position or two among others
    if (n > 0 && (add_s === add || end - first <= BRIEF)) return false;
    add = add_s;
    return true;
  });
  return whole.length > MOST + 1 ? [] : whole;
}

/** The mark with the fixes it was written among, if it is about that moment and no other. */
function moved(mark: Mark, rank: number, t_ms: Floats, add: Floats): Mark {
  const a = Math.max(rank - 1, 0);
  const b = Math.min(rank, add.length - 1);
  const off = (k: number): number => Math.abs(t_ms[k] - mark.t_ms);
  const at = off(b) < off(a) ? b : a;
  const now = add[a] === add[b] ? t_ms[a] - NOW_MS <= mark.t_ms && mark.t_ms <= t_ms[b] + NOW_MS : off(at) <= NOW_MS;
  if (!now || add[at] === 0) return mark;
  const says: Record<string, unknown> = { ...mark.says };
  const answers = mark.kind === "blind" || says["answer"] !== undefined;
  for (const key of answers ? ["since_ms", "edge_ms"] : ["since_ms", "edge_ms", "from_ms", "to_ms"]) {
    if (typeof says[key] === "number") says[key] += add[at];
  }
  return { ...mark, t_ms: mark.t_ms + add[at], says };
}
