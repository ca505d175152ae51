// What the driver said of patches: entries of the log, found again by their place, because numbers
// change with every count.
import type { Mark } from "../../core/words";
import { Plane } from "../../core/plane";
import { holds, nearest } from "../../core/rings";
import { earlier } from "../../core/told";
import type { DraftOf } from "../../keep/entry";
import type { Found, Sums } from "../sums";

export type Decision = "go" | "leave" | "sown" | "bare";
const WORDS: readonly Decision[] = ["go", "leave", "sown", "bare"];
/** An entry made at a place belongs to a patch that it lies in or is so near to, m. */
const NEAR_M = 2;
export const ABOUT = "patch";

/** The entry that says what was decided of a patch. */
export function decided(patch: Found, answer: Decision, sums: Sums, prompt: string, now_ms: number): DraftOf<"say"> {
  return {
    kind: "say",
    t_ms: now_ms,
    prompt,
    answer,
    about: ABOUT,
    ...(sums.paddock === null ? {} : { paddock: sums.paddock.id }),
    lat_deg: rounded(patch.lat_deg, 7),
    lon_deg: rounded(patch.lon_deg, 7),
    area_m2: rounded(patch.area_m2, 1),
    chance: rounded(patch.chance, 2),
  };
}

/** The newest decision of each patch; undecided ones are missing. */
export function decisions(patches: readonly Found[], marks: readonly Mark[], sums: Pick<Sums, "lat0_deg" | "lon0_deg">): Map<Found, Decision> {
  const plane = new Plane(sums.lat0_deg, sums.lon0_deg);
  const out = new Map<Found, Decision>();
  for (const mark of marks.slice().sort(earlier)) {
    const { about, answer, lat_deg, lon_deg } = mark.says;
    if (mark.kind !== "say" || about !== ABOUT || typeof lat_deg !== "number" || typeof lon_deg !== "number") continue;
    const word = WORDS.find((each) => each === answer);
    if (word === undefined) continue;
    const [x, y] = plane.point(lon_deg, lat_deg);
    for (const patch of patches) {
      if (holds(patch.outline, x, y) || nearest(patch.outline, x, y).distance <= NEAR_M) out.set(patch, word);
    }
  }
  return out;
}

const rounded = (value: number, places: number): number => Number(value.toFixed(places));
