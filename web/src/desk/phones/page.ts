// The phones that know this farm: pairing one by its camera, and taking a phone's right back.
import * as home from "../home";
import { confirm } from "../confirm";
import { button, h, on, put, type Child } from "../dom";
import { notice } from "../notice";
import type { Pairing, Phone } from "../nouns";
import type { Page } from "../route";
import * as say from "../say";
import { desk } from "../state";
import { noteReach, reasonAndHint, show } from "../trouble";
import { t } from "../words";
import { disputesPanel } from "./disputes";
import { pegsPanel } from "./pegs";
import { yardPanel } from "./yard";

export function phonesPage(): Page {
  const list = h("div", {});
  const code = h("div", {});
  let ends: ReturnType<typeof setInterval> | undefined;
  const read = (): Promise<void> => show(list, home.phones, (phones) => table(phones, read));
  void read();
  const pairing = pairForm((made) => {
    clearInterval(ends);
    const left = h("p", { class: "left", role: "timer" });
    const tick = (): void => {
      const ms = made.until_ms - Date.now();
      put(left, ms > 0 ? t.phones.left(say.duration(ms)) : t.phones.over);
      if (ms <= 0) clearInterval(ends);
    };
    put(code, codePanel(made, left));
    tick();
    ends = setInterval(tick, 1000);
  });
  /** Pairing comes first as soon as a phone can reach the house; before that, letting it in does. */
  const leads = (reached: boolean): void => {
    pairing.classList.toggle("lead", reached);
    pairing.querySelector("button")?.classList.replace(reached ? "plain" : "first", reached ? "first" : "plain");
  };
  return {
    title: t.pages.phones,
    body: h("div", { class: "page" }, h("h1", {}, t.pages.phones), h("p", {}, t.caution.personal), yardPanel(leads), pairing, code, h("section", {}, h("h2", {}, t.phones.title), list), pegsPanel(), disputesPanel()),
    close: () => clearInterval(ends),
  };
}

function pairForm(made: (pairing: Pairing) => void): HTMLElement {
  const name = h("input", { id: "phone-name", type: "text", autocomplete: "off", maxlength: 60, required: true });
  const said = h("p", { class: "wrong", role: "alert" });
  const may = (which: "keeper" | "rider", checked: boolean): HTMLElement =>
    h("label", { class: "choice" }, h("input", { type: "radio", name: "phone-may", value: which, checked }), h("span", {}, h("strong", {}, t.phones.may[which][0]), h("span", { class: "under" }, t.phones.may[which][1])));
  const form = h(
    "form",
    { class: "panel" },
    h("h2", {}, t.phones.pair),
    h("p", { class: "field" }, h("label", { for: "phone-name" }, t.phones.name), name),
    h("fieldset", { class: "choices" }, h("legend", {}, t.phones.mayTitle), may("keeper", true), may("rider", false)),
    said,
    h("p", {}, h("button", { type: "submit", class: "button plain" }, t.phones.make)),
  );
  return on(form, {
    submit: (event) => {
      event.preventDefault();
      const rider = new FormData(form).get("phone-may") === "rider";
      put(said);
      home.pair(rider ? "rider" : "keeper", name.value.trim()).then(made, (error: unknown) => {
        noteReach(error);
        put(said, reasonAndHint(error));
      });
    },
  });
}

function codePanel(made: Pairing, left: HTMLElement): HTMLElement {
  const drawing = new DOMParser().parseFromString(made.qr, "image/svg+xml").documentElement;
  const fine = drawing.localName === "svg";
  if (fine) {
    drawing.setAttribute("role", "img");
    drawing.setAttribute("aria-label", t.phones.qr);
  }
  return h(
    "section",
    { class: "panel pairing", "aria-live": "polite" },
    fine && h("div", { class: "qr" }, document.importNode(drawing, true)),
    h("div", {}, h("p", {}, t.phones.scan), h("p", {}, t.phones.orType, " ", h("strong", { class: "code" }, made.code)), h("p", {}, h("span", { class: "address" }, made.url.split("#")[0])), left),
  );
}

function table(phones: readonly Phone[], changed: () => Promise<void>): Child {
  if (!phones.length) return h("p", {}, t.phones.none);
  return h("ul", { class: "rows" }, phones.toSorted((a, b) => Number(Boolean(a.withdrawn_ms)) - Number(Boolean(b.withdrawn_ms))).map((phone) => row(phone, changed)));
}

function row(phone: Phone, changed: () => Promise<void>): HTMLElement {
  async function withdraw(): Promise<void> {
    if (!(await confirm({ title: t.phones.withdrawTitle(phone.name), body: [h("p", {}, t.phones.withdrawWhat)], act: t.phones.withdraw }))) return;
    try {
      await home.withdraw(phone.dev);
      notice(t.phones.withdrawn(phone.name));
    } catch (error) {
      noteReach(error);
      notice(reasonAndHint(error));
    }
    await changed();
  }
  const facts = [
    t.phones.may[phone.may][0],
    phone.held === undefined ? "" : t.phones.held(say.count(phone.held)),
    phone.withdrawn_ms ? t.phones.since(say.moment(phone.withdrawn_ms)) : phone.seen_ms ? t.board.heard(say.moment(phone.seen_ms)) : t.board.unheard,
    phone.odd_clock ? t.phones.oddClock(say.count(phone.odd_clock)) : "",
  ];
  return h(
    "li",
    { class: phone.withdrawn_ms ? "line gone" : "line" },
    h("div", {}, h("strong", {}, phone.name), h("span", { class: "under" }, facts.filter(Boolean).join(" · "))),
    !phone.withdrawn_ms && desk.get().hello?.who === "desk" && button(t.phones.withdraw, () => void withdraw(), { "aria-label": t.phones.withdrawOne(phone.name) }),
  );
}
