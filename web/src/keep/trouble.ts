// Why the log could not be kept.
import type { Trouble } from "./keep";

/** Something could not be stored or read on the phone; what it was about stays in memory. */
export class KeepError extends Error {
  constructor(readonly why: Trouble) {
    super(why.message);
    this.name = "KeepError";
  }
}

/** What the browser's error means. */
export function troubleOf(error: unknown): Trouble {
  if (error instanceof KeepError) return error.why;
  const name = error instanceof Error || error instanceof DOMException ? error.name : "";
  const message = error instanceof Error || error instanceof DOMException ? `${error.name}: ${error.message}` : String(error);
  if (name === "QuotaExceededError") return { code: "full", message };
  if (name === "ConstraintError") return { code: "read-only", message }; // its number is on the disk
  if (name === "InvalidStateError" || name === "UnknownError" || name === "VersionError") return { code: "closed", message };
  return { code: "broken", message };
}
