// Asks the home service, and turns whatever goes wrong into one kind of error.

/** What went wrong; `status` 0: the home could not be reached. */
export class CallError extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly hint = "",
    /** The last number that the home holds, where it said so. */
    readonly held: number | null = null,
    /** Seconds after which it wants to be asked again, where it said so. */
    readonly after_s: number | null = null,
  ) {
    super(message);
    this.name = "CallError";
  }

  /** Whether the same may be tried again later: no network, the home is busy or broken. */
  get passes(): boolean {
    return this.status === 0 || this.status === 408 || this.status === 429 || this.status >= 500;
  }
}

export interface Ask {
  readonly method: "GET" | "POST" | "PUT";
  readonly path: string;
  readonly token?: string;
  readonly json?: unknown;
  readonly body?: Blob;
  readonly headers?: Readonly<Record<string, string>>;
  readonly patience_ms?: number;
}

const PATIENCE_MS = 20_000;

/** The answer as JSON. Throws CallError. */
export async function call<T>(ask: Ask, fetcher: typeof fetch = (input, init) => fetch(input, init)): Promise<T> {
  const stop = typeof AbortController === "undefined" ? null : new AbortController();
  const timer = setTimeout(() => stop?.abort(), ask.patience_ms ?? PATIENCE_MS);
  try {
    const response = await fetcher(ask.path, {
      method: ask.method,
      credentials: "same-origin",
      cache: "no-store",
      headers: {
        ...(ask.token === undefined ? {} : { Authorization: `Bearer ${ask.token}` }),
        ...(ask.json === undefined ? {} : { "Content-Type": "application/json" }),
        ...ask.headers,
      },
      ...(ask.json === undefined ? {} : { body: JSON.stringify(ask.json) }),
      ...(ask.body === undefined ? {} : { body: ask.body }),
      ...(stop === null ? {} : { signal: stop.signal }),
    });
    const text = await response.text();
    if (response.ok) return parsed(text) as T;
    throw failure(response.status, parsed(text), response.headers.get("Retry-After"));
  } catch (error) {
    if (error instanceof CallError) throw error;
    throw new CallError(0, "unreachable", error instanceof Error ? error.message : String(error));
  } finally {
    clearTimeout(timer);
  }
}

function parsed(text: string): unknown {
  try {
    return text === "" ? null : (JSON.parse(text) as unknown);
  } catch {
    return null;
  }
}

function failure(status: number, value: unknown, after: string | null): CallError {
  const said = field(value, "error");
  const text = (key: string): string => {
    const found = field(said, key);
    return typeof found === "string" ? found : "";
  };
  const held = field(value, "held");
  const seconds = after === null ? Number.NaN : Number(after);
  return new CallError(
    status,
    text("code") || String(status),
    text("message"),
    text("hint"),
    typeof held === "number" ? held : null,
    Number.isFinite(seconds) ? seconds : null,
  );
}

function field(value: unknown, key: string): unknown {
  return typeof value === "object" && value !== null ? (value as Record<string, unknown>)[key] : undefined;
}
