// A paddock's edges on the plane of the live picture, with what is kept out on this day as holes.
import type { Plane } from "../../core/plane";
import { ringsOf } from "../../core/rings";
import type { KeepOut } from "../../core/words";
import type { PackPaddock } from "../../carry/pack";
import type { Fence } from "../edge";
import { earlier } from "./earlier";

/** Whether a keep-out holds at a moment. */
export const holdsAt = ({ from_ms, until_ms }: KeepOut, t_ms: number): boolean => (from_ms === null || t_ms >= from_ms) && (until_ms === null || t_ms <= until_ms);

/** Null where the paddock has no outline yet. What home knew to be sown in it is no fresh ground. */
export function fenceOf({ land, ground }: Pick<PackPaddock, "land" | "ground">, plane: Plane, t_ms: number): Fence | null {
  if (land.area === null) return null;
  const outs = land.keep_outs.filter((out) => holdsAt(out, t_ms)).map((out) => ringsOf(plane.areaToXy(out.area)));
  const rings = outs.reduce((all, each) => all.concat(each), ringsOf(plane.areaToXy(land.area)));
  return { rings, surveyed: land.boundary === "survey", before: earlier([{ ground }], "sown", plane) };
}
