// Keeps the phone's page on the phone: all of its files or none, each held against its hash, served
// from there whether there is a network or not. Never keeps data. A newer version is fetched whole and
// then waits: it is served only once the page has asked for it.
declare const BUILT: { readonly version: string; readonly files: readonly (readonly [path: string, sha256: string])[] };

// a module to the compiler only; what is built from it is a plain script
export const worker = self as unknown as ServiceWorkerGlobalScope;
const FILES = BUILT.files;
const VERSION = BUILT.version;
const ROOT = "/cab/";
const ours = (version: string): string => `cab ${version}`;
/** Where it is noted which version is served. */
const CHOICE = "cab choice";
const NOTE = `${ROOT}choice`;

worker.addEventListener("install", (event) => event.waitUntil(fill()));
worker.addEventListener("activate", (event) => event.waitUntil(begin()));
worker.addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method !== "GET" || origin !== worker.location.origin || !pathname.startsWith(ROOT)) return;
  event.respondWith(answer(event.request, mode === "navigate" ? ROOT : pathname));
});
worker.addEventListener("message", (event) => {
  const port = event.ports[0];
  const told = event.data === "take" ? take() : check();
  event.waitUntil(
    told.then(
      (said) => port?.postMessage(said),
      (error: unknown) => port?.postMessage({ version: VERSION, served: "", files: FILES.length, missing: [String(error)] }),
    ),
  );
});

async function fill(): Promise<void> {
  const cache = await caches.open(ours(VERSION));
  try {
    await Promise.all(
      FILES.map(async ([path, sha256]) => {
        const response = await fetch(path, { cache: "no-cache", credentials: "same-origin" });
        const body = await response.arrayBuffer();
        if (!response.ok || (await hashOf(body)) !== sha256) throw new Error(`${path}: ${response.status}, or not what was built`);
        const headers = new Headers(response.headers);
        for (const name of ["Content-Encoding", "Content-Length", "Vary"]) headers.delete(name);
        await cache.put(path, new Response(body, { headers }));
      }),
    );
  } catch (error) {
    await caches.delete(ours(VERSION));
    throw error;
  }
}

async function begin(): Promise<void> {
  if ((await served()) === VERSION) await choose();
  await worker.clients.claim();
}

/**
 * The version that is served: the one last asked for. Where that is not known (a phone that died may
 * have lost the note) the one that was there before ours, since nobody has asked for ours.
 */
async function served(): Promise<string> {
  const note = await (await caches.open(CHOICE)).match(NOTE);
  const asked = note === undefined ? "" : await note.text();
  if (asked !== "" && (await caches.has(ours(asked)))) return asked;
  const before = (await caches.keys()).find((name) => isOther(name));
  return before === undefined ? VERSION : before.slice(ours("").length);
}

const isOther = (name: string): boolean => name.startsWith(ours("")) && name !== CHOICE && name !== ours(VERSION);

async function choose(): Promise<void> {
  await (await caches.open(CHOICE)).put(NOTE, new Response(VERSION));
  const others = (await caches.keys()).filter(isOther);
  await Promise.all(others.map((name) => caches.delete(name)));
}

async function take(): Promise<unknown> {
  const { missing } = await check();
  if (missing.length === 0) {
    await choose();
    await worker.skipWaiting();
  }
  return check();
}

/** Which version this is, which is served, and which files of it are not here as they were built. */
async function check(): Promise<{ version: string; served: string; files: number; missing: string[] }> {
  const cache = await caches.open(ours(VERSION));
  const missing: string[] = [];
  for (const [path, sha256] of FILES) {
    const kept = await cache.match(path);
    if (kept === undefined || (await hashOf(await kept.arrayBuffer())) !== sha256) missing.push(path);
  }
  return { version: VERSION, served: await served(), files: FILES.length, missing };
}

async function answer(request: Request, path: string): Promise<Response> {
  const kept = await (await caches.open(ours(await served()))).match(path);
  return kept ?? fetch(request);
}

async function hashOf(body: ArrayBuffer): Promise<string> {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
  return Array.from(digest, (byte) => `0${byte.toString(16)}`.slice(-2)).join("");
}
