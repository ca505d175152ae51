// One script is both, the page and the worker that computes beside it: both need much of the engine, and
// a phone fetches and keeps it once. Nothing that is imported here may touch a page before it is called.
import { page } from "../src/cab/main.ts";
import { work } from "../src/cab/worker.ts";

if (typeof document === "undefined") work();
else page();
