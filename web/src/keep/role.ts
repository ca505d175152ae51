// One writer: of the tabs of this phone the first one keeps the log, the others look on until it ends.

const LOCK = "unsown-keeper";

/** The lock of the one that writes. */
export interface Role {
  /** Whether this tab writes. */
  writes(): boolean;
  /** Lets go of writing, or of waiting for it. */
  release(): void;
}

/**
 * Takes the lock where it is free; else waits for it and tells once it is ours. A browser without
 * locks lets every tab write: their numbers are kept apart by the storage itself (see pen.ts).
 */
export async function takeRole(
  turned: (writes: boolean) => void,
  locks: LockManager | undefined = typeof navigator === "undefined" ? undefined : navigator.locks,
  name = LOCK,
): Promise<Role> {
  if (locks === undefined) return { writes: () => true, release: () => undefined };
  let mine = false;
  let release = (): void => undefined;
  const released = new Promise<void>((done) => {
    release = done;
  });
  await new Promise<void>((answered) => {
    const free = locks.request(name, { ifAvailable: true }, async (lock) => {
      mine = lock !== null;
      answered();
      if (mine) await released;
    });
    free.catch(() => answered()); // a browser that forbids locks here: look on
  });
  if (!mine) {
    const stop = new AbortController();
    void released.then(() => stop.abort());
    locks
      .request(name, { signal: stop.signal }, async () => {
        mine = true;
        turned(true);
        await released;
      })
      .catch(() => undefined); // let go of while it waited
  }
  return {
    writes: () => mine,
    release: () => {
      if (mine) {
        mine = false;
        turned(false);
      }
      release();
    },
  };
}
