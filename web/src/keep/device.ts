// This phone's label in the log. It is made once and lies with the log: whoever installs anew, or clears
// the storage, is another device, so its numbers can begin at 1 again without meaning two things.

/** No letters that look like digits, nor U, which makes words; small ones, as labels are written. */
const LETTERS = "0123456789abcdefghjkmnpqrstvwxyz";
const LENGTH = 12;

/** A label that no other phone has: 60 bits of chance. */
export function newDevice(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(LENGTH));
  return `phone-${Array.from(bytes, (byte) => LETTERS[byte % LETTERS.length]).join("")}`;
}
