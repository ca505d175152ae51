// One error: a code, what is wrong, where, and what to do about it (server/unsown/core/errors.py).

/**
 * Something that was given cannot be used.
 *
 * `code` is a short stable word for programs, such as `track-empty`; the message says in one sentence
 * what was expected and what came; `where` names the entry, paddock or card it was found in; `hint`
 * says what to do about it. `where` and `hint` may be empty.
 */
export class UnsownError extends Error {
  readonly code: string;
  readonly where: string;
  readonly hint: string;

  constructor(code: string, message: string, more: { where?: string; hint?: string } = {}) {
    super(message);
    this.name = "UnsownError";
    this.code = code;
    this.where = more.where ?? "";
    this.hint = more.hint ?? "";
  }

  /** The whole in one line, as it is shown. */
  override toString(): string {
    const place = this.where === "" ? "" : `${this.where}: `;
    if (this.hint === "") return place + this.message;
    const stop = /[.?!:;,]$/.test(this.message) ? "" : ".";
    return `${place}${this.message}${stop} ${this.hint}`;
  }
}
