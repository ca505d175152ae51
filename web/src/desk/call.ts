// Asks the home service, and turns whatever goes wrong into one kind of error.

/** What went wrong, in words fit to show: what was expected, what came, where, what to do. */
export class CallError extends Error {
  constructor(
    /** The HTTP status; 0 when the service could not be reached. */
    readonly status: number,
    readonly code: string,
    message: string,
    readonly where = "",
    readonly hint = "",
  ) {
    super(message);
    this.name = "CallError";
  }
}

type Method = "GET" | "POST" | "PUT" | "DELETE";

/** The answer to a request as JSON; null where there is none. `body` goes as JSON, a form as it is. */
export async function call<T>(method: Method, path: string, body?: unknown): Promise<T> {
  const form = body instanceof FormData;
  let response: Response;
  try {
    response = await fetch(path, {
      method,
      credentials: "same-origin",
      headers: body === undefined || form ? {} : { "Content-Type": "application/json" },
      ...(body === undefined ? {} : { body: form ? body : JSON.stringify(body) }),
    });
  } catch {
    throw new CallError(0, "unreachable", "");
  }
  const text = await response.text();
  const value = parsed(text);
  if (!response.ok) throw failure(response.status, value);
  return value as T;
}

function parsed(text: string): unknown {
  if (!text) return null;
  try {
    return JSON.parse(text) as unknown;
  } catch {
    return null;
  }
}

/** The error a response of the service stands for. */
export function failure(status: number, value: unknown): CallError {
  const said = field(value, "error");
  const text = (key: string): string => {
    const found = field(said, key);
    return typeof found === "string" ? found : "";
  };
  return new CallError(status, text("code") || String(status), text("message"), text("where"), text("hint"));
}

function field(value: unknown, key: string): unknown {
  return typeof value === "object" && value !== null ? (value as Record<string, unknown>)[key] : undefined;
}

/** Waits; for polling a job that runs in the service. */
export const pause = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));
