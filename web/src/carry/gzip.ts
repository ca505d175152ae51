// Packs what is sent, where the browser can.

/** The body to send and the headers that go with it. */
export async function packed(text: string): Promise<{ body: Blob; headers: Record<string, string> }> {
  const plain = new Blob([text], { type: "application/x-ndjson" });
  if (typeof CompressionStream === "undefined") return { body: plain, headers: {} };
  const stream = plain.stream().pipeThrough(new CompressionStream("gzip"));
  return { body: await new Response(stream).blob(), headers: { "Content-Encoding": "gzip" } };
}
