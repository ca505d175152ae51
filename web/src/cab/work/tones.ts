// What is heard and felt. Every sign has a rhythm of its own, because behind a blower pitch says little.
// Frequencies lie where old ears still hear well, 600 to 1500 Hz; the whole screen's rim flashes along.

export type Sign = "down" | "up" | "mark" | "failed" | "lift" | "lower" | "strain" | "severe" | "lost" | "forgot" | "back" | "oops";

interface Note {
  /** Hz at its beginning and at its end. */
  readonly from: number;
  readonly to: number;
  readonly ms: number;
  /** Silence after it, ms. */
  readonly rest: number;
  readonly loud?: number;
}

const note = (from: number, ms: number, rest = 40, to = from, loud = 1): Note => ({ from, to, ms, rest, loud });
const times = (count: number, each: Note): Note[] => Array.from({ length: count }, () => each);

/** Down: two falling notes. Up: two rising. Lift: one long rise; lower: one long fall. The others by rhythm. */
export const RHYTHMS: Readonly<Record<Sign, readonly Note[]>> = {
  down: [note(1200, 110), note(750, 170)],
  up: [note(750, 110), note(1200, 170)],
  mark: [note(1000, 70)],
  oops: [note(900, 70, 30), note(900, 70, 30), note(900, 70)],
  failed: times(3, note(700, 380, 160)),
  lift: [note(700, 700, 40, 1450)],
  lower: [note(1450, 700, 40, 700)],
  strain: times(2, note(620, 220, 130)),
  severe: times(5, note(620, 110, 60)),
  lost: [note(800, 45, 0, 800, 0.25)],
  forgot: [note(1000, 90, 90), note(1000, 360, 90), note(1000, 90)],
  back: [note(900, 240, 200), note(900, 60)],
};

/** Vibration in the same rhythm, where the phone has it: on, off, on, … ms. */
export const buzzOf = (sign: Sign): number[] => RHYTHMS[sign].reduce<number[]>((all, { ms, rest }) => all.concat([ms, rest]), []).slice(0, -1);

interface Sounds {
  play(sign: Sign): void;
  /** Must be called from a touch once: browsers are silent before. */
  wake(): void;
}

/** A sign this late says something wrong, ms. */
const LATE_MS = 500;

type Maker = new () => AudioContext;

/** The phone's loudspeaker, its motor, and the flash on the screen. Each may be missing. */
export class Tones implements Sounds {
  private context: AudioContext | null = null;
  private until = 0;

  constructor(private readonly flash: (sign: Sign, ms: number) => void = () => undefined) {}

  wake(): void {
    const made = window as unknown as { AudioContext?: Maker; webkitAudioContext?: Maker };
    const Context = made.AudioContext ?? made.webkitAudioContext;
    if (this.context === null && Context !== undefined) {
      try {
        this.context = new Context();
      } catch {
        return; // no loudspeaker: flash and buzz are left
      }
    }
    if (this.context !== null && this.context.state !== "running") this.context.resume().catch(() => undefined);
  }

  play(sign: Sign): void {
    const notes = RHYTHMS[sign];
    const { vibrate } = navigator as { vibrate?: (pattern: number[]) => boolean };
    if (sign !== "lost") {
      if (vibrate !== undefined) vibrate.call(navigator, buzzOf(sign));
      this.flash(sign, notes.reduce((sum, { ms, rest }) => sum + ms + rest, 0));
    }
    const { context } = this;
    if (context === null) return;
    if (context.state === "running") this.score(context, notes);
    else {
      // the touch that wakes it is also the first to be heard, unless waking takes too long
      const asked = performance.now();
      context
        .resume()
        .then(() => (performance.now() - asked < LATE_MS ? this.score(context, notes) : undefined))
        .catch(() => undefined);
    }
  }

  private score(context: AudioContext, notes: readonly Note[]): void {
    // one after the other: two at once would be a third rhythm
    let at = Math.max(context.currentTime, Math.min(this.until, context.currentTime + 2));
    for (const each of notes) {
      this.sound(context, each, at);
      at += (each.ms + each.rest) / 1000;
    }
    this.until = at + 0.12;
  }

  private sound(context: AudioContext, { from, to, ms, loud = 1 }: Note, at: number): void {
    const [tone, gain] = [context.createOscillator(), context.createGain()];
    const end = at + ms / 1000;
    tone.type = "square"; // its overtones are heard through a blower
    tone.frequency.setValueAtTime(from, at);
    if (to !== from) tone.frequency.exponentialRampToValueAtTime(to, end);
    gain.gain.setValueAtTime(0.0001, at);
    gain.gain.linearRampToValueAtTime(0.6 * loud, at + 0.008);
    gain.gain.setValueAtTime(0.6 * loud, Math.max(at + 0.008, end - 0.012));
    gain.gain.linearRampToValueAtTime(0.0001, end);
    tone.connect(gain);
    gain.connect(context.destination);
    tone.start(at);
    tone.stop(end + 0.02);
  }
}
