// The desk's store is the phone's: one small file serves both.
export { createStore, type Store } from "../cab/store";
