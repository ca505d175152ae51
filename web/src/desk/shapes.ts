// The shapes of paddocks by version, asked for once: a version never changes.
import * as home from "./home";
import type { Collection } from "./nouns";

const known = new Map<string, Promise<Collection>>();

export function shapeOf(id: string, version: number): Promise<Collection> {
  const key = `${id}/${version}`;
  let asked = known.get(key);
  if (!asked) {
    asked = home.paddock(id).then((thing) => thing.geojson);
    known.set(key, asked);
    asked.catch(() => known.delete(key)); // what failed may be asked for again
  }
  return asked;
}
