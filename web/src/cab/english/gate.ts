// English: the gate check and what is asked while standing.
import type { Land } from "../words";
import { listed, many, whereOf } from "./parts";

/** The texts, with the farm's own word for a piece of its land. */
export function gate(P: Land) {
  return {
    title: "Gate check",
    under: "What is still bare, and how sure that is",
    /** Always in sight. */
    caution: "It knows no slopes, wires or soft ground. You decide.",
    again: "Count again",
    stop: "Stop counting",
    counting: (stage: string, percent: number) => `Counting: ${({ reading: "reading the log" } as Record<string, string>)[stage] ?? stage}, ${percent} %`,
    first: (bare: string) => `At a first glance about ${bare} bare. How sure that is comes with the count.`,
    stopped: "Stopped. Nothing was changed.",
    lap: (area: string) => `The ${P} is the first lap: ${area}.`,
    asOf: (when: string) => `As of ${when}.`,
    guessed: "No tap was logged: where the tool was down is guessed from the movement. Answer what is asked.",
    alone: "Another rig was at work at the same time. It is not in this count: name the rig card on both phones, under Settings.",
    unseen: (about: string) => `Home knew ${about} sown here by phones whose log is not on this one: it is listed as bare. Take their log in as a file.`,
    clock: (minutes: number, behind: boolean) => `The other phone’s clock is ${many(minutes, "minute")} ${behind ? "behind" : "ahead"}: both are counted on one.`,
    set: (long: string, back: boolean, when: string) => `At ${when} the clock was set ${back ? "back" : "ahead"} by ${long}: the rest is counted on the clock before.`,
    misfit: (apart: string, card: string) => `Most runs lie about ${apart} apart, but the rig card says ${card}: check its width.`,
    elsewhere: (out: string, all: string) => `${out} of ${all} sown lie outside this ${P}: choose the one that was sown.`,
    ours: "this rig",
    rigs: (all: readonly string[]) => `Sown by: ${all.join(", ")}. The working page paints this rig’s ground only.`,
    seam: (rigs: string, length: string, word: "open" | "closed" | "about" | "can't tell", gap: string, overlap: boolean, spread: string) =>
      `Seam between ${rigs}, ${length}: ${{ open: `open, about ${gap} left`, closed: "closed", about: `about ${gap} ${overlap ? "of overlap" : "left"}, give or take ${spread}. Look at the furrow`, "can't tell": `can’t tell. Nothing ties the phones together: they may lie ${spread} apart. Look at the furrow` }[word]}.`,
    nothing: "No bare patch was found.",
    map: (patches: number) => `Map of the ${P}, north up, with ${many(patches, "numbered patch", "numbered patches")}`,
    call: { sure: "sure", likely: "likely", "can't tell": "can't tell" },
    look: "Could be the satellites. Look at the furrow there.",
    where: whereOf,
    kind: { corner: "Corner", start: "Start of a run", finish: "End of a run", pocket: "Pocket", strip: "Strip", edge: "Edge" },
    answers: { go: "Go", leave: "Leave", sown: "Looked: it’s sown", bare: "Looked: it’s bare" },
    answered: { go: "to go", leave: "left", sown: "looked: sown", bare: "looked: bare" },
    prompt: "bare patch",
    patch: (number: number) => `Patch ${number}`,
    next: "Next patch",
    before: "Patch before",
    of: (at: number, all: number) => `${at} of ${all}`,
    bare: (bare: string) => `Bare ${bare}`,
    band: (band: string) => `likely ${band}`,
    doubt: (doubt: string) => `Not known ${doubt}`,
    sown: (sown: string, net: string) => `Sown ${sown} of ${net}`,
    calls: (sure: number, likely: number, cannot: number) => listed([sure === 0 ? "" : `${sure} sure`, likely === 0 ? "" : `${likely} likely`, cannot === 0 ? "" : `${cannot} can’t tell`]),
    dried: (what: string, when: string) => `Kept out until ${when}, counted again now: ${what}.`,
    looked: (count: number) => `${many(count, "patch", "patches")} looked at and sown: still in the numbers until home knows better.`,
    asked: (count: number) => `${many(count, "question")} open: that ground is not known.`,
    toAsked: "Answer",
    trouble: {
      "no-fixes": `There are no positions in this ${P} yet.`,
      "no-paddock": `You stand in no ${P} of the farm pack. Choose one, or take the boundary from the first lap.`,
      "no-rig": "There is no rig card on this phone. Fetch the farm pack, or take it in as a file.",
      "no-lever": "There are positions, but nothing says where the tool went down.",
    } as Record<string, string>,
    failed: "It could not be counted:",
    choose: `Another ${P}`,
    here: "Where you stand",
    byLap: "Boundary from the first lap",
  };
}
