// A paddock while it is drawn: its pieces, and every step so that it can be taken back.
import { isBoundary, isGate } from "../land";
import type { Collection, Feature, Geometry } from "../nouns";

export interface Piece {
  id: number;
  boundary: boolean;
  /** A point where one drives in and out. */
  gate: boolean;
  geometry: Geometry;
  kind: string;
  name: string;
  hazard: boolean;
  /** Days between which a keep-out holds, `2026-05-01`, or empty. */
  from: string;
  until: string;
  note: string;
  /** Whatever else the file said of it; kept as it came. */
  more: Record<string, unknown>;
}
export interface Draft {
  name: string;
  pieces: readonly Piece[];
}

export const EMPTY: Draft = { name: "", pieces: [] };
const KNOWN = new Set(["name", "kind", "hazard", "from", "until", "note"]);

/** A saved paddock, or one from a file, as a draft. */
export function draftOf(shape: Collection): Draft {
  const pieces = shape.features.filter((f) => f.geometry !== null).map((feature, index) => pieceOf(feature, index + 1));
  return { name: pieces.find((piece) => piece.boundary)?.name ?? "", pieces };
}

function pieceOf(feature: Feature, id: number): Piece {
  const told = feature.properties;
  const text = (key: string): string => (typeof told[key] === "string" ? told[key] : "");
  return {
    id,
    boundary: isBoundary(feature),
    gate: isGate(feature),
    geometry: feature.geometry ?? { type: "Polygon", coordinates: [] },
    kind: text("kind"),
    name: text("name"),
    hazard: told["hazard"] === true || told["hazard"] === "yes",
    from: text("from").slice(0, 10),
    until: text("until").slice(0, 10),
    note: text("note"),
    more: Object.fromEntries(Object.entries(told).filter(([key]) => !KNOWN.has(key))),
  };
}

/** The draft as it is saved: the boundary first, then the keep-outs, then the gates. */
export function collectionOf(draft: Draft): Collection {
  const rank = ({ boundary, gate }: Piece): number => (boundary ? 0 : gate ? 2 : 1);
  const ordered = [...draft.pieces].toSorted((a, b) => rank(a) - rank(b));
  return { type: "FeatureCollection", features: ordered.map((piece) => ({ type: "Feature", geometry: piece.geometry, properties: says(piece, draft.name.trim()) })) };
}

function says(piece: Piece, name: string): Record<string, unknown> {
  if (piece.boundary) return { ...piece.more, name };
  if (piece.gate) return { ...piece.more, kind: "gate", ...(piece.name.trim() ? { name: piece.name.trim() } : {}) };
  const given: Record<string, unknown> = { name: piece.name.trim(), from: piece.from, until: piece.until, note: piece.note.trim() };
  const filled = Object.fromEntries(Object.entries(given).filter(([, value]) => value !== ""));
  return { ...piece.more, kind: piece.kind.trim() || "other", hazard: piece.hazard, ...filled };
}

/** The draft with one more piece; a new boundary takes the place of the old one. */
export function withPiece(draft: Draft, geometry: Geometry, boundary: boolean, kind = "", gate = false): Draft {
  const id = 1 + Math.max(0, ...draft.pieces.map((piece) => piece.id));
  const piece: Piece = { id, boundary, gate, geometry, kind, name: "", hazard: false, from: "", until: "", note: "", more: {} };
  return { ...draft, pieces: [...draft.pieces.filter((one) => !(boundary && one.boundary)), piece] };
}

export const changed = (draft: Draft, id: number, change: Partial<Piece>): Draft => ({
  ...draft,
  pieces: draft.pieces.map((piece) => (piece.id === id ? { ...piece, ...change } : piece)),
});

export const removed = (draft: Draft, id: number): Draft => ({ ...draft, pieces: draft.pieces.filter((piece) => piece.id !== id) });

/** What keeps a draft from being saved, as a word of the language file; null when nothing does. */
export function lacking(draft: Draft): "boundary" | "name" | "kind" | null {
  if (!draft.pieces.some((piece) => piece.boundary)) return "boundary";
  if (!draft.name.trim()) return "name";
  return draft.pieces.some((piece) => !piece.boundary && !piece.gate && !piece.kind.trim()) ? "kind" : null;
}
