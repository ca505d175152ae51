// Taking a pairing code: typed, or from the address that the desk's square code opened.
import { CallError } from "../../carry/call";
import { UnsownError } from "../../core/errors";
import { codeIn, codeOf } from "../../carry/pair";
import { pairWith } from "../carrying";
import { h, lineBox, put } from "../dom";
import { cab, keeper } from "../state";
import { t } from "../words";

let given: string | null = null;

/** Takes the code out of the address, so that it stands there no longer. */
export function takeFromAddress(): void {
  given = codeIn(window.location.hash) ?? given;
  if (window.location.hash !== "") window.history.replaceState(null, "", window.location.pathname);
}

/** The code that came with the address; null where none did. */
export const givenCode = (): string | null => given;

/** The form; `done` is called once the phone is paired. */
export function pairForm(done: () => void): HTMLElement {
  const said = h("p", { class: "said", role: "alert" });
  const field = lineBox("code", 24, { autocapitalize: "characters", spellcheck: "false", value: given });
  const act = h("button", { type: "submit", class: "button first" }, t.pair.act);
  const pair = async (code: string): Promise<void> => {
    act.disabled = true;
    put(said);
    try {
      await pairWith(code, keeper());
      given = null;
      done();
    } catch (error) {
      put(said, reason(error));
    }
    act.disabled = false;
  };
  const form = h("form", { class: "stack" }, h("label", { for: "code" }, t.pair.label), field, act, said);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const code = codeOf(field.value);
    if (code === null) {
      put(said, t.pair.wrong);
      return;
    }
    void pair(code);
  });
  return form;
}

/** An error in words fit to show. */
export function reason(error: unknown): string {
  if (error instanceof CallError && error.status === 0) return t.carry.waiting(error.message);
  if (error instanceof UnsownError) return `${t.carry.failed} ${error.toString()}`;
  const said = error instanceof Error ? error.message : String(error);
  const hint = error instanceof CallError ? error.hint : "";
  return [t.carry.failed, said, hint].filter((part) => part !== "").join(" ");
}

/** What is known of home, in one line. */
export function pairedLine(): string {
  const { home } = cab.get();
  return home === null ? t.pair.none : t.pair.done(home.name, home.may);
}
