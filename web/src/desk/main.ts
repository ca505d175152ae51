// Starts the desk: asks who is there, builds what stands round every page, follows addresses.
import "./look/tokens.css";
import "../look/shown.css";
import "./look/ground.css";
import "./look/parts.css";
import "./look/form.css";
import "./look/board.css";
import "./look/map.css";
import "./look/time.css";
import "./look/money.css";
import "./look/pages.css";
import * as home from "./home";
import { confirm } from "./confirm";
import { doorPage } from "./door";
import { h, put, watchPresses } from "./dom";
import { hush, listen } from "./live";
import { find, type Page, type Route } from "./route";
import { buildShell, closeUp, markPlace, stage } from "./shell";
import { desk } from "./state";
import { followComputer } from "./theme";
import { noteReach, trouble } from "./trouble";
import { speak, t } from "./words";

const routes: Route[] = [
  { pattern: "/desk", load: async () => (await import("./board/page")).boardPage },
  { pattern: "/desk/paddock/:id", load: async () => (await import("./sheet/page")).sheetPage },
  { pattern: "/desk/paddock/:id/shape", load: async () => (await import("./shape/page")).shapePage },
  { pattern: "/desk/new-paddock", load: async () => (await import("./shape/page")).shapePage },
  { pattern: "/desk/rigs", load: async () => (await import("./rig/list")).rigsPage },
  { pattern: "/desk/rig/:id", load: async () => (await import("./rig/page")).rigPage },
  { pattern: "/desk/new-rig", load: async () => (await import("./rig/page")).rigPage },
  { pattern: "/desk/days", load: async () => (await import("./day/page")).daysPage },
  { pattern: "/desk/day/:day", load: async () => (await import("./day/page")).dayPage },
  { pattern: "/desk/phones", load: async () => (await import("./phones/page")).phonesPage },
  { pattern: "/desk/carry", load: async () => (await import("./carry/page")).carryPage },
  { pattern: "/desk/paddock/:id/bins", load: async () => (await import("./bins/page")).binsPage },
  { pattern: "/desk/paddock/:id/handover", load: async () => (await import("./handed/page")).handedPage },
  { pattern: "/desk/settings/prices", load: async () => (await import("./prices/page")).pricesPage },
  { pattern: "/desk/settings/planning", load: async () => (await import("./planning/page")).planningPage },
  { pattern: "/desk/settings/rate-test", load: async () => (await import("./rates/page")).ratesPage },
  { pattern: "/desk/settings", load: async () => (await import("./settings/page")).settingsPage },
  { pattern: "/desk/season/:year", load: async () => (await import("./season/page")).seasonPage },
];

let open: Page | null = null;
let shown = "";
let turn = 0;

/** Shows the page that the address names; `moved` is false for the very first one. */
async function follow(moved: boolean): Promise<void> {
  const mine = ++turn;
  const found = find(routes, location.pathname);
  markPlace(location.pathname);
  let page: Page;
  try {
    page = found ? (await found.route.load())(found.params) : missing();
  } catch (error) {
    page = { title: t.trouble.title, body: trouble(error, () => location.reload()) };
  }
  if (mine !== turn) {
    page.close?.(); // another address was opened while this one loaded
    return;
  }
  open?.close?.();
  open = page;
  document.title = `${page.title} · ${desk.get().settings.farm ?? "Unsown"}`;
  put(stage, page.body);
  stage.dataset["place"] = location.pathname;
  shown = location.href;
  if (moved) {
    scrollTo(0, 0);
    stage.focus({ preventScroll: true });
  }
}

function missing(): Page {
  const body = h("div", { class: "page" }, h("h1", {}, t.missing.title), h("p", {}, t.missing.body), h("p", {}, h("a", { class: "button first", href: "/desk" }, t.missing.back)));
  return { title: t.missing.title, body };
}

/** Inside links change the page without loading the script again. */
function followLinks(event: MouseEvent): void {
  if (event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  const link = event.target instanceof Element ? event.target.closest("a") : null;
  if (!link || link.target || link.origin !== location.origin || link.hasAttribute("download")) return;
  if (link.pathname !== "/" && link.pathname !== "/desk" && !link.pathname.startsWith("/desk/")) return;
  if (link.pathname === location.pathname && link.hash) return;
  event.preventDefault();
  void leaveFor(link.href);
}

async function leaveFor(address: string): Promise<void> {
  if (!(await mayLeave())) return;
  history.pushState(null, "", address);
  await follow(true);
}

/** The browser's own way back and forth, and what pages ask for by `go`. */
async function followHistory(): Promise<void> {
  const wanted = location.href;
  if (!open?.unsaved?.()) return follow(true);
  history.pushState(null, "", shown); // stay, until it is known
  if (!(await mayLeave())) return undefined;
  history.pushState(null, "", wanted);
  return follow(true);
}

async function mayLeave(): Promise<boolean> {
  if (!open?.unsaved?.()) return true;
  return confirm({ title: t.leaving.title, body: [h("p", {}, t.leaving.what)], act: t.leaving.leave });
}

async function enter(): Promise<void> {
  const [settings, { season, seasons }] = await Promise.all([home.settings(), home.board()]);
  speak(settings.land);
  desk.set({ settings, season, seasons });
  closeUp(false);
  listen();
  await follow(false);
}

async function start(): Promise<void> {
  followComputer();
  watchPresses();
  const app = document.querySelector("#app");
  if (!app) throw new Error("desk.html has no #app");
  buildShell(app);
  closeUp(true);
  try {
    const hello = await home.hello();
    desk.set({ hello });
    document.addEventListener("click", followLinks);
    addEventListener("popstate", () => void followHistory());
    addEventListener("beforeunload", (event) => void (open?.unsaved?.() && event.preventDefault()));
    desk.watch(["hello"], ({ hello: now }) => {
      if (now?.who !== "nobody") return;
      hush();
      closeUp(true);
      open?.close?.();
      open = doorPage(enter);
      document.title = open.title;
      put(stage, open.body);
    });
    if (hello.who !== "nobody") await enter();
  } catch (error) {
    noteReach(error);
    put(stage, h("div", { class: "page" }, trouble(error, () => location.reload())));
  }
}

void start();
