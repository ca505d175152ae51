// Makes elements and puts them in place. No markup is ever parsed, so nothing that came from a file
// or a phone can become part of the page.

export type Child = Node | string | number | null | undefined | false;
type Listeners = { [K in keyof HTMLElementEventMap]?: (event: HTMLElementEventMap[K]) => void };
export type Props = Record<string, string | number | boolean | null | undefined>;

/** An HTML element with attributes (`true` is an empty one, `false` and null leave it out). */
export function h<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  props: Props = {},
  ...children: readonly (Child | readonly Child[])[]
): HTMLElementTagNameMap[K] {
  return fill(document.createElement(tag), props, children);
}

const SVG = "http://www.w3.org/2000/svg";

/** The same for SVG. */
export function s<K extends keyof SVGElementTagNameMap>(
  tag: K,
  props: Props = {},
  ...children: readonly (Child | readonly Child[])[]
): SVGElementTagNameMap[K] {
  return fill(document.createElementNS(SVG, tag), props, children);
}

/** Adds listeners and returns the element, for use in the middle of an expression. */
export function on<E extends HTMLElement | SVGElement>(element: E, listeners: Listeners): E {
  for (const [name, listener] of Object.entries(listeners)) {
    element.addEventListener(name, listener as EventListener);
  }
  return element;
}

/** A button; `kind` is the one `first` thing of a page, `plain`, or `quiet` (a text that acts). */
export function button(
  text: Child | readonly Child[],
  act: () => void,
  props: Props = {},
  kind: "first" | "plain" | "quiet" = "plain",
): HTMLButtonElement {
  const made = h("button", { type: "button", class: `button ${kind}`, ...props }, text);
  return on(made, { click: act });
}

/**
 * Replaces what an element holds; the focus stays on the control with the same id.
 *
 * While a finger or the mouse is pressed on it, it waits: what is pressed must still be there when it
 * is let go, else the press is lost (leaving a field can change the page between the two).
 */
export function put(into: Element, ...children: readonly (Child | readonly Child[])[]): void {
  const nodes = solid(children);
  if (pressed && into.contains(pressed)) {
    late.set(into, nodes);
    return;
  }
  late.delete(into);
  replace(into, nodes);
}

/** The same at once, for what is drawn while it is dragged. */
export function draw(into: Element, ...children: readonly (Child | readonly Child[])[]): void {
  replace(into, solid(children));
}

function replace(into: Element, nodes: readonly (Node | string)[]): void {
  const held = into.contains(document.activeElement) ? document.activeElement?.id : "";
  into.replaceChildren(...nodes);
  if (held) document.getElementById(held)?.focus({ preventScroll: true });
}

let pressed: Node | null = null;
const late = new Map<Element, (Node | string)[]>();
/** A press is followed by its click within this time. */
const CLICK_MS = 50;

function released(): void {
  pressed = null;
  setTimeout(() => {
    if (pressed) return;
    const waiting = [...late];
    late.clear();
    for (const [into, nodes] of waiting) replace(into, nodes);
  }, CLICK_MS);
}

/** Begins to watch what is pressed; once, when the page starts. */
export function watchPresses(): void {
  addEventListener("pointerdown", (event) => void (pressed = event.target as Node), { capture: true });
  addEventListener("pointerup", released, { capture: true });
  addEventListener("pointercancel", released, { capture: true });
}

/** Text that only a screen reader says. */
export function spoken(text: string): HTMLElement {
  return h("span", { class: "spoken" }, text);
}

function fill<E extends Element>(
  element: E,
  props: Props,
  children: readonly (Child | readonly Child[])[],
): E {
  for (const [name, value] of Object.entries(props)) {
    if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) {
      element.setAttribute(name, String(value));
    }
  }
  element.append(...solid(children));
  return element;
}

function solid(children: readonly (Child | readonly Child[])[]): (Node | string)[] {
  return children
    .flat()
    .filter((child): child is Node | string | number => child !== null && child !== undefined && child !== false)
    .map((child) => (child instanceof Node ? child : String(child)));
}
