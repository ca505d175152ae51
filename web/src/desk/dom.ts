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

/** Replaces what an element holds; the focus stays on the control with the same id. */
export function put(into: Element, ...children: readonly (Child | readonly Child[])[]): void {
  const held = into.contains(document.activeElement) ? document.activeElement?.id : "";
  into.replaceChildren(...solid(children));
  if (held) document.getElementById(held)?.focus({ preventScroll: true });
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
