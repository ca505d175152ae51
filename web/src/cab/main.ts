// Starts the phone's page: may it log at all, is the log open, were the cautions read.
import "./look/tokens.css";
import "../look/shown.css";
import "./look/page.css";
import "./look/gate.css";
import "./look/stand.css";
import "./look/work.css";
import { openKeeper } from "../keep/open";
import { followCounts } from "./ahead";
import { followBins } from "./bins";
import { beginCarrying, readHome } from "./carrying";
import { readChoices } from "./choices";
import { h, put } from "./dom";
import { listenForOffer } from "./install";
import { offline } from "./offline";
import { makePlaces } from "./pages";
import { followBattery } from "./power";
import { readRole } from "./role";
import { begin, go } from "./route";
import { cautionsRead } from "./set/first";
import { takeFromAddress } from "./set/pair";
import { refusal, refuse } from "./set/refuse";
import { buildShell } from "./shell";
import { followStanding } from "./stand/appear";
import { cab } from "./state";
import { VERSION } from "./version";
import { Watch } from "./watch";
import { driving } from "./work/driving";
import { listen, wasDriving } from "./work/engine";

async function start(app: Element): Promise<void> {
  const why = refusal();
  if (why !== null) {
    refuse(app, why);
    return;
  }
  listenForOffer();
  // a build for tests lets them at what pages are given; no other build holds this line
  if (import.meta.env.MODE === "trial") Object.assign(window, { unsown: { cab, driving } });
  takeFromAddress();
  const log = await openKeeper();
  await readHome(log);
  await readRole(log);
  await readChoices(log);
  cab.set({ keeper: log, writes: log.writes, count: log.count() });
  log.onRole((writes) => cab.set({ writes, count: log.count() }));
  log.onWrite((write) => cab.set({ trouble: write.state === "failed" ? write.why : null, count: log.count() }));
  const watch = new Watch(log);
  watch.begin({ page: VERSION });
  void followBattery(
    (battery) => cab.set({ battery }),
    ({ part, charging }) => watch.write("battery", { battery: part, charging }),
  );
  const stage = buildShell(app);
  makePlaces();
  begin(stage, "start");
  followStanding();
  followCounts(log);
  listen();
  followBins();
  // in the middle of work the page comes back to work, whatever closed it
  go((await cautionsRead()) ? ((await wasDriving()) ? "work" : "start") : "first");
  void log.headroom().then((room) => cab.set({ room }));
  await beginCarrying(log, offline);
  await offline.prepare();
}

/** Whatever goes wrong before the first page stands must not leave an empty screen. */
function failed(app: Element, error: unknown): void {
  put(app, h("main", { class: "page", role: "alert" }, h("h1", {}, "Unsown"), h("p", {}, error instanceof Error ? `${error.name}: ${error.message}` : String(error))));
}

/** Begins the page. */
export function page(): void {
  const app = document.querySelector("#app");
  if (app === null) throw new Error("index.html has no #app");
  start(app).catch((error: unknown) => failed(app, error));
}
