// Light or dark: as the computer says, unless this browser was told otherwise.

export type Theme = "as-computer" | "light" | "dark";
const KEY = "unsown-theme";
const dark = (): MediaQueryList => matchMedia("(prefers-color-scheme: dark)");
const watchers = new Set<() => void>();

export function chosen(): Theme {
  const kept = localStorage.getItem(KEY);
  return kept === "light" || kept === "dark" ? kept : "as-computer";
}

export const isDark = (): boolean => (chosen() === "as-computer" ? dark().matches : chosen() === "dark");

export function choose(theme: Theme): void {
  if (theme === "as-computer") localStorage.removeItem(KEY);
  else localStorage.setItem(KEY, theme);
  apply();
}

/** Calls back when light turns to dark or back; returns what ends it. */
export function onTheme(changed: () => void): () => void {
  watchers.add(changed);
  return () => void watchers.delete(changed);
}

/** Puts the choice on the page, where the style sheets look for it. */
export function apply(): void {
  document.documentElement.dataset["theme"] = isDark() ? "dark" : "light";
  for (const changed of watchers) changed();
}

/** Applies the choice now, and whenever the computer changes its own. */
export function followComputer(): void {
  dark().addEventListener("change", apply);
  apply();
}
