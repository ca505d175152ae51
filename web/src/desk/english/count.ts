// Number and word: English has one plural in all the words that these pages count.

/** What a farm calls a piece of its land. */
export type Land = "paddock" | "field";

/** `1 run`, `3 runs`. */
export const many = (count: number, one: string, more = `${one}s`): string => `${count} ${count === 1 ? one : more}`;

export const upper = (word: string): string => word.charAt(0).toUpperCase() + word.slice(1);
