// Putting the page on the home screen, where the browser offers it.

interface Prompt extends Event {
  prompt(): Promise<unknown>;
}

let offered: Prompt | null = null;

/** Keeps the browser's offer for the moment the driver wants it. */
export function listenForOffer(): void {
  window.addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault();
    offered = event as Prompt;
  });
  window.addEventListener("appinstalled", () => {
    offered = null;
  });
}

export const canInstall = (): boolean => offered !== null;

export async function install(): Promise<void> {
  const prompt = offered;
  offered = null;
  await prompt?.prompt();
}

/** Whether it was opened from the home screen. */
export function isInstalled(): boolean {
  return window.matchMedia("(display-mode: standalone)").matches || window.matchMedia("(display-mode: fullscreen)").matches || fromShare() === true;
}

/** On phones that install by their Share button: whether this page was opened so; null elsewhere. */
export function fromShare(): boolean | null {
  const { standalone } = navigator as Navigator & { standalone?: boolean };
  return standalone ?? null;
}
