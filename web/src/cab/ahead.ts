// The count that the gate check will ask for, begun while the tractor stands: on an old phone it takes
// longer than anybody waits at a gate. The standing page takes its questions from it on the way. It is
// dropped when the wheels turn or anything is logged that it lacks; positions taken while standing are not.
import type { Keeper } from "../keep/keep";
import { choices } from "./choices";
import { kept } from "./gate/last";
import { wanted } from "./gate/wanted";
import { reckon, type Asked, type Hears } from "./reckon";
import { cab } from "./state";
import type { Failure, First, Open, Sums } from "./sums";

/** Kinds of entries that change nothing of a count made while standing. */
const QUIET: readonly string[] = ["fix", "phone"];

interface Count {
  readonly asked: string;
  readonly hears: Set<Hears>;
  end: () => void;
  stage: readonly [stage: string, part: number] | null;
  first: First | null;
  open: Open | null;
  sums: Sums | null;
}

let count: Count | null = null;

/** What the gate check asks for where one stands. */
export function askedHere(): Asked {
  return { ...wanted.get(), clearance_m: choices.get().clearance_m };
}

/** Forgets a count as soon as it is of yesterday. */
export function followCounts(log: Keeper): void {
  cab.watch(["standing"], ({ standing }) => {
    if (!standing) drop();
  });
  log.onWrite(({ entries }) => {
    if (entries.some(({ kind }) => QUIET.indexOf(kind) < 0)) drop();
  });
}

/** The next count is made anew. Whoever hears the one before is told to its end. */
export function drop(): void {
  if (count !== null && count.hears.size === 0) count.end();
  count = null;
}

/**
 * Joins the count that goes on or is done already, or begins it. Once it is heard no more (what this returns
 * is called) it goes on, for whoever asks next, unless it was dropped.
 */
export function join(asked: Asked, hears: Hears): () => void {
  const key = JSON.stringify(asked);
  if (count === null || count.asked !== key) {
    drop();
    count = begun(asked, key);
  }
  const mine = count;
  if (mine.stage !== null) hears.stage(...mine.stage);
  if (mine.first !== null) hears.first(mine.first);
  if (mine.open !== null) hears.open?.(mine.open);
  if (mine.sums !== null) hears.done(mine.sums);
  else mine.hears.add(hears);
  return () => {
    mine.hears.delete(hears);
    if (mine !== count && mine.hears.size === 0) mine.end();
  };
}

/** What is to be asked of the driver where one stands, as soon as it is known; the count behind it goes on. */
export function openHere(): Promise<Open | Failure> {
  return new Promise((done) => {
    // another paddock may be wanted of the gate check: of that nothing is asked here
    join({ ...askedHere(), paddock: null, lap: false }, { stage: () => undefined, first: () => undefined, open: done, done: () => undefined, failed: done });
  });
}

function begun(asked: Asked, key: string): Count {
  const made: Count = { asked: key, hears: new Set(), end: () => undefined, stage: null, first: null, open: null, sums: null };
  const all = (tell: (hears: Hears) => void): void => Array.from(made.hears).forEach(tell);
  made.end = reckon(asked, {
    stage(stage, part) {
      made.stage = [stage, part];
      all((hears) => hears.stage(stage, part));
    },
    first(first) {
      made.first = first;
      all((hears) => hears.first(first));
    },
    open(open) {
      made.open = open;
      all((hears) => hears.open?.(open));
    },
    done(sums) {
      made.sums = sums;
      if (made === count) kept.set({ sums });
      all((hears) => hears.done(sums));
      made.hears.clear();
    },
    failed(why) {
      if (made === count) count = null;
      all((hears) => hears.failed(why));
      made.hears.clear();
    },
  });
  return made;
}
