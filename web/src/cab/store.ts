// One small store: a state, and those who want to know when it changed.

export interface Store<T extends object> {
  get(): Readonly<T>;
  set(change: Partial<T>): void;
  /** Calls back after every change of one of `keys`, and once now; returns what ends it. */
  watch(keys: readonly (keyof T)[], changed: (state: Readonly<T>) => void): () => void;
}

export function createStore<T extends object>(first: T): Store<T> {
  let state = first;
  const watchers = new Set<{ keys: readonly (keyof T)[]; changed: (state: Readonly<T>) => void }>();
  return {
    get: () => state,
    set(change) {
      const before = state;
      if ((Object.keys(change) as (keyof T)[]).every((key) => change[key] === before[key])) return;
      state = Object.assign({}, state, change);
      for (const { keys, changed } of Array.from(watchers)) {
        if (keys.some((key) => before[key] !== state[key])) changed(state);
      }
    },
    watch(keys, changed) {
      const watcher = { keys, changed };
      watchers.add(watcher);
      changed(state);
      return () => void watchers.delete(watcher);
    },
  };
}
