// A home that holds what it is sent, as the service does: whole or not, from the next number on.
import { gunzipSync } from "node:zlib";

export interface Sent {
  readonly method: string;
  readonly path: string;
  readonly headers: Record<string, string>;
  readonly lines: readonly string[];
}

export class FakeHome {
  readonly sent: Sent[] = [];
  readonly kept = new Map<number, string>();
  held = 0;
  /** Another phone that keeps the same log. */
  also: string | null = null;
  /** Answers the next request with this instead; each is used once. */
  readonly next: (() => Response | Promise<never>)[] = [];

  readonly fetch: typeof fetch = async (input, init) => {
    const path = String(input);
    const body = init?.body instanceof Blob ? Buffer.from(await init.body.arrayBuffer()) : Buffer.from(String(init?.body ?? ""));
    const headers = { ...(init?.headers as Record<string, string>) };
    const text = headers["Content-Encoding"] === "gzip" ? gunzipSync(body).toString() : body.toString();
    this.sent.push({ method: init?.method ?? "GET", path, headers, lines: text.split("\n").filter((line) => line !== "") });
    const instead = this.next.shift();
    if (instead !== undefined) return instead();
    if (path.endsWith("/held")) return json(200, { held: this.held, wanted: [], also: this.also });
    const first = Number(/entries\/(\d+)$/.exec(path)?.[1]);
    if (!(first <= this.held + 1)) return json(409, { error: { code: "intake-gap", message: `Number ${this.held + 1} was expected next` }, held: this.held });
    this.sent[this.sent.length - 1]?.lines.forEach((line, at) => this.kept.set(first + at, line));
    while (this.kept.has(this.held + 1)) this.held += 1;
    return json(200, { held: this.held, kept: 1, again: 0 });
  };

  puts(): [string, number][] {
    return this.sent.filter((each) => each.method === "PUT").map((each) => [each.path, each.lines.length]);
  }
}

export const json = (status: number, value: unknown, headers: Record<string, string> = {}): Response =>
  new Response(JSON.stringify(value), { status, headers: { "Content-Type": "application/json", ...headers } });

export const nobody = (): Promise<never> => Promise.reject(new TypeError("Failed to fetch"));
