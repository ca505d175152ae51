// Makes this phone known at home: a code from the desk, good once, for a token of the phone's own.
import { call } from "./call";

/** What the phone knows of its home. */
export interface Home {
  readonly dev: string;
  readonly token: string;
  /** `keeper` adds to the log, `rider` only looks. */
  readonly may: "keeper" | "rider";
  readonly name: string;
  readonly paired_ms: number;
}

interface Claim {
  readonly dev: string;
  readonly token: string;
  readonly may: "keeper" | "rider";
  readonly name: string;
}

const LENGTH = 10;

/** A code as it was typed or read, as the home writes it; null where it cannot be one. */
export function codeOf(text: string): string | null {
  const plain = text
    .toUpperCase()
    .replace(/[\s-]/g, "")
    .replace(/O/g, "0")
    .replace(/[IL]/g, "1");
  return plain.length === LENGTH && /^[0-9A-HJKMNP-TV-Z]+$/.test(plain) ? plain : null;
}

/** The code in the part of an address that is never sent, as the desk's square code has it; or null. */
export function codeIn(hash: string): string | null {
  const found = /^#pair=([^&]+)/.exec(hash);
  return found === null ? null : codeOf(decodeURIComponent(found[1] ?? ""));
}

/**
 * Uses a code up. `dev` is the phone's own label, which it keeps; `before` what it knew of this home,
 * which shows that the label is its own. Throws CallError: `pairing-wrong`, `pairing-label`.
 */
export async function claim(code: string, dev: string, before: Home | null, now_ms: number, fetcher?: typeof fetch): Promise<Home> {
  const was = before === null ? {} : { was: before.token };
  const made = await call<Claim>({ method: "POST", path: "/api/pairings/claim", json: { code, dev, ...was } }, fetcher);
  return { dev: made.dev, token: made.token, may: made.may, name: made.name, paired_ms: now_ms };
}
