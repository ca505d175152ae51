// The page where nothing can be logged: says so, and why. It must not look as if it could.
import { h, put } from "../dom";
import { t } from "../words";

/** Why this browser or connection cannot log; null where it can. */
export function refusal(): "insecure" | "no-store" | null {
  if (!window.isSecureContext) return "insecure";
  return typeof indexedDB === "undefined" || indexedDB === null ? "no-store" : null;
}

export function refuse(app: Element, why: "insecure" | "no-store"): void {
  document.title = t.refuse.title;
  put(
    app,
    h(
      "main",
      { class: "page", role: "alert" },
      h("h1", {}, t.refuse.title),
      why === "no-store"
        ? h("p", {}, t.refuse.noStore)
        : [h("p", {}, t.refuse.why), h("p", {}, t.refuse.what), h("p", {}, h("a", { class: "button first", href: "/trust" }, t.refuse.how))],
    ),
  );
}
