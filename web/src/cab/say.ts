// Says numbers in the units chosen on this phone, else the farm's.
import * as units from "../formats/units";
import { choices } from "./choices";
import { cab } from "./state";
import { t } from "./words";

export const unit = (): units.AreaUnit => choices.get().units ?? cab.get().pack?.settings.units ?? "ha";
/** A number and its unit stay on one line. */
const held = (text: string): string => text.replace(/ /g, "\u00a0");

export const area = (ha: number): string => held(units.area(ha, unit()));
export const size = (m2: number): string => held(units.size(m2, unit()));
/** An area that is not known to 0.01. */
export const about = (ha: number): string => held(units.rough(ha, unit()));
export const distance = (m: number): string => held(units.distance(m, unit()));

/** A distance that was measured with a tape: `0.90 m`, `3.0 ft`. */
export const taped = (m: number): string => held(unit() === "ac" ? `${(m / units.FOOT_M).toFixed(1)} ft` : `${m.toFixed(2)} m`);

/** A width told by satellites: `1.2 m`, `4 ft`. */
export const width = (m: number): string => held(unit() === "ac" ? `${Math.round(m / units.FOOT_M)} ft` : `${m.toFixed(1)} m`);

/** `0.22 to 0.33 ha`. */
export const band = (low: number, high: number): string => `${units.area(low, unit()).split(" ")[0] ?? ""} to ${area(high)}`;

/** `14:22` by the phone's clock. */
export const minute = (ms: number): string => new Date(ms).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });

/** The same, with the day where that is not today: a picture of yesterday must not look like this morning's. */
export const dated = (ms: number): string => (new Date(ms).toDateString() === new Date().toDateString() ? minute(ms) : t.moment(ms));
