// Carry in and carry out: tracks and logs by file, without any network.
import { h } from "../dom";
import type { Page } from "../route";
import { t } from "../words";
import { bringIn } from "./in";
import { takeOut } from "./out";

export function carryPage(): Page {
  return {
    title: t.pages.carry,
    body: h("div", { class: "page" }, h("h1", {}, t.pages.carry), h("p", {}, t.carry.what), h("div", { class: "halves" }, bringIn(), takeOut())),
  };
}
