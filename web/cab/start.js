// One script is both, the page and the worker that computes beside it: both need much of the engine, and
// a phone fetches and keeps it once. Nothing that is imported here may touch a page before it is called.
//
// First what is alike, one after another. A packed file looks back 32 kB only, and in the order in which the page
// comes upon them they take 4 kB more. This order was found by trying some ten thousand; any other is as right.
import "../src/core/scores.ts";
import "../src/core/clip.ts";
import "../src/core/ways.ts";
import "../src/core/plane.ts";
import "../src/core/chance.ts";
import "../src/core/sun.ts";
import "../src/keep/shelf.ts";
import "../src/core/raster.ts";
import "../src/cab/work/tiles.ts";
import "../src/cab/work/view.ts";
import "../src/cab/receiver.ts";
import "../src/cab/live.ts";
import "../src/core/legs.ts";
import "../src/core/fit.ts";
import "../src/core/together.ts";
import "../src/keep/read.ts";
import "../src/cab/worker.ts";
import "../src/cab/english/script.ts";
import "../src/cab/words.ts";
import "../src/carry/pack.ts";
import "../src/keep/open.ts";
import "../src/cab/prices.ts";
import "../src/cab/over/told.ts";
import "../src/cab/set/carry.ts";
import { page } from "../src/cab/main.ts";
import { work } from "../src/cab/worker.ts";

if (typeof document === "undefined") work();
else page();
