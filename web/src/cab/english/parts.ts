// English: what the texts are put together of.
import { AGAINST_M, type Place } from "../../core/place";

/** `1 patch`, `1,200 patches`. */
export const many = (count: number, one: string, more = `${one}s`): string => `${count.toLocaleString("en")} ${count === 1 ? one : more}`;

export const capital = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

/** One after another, those that are empty left out. */
export const listed = (parts: readonly string[], between = ", "): string => parts.filter((part) => part !== "").join(between);

/** `north, 180 m from the west end, at the fence`. */
export const whereOf = ({ side, end, along_m, edge, inside_m }: Place, say: (metres: number) => string): string =>
  listed([side, end === "" ? "" : `${say(along_m)} from the ${end} end`, edge === "keep-out" ? "beside a keep-out" : inside_m < AGAINST_M ? "at the fence" : `${say(inside_m)} in from the fence`]);
