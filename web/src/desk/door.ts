// The passphrase page: asked for whenever another computer than the farm's own looks.
import * as home from "./home";
import { h, on, put } from "./dom";
import type { Page } from "./route";
import { desk } from "./state";
import { reasonAndHint } from "./trouble";
import { t } from "./words";

/** Asks for the passphrase until it is right, then lets `enter` go on. */
export function doorPage(enter: () => Promise<void>): Page {
  const field = h("input", { id: "passphrase", type: "password", autocomplete: "current-password", required: true });
  const said = h("p", { class: "wrong", role: "alert" });
  const send = h("button", { class: "button first", type: "submit" }, t.door.enter);
  const form = on(
    h(
      "form",
      { class: "panel door" },
      h("p", { class: "field" }, h("label", { for: "passphrase" }, t.door.passphrase), field),
      said,
      h("p", {}, send),
      h("p", {}, t.door.forgotten),
    ),
    {
      submit: (event) => {
        event.preventDefault();
        void tryIt();
      },
    },
  );
  async function tryIt(): Promise<void> {
    send.disabled = true;
    put(said);
    try {
      await home.enter(field.value);
      desk.set({ hello: await home.hello() });
      await enter();
    } catch (error) {
      put(said, reasonAndHint(error));
      field.select();
    } finally {
      send.disabled = false;
    }
  }
  return { title: t.door.title, body: h("div", { class: "page narrow" }, h("h1", {}, t.door.title), h("p", {}, t.door.why), form) };
}
