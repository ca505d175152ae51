// One script is both, the page and the worker that computes beside it: both need much of the engine, and
// a phone fetches and keeps it once. Nothing that is imported here may touch a page before it is called.
//
// First what is alike, one after another: the engine, the log, the texts. A packed file looks back 32 kB only,
// and in the order in which the page comes upon them they take 3 kB more.
import "../src/core/clip.ts";
import "../src/core/legs.ts";
import "../src/core/settle.ts";
import "../src/core/day.ts";
import "../src/core/aim.ts";
import "../src/cab/worker.ts";
import "../src/cab/live.ts";
import "../src/keep/open.ts";
import "../src/cab/carrying.ts";
import "../src/cab/words.ts";
import "../src/cab/english/script.ts";
import "../src/cab/english/eight.ts";
import { page } from "../src/cab/main.ts";
import { work } from "../src/cab/worker.ts";

if (typeof document === "undefined") work();
else page();
