// Writes an entry and says so where the driver looks.
import type { Draft } from "../../keep/entry";
import { outcome, put } from "../dom";
import { keeper } from "../state";
import { t } from "../words";

/** A line that says what became of entries. */
export class Note {
  readonly body = outcome();

  say(text: string): void {
    put(this.body, text);
  }

  /** Stores the entry; whether it is on the disk. */
  async write(draft: Draft, what: string): Promise<boolean> {
    try {
      await keeper().append(draft);
      this.say(t.stand.saved(what));
      return true;
    } catch {
      this.say(t.stand.lost);
      return false;
    }
  }
}
