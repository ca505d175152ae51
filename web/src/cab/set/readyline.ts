// One line that says whether everything is on the phone, and the way to a newer version.
import { button, h, put } from "../dom";
import { offline } from "../offline";
import { cab, type Cab } from "../state";
import { t } from "../words";

/** What is ready without a signal, in words. */
export function readyText({ ready, pack }: Pick<Cab, "ready" | "pack">): string {
  if (ready.state === "checking") return t.ready.checking;
  if (ready.state === "not") {
    if (ready.why === "no-worker") return t.ready.noWorker;
    return ready.why === "failed" ? t.ready.failed : t.ready.missing(ready.missing.length);
  }
  if (pack === null) return `${t.ready.ready}. ${t.ready.noPack}`;
  const card = pack.rigs.reduce<number | null>((last, rig) => Math.max(last ?? 0, rig.made_ms), null);
  return `${t.ready.ready}: ${t.ready.with(pack.paddocks.length, card === null ? null : t.day(card))}`;
}

/** The line, kept true while it stands; `close` ends that. */
export function readyLine(): { body: HTMLElement; close: () => void } {
  const text = h("p", { class: "ready", role: "status", id: "ready" });
  const newer = h("div", {});
  const close = cab.watch(["ready", "pack", "newer", "lever", "standing"], (state) => {
    put(text, readyText(state));
    if (!state.newer) put(newer);
    else if (mayChange(state)) put(newer, h("p", {}, t.ready.newer), button(t.ready.take, () => void change()));
    else put(newer, h("p", {}, `${t.ready.newer} ${t.ready.takeLater}`));
  });
  return { body: h("section", {}, text, newer), close };
}

/** A newer version is taken only where nothing can be lost by it: never while the tool is down. */
export function mayChange({ lever, standing, writes, trouble }: Pick<Cab, "lever" | "standing" | "writes" | "trouble">): boolean {
  return lever === "up" && standing && writes && trouble === null;
}

async function change(): Promise<void> {
  if (!mayChange(cab.get())) return;
  await cab.get().keeper?.flush();
  if (await offline.take()) window.location.reload();
}
