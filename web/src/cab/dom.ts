// Makes elements and puts them in place. No markup is ever parsed, so nothing that came from a file or
// from home can become part of the page. The desk's own is for younger browsers.

export type Child = Node | string | number | null | undefined | false;
export type Children = readonly (Child | readonly Child[])[];
export type Props = Record<string, string | number | boolean | null | undefined>;

/** An HTML element with attributes (`true` is an empty one, `false` and null leave it out). */
export function h<K extends keyof HTMLElementTagNameMap>(tag: K, props: Props = {}, ...children: Children): HTMLElementTagNameMap[K] {
  return filled(document.createElement(tag), props, children);
}

const SVG = "http://www.w3.org/2000/svg";

/** The same for SVG. */
export function s<K extends keyof SVGElementTagNameMap>(tag: K, props: Props = {}, ...children: Children): SVGElementTagNameMap[K] {
  return filled(document.createElementNS(SVG, tag), props, children);
}

/** A button; `first` is the one thing to do on a page. */
export function button(text: Child | readonly Child[], act: () => void, props: Props = {}, kind: "first" | "plain" = "plain"): HTMLButtonElement {
  const made = h("button", { type: "button", class: `button ${kind}`, ...props }, text);
  made.addEventListener("click", act);
  return made;
}

/** A box to write a line in, of so many characters at most. */
export const lineBox = (id: string, maxlength: number, props: Props = {}): HTMLInputElement =>
  h("input", { id, type: "text", autocomplete: "off", maxlength, ...props });

/** Where a page says what came of a press. */
export const outcome = (id = "said"): HTMLElement => h("p", { role: "status", class: "said", id });

/** Replaces what an element holds. */
export function put(into: Element, ...children: Children): void {
  while (into.firstChild !== null) into.removeChild(into.firstChild);
  add(into, children);
}

/** Text that only a screen reader says. */
export const spoken = (text: string): HTMLElement => h("span", { class: "spoken" }, text);

function filled<E extends Element>(element: E, props: Props, children: Children): E {
  for (const name of Object.keys(props)) {
    const value = props[name];
    if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, String(value));
  }
  add(element, children);
  return element;
}

function add(into: Element, children: Children): void {
  for (const child of children) {
    if (Array.isArray(child)) add(into, child as readonly Child[]);
    else if (child instanceof Node) into.appendChild(child);
    else if (child !== null && child !== undefined && child !== false) into.appendChild(document.createTextNode(String(child)));
  }
}
