// What a paddock sheet knows.
import type { Collection, PaddockThing, Timeline, Work } from "../nouns";

export interface Sheet {
  thing: PaddockThing | null;
  work: Work | null;
  ground: Collection | null;
  timeline: Timeline | null;
  day: string | null;
  /** A phone of the rig whose time line is worked with, where several worked; null: the first. */
  rig: string | null;
  lit: number | null;
  run: number | null;
  allPatches: boolean;
  busy: boolean;
  /** Whether levers were set right that are not saved: then saving comes first. */
  unsaved: boolean;
  /** How far the service is with computing, 0 to 1; null while it does not compute. */
  part: number | null;
  error: unknown;
}

export const NOTHING: Sheet = {
  thing: null,
  work: null,
  ground: null,
  timeline: null,
  day: null,
  rig: null,
  lit: null,
  run: null,
  allPatches: false,
  busy: false,
  unsaved: false,
  part: null,
  error: null,
};
