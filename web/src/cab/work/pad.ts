// The pad: half of the screen, and whatever touches it moves the lever. It acts when the finger comes
// down; how long it stays, where it slides to and how many fingers there are does not matter.
import { h, s } from "../dom";
import { t } from "../words";

export interface Pad {
  readonly body: HTMLButtonElement;
  /** `stored` false: the last entry is not on the disk yet. */
  show(down: boolean, stored: boolean): void;
}

/** A click this soon after a touch is the touch's own, ms. */
const SAME_MS = 1000;

/** Calls back at every touch; what comes too soon after another is for the caller to leave out. */
export function makePad(act: () => void): Pad {
  const wedge = s("svg", { viewBox: "0 0 120 60", class: "wedge", "aria-hidden": "true" }, s("path", { d: "M4 4 L116 4 L60 56 Z" }));
  const word = h("span", { class: "word" });
  const body = h("button", { type: "button", class: "pad", id: "pad" }, wedge, word);
  onTouch(body, act);
  let shown = "";
  return {
    body,
    show(down, stored) {
      if (shown === (shown = `${down} ${stored}`)) return;
      body.className = `pad ${down ? "down" : "up"}${stored ? "" : " hollow"}`;
      const says = down ? t.work.down : t.work.up;
      word.textContent = says;
      body.setAttribute("aria-pressed", String(down));
      body.setAttribute("aria-label", `${says}. ${down ? t.work.padDown : t.work.padUp}`);
    },
  };
}

/** Acts at the first contact of anything: finger, knuckle, mouse, or the keys of who cannot touch. */
export function onTouch(body: HTMLElement, act: () => void): void {
  let touched = Number.NEGATIVE_INFINITY;
  const down = (event: Event): void => {
    if (event.cancelable) event.preventDefault(); // no zoom, no selection, no drag
    touched = performance.now();
    act();
  };
  if ("PointerEvent" in window) body.addEventListener("pointerdown", down);
  else {
    // browsers before 2019
    body.addEventListener("touchstart", down, { passive: false });
    body.addEventListener("mousedown", down);
  }
  body.addEventListener("click", () => {
    if (performance.now() - touched > SAME_MS) act();
  });
  body.addEventListener("contextmenu", (event) => event.preventDefault());
}

/** The wireless button: whether a key is the one that was taught. */
export function isButton(event: KeyboardEvent, taught: string | null): boolean {
  return taught !== null && !event.repeat && (event.key === taught || event.code === taught);
}
