// What is shown with the next frame. However many positions come before it, each is asked once; whoever draws
// stands before whoever writes, so that nothing has to be laid out twice.

type Act = (stamp: number) => void;

const waiting = new Set<Act>();
let asked = false;

/** Calls once with the next frame; while the page is covered there is none. */
export function nextFrame(act: Act): void {
  waiting.add(act);
  if (asked) return;
  asked = true;
  // asking alone takes a browser up to a millisecond of a quick machine: not while a position is taken in
  setTimeout(() => requestAnimationFrame(shown), 0);
}

function shown(stamp: number): void {
  asked = false;
  const acts = Array.from(waiting);
  waiting.clear();
  for (const each of acts) {
    try {
      each(stamp);
    } catch (error) {
      // a picture that cannot be drawn takes no text with it
      setTimeout(() => {
        throw error;
      }, 0);
    }
  }
}

/** Not any more. */
export function noFrame(act: Act): void {
  waiting.delete(act);
}
