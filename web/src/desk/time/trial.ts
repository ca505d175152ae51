// Tries changes in the service before they are saved: what the areas were and what they would be.
import * as home from "../home";
import { pause } from "../call";
import type { Areas, Entry, Job } from "../nouns";

export interface Trial {
  state: "none" | "running" | "ready" | "failed";
  part: number | null;
  before: Areas | null;
  after: Areas | null;
  error: unknown;
}
export const NO_TRIAL: Trial = { state: "none", part: null, before: null, after: null, error: null };

const POLL_MS = 700;

export interface Trier {
  /** Tries `entries`, or nothing where there are none; an earlier try is forgotten. */
  run(entries: readonly Entry[]): void;
  close(): void;
}

/** Waits for the hand to rest, then has the service compute; `told` gets every step. */
export function createTrier(paddock: string, season: number, told: (trial: Trial) => void, restMs = 600): Trier {
  let turn = 0;
  let waiting: ReturnType<typeof setTimeout> | undefined;

  async function attempt(entries: readonly Entry[], mine: number): Promise<void> {
    try {
      const { job } = await home.tryEntries(paddock, season, [...entries]);
      for (;;) {
        const found = await home.job(job);
        if (mine !== turn) return;
        const trial = fromJob(found);
        told(trial);
        if (trial.state !== "running") return;
        await pause(POLL_MS);
        if (mine !== turn) return;
      }
    } catch (error) {
      if (mine === turn) told({ ...NO_TRIAL, state: "failed", error });
    }
  }
  return {
    run(entries) {
      clearTimeout(waiting);
      const mine = ++turn;
      if (!entries.length) {
        told(NO_TRIAL);
        return;
      }
      told({ ...NO_TRIAL, state: "running" });
      waiting = setTimeout(() => void attempt(entries, mine), restMs);
    },
    close() {
      clearTimeout(waiting);
      turn += 1;
    },
  };
}

/** A job of the service as a trial. */
export function fromJob(job: Job): Trial {
  const { part, before, after } = job;
  if (job.state === "failed") {
    return { state: "failed", part, before, after, error: new Error([job.reason?.message, job.reason?.hint].filter(Boolean).join(" ")) };
  }
  return { state: before && after ? "ready" : "running", part, before, after, error: null };
}
